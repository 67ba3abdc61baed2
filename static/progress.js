// What takes longer than a moment says how far it is, on the key that began it, so that nothing moves.
//
// - pictures and bundles on their way to the server, in per cent; then that they are being read
// - a file that the server has to make first (a PDF): the key says so until it is there
//
// Without scripts the browser shows what it shows.

const cover = (key, words) => {
  const told = document.createElement("span");
  const bar = document.createElement("progress");
  const text = document.createElement("span");
  told.className = "sending";
  text.textContent = words;
  bar.setAttribute("aria-label", words);
  told.append(text, bar);
  key.append(told);
  return {
    tell(part) {
      bar.value = part;
      text.textContent = part < 1 ? `${Math.floor(part * 100)} %` : "reading";
    },
    end() { told.remove(); },
  };
};

const headersOf = (request) => {
  const headers = new Headers();
  for (const line of request.getAllResponseHeaders().trim().split(/\r?\n/)) {
    const at = line.indexOf(":");
    if (at > 0) headers.append(line.slice(0, at), line.slice(at + 1).trim());
  }
  return headers;
};

// As fetch, which tells nothing of what is on its way out.
const sent = (address, { method, headers, body, signal }, tell) => new Promise((answered, failed) => {
  const request = new XMLHttpRequest();
  request.open(method, address);
  for (const [name, value] of new Headers(headers)) request.setRequestHeader(name, value);
  request.upload.addEventListener("progress", (event) => {
    if (event.lengthComputable) tell(event.loaded / event.total);
  });
  request.addEventListener("load", () => {
    const { status, responseText } = request;
    answered(new Response(status === 204 ? null : responseText, { status, headers: headersOf(request) }));
  });
  for (const name of ["error", "timeout"]) request.addEventListener(name, () => failed(new TypeError("not sent")));
  request.addEventListener("abort", () => failed(new DOMException("The sending was ended.", "AbortError")));
  signal?.addEventListener("abort", () => request.abort());
  request.send(body);
});

document.addEventListener("htmx:before:request", (event) => {
  const { ctx } = event.detail;
  const { body } = ctx.request;
  const form = ctx.sourceElement.closest?.("form");
  if (!form || !(body instanceof FormData) || ![...body.values()].some((each) => each instanceof File && each.size)) return;
  const key = form.querySelector(".drop") ?? form.querySelector("button");
  ctx.fetch = async (address, request) => {
    const progress = cover(key, "0 %");
    try {
      return await sent(address, request, progress.tell);
    } finally {
      progress.end();
    }
  };
});

document.addEventListener("click", async (event) => {
  const key = event.target.closest?.("a[data-making]");
  if (!key || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  if (key.querySelector(".sending")) return;
  const progress = cover(key, key.dataset.making);
  try {
    const answer = await fetch(key.href);
    if (!answer.ok) throw new TypeError("not made");
    const made = document.createElement("a");
    made.href = URL.createObjectURL(await answer.blob());
    made.download = /filename="([^"]+)"/.exec(answer.headers.get("Content-Disposition") ?? "")?.[1] ?? "";
    made.click();
    setTimeout(() => URL.revokeObjectURL(made.href), 60000);
  } catch {
    // The page that the server answers says why.
    location.assign(key.href);
  } finally {
    progress.end();
  }
});
