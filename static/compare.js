// Lays two pictures beside or over each other, with one zoom and one place for both. OpenSeadragon shows the tiles of
// each; what binds the two is here.
//
// - drag, two fingers, or the wheel; arrows, plus and minus, 0 for the whole, 1 for single pixels, [ and ] for the divider
// - the previews are there at once; the tiles come over them as soon as they are made (how far they are, the page says)
// - the second picture is laid where its subject is: by itself where its preview tells, and by hand ("alone")
// - exposure is equalised code by code: to light by the sRGB curve (IEC 61966-2-1), times 2^stops, and back
// - a tap on a map of sharpness brings both to that place

const looking = document.querySelector("[data-light-table]");
const LARGEST_PIXEL = 12;
const ASK_AGAIN_MS = 900;
const OF_TWO_FINGERS_AND_MOUSE = { clickToZoom: false, dblClickToZoom: true, flickEnabled: false };

const lightOf = (code) => { const v = code / 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
const codeOf = (light) => Math.round(255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * Math.min(1, light) ** (1 / 2.4) - 0.055));

function liftedCodes(stops) {
  return Uint8ClampedArray.from({ length: 256 }, (_, code) => codeOf(lightOf(code) * 2 ** stops));
}

function liftPixels(context, table) {
  const pixels = context.getImageData(0, 0, context.canvas.width, context.canvas.height);
  const codes = pixels.data;
  for (let at = 0; at < codes.length; at += 4) {
    codes[at] = table[codes[at]];
    codes[at + 1] = table[codes[at + 1]];
    codes[at + 2] = table[codes[at + 2]];
  }
  context.putImageData(pixels, 0, 0);
}

/** The viewer asks for a style element of its own unless there is one; the content security policy allows none. This
    one is a style element to a selector alone. */
function keepOutStyle() {
  const there = document.createElementNS(null, "style");
  there.setAttribute("data-openseadragon-mobile-css", "");
  document.head.append(there);
}

/** One picture. A unit of the viewer is a unit of the side, and its origin the middle of the picture. */
class Pane {
  constructor(side, element, whenMoved) {
    Object.assign(this, side);
    this.element = element;
    this.pixels = 0;
    this.offset = { x: 0, y: 0 };
    this.table = null;
    this.viewer = OpenSeadragon({
      element,
      drawer: "canvas",
      showNavigationControl: false,
      tabIndex: "",
      animationTime: 0.001,
      preserveImageSizeOnResize: true,
      visibilityRatio: 0,
      minZoomLevel: 1e-9,
      maxZoomLevel: 1e9,
      zoomPerScroll: 1.3,
      gestureSettingsMouse: OF_TWO_FINGERS_AND_MOUSE,
      gestureSettingsTouch: OF_TWO_FINGERS_AND_MOUSE,
      gestureSettingsPen: OF_TWO_FINGERS_AND_MOUSE,
    });
    this.viewer.addHandler("tile-invalidated", async (event) => {
      if (!this.table) return;
      const context = await event.getData("context2d");
      if (!context || event.outdated()) return;
      liftPixels(context, this.table);
      await event.setData(context, "context2d");
    });
    this.viewer.addHandler("viewport-change", () => whenMoved(this));
  }

  add(tileSource, success) {
    this.viewer.addTiledImage({ tileSource, x: -this.width / 2, y: -this.height / 2, width: this.width, success });
  }

  showPreview(whenTold) {
    if (!this.preview) return;
    this.pixels = this.across_px / this.width;
    this.add({ type: "image", url: this.preview, buildPyramid: false }, () => {
      this.seen = true;
      whenTold();
    });
  }

  async ask(whenTold) {
    const answer = await fetch(`/pictures/${this.digest}/pyramid`);
    const told = await answer.json();
    if (told.trouble) return;
    if (!told.made) {
      setTimeout(() => this.ask(whenTold), ASK_AGAIN_MS);
    } else {
      const [width, height] = told.levels.at(-1);
      const tileSource = {
        width,
        height,
        tileSize: told.tile,
        minLevel: 0,
        maxLevel: told.levels.length - 1,
        getTileUrl: (level, x, y) => `/pictures/${this.digest}/tiles/${level}/${x}_${y}`,
      };
      this.add(tileSource, () => {
        this.pixels = width / this.width;
        this.whole = true;
        whenTold();
      });
    }
  }

  lift(stops) {
    this.table = stops ? liftedCodes(stops) : null;
    this.viewer.requestInvalidate(true);
  }

  /** Where it looks: the place in the middle, and CSS pixels to a unit. */
  get view() {
    const { x, y } = this.viewer.viewport.getCenter(true);
    return { x: x - this.offset.x, y: y - this.offset.y, zoom: this.viewer.viewport.getZoom(true) * this.viewer.viewport.getContainerSize().x };
  }

  show({ x, y, zoom }) {
    const { viewport, drawer } = this.viewer;
    viewport.zoomTo(zoom / viewport.getContainerSize().x, null, true);
    viewport.panTo(new OpenSeadragon.Point(x + this.offset.x, y + this.offset.y), true);
    drawer.setImageSmoothingEnabled((zoom * devicePixelRatio) / (this.pixels || Infinity) < 2);
  }
}

function lookAt(root) {
  const table = root.querySelector("[data-panes]");
  const line = root.querySelector("[data-line]");
  const words = root.querySelector("[data-looking-at]");
  const divider = root.querySelector("[data-divider]");
  const nudged = root.querySelector("[data-nudged]");
  const apart = root.querySelector("[data-apart]");
  const together = root.querySelector("[data-together]");
  const laid = () => document.querySelector("[data-equalise]");
  const view = { x: 0, y: 0, zoom: 0 };
  let showing = false;

  root.hidden = false;
  keepOutStyle();
  const elements = [...table.querySelectorAll("[data-pane]")];
  const panes = JSON.parse(root.dataset.lightTable).sides.map((side, at) => new Pane(side, elements[at], (moved) => follow(moved)));

  const wholeZoom = () => Math.min(...panes.map((pane) => Math.min(pane.element.clientWidth / pane.width, pane.element.clientHeight / pane.height)));
  const pixelZoom = () => Math.max(...panes.map((pane) => pane.pixels)) / devicePixelRatio;
  const between = (value, least, most) => Math.min(Math.max(value, least), most);

  const limited = () => {
    const whole = wholeZoom();
    const least = Math.min(whole, pixelZoom() || Infinity);
    view.zoom = view.zoom ? between(view.zoom, least, Math.max(LARGEST_PIXEL * Math.max(whole / devicePixelRatio, pixelZoom()), whole)) : whole;
    const reach = (name) => Math.max(...panes.map((pane) => pane[name])) / 2;
    view.x = between(view.x, -reach("width"), reach("width"));
    view.y = between(view.y, -reach("height"), reach("height"));
  };
  const show = (change = {}) => {
    if (showing || !table.clientWidth) return;
    Object.assign(view, change);
    limited();
    showing = true;
    for (const pane of panes) pane.show(view);
    showing = false;
    tell();
  };
  const isApart = () => apart.getAttribute("aria-pressed") === "true";
  /** What one picture was moved to, the other is; the second alone where that is chosen. */
  const follow = (pane) => {
    if (showing || !view.zoom) return;
    if (isApart() && pane === panes[1]) {
      const { x, y, zoom } = pane.view;
      // A zoom keeps its place under the finger, and moves nothing against the other picture.
      if (Math.abs(zoom / view.zoom - 1) < 1e-6) return nudge(pane.offset.x + x - view.x, pane.offset.y + y - view.y, "by hand");
    }
    show(pane.view);
  };
  /** Lays the second picture so far to the left and up, in widths of the first, that its subject lies on the other's. */
  const nudge = (x, y, how) => {
    panes[1].offset = { x: between(x, -0.5, 0.5), y: between(y, -0.5, 0.5) };
    root.dataset.moved = how;
    show();
  };
  const nudgeBySelf = () => nudge(Number(laid().dataset.across), Number(laid().dataset.down), "by itself");
  const tellNudge = () => {
    const { x, y } = panes[1].offset;
    const part = (share, one, other) => {
      const pixels = Math.round(Math.abs(share) * panes[0].pixels);
      return pixels ? `${pixels} px ${share > 0 ? one : other}` : "";
    };
    const parts = [part(x, "left", "right"), part(y, "up", "down")].filter(Boolean).join(" and ");
    nudged.textContent = parts ? `${panes[1].name[0].toUpperCase()}${panes[1].name.slice(1)} is moved ${parts}, ${root.dataset.moved}.` : "";
    together.hidden = !parts;
  };
  const tell = () => {
    const most = panes[0].pixels;
    const percent = most ? `${Math.round((100 * view.zoom * devicePixelRatio) / most)} %` : "";
    const place = (at, size) => Math.round(100 * (0.5 + at / size));
    words.textContent = `${percent} at ${place(view.x, panes[0].width)} % across, ${place(view.y, panes[0].height)} % down`;
    root.dataset.ready = String(panes.every((pane) => pane.whole));
    root.dataset.seen = String(panes.every((pane) => pane.seen || pane.whole));
    tellNudge();
  };

  const zoomBy = (factor) => show({ zoom: view.zoom * factor });
  const showPixels = () => show({ zoom: pixelZoom() || view.zoom });
  const showWhole = () => show({ x: 0, y: 0, zoom: 0 });
  const divide = (percent) => {
    divider.value = Math.round(between(percent, 0, 100));
    table.style.setProperty("--divided-at", `${divider.value}%`);
  };
  const choose = (mode) => {
    table.dataset.mode = mode;
    for (const button of root.querySelectorAll("[data-mode][aria-pressed]")) button.setAttribute("aria-pressed", String(button.dataset.mode === mode));
    divider.parentElement.hidden = mode !== "over";
    line.hidden = mode !== "over";
  };

  line.addEventListener("pointerdown", (event) => line.setPointerCapture(event.pointerId));
  line.addEventListener("pointermove", (event) => {
    if (!line.hasPointerCapture(event.pointerId)) return;
    const { left, width } = table.getBoundingClientRect();
    divide((100 * (event.clientX - left)) / width);
  });
  table.addEventListener("pointerdown", () => table.focus({ preventScroll: true }), { capture: true });
  table.addEventListener("keydown", (event) => {
    const step = (isApart() ? 1 : 60) / view.zoom;
    const go = (x, y) => () => {
      const { offset } = panes[1];
      if (isApart()) nudge(offset.x - x * step, offset.y - y * step, "by hand");
      else show({ x: view.x + x * step, y: view.y + y * step });
    };
    const acts = {
      ArrowLeft: go(-1, 0), ArrowRight: go(1, 0), ArrowUp: go(0, -1), ArrowDown: go(0, 1),
      "+": () => zoomBy(1.5), "=": () => zoomBy(1.5), "-": () => zoomBy(1 / 1.5), 0: showWhole, 1: showPixels, "[": () => divide(Number(divider.value) - 5), "]": () => divide(Number(divider.value) + 5),
    };
    if (event.ctrlKey || event.metaKey || event.altKey || !acts[event.key]) return;
    acts[event.key]();
    event.preventDefault();
  });

  for (const button of root.querySelectorAll("[data-mode][aria-pressed]")) button.addEventListener("click", () => choose(button.dataset.mode));
  const zooms = { in: () => zoomBy(1.5), out: () => zoomBy(1 / 1.5), whole: showWhole, pixels: showPixels };
  for (const button of root.querySelectorAll("[data-zoom]")) button.addEventListener("click", zooms[button.dataset.zoom]);
  divider.addEventListener("input", () => divide(divider.value));

  apart.addEventListener("click", () => apart.setAttribute("aria-pressed", String(!isApart())));
  together.addEventListener("click", () => {
    nudge(0, 0, "by hand");
    table.focus({ preventScroll: true });
  });

  const equalise = () => {
    const { lift, equalise: chosen } = laid().elements;
    const stops = Number.parseFloat(lift.value.replace(",", ".").replace("−", "-"));
    panes[1].lift(chosen.checked && Number.isFinite(stops) ? between(stops, -10, 10) : 0);
    root.dataset.lifted = String(Boolean(panes[1].table));
  };
  // The form is exchanged once the previews were held over each other; what a hand did by then stands.
  document.addEventListener("input", (event) => {
    if (event.target.form !== laid()) return;
    laid().dataset.touched = "true";
    // A number that was typed is there to be used.
    if (event.target.name === "lift") laid().elements.equalise.checked = true;
    equalise();
  });
  document.addEventListener("submit", (event) => {
    if (event.target !== laid()) return;
    event.preventDefault();
    equalise();
  });
  document.addEventListener("htmx:before:swap", (event) => {
    if (event.detail.ctx.sourceElement === laid() && laid().dataset.touched) event.preventDefault();
  });
  document.addEventListener("htmx:after:swap", (event) => {
    if (event.detail.ctx.sourceElement.id !== "laid") return;
    equalise();
    if (root.dataset.moved !== "by hand") nudgeBySelf();
  });

  document.addEventListener("click", (event) => {
    const map = event.target.closest?.("[data-map]");
    if (!map) return;
    const { left, top, width, height } = map.getBoundingClientRect();
    const pane = panes[Number(map.dataset.map)];
    show({ x: ((event.clientX - left) / width - 0.5) * pane.width, y: ((event.clientY - top) / height - 0.5) * pane.height, zoom: pixelZoom() || view.zoom });
    table.scrollIntoView({ block: "center" });
  });

  new ResizeObserver(() => show()).observe(table);
  equalise();
  for (const pane of panes) {
    pane.showPreview(() => show());
    pane.ask(() => show());
  }
}

if (looking) lookAt(looking);
