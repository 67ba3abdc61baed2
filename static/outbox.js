// What is tapped on the set goes out in order and once, whatever the network does.
//
// - a tap is kept on this device from the moment it is made until the server has answered for it, with a key by which
//   the server knows it again; so it survives a cut, a reload and a closed tab, and is never made twice
// - while one waits, those after it wait behind it (they queue anyway)
// - a frame that waited is logged at the time of the tap
// - a change that waited goes out with the version that the page read when it was made, so that what somebody else
//   changed meanwhile is a clash that shows both values; behind a change of one's own it goes with what that one left
// - the page says whether the server is in reach, how many taps wait, and when the last was saved
//
// Pictures are not kept here: a file that could not be sent is said, and is to be added again.

const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 4000;

const place = document.querySelector("[data-saved]");
const shelf = `outbox ${location.pathname}`;
const frames = "/frames";

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

let outOfReach = false;
let last = "";
const clock = () => new Date().toTimeString().slice(0, 8);
const counted = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;

const tell = () => {
  const logged = waiting.filter((each) => each.url.endsWith(frames)).length;
  const changes = waiting.length - logged;
  const parts = [logged && counted(logged, "frame"), changes && counted(changes, "change")].filter(Boolean);
  const words = parts.length ? `${parts.join(" and ")} not saved yet` : last && `saved ${last}`;
  place.textContent = [outOfReach ? "out of reach" : words || "connected", outOfReach && words].filter(Boolean).join(" · ");
  place.classList.toggle("over", outOfReach);
};

// Beside a dial stands what was asked of it and is not saved yet; the dial shows what is in the record.
const mark = () => {
  for (const each of document.querySelectorAll(".not-saved")) each.remove();
  for (const item of waiting) {
    const said = new URLSearchParams(item.body);
    const under = document.getElementById(`dial-${item.shot}-${said.get("field")}`)?.querySelector(".was");
    if (!under) continue;
    const before = under.querySelector(".not-saved");
    const steps = Number(said.get("steps"));
    const asked = steps ? `${steps > 0 ? "+" : "−"}${Math.abs(steps)}` : said.get("value");
    const there = before ?? under.appendChild(document.createElement("span"));
    there.className = "changed not-saved";
    there.textContent = before ? before.textContent.replace("not saved yet", `${asked} not saved yet`) : `${asked} not saved yet`;
  }
};
const show = () => {
  tell();
  mark();
};

// --- what goes out ---

document.addEventListener("htmx:config:request", (event) => {
  const { sourceElement: source, request } = event.detail.ctx;
  if (request.method !== "POST" || !source.closest(".set") || itemOf(request.body)) return;
  const { body } = request;
  body.delete("save_key");
  const said = new URLSearchParams([...body].filter(([, value]) => typeof value === "string"));
  const field = said.get("field");
  // Enter sets a value, and leaving the dial would set it again. Any other press twice is meant twice.
  const isTyped = source.matches("form.dial") && !said.has("steps");
  if (isTyped && waiting.at(-1)?.said === String(said)) {
    event.preventDefault();
    return;
  }
  body.set("save_key", newKey());
  if ([...body.values()].some((each) => each instanceof File && each.size)) return;
  const asked = String(said);
  said.set("save_key", body.get("save_key"));
  waiting.push({
    key: said.get("save_key"),
    url: request.action,
    body: String(said),
    said: asked,
    at: Date.now(),
    shot: document.querySelector(".desk").id.replace("desk-", ""),
    target: event.detail.ctx.target?.closest(".panel") ? "panel" : event.detail.ctx.swap === "none" ? "none" : "desk",
    behind: Boolean(field) && waiting.some((each) => new URLSearchParams(each.body).get("field") === field),
  });
  write();
  show();
  const typed = source.querySelector?.("input.mark");
  if (outOfReach && typed) typed.value = typed.defaultValue;
});

const seconds = (ms) => new Promise((go) => {
  const timer = setTimeout(go, ms);
  window.addEventListener("online", () => { clearTimeout(timer); go(); }, { once: true });
});

// Goes on trying until the server answers, whatever it says. A tap that it has answered already is answered again.
const insist = async (address, request, item) => {
  for (let wait = FIRST_WAIT_MS; ; wait = Math.min(2 * wait, LONGEST_WAIT_MS)) {
    try {
      if (item.url.endsWith(frames)) request.body.set("waited_s", String((Date.now() - item.at) / 1000));
      const answer = await window.fetch(address, request);
      // Whoever stands before a server that is starting answers for it.
      if ([502, 503, 504].includes(answer.status)) throw new TypeError("not in reach");
      const text = await answer.text();
      outOfReach = false;
      last = clock();
      return new Response(answer.status === 204 ? null : text, { status: answer.status, headers: answer.headers });
    } catch (problem) {
      if (problem.name === "AbortError") throw problem;
      outOfReach = true;
      show();
      await seconds(wait);
    }
  }
};

document.addEventListener("htmx:before:request", (event) => {
  const { ctx } = event.detail;
  const item = itemOf(ctx.request.body);
  if (!item) return;
  const said = new URLSearchParams(item.body);
  const field = document.querySelector(`.set input[name="field"][value="${CSS.escape(said.get("field") ?? "")}"]`);
  const version = item.behind ? field?.form.elements.version.value : said.get("version");
  if (version && ctx.request.body.has("version")) ctx.request.body.set("version", version);
  // It waits for as long as it takes.
  clearTimeout(ctx.requestTimeout);
  ctx.fetch = (address, request) => insist(address, request, item);
});

// Only once the answer stands on the page is the tap done with: what is tapped before that goes out behind it.
document.addEventListener("htmx:finally:request", (event) => {
  const { ctx } = event.detail;
  const item = itemOf(ctx.request.body);
  if (item && ctx.response) done(item);
  show();
});
document.addEventListener("htmx:sse:error", () => {
  outOfReach = true;
  tell();
});
document.addEventListener("htmx:sse:after:connection", () => {
  outOfReach = false;
  tell();
});

// What an earlier page left goes first, in its order; taps of this one queue behind it.
const left = [...waiting];
for (const item of left) {
  const values = Object.fromEntries(new URLSearchParams(item.body));
  const target = item.target === "none" ? {} : { target: `#${item.target}-${item.shot}`, swap: "outerMorph" };
  window.htmx.ajax("POST", item.url, { source: "[data-announcer]", swap: "none", ...target, values });
}
show();
