// Draws a patch on the picture, or taps a rule, into the number fields beside it. The fields work without it.
//
// - with the mouse, a finger or a pen: press, drag, let go; for a rule: two taps
// - with the keyboard: arrows move the patch, Shift and arrows size it, Enter goes to its name, Escape stops
// - what is typed into the fields is drawn at once

const easel = document.querySelector("[data-easel]");
const patchForm = document.querySelector("[data-patch-form]");
const ruleForm = document.querySelector("[data-rule-form]");
const buttons = [...document.querySelectorAll("[data-draw]")];
const words = document.querySelector("[data-draw-words]");
const SVG = "http://www.w3.org/2000/svg";
const WORDS = {
  patch: "Drag over the place; or use the arrow keys, with Shift to size it, and Enter.",
  rule: "Tap two marks of the rule, as far apart as can be seen.",
};

if (easel && patchForm && ruleForm) {
  const overlay = easel.querySelector("svg");
  const drawn = easel.querySelector("[data-drawn]");
  const { width, height } = overlay.viewBox.baseVal;
  let mode = "";
  let from = null;
  let taps = [];

  const rounded = (fraction) => Math.round(fraction * 1000) / 10;
  const clamped = (fraction) => Math.min(1, Math.max(0, fraction));
  const number = (input) => Number.parseFloat(input.value.replace(",", ".")) / 100;
  const place = (event) => {
    const box = easel.getBoundingClientRect();
    return [clamped((event.clientX - box.left) / box.width), clamped((event.clientY - box.top) / box.height)];
  };
  const shape = (name, attributes) => {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  };
  const sides = () => ["x", "y", "width", "height"].map((name) => number(patchForm.elements[name]));
  const write = (x, y, w, h) => {
    for (const [name, value] of Object.entries({ x, y, width: w, height: h })) patchForm.elements[name].value = rounded(value);
    draw();
  };

  const draw = () => {
    drawn.replaceChildren();
    const [x, y, w, h] = sides();
    if ([x, y, w, h].every(Number.isFinite)) {
      drawn.append(shape("rect", { class: "drawn", x: x * width, y: y * height, width: w * width, height: h * height }));
    }
    const [x1, y1, x2, y2] = ["x1", "y1", "x2", "y2"].map((name) => number(ruleForm.elements[name]));
    if ([x1, y1, x2, y2].every(Number.isFinite)) {
      drawn.append(shape("line", { x1: x1 * width, y1: y1 * height, x2: x2 * width, y2: y2 * height }));
    }
  };

  const choose = (wanted) => {
    mode = mode === wanted ? "" : wanted;
    from = null;
    taps = [];
    easel.classList.toggle("drawing", mode !== "");
    for (const button of buttons) button.setAttribute("aria-pressed", String(button.dataset.draw === mode));
    words.textContent = WORDS[mode] ?? "";
    if (mode) document.querySelector("#patches > details").open = true;
    if (mode === "rule") document.getElementById("rule").open = true;
    if (mode === "patch") {
      easel.tabIndex = 0;
      easel.setAttribute("role", "application");
      easel.setAttribute("aria-label", WORDS.patch);
      if (!sides().every(Number.isFinite)) write(0.4, 0.4, 0.2, 0.2);
      easel.focus();
    } else {
      easel.removeAttribute("tabindex");
      easel.removeAttribute("role");
      easel.removeAttribute("aria-label");
    }
  };

  for (const button of buttons) button.addEventListener("click", () => choose(button.dataset.draw));

  easel.addEventListener("pointerdown", (event) => {
    if (!mode) return;
    event.preventDefault();
    if (mode === "patch") {
      from = place(event);
      easel.setPointerCapture(event.pointerId);
      return;
    }
    taps = [...taps.slice(-1), place(event)];
    const names = taps.length === 1 ? ["x1", "y1"] : ["x1", "y1", "x2", "y2"];
    taps.flat().forEach((value, index) => { ruleForm.elements[names[index]].value = rounded(value); });
    draw();
    if (taps.length === 2) ruleForm.elements.namedItem("length").focus();
  });

  easel.addEventListener("pointermove", (event) => {
    if (!from) return;
    const to = place(event);
    write(Math.min(from[0], to[0]), Math.min(from[1], to[1]), Math.abs(to[0] - from[0]), Math.abs(to[1] - from[1]));
  });

  const letGo = () => {
    if (!from) return;
    from = null;
    patchForm.elements.name.focus();
  };
  easel.addEventListener("pointerup", letGo);
  easel.addEventListener("pointercancel", () => { from = null; });

  easel.addEventListener("keydown", (event) => {
    if (mode !== "patch") return;
    const step = { ArrowLeft: [-0.01, 0], ArrowRight: [0.01, 0], ArrowUp: [0, -0.01], ArrowDown: [0, 0.01] }[event.key];
    if (step) {
      event.preventDefault();
      const [x, y, w, h] = sides();
      if (event.shiftKey) write(x, y, Math.max(0.01, Math.min(1 - x, w + step[0])), Math.max(0.01, Math.min(1 - y, h + step[1])));
      else write(Math.max(0, Math.min(1 - w, x + step[0])), Math.max(0, Math.min(1 - h, y + step[1])), w, h);
    } else if (event.key === "Enter") {
      event.preventDefault();
      patchForm.elements.name.focus();
    } else if (event.key === "Escape") {
      choose("patch");
      buttons[0].focus();
    }
  });

  for (const form of [patchForm, ruleForm]) form.addEventListener("input", draw);
  draw();
}
