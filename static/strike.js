// Before the set is struck: what is on record is drawn anew when something of the shot was changed elsewhere, or a file
// came. The page works without it.

const CATCH_UP_MS = 120;

const list = () => document.querySelector(".on-record");
let waiting = 0;

const isBeingFilledIn = () =>
  [...list().querySelectorAll("input:not([type=hidden])")].some((input) => input.value !== input.defaultValue);

const draw = () => {
  const target = list();
  if (!target) return;
  if (isBeingFilledIn()) {
    waiting = setTimeout(draw, 10 * CATCH_UP_MS);
    return;
  }
  document.dispatchEvent(new Event("set-changed"));
  window.htmx.ajax("GET", `/shots/${target.dataset.shot}/strike/evidence`, { target: `#${target.id}`, swap: "outerMorph" });
};

document.addEventListener("htmx:sse:after:message", (event) => {
  // Whatever is told of a shot carries its desk, since everything on it may rest on the change.
  if (!list() || !event.detail.message.data.includes(`id="desk-${list().dataset.shot}"`)) return;
  clearTimeout(waiting);
  waiting = setTimeout(draw, CATCH_UP_MS);
});
