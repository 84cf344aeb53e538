// The picture from its layers: adds each source's light times its gain, and tones the sum.
// The tone is that of camera/view.py: a table over luminance, and colour drawn towards grey where
// the display has no room for it. It stands alone: nothing is imported here.

const ENCODE_STEPS = 16384;
// ITU-R BT.709-6, item 3.2: luminance of linear red, green and blue.
const LUMINANCE = [0.2126, 0.7152, 0.0722];
// Numbers summed at a time, so that the sum stays in the processor's nearest memory.
const STRIP = 6144;

// A run of pixels in work: balanced and later displayed channels, luminance of the scene, of the
// display. Bits of a float32 rise with it and hold its logarithm: tables are entered by them.
const RUN = 2048;
const CHANNELS = new Float32Array(3 * RUN);
const CHANNEL_BITS = new Int32Array(CHANNELS.buffer);
const GREY = new Float32Array(RUN);
const GREY_BITS = new Int32Array(GREY.buffer);
const SHOWN = new Float32Array(RUN);
// The bits of 2^-13, under which light shows as code 0.
const DARKEST = (127 - 13) << 23;

/**
 * How light becomes a code: `steps[c]`, the bits of the least light with code c, and `codes`, the
 * code at the beginning of each bin of 1/256 of a doubling, in which at most one step lies. The
 * steps are those of view.py, whose table is in the square root of light.
 */
const ENCODING = (() => {
  const least = new Float32Array(258).fill(2);
  let last = 0;
  for (let i = 1; i <= ENCODE_STEPS; i += 1) {
    const code = Math.round(255 * encodeSrgb((i / ENCODE_STEPS) ** 2));
    for (; last < code; last += 1) least[last + 1] = ((i - 0.5) / ENCODE_STEPS) ** 2;
  }
  const steps = new Int32Array(least.buffer);
  const codes = new Uint8Array(13 * 256 + 8);
  for (let bin = 0, code = 0; bin < codes.length; bin += 1) {
    while (code < 255 && steps[code + 1] <= DARKEST + (bin << 15)) code += 1;
    codes[bin] = code;
  }
  return { codes, steps };
})();

/** Mixes layers of one size and tones the sum for a display. */
export class Mixer {
  /**
   * @param {number} width of the frame, pixels
   * @param {number} height of the frame, pixels
   */
  constructor(width, height) {
    this.width = width;
    this.height = height;
    /** @type {Map<string, {rgb: Float32Array, given: Float32Array}>} */
    this._layers = new Map();
    /** @type {Object<string, number[]>} */
    this._gains = {};
    /** The gains that the light was last mixed with. @type {Map<string, number[]>} */
    this._mixed = new Map();
    /** Sources whose gain moves just now; all others are summed in `_rest`. */
    this._moving = new Set();
    this._rest = new Float32Array(3 * width * height);
    this._light = new Float32Array(3 * width * height);
    this._stale = true;
    /** How often the light was mixed anew: the same number, the same light. */
    this.mixes = 0;
    this._matrix = [1, 0, 0, 0, 1, 0, 0, 0, 1];
    this._tone = new Float32Array([0, 1]);
    this._first = 0;
  }

  /**
   * Put a source's light in, or change it: other numbers come in another array.
   * @param {string} name of the source
   * @param {Float32Array} rgb height × width × 3, cd/m², white, at 100 %
   * @param {number} width of the layer; a layer of another size is spread over the frame
   * @param {number} height of the layer
   */
  setLayer(name, rgb, width, height) {
    const known = this._layers.get(name);
    if (known && known.given === rgb) return;
    const fits = width === this.width && height === this.height;
    const full = fits ? rgb : spread(rgb, width, height, this.width, this.height);
    this._layers.set(name, { rgb: full, given: rgb });
    this._stale = true;
  }

  /** @param {string} name of a source whose light is to go */
  dropLayer(name) {
    if (this._layers.delete(name)) this._stale = true;
  }

  /** @returns {string[]} names of the layers that are there */
  names() {
    return [...this._layers.keys()];
  }

  /** @param {Object<string, number[]>} gains by source, [r, g, b]; one not named gives nothing */
  setGains(gains) {
    this._gains = gains;
  }

  /**
   * @param {{matrix: number[], tone: Float32Array, first: number}} view matrix: linear working
   *   space in cd/m² to balanced sRGB channels with middle grey = 1, row by row; tone, first: as
   *   camera/tone_table.py makes them
   */
  setView({ matrix, tone, first }) {
    this._matrix = matrix;
    this._tone = tone;
    this._first = first;
  }

  /**
   * The mixed light, height × width × 3, cd/m²; only to be read, and changed by the next mix.
   * @returns {Float32Array}
   */
  linear() {
    const changed = [...this._layers.keys()].filter(
      (name) => !sameGain(this._mixed.get(name), this._gains[name]),
    );
    if (!this._stale && changed.length === 0) return this._light;
    if (this._stale || !changed.every((name) => this._moving.has(name))) {
      this._moving = new Set(this._stale ? [] : changed);
      const still = [...this._layers.keys()].filter((name) => !this._moving.has(name));
      sumInto(this._rest, null, this._terms(still));
    }
    sumInto(this._light, this._rest, this._terms([...this._moving]));
    this._mixed = new Map([...this._layers.keys()].map((name) => [name, this._gainOf(name)]));
    this._stale = false;
    this.mixes += 1;
    return this._light;
  }

  /**
   * The mean light of each source in a small square of the frame, cd/m², gains applied.
   * @param {number} x column of its middle
   * @param {number} y row of its middle
   * @param {number} reach pixels to each side of the middle
   * @returns {Map<string, number[]>}
   */
  sample(x, y, reach) {
    const found = new Map();
    for (const [name, { rgb }] of this._layers) {
      const gain = this._gainOf(name);
      const mean = meanAbout(rgb, this.width, this.height, x, y, reach);
      found.set(name, mean.map((value, k) => value * gain[k]));
    }
    return found;
  }

  /** @param {{data: Uint8ClampedArray}} image of the frame's size, to be filled */
  draw(image) {
    toneInto(image.data, this.linear(), this._matrix, this._tone, this._first);
  }

  _gainOf(name) {
    const gain = this._gains[name];
    return gain ? [gain[0], gain[1], gain[2]] : [0, 0, 0];
  }

  _terms(names) {
    return names
      .map((name) => ({ rgb: this._layers.get(name).rgb, gain: this._gainOf(name) }))
      .filter(({ gain }) => gain.some((value) => value !== 0));
  }
}

/** sRGB-encoded value of light, 0 to 1. Source: IEC 61966-2-1:1999, 5.2. */
function encodeSrgb(light) {
  return light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055;
}

function sameGain(before, now) {
  const [r, g, b] = now ?? [0, 0, 0];
  return before !== undefined && before[0] === r && before[1] === g && before[2] === b;
}

/** Fill `total` with `start` (or nothing) and every layer times its gain, two layers at a time. */
function sumInto(total, start, terms) {
  for (let from = 0; from < total.length; from += STRIP) {
    const to = Math.min(from + STRIP, total.length);
    if (start) total.set(start.subarray(from, to), from);
    else total.fill(0, from, to);
    for (let k = 0; k + 1 < terms.length; k += 2) addTwo(total, terms[k], terms[k + 1], from, to);
    if (terms.length % 2) addOne(total, terms[terms.length - 1], from, to);
  }
}

function addOne(total, { rgb, gain }, from, to) {
  const [r, g, b] = gain.map(Math.fround);
  for (let i = from; i < to; i += 3) {
    total[i] += r * rgb[i];
    total[i + 1] += g * rgb[i + 1];
    total[i + 2] += b * rgb[i + 2];
  }
}

function addTwo(total, first, second, from, to) {
  const [r, g, b] = first.gain.map(Math.fround);
  const [s, h, c] = second.gain.map(Math.fround);
  const one = first.rgb;
  const other = second.rgb;
  for (let i = from; i < to; i += 3) {
    total[i] += r * one[i] + s * other[i];
    total[i + 1] += g * one[i + 1] + h * other[i + 1];
    total[i + 2] += b * one[i + 2] + c * other[i + 2];
  }
}

function meanAbout(rgb, width, height, x, y, reach) {
  const sum = [0, 0, 0];
  let count = 0;
  const [top, bottom] = [Math.max(0, y - reach), Math.min(height - 1, y + reach)];
  const [left, right] = [Math.max(0, x - reach), Math.min(width - 1, x + reach)];
  for (let row = top; row <= bottom; row += 1) {
    for (let column = left; column <= right; column += 1) {
      const at = 3 * (row * width + column);
      for (let k = 0; k < 3; k += 1) sum[k] += rgb[at + k];
      count += 1;
    }
  }
  return sum.map((value) => value / Math.max(1, count));
}

/** A layer of another size over the whole frame: straight lines between its pixels' middles. */
function spread(rgb, width, height, toWidth, toHeight) {
  const full = new Float32Array(3 * toWidth * toHeight);
  const across = places(width, toWidth);
  const down = places(height, toHeight);
  const row = new Float64Array(3 * width);
  for (let y = 0, to = 0; y < toHeight; y += 1) {
    const upper = 3 * width * down.near[y];
    const lower = 3 * width * down.far[y];
    const v = down.share[y];
    for (let i = 0; i < row.length; i += 1) row[i] = rgb[upper + i] * (1 - v) + rgb[lower + i] * v;
    for (let x = 0; x < toWidth; x += 1, to += 3) {
      const left = 3 * across.near[x];
      const right = 3 * across.far[x];
      const u = across.share[x];
      full[to] = row[left] * (1 - u) + row[right] * u;
      full[to + 1] = row[left + 1] * (1 - u) + row[right + 1] * u;
      full[to + 2] = row[left + 2] * (1 - u) + row[right + 2] * u;
    }
  }
  return full;
}

function places(size, toSize) {
  const near = new Int32Array(toSize);
  const far = new Int32Array(toSize);
  const share = new Float64Array(toSize);
  for (let i = 0; i < toSize; i += 1) {
    const at = Math.min(Math.max(((i + 0.5) * size) / toSize - 0.5, 0), size - 1);
    near[i] = Math.floor(at);
    far[i] = Math.min(near[i] + 1, size - 1);
    share[i] = at - near[i];
  }
  return { near, far, share };
}

/**
 * Tone `light` into `out`, RGBA. A picture is worked on in short runs of pixels, one step after the
 * other, which is twice as quick as all steps for each pixel.
 */
function toneInto(out, light, matrix, tone, first) {
  const words = new Uint32Array(out.buffer, out.byteOffset, light.length / 3);
  const rows = Float64Array.from(matrix);
  for (let from = 0; from < words.length; from += RUN) {
    const count = Math.min(RUN, words.length - from);
    balanceRun(light, 3 * from, count, rows);
    lookUpRun(count, tone, first);
    fitRun(count);
    encodeRun(words, from, count);
  }
}

/** Balanced channels with middle grey = 1, and their luminance. */
function balanceRun(light, start, count, rows) {
  const [wr, wg, wb] = LUMINANCE;
  const a = rows[0];
  const b = rows[1];
  const c = rows[2];
  const d = rows[3];
  const e = rows[4];
  const f = rows[5];
  const g = rows[6];
  const h = rows[7];
  const i = rows[8];
  for (let k = 0, to = 0, at = start; k < count; k += 1, to += 3, at += 3) {
    const x = light[at];
    const y = light[at + 1];
    const z = light[at + 2];
    const red = a * x + b * y + c * z;
    const green = d * x + e * y + f * z;
    const blue = g * x + h * y + i * z;
    CHANNELS[to] = red;
    CHANNELS[to + 1] = green;
    CHANNELS[to + 2] = blue;
    GREY[k] = wr * red + wg * green + wb * blue;
  }
}

/** Displayed luminance of scene luminance, on straight lines between the table's entries. */
function lookUpRun(count, tone, first) {
  // Entries stand at the middles of their bins: half a bin is taken off before the place is read.
  const offset = (first << 15) + 16384;
  const most = ((tone.length - 1) << 15) - 1;
  for (let k = 0; k < count; k += 1) {
    let place = GREY_BITS[k] - offset;
    if (place < 0) place = 0;
    else if (place > most) place = most;
    const entry = place >> 15;
    const low = tone[entry];
    SHOWN[k] = low + (tone[entry + 1] - low) * ((place & 32767) * (1 / 32768));
  }
}

/** Channels as displayed, each drawn towards grey until it fits: fit_to_display of view.py. */
function fitRun(count) {
  for (let k = 0, at = 0; k < count; k += 1, at += 3) {
    const shown = SHOWN[k];
    const grey = GREY[k];
    const scale = 1 / (grey > 1e-30 ? grey : 1e-30);
    const r = CHANNELS[at] * scale - 1;
    const g = CHANNELS[at + 1] * scale - 1;
    const b = CHANNELS[at + 2] * scale - 1;
    const room = 1 - shown;
    const more = r > g ? (r > b ? r : b) : g > b ? g : b;
    const less = r < g ? (r < b ? r : b) : g < b ? g : b;
    const over = (shown * more) / (room > 1e-12 ? room : 1e-12);
    const demand = over > -less ? over : -less;
    const squared = demand * demand;
    // Under this the root is within 1/5000 of 1: less than a tenth of a code.
    const kept = squared < 0.028 ? shown : shown / Math.sqrt(Math.sqrt(1 + squared * squared));
    CHANNELS[at] = shown + r * kept;
    CHANNELS[at + 1] = shown + g * kept;
    CHANNELS[at + 2] = shown + b * kept;
  }
}

/** 8-bit sRGB of channels: the code a bin begins with, and one more past the next step's light. */
function encodeRun(words, start, count) {
  const { codes, steps } = ENCODING;
  for (let k = 0, at = 0; k < count; k += 1, at += 3) {
    const r = CHANNEL_BITS[at];
    const g = CHANNEL_BITS[at + 1];
    const b = CHANNEL_BITS[at + 2];
    const red = r < DARKEST ? 0 : codes[(r - DARKEST) >> 15];
    const green = g < DARKEST ? 0 : codes[(g - DARKEST) >> 15];
    const blue = b < DARKEST ? 0 : codes[(b - DARKEST) >> 15];
    words[start + k] =
      0xff000000 |
      ((blue + ((steps[blue + 1] - 1 - b) >>> 31)) << 16) |
      ((green + ((steps[green + 1] - 1 - g) >>> 31)) << 8) |
      (red + ((steps[red + 1] - 1 - r) >>> 31));
  }
}
