// A setup's picture as small as a stamp, mixed live from the same layers as the large one.

import { Mixer } from "./mixer.js";

const WIDTH = 160;

/** Layers at the stamp's size, made once from each. @type {WeakMap<Float32Array, Map<string, Float32Array>>} */
const reduced = new WeakMap();

export class SmallPicture {
  /** @param {any} app @param {string} setup */
  constructor(app, setup) {
    this.app = app;
    this.setup = setup;
    this.canvas = document.createElement("canvas");
    this.canvas.className = "small-picture";
    this.canvas.width = WIDTH;
    this.canvas.height = Math.round((WIDTH * 9) / 16);
    this.canvas.setAttribute("aria-hidden", "true");
    this.there = false;
    this.drawn = "";
  }

  /** Draws what has changed. @returns {boolean} whether there is a picture */
  draw() {
    const { app, setup } = this;
    const light = app.light.of(setup);
    const exposure = app.exposure(setup);
    if (!light || !exposure) return this.there;
    // What a hand holds just now belongs to the setup that is looked at; the others follow it later.
    const held = app.held.size > 0 || app.heldSettings !== null;
    if (held && app.look.state.setup !== setup) return this.there;
    this.resize(light);
    const wanted = new Set(light.layers.keys());
    for (const name of this.mixer.names()) if (!wanted.has(name)) this.mixer.dropLayer(name);
    for (const [name, { sum, width, height }] of light.layers) {
      const small = reduce(sum, width, height, this.mixer.width, this.mixer.height);
      this.mixer.setLayer(name, small, this.mixer.width, this.mixer.height);
    }
    this.mixer.setGains(app.gains(setup, { alone: null }));
    this.mixer.setView(exposure);
    this.mixer.linear();
    const now = `${this.mixer.mixes} ${exposure.matrix.join()} ${app.tree.setups[setup].tone}`;
    if (now === this.drawn) return true;
    this.drawn = now;
    this.mixer.draw(this.image);
    this.context.putImageData(this.image, 0, 0);
    this.there = true;
    return true;
  }

  /** @param {{width: number, height: number}} light */
  resize({ width, height }) {
    const high = Math.max(1, Math.round((WIDTH * height) / width));
    if (this.mixer?.height === high) return;
    this.mixer = new Mixer(WIDTH, high);
    this.canvas.height = high;
    this.context = this.canvas.getContext("2d", { alpha: false });
    this.image = new ImageData(WIDTH, high);
    this.drawn = "";
  }
}

/** A layer at another size: each small pixel the mean of those that it covers. */
function reduce(rgb, width, height, toWidth, toHeight) {
  const key = `${width} ${height} ${toHeight}`;
  let known = reduced.get(rgb);
  if (!known) reduced.set(rgb, (known = new Map()));
  const found = known.get(key);
  if (found) return found;
  const made = new Float32Array(3 * toWidth * toHeight);
  for (let y = 0; y < toHeight; y += 1) {
    const [top, bottom] = covered(y, height, toHeight);
    for (let x = 0; x < toWidth; x += 1) {
      const [left, right] = covered(x, width, toWidth);
      const to = 3 * (y * toWidth + x);
      for (let row = top; row < bottom; row += 1) {
        for (let at = 3 * (row * width + left); at < 3 * (row * width + right); at += 3) {
          made[to] += rgb[at];
          made[to + 1] += rgb[at + 1];
          made[to + 2] += rgb[at + 2];
        }
      }
      const count = (bottom - top) * (right - left);
      for (let k = 0; k < 3; k += 1) made[to + k] /= count;
    }
  }
  known.set(key, made);
  return made;
}

/** @param {number} at @param {number} size @param {number} toSize */
function covered(at, size, toSize) {
  const from = Math.min(size - 1, Math.floor((at * size) / toSize));
  return [from, Math.max(from + 1, Math.floor(((at + 1) * size) / toSize))];
}
