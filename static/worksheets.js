// An arrow key in a value does what the keys beside it do. Every press counts, also while the answer to the one before is
// on its way; the value that it came to is announced, the figures are by their section.

const WAYS = { ArrowUp: 1, ArrowDown: 0 };
const form = document.querySelector(".worksheet form");
const announcer = document.querySelector("[data-announcer]");
const keysOf = (input) => input.closest(".asked")?.querySelectorAll(".stepper") ?? [];
const waiting = [];

const press = () => {
  const [name, way] = waiting[0];
  keysOf(form.elements[name])[way].click();
};

form.addEventListener("keydown", (event) => {
  const { target, key } = event;
  if (!(key in WAYS) || !target.matches("input") || !keysOf(target).length) return;
  if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
  event.preventDefault();
  // A key that is held down goes as fast as the answers come, and ends where it is let go.
  if (event.repeat && waiting.length) return;
  waiting.push([target.name, WAYS[key]]);
  if (waiting.length === 1) press();
});

document.addEventListener("htmx:finally:request", (event) => {
  if (event.detail.ctx.sourceElement !== form || !waiting.length) return;
  const [name] = waiting.shift();
  const input = form.elements[name];
  // The field was exchanged for one with the new value.
  if (document.activeElement === document.body) input.focus();
  const unit = input.parentElement.querySelector(".unit")?.textContent ?? "";
  announcer.textContent = `${input.labels[0].textContent} ${input.value} ${unit}`.trim();
  if (waiting.length) press();
});
