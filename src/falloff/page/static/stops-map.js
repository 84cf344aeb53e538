// The stops map in the window: the picture in grey, contour lines and numbers at whole stops over
// and under middle grey, hatching past the camera's limits, and a legend in words. After
// camera/stops_map.py. Lines move with the light; numbers are set when it rests.

import { fieldOf, levelLines } from "./stops-field.js";
import { placeOnLine, placeSpots, Sheet } from "./stops-labels.js";

// The grey of the picture under the lines, short of white so that lines are the lightest.
const GREY_FROM = 14;
const GREY_TO = 196;
// Over so many stops the edge of an area fades, or its cells would show.
const SOFT_STOPS = 0.12;
const REST_MS = 120;
const DARKEST_TOLD = -20;
const THIRD_SCALE = 0.8;
const FONT = "system-ui, sans-serif";
// Tints that stay apart for all common kinds of colour vision; the hatching alone tells them too.
const AREAS = [
  { name: "over", tint: "232, 142, 66", pattern: "crossed" },
  { name: "under", tint: "58, 158, 152", pattern: "level" },
];

/**
 * @typedef {object} Seen what a map is of
 * @property {Float32Array} light height × width × 3, cd/m²
 * @property {number} width pixels @property {number} height pixels
 * @property {number[]} weights of luminance
 * @property {{grey_nit: number, tone: Float32Array, first: number, highlight_stops: number,
 *   shadow_stops: number}} exposure
 */

export class StopsMap {
  /**
   * @param {HTMLCanvasElement} overlay stands over the picture, as large as it is shown
   * @param {HTMLElement} legend is filled with words
   */
  constructor(overlay, legend) {
    this._overlay = overlay;
    this._legend = legend;
    this._mask = document.createElement("canvas");
    this._hatched = document.createElement("canvas");
    this._timer = 0;
    this._said = "";
    this._spots = false;
    this._last = null;
    this._grey = { tone: null, codes: null };
  }

  /**
   * Draw the grey picture into `image` and the lines over it.
   * @param {Seen} seen @param {ImageData} image of the same size
   */
  draw(seen, image) {
    const { exposure } = seen;
    this._paintGround(seen, image);
    const lowest = -exposure.shadow_stops - 3;
    const field = fieldOf(seen.light, { ...seen, greyNit: exposure.grey_nit, lowest });
    const lines = levelLines(
      field,
      -Math.floor(exposure.shadow_stops),
      Math.floor(exposure.highlight_stops),
    );
    this._last = { seen, field, lines };
    delete this._overlay.dataset.numbered;
    this._paintOver([]);
    this._tell();
    clearTimeout(this._timer);
    this._timer = setTimeout(() => this._number(), REST_MS);
  }

  /** Draw once more, for an overlay of another size. */
  again() {
    if (this._last) this._number();
  }

  /** Take all lines away. */
  clear() {
    clearTimeout(this._timer);
    if (!this._last) return;
    this._last = null;
    delete this._overlay.dataset.numbered;
    this._overlay.getContext("2d").clearRect(0, 0, this._overlay.width, this._overlay.height);
    this._legend.replaceChildren();
    this._said = "";
    this._spots = false;
  }

  _number() {
    const texts = this._placeTexts();
    this._spots = texts.some(({ kind }) => kind === "spot");
    this._paintOver(texts);
    this._tell();
    this._overlay.dataset.numbered = "";
  }

  _paintGround({ light, weights, exposure }, image) {
    const codes = this._greyCodes(exposure.tone);
    const words = new Uint32Array(image.data.buffer);
    const [r, g, b] = weights.map((weight) => weight / exposure.grey_nit);
    const float = new Float32Array(1);
    const bits = new Int32Array(float.buffer);
    const last = codes.length - 1;
    for (let i = 0, at = 0; i < words.length; i += 1, at += 3) {
      float[0] = r * light[at] + g * light[at + 1] + b * light[at + 2];
      const entry = (bits[0] >> 15) - exposure.first;
      const grey = codes[entry < 0 ? 0 : entry > last ? last : entry];
      words[i] = 0xff000000 | (grey << 16) | (grey << 8) | grey;
    }
  }

  _greyCodes(tone) {
    if (this._grey.tone !== tone) {
      // Source: IEC 61966-2-1:1999, 5.2.
      const encode = (y) => (y <= 0.0031308 ? 12.92 * y : 1.055 * y ** (1 / 2.4) - 0.055);
      const codes = Uint8Array.from(tone, (y) => GREY_FROM + (GREY_TO - GREY_FROM) * encode(y));
      this._grey = { tone, codes };
    }
    return this._grey.codes;
  }

  /** Pixels of the overlay a cell takes, across and down, and size of the text in them. */
  _scale() {
    const { seen, field } = this._last;
    const across = (this._overlay.width * field.cell) / seen.width;
    const down = (this._overlay.height * field.cell) / seen.height;
    const dense = this._overlay.width / Math.max(1, this._overlay.clientWidth);
    const shown = Math.max(1, this._overlay.clientWidth);
    const text = Math.min(20, Math.max(11, Math.round(14 * Math.sqrt(shown / 960))));
    return { across, down, dense, text: text * dense };
  }

  _paintOver(texts) {
    const context = this._overlay.getContext("2d");
    const scale = this._scale();
    context.clearRect(0, 0, this._overlay.width, this._overlay.height);
    AREAS.forEach((area, k) => this._paintArea(context, area, this._past(k), scale));
    this._paintLines(context, scale);
    for (const { box, kind } of texts) {
      if (kind === "line") this._openLine(context, box, scale);
    }
    for (const text of texts) paintText(context, text, scale);
  }

  /** How many stops a cell lies past the limit, under nought within it: 0 highlights, 1 shadows. */
  _past(which) {
    const { field, seen } = this._last;
    const { highlight_stops: high, shadow_stops: low } = seen.exposure;
    const { stops } = field;
    return which === 0 ? (cell) => stops[cell] - high : (cell) => -low - stops[cell];
  }

  /** Hatch where the light is past a limit, by way of a mask that is smoothed as it grows. */
  _paintArea(context, area, past, scale) {
    const { width, height } = this._last.field;
    const mask = this._maskOf(width, height);
    const words = new Uint32Array(mask.data.buffer);
    let [left, right, top, bottom] = [width, -1, height, -1];
    for (let y = 0, cell = 0; y < height; y += 1) {
      for (let x = 0; x < width; x += 1, cell += 1) {
        const stops = past(cell);
        const share = stops / SOFT_STOPS + 0.5;
        words[cell] = share <= 0 ? 0 : (share < 1 ? 255 * share : 255) << 24;
        if (stops <= 0) continue;
        if (x < left) left = x;
        if (x > right) right = x;
        if (y < top) top = y;
        bottom = y;
      }
    }
    area.seen = right >= 0;
    if (!area.seen) return;
    this._mask.getContext("2d").putImageData(mask, 0, 0);
    const [x, y] = [(left - 1) * scale.across, (top - 1) * scale.down];
    const [wide, tall] = [(right - left + 3) * scale.across, (bottom - top + 3) * scale.down];
    const hatched = this._hatched;
    if (hatched.width !== this._overlay.width) hatched.width = this._overlay.width;
    if (hatched.height !== this._overlay.height) hatched.height = this._overlay.height;
    const to = hatched.getContext("2d");
    to.save();
    to.clearRect(x, y, wide, tall);
    to.beginPath();
    to.rect(x, y, wide, tall);
    to.clip();
    to.drawImage(this._mask, 0, 0, width * scale.across, height * scale.down);
    to.globalCompositeOperation = "source-in";
    to.fillStyle = to.createPattern(this._tile(area, scale.dense), "repeat");
    to.fillRect(x, y, wide, tall);
    to.restore();
    context.save();
    context.beginPath();
    context.rect(x, y, wide, tall);
    context.clip();
    context.drawImage(hatched, 0, 0);
    context.restore();
  }

  _maskOf(width, height) {
    if (this._image?.width !== width || this._image.height !== height) {
      this._image = new ImageData(width, height);
      Object.assign(this._mask, { width, height });
    }
    return this._image;
  }

  _tile(area, dense) {
    if (area.dense !== dense) Object.assign(area, { dense, tile: hatching(area, dense) });
    return area.tile;
  }

  _paintLines(context, { across, down, dense, text }) {
    const width = { zero: 2.4 * dense, other: 1.15 * dense };
    const groups = { zero: new Path2D(), over: new Path2D(), under: new Path2D() };
    for (const { level, x, y } of this._last.lines) {
      const path = groups[level === 0 ? "zero" : level > 0 ? "over" : "under"];
      path.moveTo((x[0] + 0.5) * across, (y[0] + 0.5) * down);
      for (let k = 1; k < x.length; k += 1) {
        path.lineTo((x[k] + 0.5) * across, (y[k] + 0.5) * down);
      }
    }
    context.lineJoin = "round";
    for (const [name, path] of Object.entries(groups)) {
      const line = name === "zero" ? width.zero : width.other;
      context.setLineDash(name === "under" ? [0.55 * text, 0.36 * text] : []);
      const stroke = (style, wide) => {
        context.strokeStyle = style;
        context.lineWidth = wide;
        context.stroke(path);
      };
      stroke("rgba(0, 0, 0, 0.47)", line + 1.6 * dense);
      stroke("rgba(255, 255, 255, 0.92)", line);
    }
    context.setLineDash([]);
  }

  /** Leave a gap in the lines for a number; hatching under it goes too, which reads well. */
  _openLine(context, box, { across, down }) {
    context.clearRect(
      (box.x + 0.5 - box.width / 2) * across,
      (box.y + 0.5 - box.height / 2) * down,
      box.width * across,
      box.height * down,
    );
  }

  _placeTexts() {
    const { field, lines } = this._last;
    const scale = this._scale();
    const context = this._overlay.getContext("2d");
    const sheet = new Sheet(field, lines);
    const size = (text) => [
      (textWidth(context, text, scale.text) + 0.5 * scale.text) / scale.across,
      (1.15 * scale.text) / scale.down,
    ];
    const texts = [];
    const first = [...lines].sort((a, b) => (a.level !== 0) - (b.level !== 0) || b.long - a.long);
    for (const line of first) {
      const text = thirds(line.level);
      for (const box of placeOnLine(line, size(text), sheet, 0.42 * field.width)) {
        texts.push({ box, text, kind: "line" });
      }
    }
    const [over, under] = [this._past(0), this._past(1)];
    const barred = (cell) => over(cell) > 0 || under(cell) > 0;
    for (const box of placeSpots(field, barred, size(thirds(-4 / 3)), sheet)) {
      texts.push({ box, text: thirds(spotStops(field, box)), kind: "spot" });
    }
    return texts;
  }

  /** The legend: what is there; of spots, which come and go while light moves, what was there. */
  _tell() {
    const { lines, seen } = this._last;
    const { highlight_stops: high, shadow_stops: low } = seen.exposure;
    const entries = [["zero", "stops, 0 = middle grey (18 % card at key)"]];
    if (lines.some(({ level }) => level > 0)) entries.push(["over", "over"]);
    if (lines.some(({ level }) => level < 0)) entries.push(["under", "under"]);
    if (this._spots) entries.push(["spot", "spot"]);
    if (AREAS[0].seen) entries.push(["highlights", `past highlight limit, ${plain(high)} over`]);
    if (AREAS[1].seen) entries.push(["shadows", `past shadow limit, ${plain(low)} under`]);
    const said = JSON.stringify(entries);
    if (said === this._said) return;
    this._said = said;
    this._legend.replaceChildren(
      ...entries.map(([swatch, words]) => {
        const entry = document.createElement("span");
        entry.className = "stops-entry";
        const mark = document.createElement("span");
        mark.className = `stops-swatch stops-swatch-${swatch}`;
        mark.setAttribute("aria-hidden", "true");
        entry.append(mark, words);
        return entry;
      }),
    );
  }
}

function plain(stops) {
  return String(Number(stops.toPrecision(3)));
}

/** The mean of a few cells about a spot, in stops: a spot reading of the picture. */
function spotStops({ raw, width, height }, { x, y }) {
  let sum = 0;
  let count = 0;
  for (let row = Math.max(0, y - 1); row <= Math.min(height - 1, y + 1); row += 1) {
    for (let column = Math.max(0, x - 1); column <= Math.min(width - 1, x + 1); column += 1) {
      sum += 2 ** raw[row * width + column];
      count += 1;
    }
  }
  return Math.log2(Math.max(sum / count, 2 ** DARKEST_TOLD));
}

/** A value to the nearest third, as its parts: +1 2/3, −1/3 or 0. */
function thirds(stops) {
  const count = Math.round(Math.abs(stops) * 3);
  const whole = Math.floor(count / 3);
  const sign = count === 0 ? "" : stops > 0 ? "+" : "−";
  const rest = ["", "1/3", "2/3"][count % 3];
  return { whole: sign + (whole || !rest ? String(whole) : ""), rest };
}

function textWidth(context, { whole, rest }, size) {
  context.font = `600 ${size}px ${FONT}`;
  const first = context.measureText(whole).width;
  context.font = `600 ${THIRD_SCALE * size}px ${FONT}`;
  return first + (rest ? context.measureText(rest).width + gapOf(whole) * size : 0);
}

/** Room before a third, as a share of the text's size: more after a number than after a sign. */
function gapOf(whole) {
  return /\d/.test(whole) ? 0.26 : 0.06;
}

function paintText(context, { box, text, kind }, scale) {
  const size = scale.text;
  const width = textWidth(context, text, size);
  const dot = kind === "spot" ? 0.5 * size : 0;
  let x = (box.x + 0.5) * scale.across - width / 2 + dot / 2;
  const y = (box.y + 0.5) * scale.down;
  context.textBaseline = "middle";
  context.lineJoin = "round";
  context.strokeStyle = "rgb(16, 16, 16)";
  context.fillStyle = "white";
  if (dot) {
    for (const [style, radius] of [[context.strokeStyle, 0.26], ["white", 0.15]]) {
      context.fillStyle = style;
      context.beginPath();
      context.arc(x - 0.3 * size, y, radius * size, 0, 2 * Math.PI);
      context.fill();
    }
  }
  const parts = [[text.whole, size]];
  if (text.rest) parts.push([text.rest, THIRD_SCALE * size]);
  for (const [part, px] of parts) {
    context.font = `600 ${px}px ${FONT}`;
    context.lineWidth = 0.26 * size;
    context.strokeText(part, x, y + 0.05 * size);
    context.fillText(part, x, y + 0.05 * size);
    x += context.measureText(part).width + gapOf(text.whole) * size;
  }
}

/** A tile of an area's tint with its hatching: crossed slanted lines, or level ones. */
function hatching({ tint, pattern }, dense) {
  const pitch = Math.round((pattern === "crossed" ? 10 : 7) * dense);
  const tile = document.createElement("canvas");
  Object.assign(tile, { width: pitch, height: pitch });
  const context = tile.getContext("2d");
  context.fillStyle = `rgba(${tint}, 0.34)`;
  context.fillRect(0, 0, pitch, pitch);
  context.strokeStyle = `rgba(${tint}, 0.95)`;
  context.lineWidth = 1.2 * dense;
  context.beginPath();
  if (pattern === "level") {
    context.moveTo(0, pitch / 2);
    context.lineTo(pitch, pitch / 2);
  } else {
    for (const shift of [-pitch, 0, pitch]) {
      context.moveTo(shift - 1, -1);
      context.lineTo(shift + pitch + 1, pitch + 1);
      context.moveTo(shift + pitch + 1, -1);
      context.lineTo(shift - 1, pitch + 1);
    }
  }
  context.stroke();
  return tile;
}
