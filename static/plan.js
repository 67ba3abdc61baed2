// Moving things on the plan by hand or by keys. What is sent is the form that the numbers send; the page works without.
//
// - what is moved goes out with the version that this page read, so that nothing newer is overwritten
// - moves wait for each other, and each goes out with the version that the answer before it left
// - a move that the network cut is kept on this device, shown as not saved yet, and tried again until it is answered
// - what was changed elsewhere is shown at once, but never under a hand that drags or a form that is being filled in

const SETTLE_MS = 250;
const LOOK_MS = 160;
const CATCH_UP_MS = 120;
const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 4000;
const MM_PER_INCH = 25.4;

const UNSAVED = "not saved yet: out of reach, trying again";
const AS_IT_STANDS = "in reach again: it is shown as it stands in the record";

let held = null;
let nudged = null;
let waiting = 0;
let looked = 0;
let sending = 0;
let behind = false;
let queue = Promise.resolve();

const section = () => document.querySelector(".plan-page");
const inches = () => section().dataset.unit === "in";
const millimetres = (value) => `${Math.round(value * 100) / 100} mm`;
const formOf = (field, root = section()) => root.querySelector(`form.place[data-field="${field}"]`);
const versionOf = (field, root) => formOf(field, root)?.elements.version.value ?? "";
const standsOf = (field, root = section()) => [...root.querySelectorAll(`.stand[data-field="${field}"]`)];
const say = (words) => { section().querySelector(".where").textContent = words; };
const seconds = (ms) => new Promise((go) => {
  const timer = setTimeout(go, ms);
  window.addEventListener("online", () => { clearTimeout(timer); go(); }, { once: true });
});

// `way` says how it was moved: "hand" is snapped to the tape in the plan, "height" in the elevation, "keys" not at all.
const body = (stand, way) => {
  const { unit, under } = section().dataset;
  const said = { field: stand.dataset.field, unit, under, drag: way };
  for (const axis of ["x", "y", "z"]) said[axis] = millimetres(Number(stand.dataset[axis]));
  return said;
};

// --- what is not saved yet ---

const shelf = `plan ${location.pathname}`;
const kept = () => {
  try {
    return JSON.parse(localStorage.getItem(shelf)) ?? [];
  } catch {
    return [];
  }
};
const keepOnly = (moves) => {
  try {
    if (moves.length) localStorage.setItem(shelf, JSON.stringify(moves));
    else localStorage.removeItem(shelf);
  } catch {
    // A device that keeps nothing still sends what waits for as long as the page is open.
  }
};
const showUnsaved = (field) => {
  for (const stand of standsOf(field)) stand.classList.add("unsaved");
  say(`${standsOf(field)[0]?.dataset.name ?? field}: ${UNSAVED}`);
};

// Goes on trying until the server answers. A move whose answer was lost has another version in the record: then the page
// shows what is there, rather than to write it once more.
const insist = async (address, request, field) => {
  const sent = request.body.get("version");
  for (let wait = FIRST_WAIT_MS; ; wait = Math.min(2 * wait, LONGEST_WAIT_MS)) {
    try {
      const answer = await window.fetch(address, request);
      if (![502, 503, 504].includes(answer.status)) return answer;
    } catch (problem) {
      if (problem.name === "AbortError") throw problem;
    }
    showUnsaved(field);
    await seconds(wait);
    const stands = await window.fetch(section().dataset.here, { headers: { "HX-Request": "true" } }).catch(() => null);
    if (!stands?.ok) continue;
    const text = await stands.text();
    if (versionOf(field, new DOMParser().parseFromString(text, "text/html")) === sent) continue;
    setTimeout(() => say(AS_IT_STANDS), CATCH_UP_MS);
    return new Response(text, { status: 200, headers: stands.headers });
  }
};

document.addEventListener("htmx:before:request", (event) => {
  const { ctx } = event.detail;
  if (!ctx.request.body?.get?.("drag")) return;
  // It waits for as long as it takes.
  clearTimeout(ctx.requestTimeout);
  ctx.fetch = (address, request) => insist(address, request, request.body.get("field"));
});

const send = (verb, address, values) => {
  sending += 1;
  queue = queue.then(async () => {
    const target = section();
    if (verb === "POST") values.version ??= versionOf(values.field);
    // The answer shows everything as it stands by then.
    behind = false;
    await window.htmx.ajax(verb, address, { target: `#${target.id}`, swap: "outerMorph", values });
    sending -= 1;
  });
  return queue;
};

const keep = (values) => {
  const focused = document.activeElement?.closest?.(".stand")?.id;
  const key = crypto.getRandomValues(new Uint32Array(2)).join("-");
  const isBehind = kept().some((each) => each.values.field === values.field);
  keepOnly([...kept(), { key, values, version: isBehind ? null : (values.version ?? versionOf(values.field)) }]);
  return send("POST", section().dataset.action, values).then(() => {
    keepOnly(kept().filter((each) => each.key !== key));
    const stand = focused && document.getElementById(focused);
    if (stand && (document.activeElement === document.body || document.activeElement === stand)) stand.focus({ preventScroll: true });
    const moved = standsOf(values.field).find((each) => each.hasAttribute("aria-label"));
    if (moved && !nudged && !held && !section().querySelector("[role=alert]")) say(moved.getAttribute("aria-label").split(". ")[0]);
    if (nudged) place(document.getElementById(nudged.id), { x: nudged.x, y: nudged.y, z: nudged.z });
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

// What was pressed may be gone with the answer (a thing removed, the way back taken): then the positions are next.
let wasInside = false;
document.addEventListener("htmx:before:swap", () => { wasInside = Boolean(section()?.contains(document.activeElement)); });
document.addEventListener("htmx:after:swap", () => {
  if (wasInside && document.activeElement === document.body) section().querySelector(".places h2").focus({ preventScroll: true });
  wasInside = false;
});

// --- the workings ---

// The first opens and closes all those below it; each opens by itself, too.
const workings = () => [...section().querySelectorAll('.follows details[id*="workings"]')];
const openAll = () => {
  const [first, ...rest] = workings();
  for (const each of rest) each.open = first.open;
};
document.addEventListener("toggle", (event) => event.target === workings()[0] && openAll(), { capture: true });
// The shadows come after the rest.
document.addEventListener("htmx:after:swap", () => workings()[0]?.open && openAll());

// --- by hand ---

// While something is held, the figures follow it; nothing is kept until it is let go.
const look = async (stand) => {
  const now = ++looked;
  const answer = await fetch(`${section().dataset.action}/preview`, {
    method: "POST",
    headers: { "HX-Request": "true" },
    body: new URLSearchParams(body(stand, wayOf(stand))),
  });
  if (!answer.ok || now !== looked || !held) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (now !== looked || !held) return;
  for (const part of [".moved", ".follows"]) {
    const stands = section().querySelector(part);
    const drawn = page.querySelector(part);
    if (!stands || !drawn) continue;
    for (const { id } of stands.querySelectorAll("details[open]")) drawn.querySelector(`#${CSS.escape(id)}`)?.setAttribute("open", "");
    // Shadows come once it is let go; those of before are told apart.
    const shadows = stands.querySelector(".shadows");
    shadows?.classList.add("stale");
    if (shadows) drawn.querySelector(".shadows")?.replaceWith(shadows);
    stands.replaceChildren(...drawn.childNodes);
  }
};

const length = (mm) => (inches() ? `${(mm / MM_PER_INCH).toFixed(1)} in` : `${(mm / 10).toFixed(1)} cm`);
const words = ({ x, y, z }) => {
  const bearing = Math.round((Math.atan2(x, -y) * 180) / Math.PI);
  const side = bearing === 0 ? "in front" : Math.abs(bearing) === 180 ? "behind" : `${Math.abs(bearing)}° ${bearing > 0 ? "right" : "left"}`;
  const height = Math.abs(z) < 0.5 ? "level with it" : `${length(Math.abs(z))} ${z < 0 ? "below" : "above"}`;
  return `${length(Math.hypot(x, y, z))} from the subject, ${side}, ${height}`;
};

// A stand at another place, in the plan and in the elevation of its drawing.
const place = (stand, at) => {
  if (!stand) return;
  const svg = stand.ownerSVGElement;
  const scale = Number(svg.dataset.scale);
  for (const each of standsOf(stand.dataset.field, svg)) {
    const { dataset } = each;
    dataset.from ??= JSON.stringify([Number(dataset.x), Number(dataset.y), Number(dataset.z)]);
    const [x, y, z] = JSON.parse(dataset.from);
    Object.assign(dataset, at);
    const [right, up] = each.matches(".upright") ? [at.y - y, at.z - z] : [at.x - x, at.y - y];
    each.setAttribute("transform", `translate(${right * scale} ${-up * scale})`);
  }
  say(`${stand.dataset.name}: ${words(at)}`);
};
const placeOf = ({ dataset }) => ({ x: Number(dataset.x), y: Number(dataset.y), z: Number(dataset.z) });

const onPaper = (svg, event) =>
  new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());

document.addEventListener("pointerdown", (event) => {
  const stand = event.target.closest?.(".stand");
  if (!stand || event.button !== 0) return;
  event.preventDefault();
  // The keys move it in the plan, also where the hand took hold of it in the elevation.
  standsOf(stand.dataset.field, stand.ownerSVGElement).find((each) => each.hasAttribute("tabindex"))?.focus({ preventScroll: true });
  held = { stand, start: onPaper(stand.ownerSVGElement, event), at: placeOf(stand), moved: false };
  stand.classList.add("held");
  stand.setPointerCapture(event.pointerId);
});

// A part of a drawing has no touch-action of its own: without this the page would be scrolled under the finger.
document.addEventListener("touchstart", (event) => event.target.closest?.(".stand") && event.preventDefault(), { passive: false });

document.addEventListener("pointermove", (event) => {
  if (!held) return;
  const { stand, start } = held;
  const svg = stand.ownerSVGElement;
  const here = onPaper(svg, event);
  const scale = Number(svg.dataset.scale);
  if (!held.moved && Math.hypot(here.x - start.x, here.y - start.y) < 3) return;
  held.moved = true;
  const [right, up] = [(here.x - start.x) / scale, (start.y - here.y) / scale];
  const { x, y, z } = held.at;
  place(stand, stand.matches(".upright") ? { x, y, z: z + up } : { x: x + right, y: y + up, z });
  clearTimeout(waiting);
  waiting = setTimeout(() => held && look(stand), LOOK_MS);
});

const wayOf = (stand) => (stand.matches(".upright") ? "height" : "hand");
const letGo = () => {
  if (!held) return;
  const { stand, moved } = held;
  held = null;
  looked += 1;
  clearTimeout(waiting);
  stand.classList.remove("held");
  if (moved) keep(body(stand, wayOf(stand)));
  else catchUp();
};
document.addEventListener("pointerup", letGo);
document.addEventListener("pointercancel", letGo);

// --- by keys ---

const MOVES = { ArrowLeft: [-1, 0, 0], ArrowRight: [1, 0, 0], ArrowUp: [0, 1, 0], ArrowDown: [0, -1, 0], PageUp: [0, 0, 1], PageDown: [0, 0, -1] };

const settle = () => {
  const stand = nudged && document.getElementById(nudged.id);
  nudged = null;
  clearTimeout(waiting);
  if (stand) keep(body(stand, "keys"));
};

document.addEventListener("keydown", (event) => {
  const stand = event.target.closest?.(".stand");
  const move = MOVES[event.key];
  if (!stand || !move) return;
  event.preventDefault();
  if (nudged && nudged.id !== stand.id) settle();
  const step = (inches() ? MM_PER_INCH / 2 : 10) * (event.shiftKey ? 10 : 1);
  const { x, y, z } = nudged ?? placeOf(stand);
  nudged = { id: stand.id, x: x + move[0] * step, y: y + move[1] * step, z: z + move[2] * step };
  place(stand, { x: nudged.x, y: nudged.y, z: nudged.z });
  clearTimeout(waiting);
  waiting = setTimeout(settle, SETTLE_MS);
});

// What an earlier page left goes first, in its order.
for (const { key, values, version } of kept()) {
  keepOnly(kept().filter((each) => each.key !== key));
  // What was answered after all, or changed elsewhere since, is shown as it stands.
  if (version !== null && version !== versionOf(values.field)) {
    say(AS_IT_STANDS);
    continue;
  }
  keep(version === null ? values : { ...values, version });
  showUnsaved(values.field);
}
