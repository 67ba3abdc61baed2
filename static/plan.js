// Moving things on the plan by hand or by keys. What is sent is the form that the numbers send; the page works without.

const STEP_MM = 10;
const SETTLE_MS = 250;
const LOOK_MS = 160;

let held = null;
let waiting = 0;
let looked = 0;

const section = () => document.querySelector(".plan-page");
const millimetres = (value) => `${Math.round(value * 100) / 100} mm`;

const body = (stand, extra = {}) => {
  const said = { field: stand.dataset.field, unit: section().dataset.unit, drag: "1", ...extra };
  for (const axis of ["x", "y", "z"]) said[axis] = millimetres(Number(stand.dataset[axis]));
  return said;
};

const keep = (stand) => {
  const target = section();
  const focused = document.activeElement === stand ? stand.id : "";
  window.htmx
    .ajax("POST", target.dataset.action, { target: `#${target.id}`, swap: "outerMorph", values: body(stand) })
    .then(() => focused && document.getElementById(focused)?.focus());
};

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
  if (drawn && now === looked && held) section().querySelector(".follows").replaceChildren(...drawn.childNodes);
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
  section().querySelector(".where").textContent = `${(distance / 10).toFixed(1)} cm from the subject`;
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
};
document.addEventListener("pointerup", letGo);
document.addEventListener("pointercancel", letGo);

const MOVES = { ArrowLeft: [-1, 0, 0], ArrowRight: [1, 0, 0], ArrowUp: [0, 1, 0], ArrowDown: [0, -1, 0], PageUp: [0, 0, 1], PageDown: [0, 0, -1] };

document.addEventListener("keydown", (event) => {
  const stand = event.target.closest?.(".stand");
  const move = MOVES[event.key];
  if (!stand || !move) return;
  event.preventDefault();
  const step = STEP_MM * (event.shiftKey ? 10 : 1);
  stand.dataset.z = Number(stand.dataset.z) + move[2] * step;
  place(stand, Number(stand.dataset.x) + move[0] * step, Number(stand.dataset.y) + move[1] * step);
  clearTimeout(waiting);
  waiting = setTimeout(() => keep(stand), SETTLE_MS);
});
