// Small behaviours of the desk. The page works without them.
//
// - pictures chosen or dropped anywhere on the page are logged, a frame for each exposure of them
// - what is older than what stands on the page is left out
// - after Enter the dial gives the keyboard back to the page
// - Black covers the screen, so that it lights nothing on the set; any key or touch brings it back
// - news that was missed for too long draws the page anew

const logForm = () => document.querySelector("form.log");

document.addEventListener("change", (event) => {
  if (event.target.matches('form.log input[type="file"]') && event.target.files.length) {
    event.target.form.requestSubmit();
  }
});

// What is on the dial is what is in the record: a text that was refused gives way to the value that stands.
document.addEventListener("htmx:finally:request", (event) => {
  const mark = event.detail.ctx.sourceElement.querySelector?.("input.mark");
  const there = mark && (document.getElementById(mark.id) ?? mark);
  if (there && there !== document.activeElement) there.value = there.defaultValue;
});

// Pictures are logged once: when they were answered for, the next frame starts without them.
document.addEventListener("htmx:finally:request", (event) => {
  const form = event.detail.ctx.sourceElement;
  if (!form.matches?.("form.log")) return;
  for (const input of form.querySelectorAll('input[type="file"]')) input.value = "";
});

// An answer and the news come by two roads. A part of the page that knows of more changes than the one that comes is
// not put back by it; news of what it knows already leaves it alone, with what the answer said of a refusal.
document.addEventListener("htmx:before:swap", (event) => {
  const { ctx, tasks } = event.detail;
  const isNews = ctx.sourceElement?.hasAttribute?.("hx-sse:connect");
  for (const task of [...tasks]) {
    const { fragment } = task;
    for (const part of fragment?.querySelectorAll("[data-as-of]") ?? []) {
      const there = document.getElementById(part.id);
      const ahead = Number(there?.dataset.asOf) - Number(part.dataset.asOf);
      if (!(ahead > 0 || (isNews && ahead === 0))) continue;
      if (part.parentNode !== fragment) part.replaceWith(there.cloneNode(true));
      else if (fragment.children.length > 1) part.remove();
      else tasks.splice(tasks.indexOf(task), 1);
    }
  }
});

document.addEventListener("dragover", (event) => {
  if (logForm() && event.dataTransfer?.types.includes("Files")) {
    event.preventDefault();
    document.body.classList.add("dropping");
  }
});

document.addEventListener("dragleave", (event) => {
  if (!event.relatedTarget) document.body.classList.remove("dropping");
});

document.addEventListener("drop", (event) => {
  document.body.classList.remove("dropping");
  const form = logForm();
  if (!form || !event.dataTransfer?.files.length) return;
  event.preventDefault();
  form.elements.picture.files = event.dataTransfer.files;
  form.requestSubmit();
});

document.addEventListener("submit", (event) => {
  if (event.target.matches(".newest form")) document.querySelector(".newest input:focus")?.closest(".newest").querySelector(".which a").focus();
  if (event.target.matches("form.dial") && document.activeElement?.matches("input.mark")) {
    const mark = document.activeElement;
    mark.blur();
    // Not to the page's beginning, and to no key: the next press may be any.
    mark.closest(".line, .panel")?.focus({ preventScroll: true });
  }
});

document.addEventListener("keydown", (event) => {
  if (event.target.matches?.("input.mark") && event.key === "Escape") {
    event.target.value = event.target.defaultValue;
    event.target.blur();
    event.target.closest(".line, .panel")?.focus({ preventScroll: true });
  }
});

for (const button of document.querySelectorAll("button.scripted")) button.hidden = false;

const blackout = document.querySelector("[data-blackout]");
if (blackout) {
  const cover = document.createElement("button");
  cover.className = "blackout";
  cover.type = "button";
  cover.hidden = true;
  cover.setAttribute("aria-label", "Screen is black: press to bring it back");
  document.body.append(cover);
  const bringBack = (event) => {
    if (cover.hidden) return;
    event.preventDefault();
    event.stopPropagation();
    cover.hidden = true;
    blackout.focus();
  };
  blackout.addEventListener("click", () => {
    cover.hidden = false;
    cover.focus();
  });
  cover.addEventListener("click", bringBack);
  document.addEventListener("keydown", bringBack, true);
}

document.addEventListener("draw-anew", () => location.reload());

// The page says when it listens, for whoever drives it.
document.addEventListener("htmx:sse:after:connection", () => {
  document.documentElement.dataset.news = "listening";
});
