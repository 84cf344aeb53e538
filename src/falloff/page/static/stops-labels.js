// Where the numbers of a stops map stand: on their lines, at flat spots, never on one another.
// After camera/stops_labels.py; all places and sizes are in cells of the field.

import { localRange } from "./stops-field.js";

// A flat patch worth a number of its own: less than this many stops across.
const FLAT_STOPS = 0.34;
const MOST_SPOTS = 12;

/** @typedef {{x: number, y: number, width: number, height: number}} Box about its middle */

/** The map as it fills up. */
export class Sheet {
  /**
   * @param {import("./stops-field.js").Field} field
   * @param {import("./stops-field.js").Line[]} lines
   */
  constructor({ width, height }, lines) {
    this.width = width;
    this.height = height;
    /** @type {Box[]} */
    this.taken = [];
    const mask = new Uint8Array(width * height);
    for (const { x, y } of lines) {
      for (let k = 0; k < x.length; k += 1) {
        const column = Math.min(Math.max(Math.round(x[k]), 0), width - 1);
        const row = Math.min(Math.max(Math.round(y[k]), 0), height - 1);
        mask[row * width + column] = 1;
      }
    }
    // Sums of all cells above and left of a corner, so that any box is four readings.
    this._sums = new Int32Array((width + 1) * (height + 1));
    for (let row = 0; row < height; row += 1) {
      let sum = 0;
      for (let column = 0; column < width; column += 1) {
        sum += mask[row * width + column];
        const at = (row + 1) * (width + 1) + column + 1;
        this._sums[at] = this._sums[at - width - 1] + sum;
      }
    }
  }

  /** Whether a box lies in the map and at least `gap` off every other. */
  free(box, gap) {
    const [across, down] = [box.width / 2 + 2, box.height / 2 + 2];
    if (box.x < across || box.x > this.width - across) return false;
    if (box.y < down || box.y > this.height - down) return false;
    return !this.taken.some((other) => meets(box, other, gap));
  }

  /** How many cells with lines a box would cover. */
  lineCells(box) {
    const end = (middle, half, most) => Math.min(Math.max(Math.round(middle + half), 0), most);
    const left = end(box.x, -box.width / 2, this.width);
    const right = end(box.x, box.width / 2, this.width);
    const top = end(box.y, -box.height / 2, this.height) * (this.width + 1);
    const bottom = end(box.y, box.height / 2, this.height) * (this.width + 1);
    const sums = this._sums;
    return sums[bottom + right] - sums[top + right] - sums[bottom + left] + sums[top + left];
  }
}

function meets(one, other, gap) {
  const across = Math.abs(one.x - other.x) - (one.width + other.width) / 2;
  const down = Math.abs(one.y - other.y) - (one.height + other.height) / 2;
  return Math.max(across, down) < gap;
}

/**
 * Boxes for a line's number along it, about one every `spacing`; taken on the sheet.
 * @param {import("./stops-field.js").Line} line @param {number[]} size width, height
 * @param {Sheet} sheet @param {number} spacing @returns {Box[]}
 */
export function placeOnLine(line, size, sheet, spacing) {
  const count = Math.max(1, Math.round(line.long / spacing));
  const placed = [];
  for (let k = 0; k < count; k += 1) {
    const from = Math.floor((k * line.x.length) / count);
    const to = Math.floor(((k + 1) * line.x.length) / count);
    const box = bestOnStretch(line, from, to, size, sheet, placed, spacing / 2);
    if (box) {
      sheet.taken.push(box);
      placed.push(box);
    }
  }
  return placed;
}

/** The place that covers least of other lines, on a straight and level run, off the ends. */
function bestOnStretch({ x, y }, from, to, [width, height], sheet, placed, away) {
  const step = Math.max(1, Math.floor((to - from) / 24));
  const reach = Math.max(3, Math.floor(width));
  let best = null;
  let least = Infinity;
  for (let at = from; at < to; at += step) {
    const box = { x: x[at], y: y[at], width, height };
    if (!sheet.free(box, 0.6 * height) || placed.some((one) => meets(box, one, away))) continue;
    const start = Math.max(at - reach, 0);
    const end = Math.min(at + reach, x.length - 1);
    const chord = Math.hypot(x[end] - x[start], y[end] - y[start]);
    // Less what a straight line through the box would cover, so that only foreign lines count.
    const foreign = Math.max(0, sheet.lineCells(box) - width) / width;
    const bend = 1 - Math.min(1, chord / (2 * reach));
    const steep = Math.abs(y[end] - y[start]) / Math.max(chord, 1);
    const middle = Math.abs(at - (from + to) / 2) / Math.max(to - from, 1);
    const cost = 4 * foreign + bend + 0.3 * steep + 0.5 * middle;
    if (cost < least) [best, least] = [box, cost];
  }
  return best;
}

/**
 * Boxes for numbers in flat patches that no other speaks for, as far from others as may be; taken
 * on the sheet.
 * @param {import("./stops-field.js").Field} field
 * @param {(cell: number) => boolean} barred whether a cell may have no spot
 * @param {number[]} size width, height @param {Sheet} sheet @returns {Box[]}
 */
export function placeSpots({ stops, width: across, height: down }, barred, size, sheet) {
  const [width, height] = size;
  const stride = Math.max(2, Math.round(height / 2));
  // Small pictures have large text for their cells: no patch needs to be flat further than this.
  const reach = Math.min(Math.max(2, Math.round(height)), Math.round(across / 55));
  const range = localRange(stops, across, down, reach);
  const points = [];
  for (let y = 0; y < down; y += stride) {
    for (let x = 0; x < across; x += stride) {
      const cell = y * across + x;
      if (range[cell] >= FLAT_STOPS || barred(cell)) continue;
      if (!sheet.free({ x, y, width, height }, 0)) continue;
      // The border pushes too, so that spots stand inside their patch.
      const edge = 3 * Math.min(x, y, across - x, down - y);
      const near = sheet.taken.map((box) => Math.hypot(x - box.x, y - box.y));
      points.push({ x, y, room: Math.min(edge, ...near) });
    }
  }
  const placed = [];
  while (placed.length < MOST_SPOTS && points.length) {
    const pick = points.reduce((one, other) => (other.room > one.room ? other : one));
    if (pick.room < Math.max(1.6 * width, across / 12)) break;
    const box = { x: pick.x, y: pick.y, width, height };
    pick.room = -1;
    if (sheet.lineCells(box) > 0 || !sheet.free(box, 0.6 * height)) continue;
    sheet.taken.push(box);
    placed.push(box);
    for (const point of points) {
      point.room = Math.min(point.room, Math.hypot(point.x - pick.x, point.y - pick.y));
    }
  }
  return placed;
}
