// Moving things on the plan by hand or by keys. What is sent is the form that the numbers send; the page works without.
//
// - what is moved goes out with the version that this page read, so that nothing newer is overwritten
// - moves wait for each other, and each goes out with the version that the answer before it left
// - what was changed elsewhere is shown at once, but never under a hand that drags or a form that is being filled in

const STEP_MM = 10;
const SETTLE_MS = 250;
const LOOK_MS = 160;
const CATCH_UP_MS = 120;

let held = null;
let nudged = null;
let waiting = 0;
let looked = 0;
let sending = 0;
let behind = false;
let queue = Promise.resolve();

const section = () => document.querySelector(".plan-page");
const millimetres = (value) => `${Math.round(value * 100) / 100} mm`;
const formOf = (field) => section().querySelector(`form.place[data-field="${field}"]`);

const body = (stand) => {
  const { unit, under } = section().dataset;
  const said = { field: stand.dataset.field, unit, under, drag: "1" };
  for (const axis of ["x", "y", "z"]) said[axis] = millimetres(Number(stand.dataset[axis]));
  return said;
};

const send = (verb, address, values) => {
  sending += 1;
  queue = queue.then(async () => {
    const target = section();
    if (verb === "POST") values.version = formOf(values.field)?.elements.version.value ?? "";
    // The answer shows everything as it stands by then.
    behind = false;
    await window.htmx.ajax(verb, address, { target: `#${target.id}`, swap: "outerMorph", values });
    sending -= 1;
  });
  return queue;
};

const keep = (stand) => {
  const focused = document.activeElement === stand ? stand.id : "";
  send("POST", section().dataset.action, body(stand)).then(() => {
    if (focused) document.getElementById(focused)?.focus();
    catchUp();
  });
};

// --- what was changed elsewhere ---

const isBusy = () => held || nudged || sending > 0;
const isBeingFilledIn = () => {
  if (section().querySelector("[role=alert]")) return true;
  const inputs = [...section().querySelectorAll("form input:not([type=hidden]), form select")];
  return inputs.some((input) =>
    input.matches("select")
      ? [...input.options].some((each) => each.selected !== each.defaultSelected && input.form.matches(".place"))
      : input.value !== input.defaultValue,
  );
};

const draw = () => {
  behind = false;
  section().querySelector(".elsewhere").hidden = true;
  send("GET", section().dataset.here, {}).then(catchUp);
};

const catchUp = () => {
  if (!behind || isBusy()) return;
  if (isBeingFilledIn()) section().querySelector(".elsewhere").hidden = false;
  else draw();
};

document.addEventListener("htmx:sse:after:message", (event) => {
  // Whatever is told of a shot carries its desk, since everything on it may rest on the change.
  if (!section() || !event.detail.message.data.includes(`id="desk-${section().dataset.shot}"`)) return;
  behind = true;
  setTimeout(catchUp, CATCH_UP_MS);
});

// An answer that was asked for before the hand took hold is not drawn under it.
document.addEventListener("htmx:before:swap", (event) => {
  const { request, target } = event.detail.ctx;
  if (!held || request?.method !== "GET" || target !== section()) return;
  event.preventDefault();
  behind = true;
});

document.addEventListener("click", (event) => {
  if (event.target.closest?.("[data-show]")) draw();
});

// --- by hand ---

// While something is held, the figures follow it; nothing is kept until it is let go.
const look = async (stand) => {
  const now = ++looked;
  const answer = await fetch(`${section().dataset.action}/preview`, {
    method: "POST",
    headers: { "HX-Request": "true" },
    body: new URLSearchParams(body(stand)),
  });
  if (!answer.ok || now !== looked || !held) return;
  const drawn = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".follows");
  if (!drawn || now !== looked || !held) return;
  const follows = section().querySelector(".follows");
  for (const { id } of follows.querySelectorAll("details[open]")) drawn.querySelector(`#${CSS.escape(id)}`)?.setAttribute("open", "");
  follows.replaceChildren(...drawn.childNodes);
};

const place = (stand, x, y) => {
  const svg = stand.ownerSVGElement;
  const scale = Number(svg.dataset.scale);
  const first = stand.dataset.from ? JSON.parse(stand.dataset.from) : [Number(stand.dataset.x), Number(stand.dataset.y)];
  stand.dataset.from = JSON.stringify(first);
  stand.dataset.x = x;
  stand.dataset.y = y;
  stand.setAttribute("transform", `translate(${(x - first[0]) * scale} ${(first[1] - y) * scale})`);
  const distance = Math.hypot(x, y, Number(stand.dataset.z));
  const told = section().dataset.unit === "in" ? `${(distance / 25.4).toFixed(1)} in` : `${(distance / 10).toFixed(1)} cm`;
  section().querySelector(".where").textContent = `${told} from the subject`;
};

const onPaper = (svg, event) =>
  new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());

document.addEventListener("pointerdown", (event) => {
  const stand = event.target.closest?.(".stand");
  if (!stand || event.button !== 0) return;
  event.preventDefault();
  stand.focus();
  const start = onPaper(stand.ownerSVGElement, event);
  held = { stand, start, x: Number(stand.dataset.x), y: Number(stand.dataset.y), moved: false };
  stand.classList.add("held");
  stand.setPointerCapture(event.pointerId);
});

document.addEventListener("pointermove", (event) => {
  if (!held) return;
  const { stand, start } = held;
  const svg = stand.ownerSVGElement;
  const here = onPaper(svg, event);
  const scale = Number(svg.dataset.scale);
  if (!held.moved && Math.hypot(here.x - start.x, here.y - start.y) < 3) return;
  held.moved = true;
  place(stand, held.x + (here.x - start.x) / scale, held.y - (here.y - start.y) / scale);
  clearTimeout(waiting);
  waiting = setTimeout(() => held && look(stand), LOOK_MS);
});

const letGo = () => {
  if (!held) return;
  const { stand, moved } = held;
  held = null;
  looked += 1;
  clearTimeout(waiting);
  stand.classList.remove("held");
  if (moved) keep(stand);
  else catchUp();
};
document.addEventListener("pointerup", letGo);
document.addEventListener("pointercancel", letGo);

// --- by keys ---

const MOVES = { ArrowLeft: [-1, 0, 0], ArrowRight: [1, 0, 0], ArrowUp: [0, 1, 0], ArrowDown: [0, -1, 0], PageUp: [0, 0, 1], PageDown: [0, 0, -1] };

const settle = () => {
  const stand = nudged;
  nudged = null;
  clearTimeout(waiting);
  if (stand) keep(stand);
};

document.addEventListener("keydown", (event) => {
  const stand = event.target.closest?.(".stand");
  const move = MOVES[event.key];
  if (!stand || !move) return;
  event.preventDefault();
  if (nudged && nudged !== stand) settle();
  nudged = stand;
  const step = STEP_MM * (event.shiftKey ? 10 : 1);
  stand.dataset.z = Number(stand.dataset.z) + move[2] * step;
  place(stand, Number(stand.dataset.x) + move[0] * step, Number(stand.dataset.y) + move[1] * step);
  clearTimeout(waiting);
  waiting = setTimeout(settle, SETTLE_MS);
});
