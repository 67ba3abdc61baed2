// Follows a live page: each event is a part of the page, which takes the place of the one with its id, or goes in
// among its kind by number. Without scripts the page is reloaded by hand.

const shots = document.getElementById("shots");
const state = document.getElementById("state");

const say = (words) => {
  state.textContent = words;
};

const sayWithReload = (words) => {
  const link = document.createElement("a");
  link.href = location.href;
  link.textContent = "Reload";
  state.replaceChildren(`${words} `, link, " for the newest frames.");
};

const goIn = (part) => {
  const among = document.getElementById(part.dataset.into);
  if (!among) return location.reload();
  const number = Number(part.dataset.number);
  const after = [...among.children].find((each) => Number(each.dataset.number) < number);
  // A frame older than those on the page stands on the page of older frames.
  if (after || !("more" in among.dataset)) among.insertBefore(part, after ?? null);
  among.parentElement.querySelector(":scope > .none")?.remove();
};

// The newest frame is open, and the one that it comes before closes.
const openNewest = (part) => {
  if (!part.isConnected || part.previousElementSibling) return;
  part.firstElementChild.open = true;
  const before = part.nextElementSibling?.firstElementChild;
  if (before) before.open = false;
};

const takeIn = (event) => {
  const drawn = document.createElement("template");
  drawn.innerHTML = event.data;
  for (const part of [...drawn.content.children]) {
    part.classList.add("fresh");
    const there = document.getElementById(part.id);
    const isFrame = part.matches("article");
    if (isFrame && there) part.firstElementChild.open = there.firstElementChild.open;
    if (there) there.replaceWith(part);
    else goIn(part);
    if (isFrame && !there) openNewest(part);
    if (isFrame) say(`${part.querySelector("h3").firstChild.data.trim()} is new or changed.`);
  }
};

if (shots.dataset.news) {
  const line = new EventSource(shots.dataset.news);
  line.addEventListener("open", () => {
    say("Live: frames come by themselves.");
    document.documentElement.dataset.news = "listening";
  });
  line.addEventListener("message", takeIn);
  line.addEventListener("draw-anew", () => location.reload());
  line.addEventListener("ended", () => {
    line.close();
    say("This page has ended. What is on it stays until you leave.");
  });
  line.addEventListener("error", () => {
    if (line.readyState === EventSource.CLOSED) sayWithReload("Not live any more.");
    else say("The line is lost; it is being taken up again.");
  });
}
