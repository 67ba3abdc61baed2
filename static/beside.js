// Lays two pictures beside or over each other, from tiles, with one zoom and one place for both.
//
// - drag, two fingers, or the wheel; arrows, plus and minus, 0 for the whole, 1 for single pixels, [ and ] for the divider
// - exposure is equalised code by code: to light by the sRGB curve (IEC 61966-2-1), times 2^stops, and back
// - a tap on a map of sharpness brings both to that place

const looking = document.querySelector("[data-light-table]");
const MOST_TILES = 240;
const LARGEST_PIXEL = 12;
const ASK_AGAIN_MS = 900;

const lightOf = (code) => { const v = code / 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
const codeOf = (light) => Math.round(255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * Math.min(1, light) ** (1 / 2.4) - 0.055));

function liftedCodes(stops) {
  return Uint8ClampedArray.from({ length: 256 }, (_, code) => codeOf(lightOf(code) * 2 ** stops));
}

function lifted(image, table) {
  const canvas = new OffscreenCanvas(image.width, image.height);
  const context = canvas.getContext("2d", { willReadFrequently: true });
  context.drawImage(image, 0, 0);
  const pixels = context.getImageData(0, 0, image.width, image.height);
  const codes = pixels.data;
  for (let at = 0; at < codes.length; at += 4) {
    codes[at] = table[codes[at]];
    codes[at + 1] = table[codes[at + 1]];
    codes[at + 2] = table[codes[at + 2]];
  }
  context.putImageData(pixels, 0, 0);
  return canvas;
}

/** One picture: its tiles as they come, at most so many kept. */
class Tiles {
  constructor(side, whenThere) {
    Object.assign(this, side);
    this.levels = null;
    this.whenThere = whenThere;
    this.kept = new Map();
    this.table = null;
  }

  async ask() {
    const answer = await fetch(`/pictures/${this.digest}/pyramid`);
    const told = await answer.json();
    if (told.made) {
      this.levels = told.levels;
      this.tile = told.tile;
      this.whenThere();
    } else if (told.trouble) {
      this.trouble = told.trouble;
      this.whenThere();
    } else {
      setTimeout(() => this.ask(), ASK_AGAIN_MS);
    }
  }

  lift(stops) {
    this.table = stops ? liftedCodes(stops) : null;
    for (const kept of this.kept.values()) kept.drawn = null;
  }

  /** The level whose pixels come next to those of the screen. */
  levelFor(pixelsPerUnit) {
    const wanted = pixelsPerUnit * this.width * 0.7;
    const found = this.levels.findIndex(([width]) => width >= wanted);
    return found < 0 ? this.levels.length - 1 : found;
  }

  at(level, x, y) {
    const key = `${level}/${x}_${y}`;
    const kept = this.kept.get(key);
    if (kept) {
      this.kept.delete(key);
      this.kept.set(key, kept);
      if (!kept.image.complete || !kept.image.naturalWidth) return null;
      kept.drawn ??= this.table ? lifted(kept.image, this.table) : kept.image;
      return kept.drawn;
    }
    const image = new Image();
    image.onload = this.whenThere;
    image.src = `/pictures/${this.digest}/tiles/${key}`;
    this.kept.set(key, { image, drawn: null });
    if (this.kept.size > MOST_TILES) this.kept.delete(this.kept.keys().next().value);
    return null;
  }
}

function lookAt(root) {
  const canvas = root.querySelector("canvas");
  const context = canvas.getContext("2d", { alpha: false });
  const words = root.querySelector("[data-looking-at]");
  const trouble = root.querySelector("[data-trouble]");
  const divider = root.querySelector("[data-divider]");
  const form = document.querySelector("[data-equalise]");
  const sides = JSON.parse(root.dataset.lightTable).sides.map((side) => new Tiles(side, () => drawSoon()));
  const view = { mode: "side", x: 0, y: 0, zoom: 0, divider: 0.5 };
  let due = false;

  const box = () => canvas.getBoundingClientRect();
  /** The parts of the canvas that each picture has, in CSS pixels. */
  const parts = () => {
    const { width, height } = box();
    if (view.mode === "over") return [[0, 0, width, height], [0, 0, width, height]];
    return width >= height
      ? [[0, 0, width / 2 - 1, height], [width / 2 + 1, 0, width / 2 - 1, height]]
      : [[0, 0, width, height / 2 - 1], [0, height / 2 + 1, width, height / 2 - 1]];
  };
  const wholeZoom = () => {
    const [, , width, height] = parts()[0];
    return Math.min(...sides.map((side) => Math.min(width / side.width, height / side.height)));
  };
  const pixelsOf = (side) => (side.levels ? side.levels.at(-1)[0] / side.width : 0);
  const mostZoom = () => (LARGEST_PIXEL * Math.max(wholeZoom(), ...sides.map(pixelsOf))) / devicePixelRatio;

  const limited = () => {
    const pixels = Math.max(...sides.map(pixelsOf)) / devicePixelRatio;
    const least = Math.min(wholeZoom(), pixels || Infinity);
    view.zoom = view.zoom ? Math.min(Math.max(view.zoom, least), Math.max(mostZoom(), wholeZoom())) : wholeZoom();
    const reach = (name) => Math.max(...sides.map((side) => side[name])) / 2;
    view.x = Math.min(reach("width"), Math.max(-reach("width"), view.x));
    view.y = Math.min(reach("height"), Math.max(-reach("height"), view.y));
  };

  const drawSide = (side, [left, top, width, height], clipLeft, clipRight) => {
    context.save();
    context.beginPath();
    context.rect(clipLeft, top, clipRight - clipLeft, height);
    context.clip();
    const originX = left + width / 2 - (view.x + side.width / 2) * view.zoom;
    const originY = top + height / 2 - (view.y + side.height / 2) * view.zoom;
    if (side.levels) {
      const wanted = side.levelFor(view.zoom * Math.min(devicePixelRatio, 2));
      for (const level of new Set([0, wanted])) {
        const [levelWidth, levelHeight] = side.levels[level];
        const scale = (side.width * view.zoom) / levelWidth;
        const scaleDown = (side.height * view.zoom) / levelHeight;
        context.imageSmoothingEnabled = scale * devicePixelRatio < 2;
        const first = [Math.max(0, Math.floor((clipLeft - originX) / scale / side.tile)), Math.max(0, Math.floor((top - originY) / scaleDown / side.tile))];
        const last = [
          Math.min(Math.ceil(levelWidth / side.tile) - 1, Math.floor((clipRight - originX) / scale / side.tile)),
          Math.min(Math.ceil(levelHeight / side.tile) - 1, Math.floor((top + height - originY) / scaleDown / side.tile)),
        ];
        for (let y = first[1]; y <= last[1]; y += 1) {
          for (let x = first[0]; x <= last[0]; x += 1) {
            const tile = side.at(level, x, y);
            if (!tile) continue;
            const at = [originX + x * side.tile * scale, originY + y * side.tile * scaleDown];
            context.drawImage(tile, at[0], at[1], tile.width * scale + 0.5 / devicePixelRatio, tile.height * scaleDown + 0.5 / devicePixelRatio);
          }
        }
      }
    }
    context.restore();
  };

  const draw = () => {
    due = false;
    const { width, height } = box();
    if (!width) return;
    const size = [Math.round(width * devicePixelRatio), Math.round(height * devicePixelRatio)];
    if (canvas.width !== size[0] || canvas.height !== size[1]) [canvas.width, canvas.height] = size;
    limited();
    context.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
    context.fillStyle = "#000";
    context.fillRect(0, 0, width, height);
    const at = view.divider * width;
    parts().forEach((part, index) => {
      const over = view.mode === "over";
      drawSide(sides[index], part, over && index ? at : part[0], over && !index ? at : part[0] + part[2]);
    });
    if (view.mode === "over") {
      context.fillStyle = "#fff";
      context.fillRect(at - 1, 0, 2, height);
      context.beginPath();
      context.arc(at, height / 2, 11, 0, 2 * Math.PI);
      context.fill();
    }
    const most = pixelsOf(sides[0]);
    const percent = most ? `${Math.round((100 * view.zoom * devicePixelRatio) / most)} %` : "";
    const place = (at, size) => Math.round(100 * (0.5 + at / size));
    words.textContent = `${percent} at ${place(view.x, sides[0].width)} % across, ${place(view.y, sides[0].height)} % down`;
    root.dataset.ready = String(sides.every((side) => side.levels));
    trouble.textContent = sides.map((side) => side.trouble ?? (side.levels ? "" : `The tiles of ${side.name} are being made.`)).join(" ").trim();
  };
  const drawSoon = () => {
    if (!due) requestAnimationFrame(draw);
    due = true;
  };

  const zoomBy = (factor, at) => {
    const before = view.zoom;
    view.zoom *= factor;
    limited();
    if (at) {
      view.x += at[0] / before - at[0] / view.zoom;
      view.y += at[1] / before - at[1] / view.zoom;
    }
    drawSoon();
  };
  const showPixels = () => {
    view.zoom = Math.max(...sides.map(pixelsOf)) / devicePixelRatio || view.zoom;
    drawSoon();
  };
  const showWhole = () => {
    Object.assign(view, { x: 0, y: 0, zoom: 0 });
    drawSoon();
  };
  const divide = (fraction) => {
    view.divider = Math.min(1, Math.max(0, fraction));
    divider.value = Math.round(100 * view.divider);
    drawSoon();
  };
  const choose = (mode) => {
    view.mode = mode;
    for (const button of root.querySelectorAll("[data-mode]")) button.setAttribute("aria-pressed", String(button.dataset.mode === mode));
    divider.parentElement.hidden = mode !== "over";
    drawSoon();
  };
  /** Where the pointer is from the middle of the part it is over. */
  const fromMiddle = (event) => {
    const { left, top } = box();
    const [x, y] = [event.clientX - left, event.clientY - top];
    const part = view.mode === "over" ? parts()[0] : parts().find(([l, t, w, h]) => x >= l && x <= l + w && y >= t && y <= t + h) ?? parts()[0];
    return [x - part[0] - part[2] / 2, y - part[1] - part[3] / 2];
  };

  const pointers = new Map();
  let dividing = false;
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    pointers.set(event.pointerId, event);
    const { left, width } = box();
    dividing = view.mode === "over" && pointers.size === 1 && Math.abs(event.clientX - left - view.divider * width) < 22;
  });
  canvas.addEventListener("pointermove", (event) => {
    const was = pointers.get(event.pointerId);
    if (!was) return;
    const { left, width } = box();
    if (dividing) {
      divide((event.clientX - left) / width);
    } else if (pointers.size === 1) {
      view.x -= (event.clientX - was.clientX) / view.zoom;
      view.y -= (event.clientY - was.clientY) / view.zoom;
      drawSoon();
    } else {
      const other = [...pointers.values()].find((each) => each.pointerId !== event.pointerId);
      const apart = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
      view.x -= (event.clientX - was.clientX) / 2 / view.zoom;
      view.y -= (event.clientY - was.clientY) / 2 / view.zoom;
      zoomBy(apart(event) / Math.max(1, apart(was)), fromMiddle({ clientX: (event.clientX + other.clientX) / 2, clientY: (event.clientY + other.clientY) / 2 }));
    }
    pointers.set(event.pointerId, event);
  });
  const letGo = (event) => {
    pointers.delete(event.pointerId);
    dividing = false;
  };
  canvas.addEventListener("pointerup", letGo);
  canvas.addEventListener("pointercancel", letGo);
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoomBy(2 ** (-event.deltaY / 240), fromMiddle(event));
  }, { passive: false });
  canvas.addEventListener("dblclick", (event) => zoomBy(2, fromMiddle(event)));
  canvas.addEventListener("keydown", (event) => {
    const step = 60 / view.zoom;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    const acts = { "+": () => zoomBy(1.5), "=": () => zoomBy(1.5), "-": () => zoomBy(1 / 1.5), 0: showWhole, 1: showPixels, "[": () => divide(view.divider - 0.05), "]": () => divide(view.divider + 0.05) };
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (moves[event.key]) {
      view.x += moves[event.key][0];
      view.y += moves[event.key][1];
      drawSoon();
    } else if (acts[event.key]) {
      acts[event.key]();
    } else {
      return;
    }
    event.preventDefault();
  });

  for (const button of root.querySelectorAll("[data-mode]")) button.addEventListener("click", () => choose(button.dataset.mode));
  const zooms = { in: () => zoomBy(1.5), out: () => zoomBy(1 / 1.5), whole: showWhole, pixels: showPixels };
  for (const button of root.querySelectorAll("[data-zoom]")) button.addEventListener("click", zooms[button.dataset.zoom]);
  divider.addEventListener("input", () => divide(divider.value / 100));

  const equalise = () => {
    const stops = Number.parseFloat(form.elements.lift.value.replace(",", ".").replace("−", "-"));
    sides[1].lift(form.elements.equalise.checked && Number.isFinite(stops) ? Math.min(10, Math.max(-10, stops)) : 0);
    root.dataset.lifted = String(Boolean(sides[1].table));
    drawSoon();
  };
  form.addEventListener("input", equalise);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    equalise();
  });

  document.addEventListener("click", (event) => {
    const map = event.target.closest?.("[data-map]");
    if (!map) return;
    const { left, top, width, height } = map.getBoundingClientRect();
    const side = sides[Number(map.dataset.map)];
    view.x = ((event.clientX - left) / width - 0.5) * side.width;
    view.y = ((event.clientY - top) / height - 0.5) * side.height;
    showPixels();
    canvas.scrollIntoView({ block: "center" });
  });

  new ResizeObserver(drawSoon).observe(canvas);
  root.hidden = false;
  equalise();
  for (const side of sides) side.ask();
}

if (looking) lookAt(looking);
