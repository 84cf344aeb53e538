// The picture: the layers mixed at their dims and shown as the camera would, with what is read off
// it. Drawn anew once a frame at most, and only when something changed.

import * as compare from "./compare.js";
import * as fullsize from "./fullsize.js";
import { Mixer } from "./mixer.js";
import { mountControls } from "./picture-controls.js";
import { Readout } from "./picture-readout.js";
import { StopsMap } from "./stops-map.js";
import { Waveform } from "./waveform.js";

const MOST_BADGES = 4;
// How far an arrow key moves the crosshair, as a share of the frame's width.
const KEY_STEP = 0.01;
const SLOW_MS = 600;
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** @param {HTMLElement} root @param {object} app @returns {() => void} takes it down */
export function mount(root, app) {
  const picture = new Picture(root, app);
  return () => picture.takeDown();
}

class Picture {
  constructor(root, app) {
    this._root = root;
    this._app = app;
    this._asked = 0;
    this._changed = false;
    this._size = null;
    /** What was drawn last: the same text, the same picture. */
    this._drawn = "";
    this._views = 0;
    /** Bounced light of a source by its whole light: made once. @type {WeakMap} */
    this._bounced = new WeakMap();
    /** Where the pointer is, shares of the frame; null when it is elsewhere. */
    this._pointer = null;
    this._build();
    this._listen();
    this._watch();
    this._ask();
  }

  _build() {
    this._root.classList.add("picture");
    const bar = make("div", "picture-bar");
    this._frame = make("div", "picture-frame");
    this._canvas = make("canvas", "picture-canvas");
    this._canvas.tabIndex = 0;
    this._canvas.setAttribute("role", "application");
    this._overlay = make("canvas", "picture-overlay");
    this._cross = make("div", "picture-cross");
    this._badges = make("ul", "picture-badges");
    this._empty = make("p", "picture-empty");
    this._empty.textContent = "The first light is being traced.";
    const legend = make("p", "picture-legend");
    const readout = make("div", "picture-readout");
    readout.id = "picture-readout";
    this._canvas.setAttribute("aria-describedby", readout.id);
    this._said = make("p", "picture-said");
    this._said.setAttribute("aria-live", "polite");
    this._wave = make("div", "picture-waveform");
    const tools = make("div", "picture-tools");
    this._frame.append(this._canvas, this._overlay, this._cross, this._badges, this._empty);
    const under = make("div", "picture-under");
    under.append(readout, tools);
    this._root.append(bar, this._frame, legend, under, this._said, this._wave);
    this._map = new StopsMap(this._overlay, legend);
    this._readout = new Readout(readout);
    this._waveform = new Waveform(this._wave);
    const before = make("div", "picture-compare");
    const full = make("div", "picture-full");
    tools.append(before, full);
    this._parts = [
      mountControls(bar, this._app),
      compare.mount(before, this._app, this._frame),
      fullsize.mount(full, this._app),
    ];
  }

  _listen() {
    const canvas = this._canvas;
    canvas.addEventListener("pointermove", (event) => this._point(event));
    canvas.addEventListener("pointerleave", () => {
      this._pointer = null;
      this._askReading();
    });
    canvas.addEventListener("click", (event) => {
      this._point(event);
      this._app.look.set({ cross: this._pointer });
      this._take(this._pointer);
    });
    canvas.addEventListener("keydown", (event) => this._key(event));
    canvas.addEventListener("focus", () => this._askReading());
    canvas.addEventListener("blur", () => this._askReading());
    this._sizes = new ResizeObserver(() => this._fit());
    this._sizes.observe(this._frame);
  }

  _watch() {
    const ask = () => this._ask();
    const read = () => this._askReading();
    const { store, look, light } = this._app;
    this._stops = [
      store.watch((tree) => tree.tables, ask),
      store.watch((tree) => tree.units, read),
      look.watch((state) => state.cross, read),
      ...["setup", "map", "light", "alone", "waveform"].map((name) =>
        look.watch((state) => state[name], ask),
      ),
      light.watch(ask),
      this._app.watchGains(ask),
      this._app.watchExposure(ask),
    ];
  }

  /** Draw at the next frame. */
  _ask() {
    this._changed = true;
    this._askReading();
  }

  /** Only tell at the next frame what is under the pointer. */
  _askReading() {
    if (!this._asked) this._asked = requestAnimationFrame(() => this._frameComes());
  }

  _frameComes() {
    this._asked = 0;
    if (this._changed) this._draw();
    this._changed = false;
    if (this._drawn) this._read();
  }

  _draw() {
    const { setup, map, alone, waveform } = this._app.look.state;
    const light = this._app.light.of(setup);
    const exposure = this._app.exposure(setup);
    this._wave.hidden = !waveform;
    this._overlay.hidden = !map;
    // Another camera's table is on its way: the picture stays until it is there.
    if (light && !exposure && this._drawn && this._setup === setup) return;
    const there = Boolean(light && exposure);
    this._empty.hidden = there;
    this._root.classList.toggle("picture-waiting", !there);
    if (!there) {
      this._drawn = "";
      this._map.clear();
      this._tell([]);
      this._readout.clear();
      return;
    }
    this._resize(light, setup);
    this._putLayers(light, setup);
    this._mixer.setGains(this._app.gains(setup, { alone: alone ?? undefined }));
    this._mixer.setView(exposure);
    const weights = this._app.store.tree.tables.luminance;
    const seen = { ...this._size, light: this._mixer.linear(), weights, exposure };
    const drawn = [this._mixer.mixes, this._viewNumber(exposure), map, waveform, this._wide].join();
    if (drawn === this._drawn) return;
    this._drawn = drawn;
    if (map) {
      this._map.draw(seen, this._image);
    } else {
      this._mixer.draw(this._image);
      this._map.clear();
    }
    this._context.putImageData(this._image, 0, 0);
    if (waveform) this._waveform.draw(seen);
  }

  /** A number for an exposure: another one whenever any of it changes. */
  _viewNumber({ matrix, tone, ...rest }) {
    const text = JSON.stringify([matrix, rest]);
    if (text !== this._view || tone !== this._tone) this._views += 1;
    this._view = text;
    this._tone = tone;
    return this._views;
  }

  /** A mixer and a canvas of the layers' size, new ones for another setup. */
  _resize({ width, height }, setup) {
    const same = this._size?.width === width && this._size.height === height;
    if (same && this._setup === setup) return;
    this._setup = setup;
    this._size = { width, height };
    this._mixer = new Mixer(width, height);
    this._drawn = "";
    Object.assign(this._canvas, { width, height });
    this._context = this._canvas.getContext("2d", { alpha: false });
    this._image = new ImageData(width, height);
    this._root.style.setProperty("--aspect", String(width / height));
    this._canvas.setAttribute("aria-label", `Picture of ${setup}. Arrows move the crosshair.`);
    this._fit();
  }

  _fit() {
    const dense = window.devicePixelRatio || 1;
    const width = Math.round(this._frame.clientWidth * dense);
    const height = Math.round(this._frame.clientHeight * dense);
    if (this._overlay.width === width && this._overlay.height === height) return;
    Object.assign(this._overlay, { width, height });
    this._wide = width;
    if (this._app.look.state.map) this._map.again();
    if (this._app.look.state.waveform) this._ask();
  }

  /** Give the mixer the light that is looked at, and say what is still missing of it. */
  _putLayers(light, setup) {
    const which = this._app.look.state.light ?? "all";
    const told = [];
    let direct = true;
    for (const [name, layer] of light.layers) {
      const rgb = this._lightOf(layer, which);
      if (rgb) this._mixer.setLayer(name, rgb, layer.width, layer.height);
      else this._mixer.dropLayer(name);
      direct &&= Boolean(rgb);
      if (light.pending.has(name)) continue;
      if (layer.width < light.width) told.push(`${name}: coarse`);
    }
    for (const name of this._mixer.names()) {
      if (!light.layers.has(name)) this._mixer.dropLayer(name);
    }
    const waiting = [...light.pending];
    if (waiting.length === light.layers.size && waiting.length > 1) told.unshift("waiting for the trace");
    else if (waiting.length > 2) told.unshift(`${waiting.length} sources: waiting for the trace`);
    else for (const name of waiting) told.unshift(`${name}: waiting for the trace`);
    if (!direct) {
      this._app.light.wantDirect(setup);
      told.unshift("direct light: being fetched");
    }
    this._tell(told);
  }

  _lightOf({ sum, direct }, which) {
    if (which === "all") return sum;
    if (!direct) return null;
    if (which === "direct") return direct;
    const known = this._bounced.get(sum);
    if (known?.direct === direct) return known.bounced;
    const bounced = sum.map((value, k) => Math.max(0, value - direct[k]));
    this._bounced.set(sum, { direct, bounced });
    return bounced;
  }

  _tell(told) {
    const shown = told.length > MOST_BADGES ? told.slice(0, MOST_BADGES - 1) : told;
    if (shown.length < told.length) shown.push(`and ${told.length - shown.length} more`);
    const text = shown.join("\n");
    if (this._badges.dataset.told === text) return;
    this._badges.dataset.told = text;
    this._badges.replaceChildren(
      ...shown.map((words) => {
        const badge = make("li", "picture-badge");
        badge.textContent = words;
        return badge;
      }),
    );
  }

  _point(event) {
    const box = this._canvas.getBoundingClientRect();
    const share = (value) => Math.min(Math.max(value, 0), 1);
    this._pointer = {
      x: share((event.clientX - box.left) / box.width),
      y: share((event.clientY - box.top) / box.height),
    };
    this._canvas.removeAttribute("data-keys");
    this._askReading();
  }

  _key(event) {
    const { cross } = this._app.look.state;
    const at = cross ?? { x: 0.5, y: 0.5 };
    const way = WAYS[event.key];
    if (way) {
      // Shift: pixel by pixel.
      const step = event.shiftKey ? 1 / (this._size?.width ?? 960) : KEY_STEP;
      const tall = (this._size?.width ?? 16) / (this._size?.height ?? 9);
      const share = (value) => Math.min(Math.max(value, 0), 1);
      this._pointer = null;
      this._canvas.dataset.keys = "";
      this._app.look.set({
        cross: { x: share(at.x + way[0] * step), y: share(at.y + way[1] * step * tall) },
      });
    } else if (event.key === "Enter") {
      this._take(this._pointer ?? at);
    } else if (event.key === "Escape" && cross) {
      this._app.look.set({ cross: null });
    } else {
      return;
    }
    event.preventDefault();
  }

  /** Tell what is under the pointer, or else at the crosshair. */
  _read() {
    const { cross, light } = this._app.look.state;
    const focused = document.activeElement === this._canvas && !this._pointer;
    const middle = { x: 0.5, y: 0.5 };
    const kept = cross ?? (focused && this._canvas.matches(":focus-visible") ? middle : null);
    this._cross.hidden = !kept;
    if (kept) {
      this._cross.style.setProperty("--x", `${100 * kept.x}%`);
      this._cross.style.setProperty("--y", `${100 * kept.y}%`);
    }
    const at = this._pointer ?? kept;
    if (!at) {
      this._readout.clear();
      return;
    }
    const { width, height } = this._size;
    const x = Math.min(Math.floor(at.x * width), width - 1);
    const y = Math.min(Math.floor(at.y * height), height - 1);
    const { setup } = this._app.look.state;
    const exposure = this._app.exposure(setup);
    if (!exposure) return;
    const { tree } = this._app.store;
    this._readout.show({
      parts: this._mixer.sample(x, y, Math.max(1, Math.round(width / 240))),
      reflectance: groundAt(this._app.light.of(setup), at),
      weights: tree.tables.luminance,
      greyNit: exposure.grey_nit,
      units: tree.units === "imperial" ? "imperial" : "metric",
      note: { direct: "direct light alone", bounced: "bounced light alone" }[light] ?? "",
    });
    // Spoken only where keys move the crosshair: a pointer would never stop talking.
    if (this._canvas.hasAttribute("data-keys")) {
      this._said.textContent = this._readout.words();
    }
  }

  async _take(at) {
    const { setup } = this._app.look.state;
    const say = () => this._app.say("The place is looked for: the scene is still being traced.");
    const slow = setTimeout(say, SLOW_MS);
    try {
      const point = await this._app.ask("point", { setup, x: at.x, y: at.y });
      this._app.say("");
      this._app.takeReading(point);
    } catch (fault) {
      this._app.say(`No reading there: ${fault?.message ?? fault}.`);
    } finally {
      clearTimeout(slow);
    }
  }

  takeDown() {
    cancelAnimationFrame(this._asked);
    this._sizes.disconnect();
    this._stops.forEach((stop) => stop?.());
    this._parts.forEach((down) => down());
    this._map.clear();
    this._root.replaceChildren();
    this._root.classList.remove("picture", "picture-waiting");
  }
}

/** The reflectance of what is seen at shares of the frame; it may be coarser than the picture. */
function groundAt(light, at) {
  if (!light?.ground) return NaN;
  const { ground, groundWidth: width, groundHeight: height } = light;
  const x = Math.min(Math.floor(at.x * width), width - 1);
  const y = Math.min(Math.floor(at.y * height), height - 1);
  return ground[y * width + x];
}

function make(name, className) {
  const made = document.createElement(name);
  made.className = className;
  return made;
}
