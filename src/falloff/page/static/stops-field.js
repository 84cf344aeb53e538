// From a grainy picture to the few clean lines of a stops map: a smooth field of stops, a few
// hundred cells wide, and its contour lines at whole stops. After camera/stops_field.py.

// Variance in stops² under which a difference is grain and smoothed, over which it is an edge.
const EDGE_VARIANCE = 0.1;
// Lines shorter than these shares of the picture's width are clutter.
const SHORTEST_LOOP = 0.12;
const SHORTEST_OPEN = 0.07;
const MOST_CELLS_ACROSS = 360;
// Points to each side that a line's point is the mean of.
const ROUNDING = 3;

/**
 * @typedef {object} Field stops over middle grey in cells of `cell` × `cell` pixels
 * @property {Float32Array} stops smoothed
 * @property {Float32Array} raw as the picture has them, none under `lowest`
 * @property {number} width in cells @property {number} height in cells @property {number} cell
 *
 * @typedef {{level: number, x: Float32Array, y: Float32Array, long: number, closed: boolean}} Line
 *   a contour line in cells, its length too
 */

// log2 of a mantissa, by its upper eleven bits.
const LOG2 = Float32Array.from({ length: 2048 }, (_, i) => Math.log2(1 + (i + 0.5) / 2048));
const FLOAT = new Float32Array(1);
const BITS = new Int32Array(FLOAT.buffer);

/** log2 of a number above nought, within 1/2000. */
function log2(value) {
  FLOAT[0] = value;
  return (BITS[0] >> 23) - 127 + LOG2[(BITS[0] >> 12) & 2047];
}

// Numbers in work, kept from one picture to the next: making them anew takes as long as the rest.
const ROOMS = new Map();

/** A room of that name and size; what was in it is still there. */
function room(name, size) {
  if (ROOMS.get(name)?.length !== size) ROOMS.set(name, new Float32Array(size));
  return ROOMS.get(name);
}

/**
 * The field of a picture: good until the next is made. A part cell at the border is left out.
 * @param {Float32Array} light height × width × 3, cd/m²
 * @param {{width: number, height: number, weights: number[], greyNit: number, lowest: number}} how
 *   weights: of luminance; lowest: stops, nothing under it
 * @returns {Field}
 */
export function fieldOf(light, { width, height, weights, greyNit, lowest }) {
  const cell = Math.max(1, Math.ceil(width / MOST_CELLS_ACROSS));
  const across = Math.floor(width / cell);
  const down = Math.floor(height / cell);
  const raw = room("raw", across * down);
  const [r, g, b] = weights.map((weight) => weight / (greyNit * cell * cell));
  const least = 2 ** lowest;
  for (let y = 0; y < down; y += 1) {
    for (let x = 0; x < across; x += 1) {
      let sum = 0;
      for (let v = 0; v < cell; v += 1) {
        let at = 3 * ((y * cell + v) * width + x * cell);
        for (let u = 0; u < cell; u += 1, at += 3) {
          sum += r * light[at] + g * light[at + 1] + b * light[at + 2];
        }
      }
      raw[y * across + x] = sum > least ? log2(sum) : lowest;
    }
  }
  const size = { width: across, height: down };
  const calm = median(raw, room("calm", raw.length), size);
  const fine = Math.max(2, Math.round(across / 120));
  const wide = Math.max(3, Math.round(across / 48));
  const grained = guided(calm, room("grained", raw.length), size, fine, EDGE_VARIANCE);
  const even = guided(grained, calm, size, wide, EDGE_VARIANCE / 2);
  return { stops: boxMean(even, room("stops", raw.length), size, 1), raw, cell, ...size };
}

/** The middle one of nine; the border keeps its own. */
function median(field, out, { width, height }) {
  out.set(field);
  const lows = new Float32Array(width);
  const mids = new Float32Array(width);
  const highs = new Float32Array(width);
  const { min, max } = Math;
  for (let y = 1; y < height - 1; y += 1) {
    const start = y * width;
    // Three of a column in order; then, of three columns: the greatest of the lows, the middle of
    // the middles and the least of the highs, and of these the middle.
    for (let x = 0, i = start; x < width; x += 1, i += 1) {
      const a = field[i - width];
      const b = field[i];
      const c = field[i + width];
      const low = min(a, b);
      const high = max(a, b);
      lows[x] = min(low, c);
      mids[x] = max(low, min(high, c));
      highs[x] = max(high, c);
    }
    for (let x = 1; x < width - 1; x += 1) {
      const low = max(lows[x - 1], max(lows[x], lows[x + 1]));
      const high = min(highs[x - 1], min(highs[x], highs[x + 1]));
      const a = mids[x - 1];
      const b = mids[x];
      const mid = max(min(a, b), min(max(a, b), mids[x + 1]));
      out[start + x] = max(min(low, mid), min(max(low, mid), high));
    }
  }
  return out;
}

/** A guided filter with the field as its own guide. Source: He, Sun, Tang (2013), eq. 5, 6, 8. */
function guided(field, out, size, radius, edgeVariance) {
  const squares = room("squares", field.length);
  for (let i = 0; i < field.length; i += 1) squares[i] = field[i] * field[i];
  const mean = boxMean(field, room("mean", field.length), size, radius);
  const slope = boxMean(squares, room("slope", field.length), size, radius);
  for (let i = 0; i < field.length; i += 1) {
    const square = mean[i] * mean[i];
    const variance = slope[i] > square ? slope[i] - square : 0;
    slope[i] = variance / (variance + edgeVariance);
    mean[i] -= slope[i] * mean[i];
  }
  const slopes = boxMean(slope, squares, size, radius);
  boxMean(mean, out, size, radius);
  for (let i = 0; i < out.length; i += 1) out[i] += slopes[i] * field[i];
  return out;
}

/** The mean of a square about each cell; the border goes on beyond itself. */
function boxMean(field, out, { width, height }, radius) {
  const rows = room("rows", field.length);
  const share = 1 / (2 * radius + 1);
  for (let y = 0; y < height; y += 1) {
    const start = y * width;
    const last = start + width - 1;
    let sum = field[start] * radius;
    for (let x = 0; x <= radius; x += 1) sum += field[Math.min(start + x, last)];
    for (let x = 0; x < width; x += 1) {
      rows[start + x] = sum * share;
      const gone = x - radius > 0 ? start + x - radius : start;
      const next = start + x + radius + 1;
      sum += field[next < last ? next : last] - field[gone];
    }
  }
  const sums = new Float64Array(width);
  const row = (y) => Math.min(Math.max(y, 0), height - 1) * width;
  for (let y = -radius; y <= radius; y += 1) {
    for (let x = 0, at = row(y); x < width; x += 1, at += 1) sums[x] += rows[at];
  }
  for (let y = 0; y < height; y += 1) {
    const next = row(y + radius + 1);
    const gone = row(y - radius);
    for (let x = 0, at = y * width; x < width; x += 1, at += 1) {
      out[at] = sums[x] * share;
      sums[x] += rows[next + x] - rows[gone + x];
    }
  }
  return out;
}

/**
 * Greatest less least value in a square of `radius` cells about each.
 * @param {Float32Array | Int8Array} field @param {number} width @param {number} height
 */
export function localRange(field, width, height, radius) {
  const high = extreme(field, width, height, radius, 1);
  const low = extreme(field, width, height, radius, -1);
  for (let i = 0; i < high.length; i += 1) high[i] -= low[i];
  return high;
}

function extreme(field, width, height, radius, sign) {
  const rows = new Float32Array(field.length);
  const out = new Float32Array(field.length);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const to = Math.min(x + radius, width - 1);
      let best = -Infinity;
      for (let u = Math.max(0, x - radius); u <= to; u += 1) {
        const value = sign * field[y * width + u];
        if (value > best) best = value;
      }
      rows[y * width + x] = best;
    }
  }
  for (let y = 0; y < height; y += 1) {
    const to = Math.min(y + radius, height - 1);
    for (let x = 0; x < width; x += 1) {
      let best = -Infinity;
      for (let v = Math.max(0, y - radius); v <= to; v += 1) {
        if (rows[v * width + x] > best) best = rows[v * width + x];
      }
      out[y * width + x] = sign * best;
    }
  }
  return out;
}

/**
 * The contour lines at whole stops, long ones first. Where two levels or more cross within a few
 * cells the picture has an edge, and lines are cut: the picture shows the edge by itself.
 * @param {Field} field @param {number} lowest @param {number} highest @returns {Line[]}
 */
export function levelLines(field, lowest, highest) {
  const { stops, width, height } = field;
  const bands = new Int8Array(stops.length);
  for (let i = 0; i < stops.length; i += 1) {
    bands[i] = Math.min(Math.max(Math.floor(stops[i]), lowest - 1), highest);
  }
  const edge = edgeTest(bands, width, height);
  const lines = [];
  const links = new Links(2 * stops.length);
  for (const [level, pairs] of pairsByLevel(bands, field)) {
    for (const chain of links.chained(pairs)) {
      const x = new Float32Array(chain.length);
      const y = new Float32Array(chain.length);
      for (let k = 0; k < chain.length; k += 1) cross(field, level, chain[k], x, y, k);
      cutAtEdges(lines, level, x, y, edge);
    }
  }
  const least = (line) => (line.closed ? SHORTEST_LOOP : SHORTEST_OPEN) * width;
  return lines.filter((line) => line.long >= least(line)).sort((a, b) => b.long - a.long);
}

/** Whether bands two or more apart meet near a place: (x, y) in cells to yes or no. */
function edgeTest(bands, width, height) {
  const reach = Math.max(2, Math.round(width / 160));
  return (x, y) => {
    let low = 127;
    let high = -128;
    for (let v = Math.max(0, y - reach); v <= Math.min(height - 1, y + reach); v += 1) {
      for (let u = Math.max(0, x - reach); u <= Math.min(width - 1, x + reach); u += 1) {
        const band = bands[v * width + u];
        if (band < low) low = band;
        if (band > high) high = band;
      }
    }
    return high - low >= 2;
  };
}

/**
 * For each level the sides of cells that its line joins, two by two. A side is named by twice its
 * first corner, and one more where it runs down.
 */
function pairsByLevel(bands, { stops, width, height }) {
  const found = new Map();
  for (let y = 0; y + 1 < height; y += 1) {
    for (let x = 0; x + 1 < width; x += 1) {
      const i = y * width + x;
      const a = bands[i];
      const b = bands[i + 1];
      const c = bands[i + width];
      const d = bands[i + width + 1];
      if (a === b && a === c && a === d) continue;
      const to = Math.max(Math.max(a, b), Math.max(c, d));
      for (let level = Math.min(Math.min(a, b), Math.min(c, d)) + 1; level <= to; level += 1) {
        let pairs = found.get(level);
        if (!pairs) found.set(level, (pairs = []));
        const over = a >= level;
        const top = over !== b >= level;
        const right = b >= level !== d >= level;
        const bottom = c >= level !== d >= level;
        const left = over !== c >= level;
        if (top && right && bottom && left) {
          // Two lines in one cell: the mean of its corners says which sides are joined.
          const mean = (stops[i] + stops[i + 1] + stops[i + width] + stops[i + width + 1]) / 4;
          const [u, v] = mean >= level === over ? [2 * i + 3, 2 * i + 1] : [2 * i + 1, 2 * i + 3];
          pairs.push(2 * i, u, 2 * (i + width), v);
          continue;
        }
        if (top) pairs.push(2 * i);
        if (right) pairs.push(2 * i + 3);
        if (bottom) pairs.push(2 * (i + width));
        if (left) pairs.push(2 * i + 1);
      }
    }
  }
  return found;
}

/** Joins pairs of sides to chains. A side has two neighbours at most; -1 is none. */
class Links {
  constructor(count) {
    this.one = new Int32Array(count).fill(-1);
    this.other = new Int32Array(count).fill(-1);
  }

  /** The chains, a closed one ending as it begins. The links are empty again afterwards. */
  chained(pairs) {
    for (let k = 0; k < pairs.length; k += 2) {
      this._join(pairs[k], pairs[k + 1]);
      this._join(pairs[k + 1], pairs[k]);
    }
    const chains = [];
    for (const side of pairs) {
      if (this.one[side] !== -1 && this.other[side] === -1) chains.push(this._follow(side));
    }
    for (const side of pairs) if (this.one[side] !== -1) chains.push(this._follow(side));
    return chains.filter((chain) => chain.length > 2);
  }

  _join(from, to) {
    if (this.one[from] === -1) this.one[from] = to;
    else this.other[from] = to;
  }

  _part(from, to) {
    if (this.one[from] === to) this.one[from] = this.other[from];
    this.other[from] = -1;
  }

  _follow(start) {
    const chain = [start];
    for (let at = start, to = this.one[at]; to !== -1; at = to, to = this.one[at]) {
      this._part(at, to);
      this._part(to, at);
      chain.push(to);
    }
    return chain;
  }
}

/** Where a level crosses a side of the cells: put as point k into x and y. */
function cross({ stops, width }, level, side, x, y, k) {
  const i = side >> 1;
  const down = side & 1;
  const j = down ? i + width : i + 1;
  const share = Math.min(Math.max((level - stops[i]) / (stops[j] - stops[i]), 0), 1) || 0;
  x[k] = (i % width) + (down ? 0 : share);
  y[k] = Math.floor(i / width) + (down ? share : 0);
}

function cutAtEdges(lines, level, x, y, edge) {
  const keep = new Uint8Array(x.length);
  let kept = 0;
  for (let k = 0; k < x.length; k += 1) {
    keep[k] = edge(Math.round(x[k]), Math.round(y[k])) ? 0 : 1;
    kept += keep[k];
  }
  const closed = x[0] === x.at(-1) && y[0] === y.at(-1);
  if (closed && kept === x.length) {
    addLine(lines, level, x, y, true);
    return;
  }
  // A loop begins in a gap, so that no part is split where it happens to start.
  const turn = closed ? keep.indexOf(0) : 0;
  const count = closed ? x.length - 1 : x.length;
  let run = [];
  for (let k = 0; k <= count; k += 1) {
    const at = (k + turn) % count;
    if (k < count && keep[at]) {
      run.push(at);
    } else {
      const part = (axis) => Float32Array.from(run, (index) => axis[index]);
      if (run.length > 1) addLine(lines, level, part(x), part(y), false);
      run = [];
    }
  }
}

function addLine(lines, level, x, y, closed) {
  let long = 0;
  for (let k = 1; k < x.length; k += 1) long += Math.hypot(x[k] - x[k - 1], y[k] - y[k - 1]);
  lines.push({ level, x: rounded(x, closed), y: rounded(y, closed), long, closed });
}

/** A running mean that keeps the ends of an open line: beyond them it is mirrored. */
function rounded(axis, closed) {
  const count = axis.length;
  if (count <= 4 * ROUNDING) return axis;
  const body = closed ? count - 1 : count;
  const long = new Float32Array(body + 2 * ROUNDING);
  long.set(axis.subarray(0, body), ROUNDING);
  for (let k = 1; k <= ROUNDING; k += 1) {
    long[ROUNDING - k] = closed ? axis[body - k] : 2 * axis[0] - axis[k];
    long[ROUNDING + body - 1 + k] = closed ? axis[k - 1] : 2 * axis[body - 1] - axis[body - 1 - k];
  }
  const out = new Float32Array(count);
  const span = 2 * ROUNDING + 1;
  let sum = 0;
  for (let k = 0; k < span - 1; k += 1) sum += long[k];
  for (let k = 0; k < body; k += 1) {
    sum += long[k + span - 1];
    out[k] = sum / span;
    sum -= long[k];
  }
  if (closed) out[body] = out[0];
  return out;
}
