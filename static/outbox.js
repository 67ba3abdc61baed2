// What is tapped on the set goes out in order and once, whatever the network does.
//
// - a tap is kept on this device from the moment it is made until the server has answered for it, with a key by which
//   the server knows it again; so it survives a cut, a reload and a closed tab, and is never made twice
// - while one waits, those after it wait behind it (they queue anyway)
// - a frame that waited is logged at the time of the tap, for what the taps before it made the next frame
// - what is said of a frame that waits itself goes to that frame, once it has a name
// - a frame that was logged behind a change that is refused says what was tapped and is not in it
// - a change that waited goes out with the version that the page read when it was made, so that what somebody else
//   changed meanwhile is a clash that shows both values; behind a change of one's own it goes with what that one left
// - the page says whether the server is in reach, how many taps wait, and when the last was saved
//
// What cannot be kept says so: a file that could not be sent is to be added again, and what is fetched is not there.

const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 4000;

const NOT_FETCHED = "Out of reach: this comes from the server. What is tapped here is kept, and saved when it is back.";
const NOT_SENT = "Out of reach: the picture was not sent and no frame was logged. Add it again when the server is back.";

const SIGNED_OUT = "This browser was signed out. What is tapped here is kept, and saved when you are back: ";
const UNSAVED = "Not signed out: what is not saved yet would be lost.";

const place = document.querySelector("[data-saved]");
// A refusal of the server takes its place.
const trouble = () => document.getElementById("trouble");
const shelf = `outbox ${location.pathname}`;
const shot = location.pathname.split("/").at(-1);
const isFrame = (item) => item.url.endsWith("/frames");
const ofFrame = /^\/frames\/[^/]+/;
const fieldOf = (item) => new URLSearchParams(item.body).get("field");
// Where a file contradicts a dial, a form without a version names the same field.
const versionOf = (field) => {
  const named = document.querySelectorAll(`.set input[name="field"][value="${CSS.escape(field ?? "")}"]`);
  return [...named].map((each) => each.form.elements.version?.value).find(Boolean);
};
// What moves other fields than the one that it names, so that a version read before it says nothing of those behind it.
const movesMore = (item) => /\/(corrections|ratio|ambient-check|put-back)$/.test(item.url) || item.endsCheck;

// --- what is kept on the device ---

const read = () => {
  try {
    return JSON.parse(localStorage.getItem(shelf)) ?? [];
  } catch {
    return [];
  }
};
let waiting = read();
const answered = new Set();
// Another tab may keep taps of its own on the same shelf.
const write = () => {
  const mine = new Set(waiting.map((each) => each.key));
  const kept = [...read().filter((each) => !mine.has(each.key) && !answered.has(each.key)), ...waiting];
  try {
    if (kept.length) localStorage.setItem(shelf, JSON.stringify(kept));
    else localStorage.removeItem(shelf);
  } catch {
    // A device that keeps nothing still sends what waits for as long as the page is open.
  }
};
// On a plain address of the local network there is no randomUUID.
const newKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
const itemOf = (body) => waiting.find((each) => each.key === body?.get?.("save_key"));
const done = (item) => {
  answered.add(item.key);
  waiting = waiting.filter((each) => each.key !== item.key);
  write();
};

// --- what the page says of it ---

// When this page was seen, where it was opened from what is kept on the device.
const { seen } = document.documentElement.dataset;
let outOfReach = Boolean(seen);
let signedOut = false;
let last = "";
const clock = () => new Date().toTimeString().slice(0, 8);
const when = (time) => {
  const at = new Date(time);
  const isToday = at.toDateString() === new Date().toDateString();
  return at.toLocaleString("en-GB", { ...(isToday ? {} : { day: "numeric", month: "short" }), hour: "2-digit", minute: "2-digit" });
};
const counted = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;

const tell = () => {
  const logged = waiting.filter(isFrame).length;
  const changes = waiting.length - logged;
  const parts = [logged && counted(logged, "frame"), changes && counted(changes, "change")].filter(Boolean);
  const words = parts.length ? `${parts.join(" and ")} not saved yet` : last && `saved ${last}`;
  const cut = signedOut ? "signed out" : outOfReach && "out of reach";
  const away = seen ? `from this device, as seen ${when(seen)}` : cut;
  place.textContent = [away, words || (!away && "connected")].filter(Boolean).join(" · ");
  place.classList.toggle("over", Boolean(away));
};

// Beside a dial stands what was asked of it and is not saved yet, its clicks added up; the dial shows what is in the record.
const mark = () => {
  for (const each of document.querySelectorAll(".not-saved")) each.remove();
  const asked = new Map();
  for (const item of waiting) {
    const said = new URLSearchParams(item.body);
    const under = document.getElementById(`dial-${shot}-${said.get("field")}`)?.querySelector(".was");
    if (!under) continue;
    const steps = Number(said.get("steps"));
    const { value, clicks = 0 } = asked.get(under) ?? {};
    asked.set(under, steps ? { value, clicks: clicks + steps } : { value: said.get("value") });
  }
  for (const [under, { value, clicks = 0 }] of asked) {
    const there = under.appendChild(document.createElement("span"));
    there.className = "changed not-saved";
    const sum = `${clicks < 0 ? "−" : "+"}${Math.abs(clicks)}`;
    there.textContent = `${value === undefined ? sum : clicks ? `${value} ${sum}` : value} not saved yet`;
  }
};
// The keys of the newest frame are those of the one that waits, and show what was pressed of it.
const showWaiting = () => {
  const newest = document.querySelector(".newest");
  const frame = waiting.findLast(isFrame);
  if (!frame || !newest?.querySelector(".verdicts")) return;
  const said = (name) => waiting.findLast((each) => each.of === frame.key && new URLSearchParams(each.body).has(name));
  const verdict = new URLSearchParams(said("verdict")?.body).get("verdict");
  for (const key of newest.querySelectorAll("[data-verdict]")) {
    const pressed = key.dataset.verdict === verdict;
    key.setAttribute("aria-pressed", String(pressed));
    key.value = pressed ? "" : key.dataset.verdict;
  }
  for (const input of newest.querySelectorAll(".note-of input, .by-eye input[required]")) {
    if (input === document.activeElement) continue;
    input.value = new URLSearchParams(said(input.name)?.body).get(input.name) ?? "";
  }
  if (outOfReach) newest.querySelector(".which a").textContent = `frame ${frame.number}, not saved yet`;
};
const show = () => {
  tell();
  mark();
  showWaiting();
};
const say = (words) => {
  trouble().textContent = words;
  trouble().hidden = !words;
};

// The page as it was gives way to the page as it is, once all is saved and nobody types.
const drawAnew = () => {
  if (seen && !outOfReach && !waiting.length && !document.activeElement.matches("input, select")) location.reload();
};
const sayWhereToSignIn = () => {
  if (trouble().querySelector("a")) return;
  say(SIGNED_OUT);
  const way = document.createElement("a");
  way.href = `/sign-in?next=${encodeURIComponent(location.pathname)}`;
  way.textContent = "sign in";
  trouble().append(way);
};
const inReach = () => {
  outOfReach = signedOut = false;
  if ([NOT_FETCHED, NOT_SENT].includes(trouble().textContent) || trouble().querySelector("a")) say("");
  drawAnew();
};

// --- what goes out ---

document.addEventListener("htmx:config:request", (event) => {
  const { sourceElement: source, request } = event.detail.ctx;
  if (request.method !== "POST" || itemOf(request.body)) return;
  say("");
  const { body } = request;
  body.delete("save_key");
  const said = new URLSearchParams([...body].filter(([, value]) => typeof value === "string"));
  const field = said.get("field");
  // Enter sets a value, and leaving the dial would set it again. Any other press twice is meant twice.
  const isTyped = source.matches("form.dial, form.note-of") && !said.has("steps");
  const before = waiting.at(-1);
  if (isTyped && before?.url === request.action && before.said === String(said)) {
    event.preventDefault();
    return;
  }
  body.set("save_key", newKey());
  if ([...body.values()].some((each) => each instanceof File && each.size)) return;
  const asked = String(said);
  said.set("save_key", body.get("save_key"));
  const { target, swap } = event.detail.ctx;
  const item = {
    key: said.get("save_key"),
    url: request.action,
    body: String(said),
    said: asked,
    at: Date.now(),
    target: swap === "none" || !target?.id ? "" : `#${target.id}`,
    swap,
    behind: Boolean(field) && waiting.some((each) => fieldOf(each) === field || movesMore(each)),
  };
  if (said.has("steps")) item.stood = document.getElementById(`value-${shot}-${field}`)?.defaultValue;
  if (isFrame(item)) {
    item.endsCheck = waiting.some(movesMore) || Boolean(document.querySelector('.desk form[action$="/put-back"]'));
    item.number = Number(document.querySelector(".log .key").textContent.match(/\d+/)) + waiting.filter(isFrame).length;
    item.follows = waiting.length > 0;
  } else if (ofFrame.test(item.url) && source.closest(".newest")) item.of = waiting.findLast(isFrame)?.key;
  waiting.push(item);
  write();
  show();
  const typed = source.querySelector?.("input.mark");
  if (outOfReach && typed) typed.value = typed.defaultValue;
});

// A change was refused: the frames that were logged behind it froze what the record had, and say what was tapped. Clicks add
// up; a value that was typed since is another matter.
const notWritten = (item) => {
  const field = fieldOf(item);
  const said = new URLSearchParams(item.body);
  for (const each of field ? waiting : []) {
    if (!isFrame(each) && fieldOf(each) === field && !new URLSearchParams(each.body).has("steps")) return;
    if (!isFrame(each) || each.sent) continue;
    const before = each.notWritten?.[field];
    const steps = Number(said.get("steps"));
    const told = steps ? { ...(before ?? { stood: item.stood ?? "" }), steps: (before?.steps ?? 0) + steps } : { value: said.get("value") ?? "" };
    each.notWritten = { ...each.notWritten, [field]: told };
  }
  write();
};

const seconds = (ms) => new Promise((go) => {
  const timer = setTimeout(go, ms);
  window.addEventListener("online", () => { clearTimeout(timer); go(); }, { once: true });
});

// A frame has a name once it is logged: what was said of it meanwhile goes there, and nowhere where it was refused.
const named = (frame, answer) => {
  const id = answer.headers.get("X-Frame");
  for (const item of waiting.filter((each) => each.of === frame.key)) {
    if (!id) {
      done(item);
      continue;
    }
    item.url = item.url.replace(ofFrame, `/frames/${id}`);
    delete item.of;
  }
  write();
};

// Goes on trying until the server answers, whatever it says. A tap that it has answered already is answered again.
const insist = async (request, item) => {
  for (let wait = FIRST_WAIT_MS; ; wait = Math.min(2 * wait, LONGEST_WAIT_MS)) {
    try {
      if (isFrame(item)) request.body.set("waited_s", String((Date.now() - item.at) / 1000));
      const answer = await window.fetch(item.url, request);
      // Whoever stands before a server that is starting answers for it.
      if ([502, 503, 504].includes(answer.status)) throw new TypeError("not in reach");
      if (answer.status === 401) {
        signedOut = true;
        sayWhereToSignIn();
        throw new TypeError("signed out");
      }
      const text = await answer.text();
      inReach();
      last = clock();
      if (isFrame(item)) named(item, answer);
      return new Response(answer.status === 204 ? null : text, { status: answer.status, headers: answer.headers });
    } catch (problem) {
      if (problem.name === "AbortError") throw problem;
      outOfReach = true;
      for (const dial of document.querySelectorAll("input.mark:not(:focus)")) dial.value = dial.defaultValue;
      // No answer draws the page now: what an earlier tap was refused for is not said of this one.
      for (const refusal of document.querySelectorAll(".one-sentence .problem")) refusal.textContent = "";
      show();
      await seconds(wait);
    }
  }
};

document.addEventListener("htmx:before:request", (event) => {
  const { ctx } = event.detail;
  const item = itemOf(ctx.request.body);
  if (!item) {
    // It was said of a frame that was refused.
    if (answered.has(ctx.request.body?.get?.("save_key"))) event.preventDefault();
    return;
  }
  const { body } = ctx.request;
  const version = item.behind ? versionOf(fieldOf(item)) : new URLSearchParams(item.body).get("version");
  if (version && body.has("version")) body.set("version", version);
  if (item.follows && !item.sent) {
    body.set("purpose", document.querySelector('.desk [name="purpose"] [selected]')?.value ?? body.get("purpose"));
    body.set("because", document.querySelector('.desk [name="because"]')?.defaultValue ?? body.get("because"));
  }
  if (item.notWritten && !item.sent) body.set("not_written", JSON.stringify(item.notWritten));
  // From here on the server may know it: it is never said otherwise again.
  item.body = String(new URLSearchParams([...body].filter(([, value]) => typeof value === "string")));
  item.sent = true;
  write();
  // It waits for as long as it takes.
  clearTimeout(ctx.requestTimeout);
  ctx.fetch = (_address, request) => insist(request, item);
});
document.addEventListener("htmx:error", (event) => {
  const { ctx } = event.detail;
  if (!ctx || ctx.response || ctx.sourceElement.hasAttribute("hx-sse:connect")) return;
  if (ctx.request.method === "GET") say(NOT_FETCHED);
  else if (!itemOf(ctx.request.body)) say(NOT_SENT);
});

// Only once the answer stands on the page is the tap done with: what is tapped before that goes out behind it.
document.addEventListener("htmx:finally:request", (event) => {
  const { ctx } = event.detail;
  const item = itemOf(ctx.request.body);
  if (item && ctx.response) {
    done(item);
    if (ctx.response.status >= 400) notWritten(item);
    // Steps that were made upon one that clashed are meant from where it would have led: they clash with it.
    if (ctx.response.status === 409) {
      for (const each of waiting) if (fieldOf(each) && fieldOf(each) === fieldOf(item)) each.behind = false;
    }
    // What waits behind a refusal draws over it: it is said where it stays until the next tap.
    const refusal = ctx.response.status >= 400 && waiting.length && document.querySelector(".one-sentence .problem");
    if (refusal) say(refusal.textContent);
  }
  show();
  drawAnew();
});
document.addEventListener("htmx:sse:error", () => {
  outOfReach = true;
  tell();
});
document.addEventListener("htmx:sse:after:connection", () => {
  inReach();
  tell();
});

// What an earlier page left goes first, in its order; taps of this one queue behind it.
for (const item of [...waiting]) {
  const swapped = item.target && document.querySelector(item.target) ? { target: item.target, swap: item.swap } : {};
  const values = Object.fromEntries(new URLSearchParams(item.body));
  window.htmx.ajax("POST", item.url, { source: "[data-announcer]", swap: "none", ...swapped, values });
}
show();

// Signing out has this browser forget what it keeps.
document.addEventListener("submit", (event) => {
  if (event.target.action !== `${location.origin}/sign-out` || !waiting.length) return;
  event.preventDefault();
  say(UNSAVED);
});

// --- the page as it opens without the server ---

// The news does not try again where it never came.
const lookForServer = async () => {
  while (outOfReach) {
    await seconds(LONGEST_WAIT_MS);
    const answer = await fetch("/worker.js", { method: "HEAD" }).catch(() => null);
    if (answer?.ok) inReach();
  }
};
if (seen) lookForServer();

const KEEP_MS = 3000;
if (window.isSecureContext && navigator.serviceWorker) {
  let keeping = 0;
  const keep = async () => {
    const { active } = await navigator.serviceWorker.ready;
    const made = performance.getEntriesByType("resource").map((each) => each.name).filter((name) => name.includes("/static/"));
    const picture = document.querySelector(".stage img")?.src;
    active.postMessage({ page: location.origin + location.pathname, files: [...new Set([...made, picture].filter(Boolean))] });
  };
  const keepSoon = () => {
    clearTimeout(keeping);
    keeping = setTimeout(keep, KEEP_MS);
  };
  navigator.serviceWorker.register("/worker.js");
  navigator.serviceWorker.addEventListener("controllerchange", keepSoon);
  document.addEventListener("htmx:after:swap", keepSoon);
  keepSoon();
}
