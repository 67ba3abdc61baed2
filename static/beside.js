// Lays two pictures beside or over each other, with one zoom and one place for both. OpenSeadragon shows the tiles of
// each; what binds the two is here.
//
// - drag, two fingers, or the wheel; arrows, plus and minus, 0 for the whole, 1 for single pixels, [ and ] for the divider
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

  async ask(whenTold) {
    const answer = await fetch(`/pictures/${this.digest}/pyramid`);
    const told = await answer.json();
    if (told.trouble) {
      this.trouble = told.trouble;
      whenTold();
    } else if (!told.made) {
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
      const success = () => {
        this.pixels = width / this.width;
        whenTold();
      };
      this.viewer.addTiledImage({ tileSource, x: -this.width / 2, y: -this.height / 2, width: this.width, success });
    }
  }

  lift(stops) {
    this.table = stops ? liftedCodes(stops) : null;
    this.viewer.requestInvalidate(true);
  }

  /** Where it looks: the place in the middle, and CSS pixels to a unit. */
  get view() {
    const { x, y } = this.viewer.viewport.getCenter(true);
    return { x, y, zoom: this.viewer.viewport.getZoom(true) * this.viewer.viewport.getContainerSize().x };
  }

  show({ x, y, zoom }) {
    const { viewport, drawer } = this.viewer;
    viewport.zoomTo(zoom / viewport.getContainerSize().x, null, true);
    viewport.panTo(new OpenSeadragon.Point(x, y), true);
    drawer.setImageSmoothingEnabled((zoom * devicePixelRatio) / (this.pixels || Infinity) < 2);
  }
}

function lookAt(root) {
  const table = root.querySelector("[data-panes]");
  const line = root.querySelector("[data-line]");
  const words = root.querySelector("[data-looking-at]");
  const trouble = root.querySelector("[data-trouble]");
  const divider = root.querySelector("[data-divider]");
  const form = document.querySelector("[data-equalise]");
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
  /** What one picture was moved to, the other is. */
  const follow = (pane) => {
    if (!showing && view.zoom) show(pane.view);
  };
  const tell = () => {
    const most = panes[0].pixels;
    const percent = most ? `${Math.round((100 * view.zoom * devicePixelRatio) / most)} %` : "";
    const place = (at, size) => Math.round(100 * (0.5 + at / size));
    words.textContent = `${percent} at ${place(view.x, panes[0].width)} % across, ${place(view.y, panes[0].height)} % down`;
    root.dataset.ready = String(panes.every((pane) => pane.pixels));
    trouble.textContent = panes.map((pane) => pane.trouble ?? (pane.pixels ? "" : `The tiles of ${pane.name} are being made.`)).join(" ").trim();
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
    const step = 60 / view.zoom;
    const acts = {
      ArrowLeft: () => show({ x: view.x - step }), ArrowRight: () => show({ x: view.x + step }), ArrowUp: () => show({ y: view.y - step }), ArrowDown: () => show({ y: view.y + step }),
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

  const equalise = () => {
    const stops = Number.parseFloat(form.elements.lift.value.replace(",", ".").replace("−", "-"));
    panes[1].lift(form.elements.equalise.checked && Number.isFinite(stops) ? between(stops, -10, 10) : 0);
    root.dataset.lifted = String(Boolean(panes[1].table));
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
    const pane = panes[Number(map.dataset.map)];
    show({ x: ((event.clientX - left) / width - 0.5) * pane.width, y: ((event.clientY - top) / height - 0.5) * pane.height, zoom: pixelZoom() || view.zoom });
    table.scrollIntoView({ block: "center" });
  });

  new ResizeObserver(() => show()).observe(table);
  equalise();
  for (const pane of panes) pane.ask(() => show());
}

if (looking) lookAt(looking);
