// The picture: layers out of half floats, mixed with the gains of now and drawn.
import { layerName, otherHour } from "./hours.js";
import { exposureOf, gainsOf } from "./light.js";

/** Values of the 65536 half floats. Source: IEEE 754-2008, binary16. */
const HALVES = (() => {
  const table = new Float32Array(65536);
  for (let bits = 0; bits < 65536; bits += 1) {
    const power = (bits >> 10) & 31;
    const part = bits & 1023;
    const size = power === 0 ? part * 2 ** -24 : (1024 + part) * 2 ** (power - 25);
    table[bits] = bits & 32768 ? -size : size;
  }
  return table;
})();

/** Bytes of base64 text. */
function bytesOf(text) {
  const raw = atob(text.trim());
  const bytes = new Uint8Array(raw.length);
  for (let n = 0; n < raw.length; n += 1) bytes[n] = raw.charCodeAt(n);
  return bytes;
}

/** A layer as it was written: cd/m², white, at 100 %. */
function layerOf(number, scale) {
  const bytes = bytesOf(document.getElementById(`light-${number}`).textContent);
  const light = new Float32Array(bytes.length / 2);
  for (let n = 0; n < light.length; n += 1) {
    light[n] = HALVES[bytes[2 * n] | (bytes[2 * n + 1] << 8)] * scale;
  }
  return light;
}

/** Draws one setup at a time; only its layers are held unpacked. */
export class Picture {
  /** @param {HTMLCanvasElement} canvas */
  constructor(canvas) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d", { alpha: false });
    this.of = null;
  }

  /** Show a setup as it is set. */
  draw(setup, now) {
    if (this.of !== setup) this._open(setup);
    this._openHour(setup, otherHour(setup, now));
    const { matrix } = exposureOf(setup, now);
    this.mixer.setGains(gainsOf(setup, now));
    this.mixer.setView({ matrix, tone: this.tone, first: setup.exposure.first });
    this.mixer.draw(this.image);
    this.context.putImageData(this.image, 0, 0);
  }

  /** An hour's layer is unpacked when it is first chosen. */
  _openHour(setup, hour) {
    if (hour === null || this.hours.has(hour.light)) return;
    this.hours.add(hour.light);
    const { width, height } = setup;
    this.mixer.setLayer(layerName(hour), layerOf(hour.light, hour.scale), width, height);
  }

  _open(setup) {
    const { width, height } = setup;
    const alike = this.of && this.of.light === setup.light && this.mixer;
    this.of = setup;
    this.tone = new Float32Array(bytesOf(setup.exposure.tone).buffer);
    if (alike) return;
    Object.assign(this.canvas, { width, height });
    this.image = this.context.createImageData(width, height);
    this.mixer = new Mixer(width, height);
    this.hours = new Set();
    setup.sources.forEach(({ name }, s) => {
      this.mixer.setLayer(name, layerOf(setup.light + s, setup.scales[s]), width, height);
    });
  }
}
