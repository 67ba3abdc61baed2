// Photos of the set: sent one after the other as soon as they are chosen, and placed on the plan by a tap or by keys.
// The page works without it.
//
// - a photo that the network cut off waits, and is sent again when the network is back or by a press; the server takes
//   the same photo once, however often it comes
// - a tap on the floor is where the photo was taken, a drag from there the way that it looks

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 30000;
const STEP_MM = 100;
const TURN_DEG = 15;
const SETTLE_MS = 300;
const DRAG_PX = 12;

for (const each of document.querySelectorAll(".unscripted")) each.hidden = true;
for (const each of document.querySelectorAll(".scripted-words")) each.hidden = false;

// --- sending ---

let sending = Promise.resolve();
let left = 0;

const pause = (ms, button) => new Promise((go) => {
  const timer = setTimeout(go, ms);
  const now = () => { clearTimeout(timer); go(); };
  window.addEventListener("online", now, { once: true });
  button.addEventListener("click", now, { once: true });
});

const post = (address, file, progress) => new Promise((answered, failed) => {
  const request = new XMLHttpRequest();
  request.open("POST", address);
  request.setRequestHeader("HX-Request", "true");
  // The answer is a part of the page; the others of it hear of the photo as every page does.
  request.setRequestHeader("X-Page", "");
  request.upload.addEventListener("progress", (event) => {
    if (event.lengthComputable) progress.value = event.loaded / event.total;
  });
  request.addEventListener("load", () => answered(request));
  for (const name of ["error", "abort", "timeout"]) request.addEventListener(name, failed);
  const body = new FormData();
  body.append("photo", file, file.name);
  request.send(body);
});

const part = (text, selector) => new DOMParser().parseFromString(text, "text/html").querySelector(selector);

// What is still on its way is told outside of the part that the answer exchanges.
const line = (section, file) => {
  const item = document.createElement("li");
  const name = document.createElement("span");
  name.textContent = file.name;
  const progress = document.createElement("progress");
  progress.setAttribute("aria-label", `${file.name} on its way`);
  progress.max = 1;
  progress.value = 0;
  const trouble = document.createElement("span");
  trouble.className = "problem";
  const again = document.createElement("button");
  again.type = "button";
  again.className = "outline";
  again.textContent = "Send again now";
  again.hidden = true;
  item.append(name, progress, trouble, again);
  section.querySelector(".uploads").append(item);
  return { item, progress, trouble, again };
};

const show = (section, text) => {
  const drawn = part(text, ".photo-row");
  const there = section.querySelector(".photo-row");
  if (!drawn) return;
  if (there) there.replaceWith(drawn);
  else section.querySelector(".uploads").after(drawn);
};

// Another page of the session has added one.
document.addEventListener("set-changed", async () => {
  const section = document.querySelector(".set-photos");
  if (!section) return;
  const answer = await fetch(`/shots/${section.dataset.shot}/photos`, { headers: { "HX-Request": "true" } });
  if (answer.ok) show(section, await answer.text());
});

const send = async (section, address, file, told) => {
  for (let wait = FIRST_WAIT_MS; ; wait = Math.min(2 * wait, LONGEST_WAIT_MS)) {
    try {
      const answer = await post(address, file, told.progress);
      if ([502, 503, 504].includes(answer.status)) throw new TypeError("not in reach");
      const problem = part(answer.responseText, ".problem, [role=alert]")?.textContent;
      show(section, answer.responseText);
      if (answer.status < 400) {
        told.item.remove();
      } else {
        told.progress.remove();
        told.again.remove();
        told.trouble.textContent = problem || "The server refused it.";
      }
      return;
    } catch {
      told.progress.value = 0;
      told.trouble.textContent = "Not sent yet: the server is out of reach. It is sent when it is back; keep this page open.";
      told.again.hidden = false;
      await pause(wait, told.again);
      told.trouble.textContent = "";
      told.again.hidden = true;
    }
  }
};

document.addEventListener("change", (event) => {
  const form = event.target.closest?.("form.add-photos");
  if (!form || !event.target.files?.length) return;
  const section = form.closest(".set-photos");
  for (const file of event.target.files) {
    const told = line(section, file);
    left += 1;
    sending = sending.then(() => send(section, form.action, file, told)).then(() => { left -= 1; });
  }
  event.target.value = "";
});

window.addEventListener("beforeunload", (event) => {
  if (left) event.preventDefault();
});

// --- placing ---

const photo = () => document.querySelector(".set-photo");
const millimetres = (value) => `${Math.round(value / 10) * 10} mm`;
const place = async (values) => {
  const target = photo();
  const focused = document.activeElement?.matches?.(".viewpoint.here") ? document.activeElement.id : "";
  await window.htmx.ajax("POST", target.dataset.action, {
    source: target,
    target: `#${target.id}`,
    swap: "outerMorph",
    values: { ...values, revision: target.dataset.revision },
  });
  for (const each of document.querySelectorAll(".scripted-words")) each.hidden = false;
  if (focused) document.getElementById(focused)?.focus();
};

const onFloor = (svg, event) => {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  const { scale, left: zeroX, top: zeroY } = svg.dataset;
  return { x: (at.x - Number(zeroX)) / Number(scale), y: (Number(zeroY) - at.y) / Number(scale) };
};
const degrees = (from, to) => (Math.atan2(to.x - from.x, to.y - from.y) * 180) / Math.PI;

let pressed = null;
document.addEventListener("pointerdown", (event) => {
  const floor = photo() && event.target.closest?.(".floor");
  if (!floor || event.button !== 0) return;
  event.preventDefault();
  floor.setPointerCapture(event.pointerId);
  pressed = { svg: floor.ownerSVGElement, at: onFloor(floor.ownerSVGElement, event), x: event.clientX, y: event.clientY };
});
document.addEventListener("pointerup", (event) => {
  if (!pressed) return;
  const { svg, at, x, y } = pressed;
  pressed = null;
  const dragged = Math.hypot(event.clientX - x, event.clientY - y) >= DRAG_PX;
  const looks = dragged ? String(Math.round(degrees(at, onFloor(svg, event)))) : "";
  place({ x: millimetres(at.x), y: millimetres(at.y), looks });
});
document.addEventListener("pointercancel", () => { pressed = null; });

const MOVES = { ArrowLeft: [-1, 0, 0], ArrowRight: [1, 0, 0], ArrowUp: [0, 1, 0], ArrowDown: [0, -1, 0], PageUp: [0, 0, -1], PageDown: [0, 0, 1] };
let nudged = null;
let waiting = 0;
document.addEventListener("keydown", (event) => {
  const spot = event.target.closest?.(".viewpoint.here");
  const move = MOVES[event.key];
  if (!spot || !move) return;
  event.preventDefault();
  nudged ??= { x: Number(spot.dataset.x), y: Number(spot.dataset.y), looks: Number(spot.dataset.looks), from: { ...spot.dataset } };
  nudged.x += move[0] * STEP_MM;
  nudged.y += move[1] * STEP_MM;
  nudged.looks += move[2] * TURN_DEG;
  const scale = Number(spot.ownerSVGElement.dataset.scale);
  spot.setAttribute("transform", `translate(${(nudged.x - nudged.from.x) * scale} ${(nudged.from.y - nudged.y) * scale})`);
  clearTimeout(waiting);
  waiting = setTimeout(() => {
    const { x, y, looks } = nudged;
    nudged = null;
    place({ x: millimetres(x), y: millimetres(y), looks: String(((Math.round(looks) + 540) % 360) - 180) });
  }, SETTLE_MS);
});
