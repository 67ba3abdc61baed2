// The print button, and the sheet that gives way until it is one page. The browser lays it out and counts: a sheet of
// each step (webapp/paper/giving_way.py) is put beside the page, as wide as its paper, and its height is read.

Promise.allSettled([400, 700].map((weight) => document.fonts.load(`${weight} 12px "Sheet Sans"`))).then(() => {
  document.body.dataset.lettered = "";
});

const frame = document.querySelector("[data-last-step]");
const laidOut = frame ? giveWay() : Promise.resolve();

for (const button of document.querySelectorAll("[data-print]")) {
  button.addEventListener("click", () => laidOut.then(() => window.print()));
}

async function giveWay() {
  let sheet = frame.firstElementChild, found = 0;
  if (!(await isOnePage(sheet))) {
    // By halves; the last step always fits.
    let low = 1, high = Number(frame.dataset.lastStep);
    while (low < high) {
      const middle = Math.floor((low + high) / 2);
      if (await isOnePage(await sheetAt(middle))) high = middle; else low = middle + 1;
    }
    found = low;
    sheet = await sheetAt(found);
    frame.replaceChildren(sheet);
  }
  frame.dataset.laidOut = found;
}

async function sheetAt(step) {
  const address = new URL(location.href);
  address.searchParams.set("step", step);
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`The sheet cannot be laid out: ${answer.status}`);
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  return document.importNode(page.getElementById("sheet"), true);
}

async function isOnePage(sheet) {
  const beside = document.createElement("div");
  beside.className = "paper-beside";
  beside.setAttribute("aria-hidden", "true");
  const counted = sheet.cloneNode(true);
  counted.classList.add("counted");
  beside.append(counted);
  document.body.append(beside);
  await document.fonts.ready;
  // As high as its paper, or higher where it holds more.
  const { height } = counted.getBoundingClientRect();
  const onePage = height <= parseFloat(getComputedStyle(counted).minHeight) + 0.5;
  beside.remove();
  return onePage;
}
