// The hands on the page for shooting. Everything here is a press on something that the page shows; it works without.
//
// - a click on a value selects it, so that the next figure replaces it; the signs that a telephone lacks are keys beside it
// - a step pressed long, or with Shift, is a whole stop
// - what is a press away is laid over the picture, kept up to date, and closed by Escape
// - keys for everything while nothing is typed, and three of them for a presenter's remote
// - what a client must not see is hidden by one key and shown again by it
// - what changed is said once, when it has settled

const LONG_MS = 500;
const SAY_MS = 700;

const desk = () => document.querySelector(".desk");
const panel = () => document.querySelector(".left > .panel");
const isTyping = (target) => target.matches?.("input, select, textarea, [contenteditable]") || document.querySelector("dialog[open]");
const visible = (each) => each?.checkVisibility() && !each.disabled;

// --- values and steps ---

document.addEventListener("focusin", (event) => {
  if (event.target.matches?.("input.mark")) event.target.select();
});
document.addEventListener("mouseup", (event) => {
  // The click that focuses a value would put the caret in it and undo the selection.
  if (event.target.matches?.("input.mark") && event.target.selectionStart === event.target.selectionEnd) event.target.select();
});

// The digits of a telephone lack signs: while a value is typed on one, they are keys in its field.
document.addEventListener("focusin", (event) => {
  const mark = event.target;
  if (!mark.dataset?.signs || !matchMedia("(pointer: coarse)").matches) return;
  for (const sign of mark.dataset.signs.split(" ")) {
    const key = document.createElement("button");
    key.type = "button";
    key.className = "sign";
    key.tabIndex = -1;
    key.textContent = sign;
    key.addEventListener("pointerdown", (press) => {
      press.preventDefault();
      mark.setRangeText(sign, mark.selectionStart, mark.selectionEnd, "end");
    });
    // The keyboard stays.
    key.addEventListener("mousedown", (press) => press.preventDefault());
    mark.after(key);
  }
});
document.addEventListener("focusout", (event) => {
  for (const key of event.target.parentElement?.querySelectorAll(".sign") ?? []) key.remove();
});

let pressed = 0;
let longPressed = null;
document.addEventListener("pointerdown", (event) => {
  const key = event.target.closest?.(".stepper");
  longPressed = null;
  clearTimeout(pressed);
  if (key) pressed = setTimeout(() => { longPressed = key; }, LONG_MS);
});
document.addEventListener("pointerup", () => clearTimeout(pressed));

const step = (key, stops) => {
  if (!stops) {
    key.form.requestSubmit(key);
    return;
  }
  const stop = document.createElement("button");
  stop.name = "steps";
  stop.value = key.dataset.whole * stops;
  stop.hidden = true;
  key.form.append(stop);
  key.form.requestSubmit(stop);
  stop.remove();
};
document.addEventListener("click", (event) => {
  const key = event.target.closest?.(".stepper");
  if (!key || !(event.shiftKey || longPressed === key)) return;
  event.preventDefault();
  step(key, 1);
}, true);

// A double click is one press: a second frame is logged by a press of its own.
document.addEventListener("click", (event) => {
  if (event.detail > 1 && event.target.closest?.(".log .key")) event.preventDefault();
}, true);

// --- a press away ---

let opener = null;
const open = (address) => window.htmx.ajax("GET", address, { target: `#${panel().id}`, swap: "outerHTML" });
const close = () => {
  const { activeElement: hand } = document;
  const empty = document.createElement("div");
  empty.id = panel().id;
  empty.className = "panel";
  empty.hidden = true;
  panel().replaceWith(empty);
  if (visible(opener)) opener.focus();
  else if (!hand.isConnected) document.querySelector(".menu > summary").focus();
};

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[data-panel], a[data-close]");
  if (!link || !panel() || event.ctrlKey || event.metaKey) return;
  event.preventDefault();
  link.closest(".menu")?.removeAttribute("open");
  if (link.matches("[data-close]")) {
    close();
    return;
  }
  opener = link;
  open(link.getAttribute("href")).then(() => !panel().hidden && panel().focus());
});

// A panel that knows of less than the desk is drawn anew, but never under a hand that types in it.
const catchUp = () => {
  const there = panel();
  if (!there || there.hidden || !(Number(there.dataset.asOf) < Number(desk().dataset.asOf))) return;
  if (there.contains(document.activeElement) && document.activeElement.matches("input, select")) return;
  open(there.dataset.address);
};

// --- what is heard ---

let saying = 0;
let changed = "";
let { spoken: said, next: logged } = desk()?.dataset ?? {};
const announce = () => {
  clearTimeout(saying);
  saying = setTimeout(() => {
    const { spoken, next } = desk().dataset;
    const frame = Number(next) > Number(logged) ? `Frame ${next - 1} logged. ` : "";
    const words = frame || spoken !== said ? frame + spoken : changed;
    changed = "";
    said = spoken;
    logged = next;
    if (words) document.querySelector("[data-announcer]").textContent = words;
  }, SAY_MS);
};

// A value that was refused is asked for again where it was typed.
document.addEventListener("htmx:finally:request", (event) => {
  const { response, sourceElement: form } = event.detail.ctx;
  if (form.matches?.(".newest .by-eye") && response?.status >= 400) document.querySelector(".newest .by-eye label input").focus();
  if (!form.matches?.("form.dial")) return;
  const mark = document.getElementById(form.elements.value?.id);
  if (response?.status >= 400) mark?.focus();
  else if (mark) changed = `${mark.labels[0].textContent} ${mark.value}`;
});

// What was taken away from under the hand gives way to what stands beside it.
const BESIDE = [[".ways-row", ".all-ways"], [".newest", ".newest .which a"], [".menu", ".menu > summary"], [".left > .panel", ".left > .panel"], ["*", ".account"]];
let beside = "";
document.addEventListener("focusin", (event) => {
  [, beside] = BESIDE.find(([within]) => event.target.closest(within));
});
const keepHand = () => {
  if (beside && document.activeElement === document.body) document.querySelector(beside)?.focus({ preventScroll: true });
};

// A page that is open all day holds no more lines than one that is drawn now.
const shorten = () => {
  const lines = document.querySelector(".lines tbody[data-most]");
  if (lines.children.length <= Number(lines.dataset.most)) return;
  while (lines.children.length > Number(lines.dataset.most)) lines.lastElementChild.remove();
  const older = document.querySelector(".lines .older");
  const link = older.querySelector("a");
  link.search = `?before=${[...lines.querySelectorAll("[data-number]")].at(-1).dataset.number}`;
  older.hidden = false;
};

document.addEventListener("htmx:after:swap", () => {
  if (!desk()) return;
  shorten();
  keepHand();
  mark();
  catchUp();
  announce();
});

// --- keys ---

let current = 0;
const lines = () => [...document.querySelectorAll(".dials > .line.f_number, .dials > .line.light")];
const mark = () => lines().forEach((line, index) => line.classList.toggle("current", index > 0 && index === current));
const next = () => {
  current = (current + 1) % lines().length;
  mark();
};
const turn = (light, stops) => {
  const keys = [...lines()[Math.min(current, lines().length - 1)].querySelectorAll(".stepper")];
  const key = keys.find((each) => each.textContent.includes(light));
  if (key) step(key, stops);
};
const press = (selector) => {
  const found = [...document.querySelectorAll(selector)].find(visible);
  found?.click();
};
const hide = () => {
  const hidden = document.documentElement.dataset.hides !== "private";
  if (hidden) document.documentElement.dataset.hides = "private";
  else delete document.documentElement.dataset.hides;
  sessionStorage.setItem("hides", hidden ? "private" : "");
  document.querySelector("[data-private]")?.setAttribute("aria-pressed", String(hidden));
  if (!document.activeElement.checkVisibility({ visibilityProperty: true })) document.querySelector(".account").focus({ preventScroll: true });
};
if (sessionStorage.getItem("hides")) hide();

const ACTIONS = {
  log: () => press(".log .key"),
  lighter: (stops) => turn("lighter", stops),
  darker: (stops) => turn("darker", stops),
  "next light": next,
  set: () => press(".one-sentence .key"),
  keep: () => press('[data-verdict="stands"]'),
  reject: () => press('[data-verdict="fails"]'),
  hero: () => press('[data-verdict="hero"]'),
  compare: () => press(".newest .compare"),
  "ambient check": () => {
    const leave = document.querySelector('.desk form[action$="/put-back"] button');
    (leave ?? document.querySelector('.menu form[action$="/ambient-check"] button')).click();
  },
  note: () => document.querySelector(".note-of input")?.focus(),
  "read by eye": () => document.querySelector(".newest .by-eye label input")?.focus(),
  black: () => document.querySelector("[data-blackout]").click(),
};
const KEYS = {
  " ": "log", n: "next light", ArrowUp: "lighter", "+": "lighter", ArrowDown: "darker", "-": "darker",
  a: "ambient check", t: "note", r: "read by eye", s: "set", k: "keep", x: "reject", h: "hero", c: "compare", b: "black",
};

// A presenter's remote has page up, page down and full stop: the first two go through the list, the third does it.
const remote = document.createElement("p");
remote.className = "remote";
remote.hidden = true;
remote.setAttribute("role", "status");
document.querySelector(".set")?.append(remote);
const LIST = ["log", "lighter", "darker", "next light", "keep", "reject", "hero", "compare", "black"];
let chosen = 0;
// A figure before a turn is how many stops it turns.
let stops = 0;
const onRemote = (key) => {
  if (key === ".") {
    ACTIONS[LIST[chosen]](0);
    return;
  }
  chosen = (chosen + (key === "PageDown" ? 1 : LIST.length - 1)) % LIST.length;
  remote.textContent = LIST[chosen];
};
const remoteKey = document.querySelector("[data-remote]");
remoteKey?.addEventListener("click", () => {
  remote.hidden = !remote.hidden;
  remote.textContent = LIST[chosen];
  remoteKey.setAttribute("aria-pressed", String(!remote.hidden));
});

const keyMap = document.querySelector("[data-key-map]");
document.querySelector("[data-private]")?.addEventListener("click", hide);
document.querySelector("[data-keys]")?.addEventListener("click", () => keyMap.showModal());

document.addEventListener("keydown", (event) => {
  if (!desk() || event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
  const menu = document.querySelector(".menu[open]");
  if (event.key === "Escape" && menu && !keyMap.open) {
    menu.open = false;
    menu.querySelector("summary").focus();
    return;
  }
  if (event.key === "Escape" && panel() && !panel().hidden && !event.target.matches("input.mark")) {
    close();
    return;
  }
  if (isTyping(event.target)) return;
  if (!remote.hidden && ["PageUp", "PageDown", "."].includes(event.key)) {
    event.preventDefault();
    if (!event.repeat) onRemote(event.key);
    return;
  }
  // Space and Enter belong to what has the focus.
  if (event.key === " " && event.target.matches("button, a, summary")) return;
  const count = stops;
  stops = Number(/^[1-9]$/.test(event.key) && event.key);
  const action = KEYS[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (action) {
    event.preventDefault();
    // A key that is held down goes on turning a dial, and does nothing else again.
    if (event.repeat && action !== "lighter" && action !== "darker") return;
    ACTIONS[action](count || Number(event.shiftKey));
  } else if (event.key === "?") keyMap.showModal();
  else if (event.key === "p") hide();
});
