// The waveform: where in the frame how much light is, column by column, in stops over and under
// middle grey. The more of a column's pixels lie at a level, the lighter it is drawn there. After
// camera/waveform.py.

import { perCent } from "./format.js";

const STOPS_PAST_LIMITS = 2;
const MOST_COLUMNS = 720;
const ROWS_PER_STOP = [6, 28];
// A level that holds the column at this density, in columns' shares a stop, is drawn white; less
// by a power, so that one pixel of a column is still seen.
const FULL_DENSITY_PER_STOP = 8;
const DENSITY_POWER = 0.42;
const FAINTEST = 0.22;
const BAND_PX = 6;
const FONT = "system-ui, sans-serif";
const PAPER = "rgb(24, 24, 24)";

// log2 of a mantissa, by its upper nine bits: well under a row of the drawing.
const LOG2 = Float32Array.from({ length: 512 }, (_, i) => Math.log2(1 + (i + 0.5) / 512));

/** Grey of a density by its share of the full one, 0 to 255 of them. */
const INK = Uint8Array.from({ length: 256 }, (_, i) =>
  i === 0 ? 0 : 24 + 231 * Math.max(FAINTEST, (i / 255) ** DENSITY_POWER),
);

export class Waveform {
  /** @param {HTMLElement} root gets the drawing and its sentence */
  constructor(root) {
    this._scale = document.createElement("canvas");
    this._trace = document.createElement("canvas");
    this._scale.className = "waveform-canvas";
    this._scale.setAttribute("role", "img");
    this._words = document.createElement("p");
    this._words.className = "waveform-words";
    root.replaceChildren(this._scale, this._words);
  }

  /**
   * Draw the light of a frame, every second row of it.
   * @param {import("./stops-map.js").Seen} seen
   */
  draw(seen) {
    const { exposure } = seen;
    const high = Math.ceil(exposure.highlight_stops) + STOPS_PAST_LIMITS;
    const low = -Math.ceil(exposure.shadow_stops) - STOPS_PAST_LIMITS;
    // As many rows a stop as pixels, so that nothing is stretched upward.
    const dense = window.devicePixelRatio || 1;
    const room = this._scale.clientHeight * dense - 2 * (BAND_PX + 3) * dense;
    const [least, most] = ROWS_PER_STOP;
    this._perStop = Math.min(Math.max(Math.floor(room / (high - low)), least), most);
    const counts = this._count(seen, low, high);
    this._paintTrace(counts);
    this._paint(exposure, low, high, counts);
    this._tell(counts, exposure, low, high);
  }

  /** Pixels by column and row; row 0 is what lies past the high end, the last past the low one. */
  _count({ light, width, height, weights, exposure }, low, high) {
    // So many of the picture's columns together that all are alike.
    const group = Math.ceil(width / MOST_COLUMNS);
    const columns = Math.ceil(width / group);
    const perStop = this._perStop;
    const rows = (high - low) * perStop + 3;
    const counts = new Uint16Array(columns * rows);
    const [r, g, b] = weights.map((weight) => weight / exposure.grey_nit);
    const float = new Float32Array(1);
    const bits = new Int32Array(float.buffer);
    const column = Int32Array.from({ length: width }, (_, x) => Math.floor(x / group));
    for (let y = 0; y < height; y += 2) {
      for (let x = 0, at = 3 * y * width; x < width; x += 1, at += 3) {
        float[0] = r * light[at] + g * light[at + 1] + b * light[at + 2];
        const stops = (bits[0] >> 23) - 127 + LOG2[(bits[0] >> 14) & 511];
        let row = ((high - stops) * perStop + 1.5) | 0;
        if (row < 0) row = 0;
        else if (row >= rows) row = rows - 1;
        counts[row * columns + column[x]] += 1;
      }
    }
    const each = Math.ceil(height / 2) * group;
    return { counts, columns, rows, each };
  }

  _paintTrace({ counts, columns, rows, each }) {
    const image = new ImageData(columns, rows);
    const words = new Uint32Array(image.data.buffer);
    const full = (255 * this._perStop) / (each * FULL_DENSITY_PER_STOP);
    for (let i = 0; i < words.length; i += 1) {
      if (!counts[i]) continue;
      // The ends gather all beyond them, as if it were spread over a stop.
      const end = i < columns || i >= columns * (rows - 1);
      const share = Math.ceil(counts[i] * (end ? full / this._perStop : full));
      const grey = INK[share > 255 ? 255 : share];
      words[i] = 0xff000000 | (grey << 16) | (grey << 8) | grey;
    }
    Object.assign(this._trace, { width: columns, height: rows });
    this._trace.getContext("2d").putImageData(image, 0, 0);
  }

  _paint(exposure, low, high, { columns, rows }) {
    const dense = window.devicePixelRatio || 1;
    const width = Math.round(this._scale.clientWidth * dense);
    const height = Math.round(this._scale.clientHeight * dense);
    if (this._scale.width !== width) this._scale.width = width;
    if (this._scale.height !== height) this._scale.height = height;
    const context = this._scale.getContext("2d");
    const text = 12 * dense;
    context.font = `${text}px ${FONT}`;
    const band = BAND_PX * dense;
    const scaled = this._perStop === ROWS_PER_STOP[0] || this._perStop === ROWS_PER_STOP[1];
    const room = height - 2 * (band + 3 * dense);
    const plot = { wide: width, high: scaled ? room : this._perStop * (high - low) };
    plot.top = Math.round((height - plot.high) / 2);
    const stop = plot.high / (high - low);
    const rowOf = (stops) => plot.top + (high - stops) * stop;
    context.fillStyle = PAPER;
    context.fillRect(0, 0, width, height);
    this._paintHatching(context, plot, rowOf(exposure.highlight_stops), true, dense);
    this._paintHatching(context, plot, rowOf(-exposure.shadow_stops), false, dense);
    const line = (stops, style) => {
      context.fillStyle = style;
      context.fillRect(0, Math.round(rowOf(stops)), width, Math.max(1, Math.round(dense)));
    };
    for (let level = low; level <= high; level += 1) line(level, "rgb(46, 46, 46)");
    line(0, "rgb(120, 120, 120)");
    line(exposure.highlight_stops, "rgb(150, 150, 150)");
    line(-exposure.shadow_stops, "rgb(150, 150, 150)");
    context.globalCompositeOperation = "lighten";
    const draw = (from, count, to, tall) =>
      context.drawImage(this._trace, 0, from, columns, count, 0, to, width, tall);
    draw(1, rows - 2, plot.top, scaled ? plot.high : rows - 2);
    draw(0, 1, plot.top - 3 * dense - band, band);
    draw(rows - 1, 1, plot.top + plot.high + 3 * dense, band);
    context.globalCompositeOperation = "source-over";
    this._letter(context, { width, text, stop }, rowOf, exposure, low, high);
  }

  _paintHatching(context, plot, limit, over, dense) {
    const [top, bottom] = over ? [plot.top, limit] : [limit, plot.top + plot.high];
    context.save();
    context.beginPath();
    context.rect(0, top, plot.wide, bottom - top);
    context.clip();
    context.strokeStyle = "rgb(62, 62, 62)";
    context.lineWidth = dense;
    context.beginPath();
    const tall = bottom - top;
    for (let x = -tall; x < plot.wide + tall; x += 12 * dense) {
      context.moveTo(x, bottom);
      context.lineTo(x + tall, top);
      if (over) {
        context.moveTo(x, top);
        context.lineTo(x + tall, bottom);
      }
    }
    context.stroke();
    context.restore();
  }

  /** Numbers at the left and names at the right, in the drawing: it is as wide as the picture. */
  _letter(context, { width, text, stop }, rowOf, exposure, low, high) {
    const step = [1, 2, 3, 4, 6].find((count) => count * stop >= 1.3 * text) ?? 8;
    context.textBaseline = "middle";
    const write = (words, x, stops) => {
      const wide = context.measureText(words).width + 0.6 * text;
      context.fillStyle = "rgb(24, 24, 24, 0.75)";
      context.fillRect(x + 0.3 * text - wide, rowOf(stops) - 0.65 * text, wide, 1.3 * text);
      context.fillStyle = "rgb(222, 222, 222)";
      context.fillText(words, x, rowOf(stops) + 0.05 * text);
    };
    context.textAlign = "right";
    for (let level = low + 1; level < high; level += 1) {
      if (level % step) continue;
      const sign = level > 0 ? "+" : level < 0 ? "−" : "";
      write(`${sign}${Math.abs(level)}`, 2.2 * text, level);
    }
    write("highlight limit", width - 0.6 * text, exposure.highlight_stops);
    write("middle grey", width - 0.6 * text, 0);
    write("shadow limit", width - 0.6 * text, -exposure.shadow_stops);
  }

  _tell({ counts, columns, rows, each }, exposure, low, high) {
    const total = counts.reduce((sum, count) => sum + count, 0);
    const sums = new Float64Array(rows);
    for (let i = 0; i < counts.length; i += 1) sums[Math.floor(i / columns)] += counts[i];
    const stopsOf = (row) => high - (row - 1) / this._perStop;
    let [over, under, above, middle] = [0, 0, 0, -Infinity];
    for (let row = 0; row < rows; row += 1) {
      if (row === 0 || stopsOf(row) > exposure.highlight_stops) over += sums[row];
      if (row === rows - 1 || stopsOf(row) < -exposure.shadow_stops) under += sums[row];
      if (above < total / 2 && above + sums[row] >= total / 2) middle = stopsOf(row);
      above += sums[row];
    }
    const level = middle === 0 ? "0" : `${middle > 0 ? "+" : "−"}${Math.abs(middle).toFixed(1)}`;
    const words =
      `Median of the frame ${level}; past the highlight limit ${perCent(over / total)}, ` +
      `past the shadow limit ${perCent(under / total)}.`;
    if (this._words.textContent === words) return;
    this._words.textContent = words;
    this._scale.setAttribute("aria-label", `Waveform. ${words}`);
  }
}
