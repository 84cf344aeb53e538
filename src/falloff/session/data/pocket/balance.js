// Balancing to level targets: dims by projected Gauss-Newton in log light, as falloff.balance.levels
// has it; tests/page/cases/balance.json holds both to the same cases.

const INSIDE = 0.99; // of a tolerance that an answer stays within
const PULL = 0.03; // towards the middle of a band
const BEYOND = 3; // back from past its edge
const STAY = 0.005; // how reluctantly a dim is moved
const LEAST_SCALE = 0.05;
const LEAST_SHARE = 2 ** -12;
const MOST_TURNS = 80;
const HOPELESS = 1e-4; // of its weight, that is left to a target that cannot be met
const MOVED_STOPS = 0.02;
const WORSE = 1e-3;
const CLOSE = 1e-7;

/**
 * @typedef {object} Target a level that is wanted
 * @property {number} reading @property {number|null} over places in the readings
 * @property {number} level_stops @property {string} limit "equal", "at most" or "at least"
 * @property {number} tolerance_stops @property {number} weight
 */

/**
 * How far a level is from what is wanted, in stops: what is off, and what is past the tolerance.
 * @param {Target} target @param {number} stops
 */
export function missOf({ level_stops, limit, tolerance_stops }, stops) {
  const off = stops - level_stops;
  if (limit === "at most") return { off, miss: off > tolerance_stops ? off : 0 };
  if (limit === "at least") return { off, miss: off < -tolerance_stops ? off : 0 };
  return { off, miss: Math.abs(off) > tolerance_stops ? off : 0 };
}

/**
 * The shares of full light that bring the targets nearest, with nothing bent for what no dim can
 * meet, and no light moved that need not be.
 * @param {{now: number, lowest: number, free: boolean}[]} levers as of `balancedShares`
 * @param {number[][]} light @param {number[]} against @param {Target[]} targets
 * @returns {number[]}
 */
export function balanced(levers, light, against, targets) {
  const solve = (wanted, held = new Set()) =>
    balancedShares(levers.map((one, s) => (held.has(s) ? { ...one, free: false } : one)), light, against, wanted);
  const missedBy = (target, shares) => Math.abs(missOf(target, levelAt(target, shares, light, against)).miss);
  let shares = solve(targets);
  const hopeless = new Set(targets.filter((one) => missedBy(one, shares) > 0 && missedBy(one, solve([one])) > 0));
  const wanted = targets.map((one) => (hopeless.has(one) ? { ...one, weight: HOPELESS * one.weight } : one));
  if (hopeless.size > 0) shares = solve(wanted);
  const worst = (at) => targets.map((one) => (hopeless.has(one) ? 0 : missedBy(one, at)));
  const held = new Set();
  const moves = (at, s) => (levers[s].free && levers[s].now > 0 ? Math.abs(Math.log2(at[s] / levers[s].now)) : 0);
  // Those that move least are left where they are first, if the others can do without them.
  const order = levers.map((_, s) => s).filter((s) => moves(shares, s) > MOVED_STOPS).sort((a, b) => weightOf(a) - weightOf(b));
  function weightOf(s) {
    return Math.max(...targets.filter((one) => !hopeless.has(one)).map(({ reading }) => light[s][reading] * shares[s]), 0);
  }
  for (const s of order) {
    const without = solve(wanted, new Set([...held, s]));
    const before = worst(shares);
    if (worst(without).some((miss, n) => miss > before[n] + WORSE)) continue;
    held.add(s);
    shares = without;
  }
  return shares;
}

/** A target's level in its own terms, in stops. */
function levelAt({ reading, over }, shares, light, against) {
  const stops = (p) => Math.log2(Math.max(light.reduce((sum, row, s) => sum + row[p] * shares[s], 0), 1e-12) / against[p]);
  return stops(reading) - (over === null ? 0 : stops(over));
}

/**
 * The shares of full light that bring the targets nearest, each as hard as it weighs.
 * @param {{now: number, lowest: number, free: boolean}[]} levers now, lowest: shares of full light
 * @param {number[][]} light of each source at full, at each reading
 * @param {number[]} against what each reading is told against, in the same unit
 * @param {Target[]} targets
 * @returns {number[]} those that are off or not free stay as they are
 */
export function balancedShares(levers, light, against, targets) {
  const free = levers.map(({ now, lowest, free: may }, s) => (may && now > 0 && lowest < 1 ? s : -1)).filter((s) => s >= 0);
  const low = free.map((s) => Math.log2(Math.max(levers[s].lowest, LEAST_SHARE)));
  const kept = free.map((s, k) => Math.min(0, Math.max(low[k], Math.log2(Math.max(levers[s].now, LEAST_SHARE)))));
  const shares = levers.map(({ now }) => now);
  const sharesAt = (x) => {
    free.forEach((s, k) => (shares[s] = 2 ** x[k]));
    return shares;
  };
  const at = (x) => {
    const { rows, slopes } = residuals(free, sharesAt(x), light, against, targets);
    x.forEach((value, k) => {
      rows.push(STAY * (value - kept[k]));
      slopes.push(free.map((_, j) => (j === k ? STAY : 0)));
    });
    return { rows, slopes, cost: rows.reduce((sum, one) => sum + one * one, 0) };
  };
  let x = [...kept];
  let here = at(x);
  let damping = 1e-3;
  for (let turn = 0; turn < MOST_TURNS && free.length > 0; turn += 1) {
    const step = stepOf(here, x, low, damping);
    const next = x.map((value, k) => Math.min(0, Math.max(low[k], value + step[k])));
    const there = at(next);
    if (there.cost < here.cost) {
      const done = here.cost - there.cost < CLOSE * here.cost;
      [x, here, damping] = [next, there, Math.max(damping / 5, 1e-9)];
      if (done) break;
    } else {
      damping *= 8;
      if (damping > 1e9) break;
    }
  }
  return [...sharesAt(x)];
}

/** The damped step, with what is pushed past its end left where it is. */
function stepOf({ rows, slopes }, x, low, damping) {
  const count = x.length;
  const slope = x.map((_, k) => rows.reduce((sum, one, r) => sum + one * slopes[r][k], 0));
  const still = x.map((value, k) => (value >= 0 && slope[k] < 0) || (value <= low[k] && slope[k] > 0));
  const matrix = x.map((_, i) => x.map((__, j) => {
    if (still[i] || still[j]) return i === j ? 1 : 0;
    const sum = slopes.reduce((all, row) => all + row[i] * row[j], 0);
    return i === j ? sum * (1 + damping) + 1e-12 : sum;
  }));
  return solved(matrix, slope.map((one, k) => (still[k] ? 0 : -one)), count);
}

/** Residuals and their slopes by each free source's stops: the pull, and what is past the edge. */
function residuals(free, shares, light, against, targets) {
  const rows = [];
  const slopes = [];
  const stopsAt = (p) => {
    const value = Math.max(light.reduce((sum, row, s) => sum + row[p] * shares[s], 0), 1e-12);
    return { stops: Math.log2(value / against[p]), slope: free.map((s) => (light[s][p] * shares[s]) / value) };
  };
  for (const { reading, over, level_stops, limit, tolerance_stops, weight } of targets) {
    const one = stopsAt(reading);
    const other = over === null ? null : stopsAt(over);
    const off = one.stops - (other?.stops ?? 0) - level_stops;
    const slope = one.slope.map((value, k) => value - (other?.slope[k] ?? 0));
    const scale = Math.max(tolerance_stops, LEAST_SCALE);
    const low = limit === "at most" ? -Infinity : -INSIDE * tolerance_stops;
    const high = limit === "at least" ? Infinity : INSIDE * tolerance_stops;
    const pull = limit === "equal" ? off : limit === "at most" ? Math.max(0, off) : Math.min(0, off);
    const beyond = off > high ? off - high : Math.min(0, off - low);
    for (const [size, value] of [[PULL, pull], [BEYOND, beyond]]) {
      const by = (size * Math.sqrt(weight)) / scale;
      rows.push(by * value);
      slopes.push(slope.map((each) => (value === 0 ? 0 : by * each)));
    }
  }
  return { rows, slopes };
}

/** A small system of equations, by elimination with pivots. */
function solved(matrix, right, count) {
  const rows = matrix.map((row, i) => [...row, right[i]]);
  for (let c = 0; c < count; c += 1) {
    const pivot = rows.slice(c).reduce((best, row, k) => (Math.abs(row[c]) > Math.abs(rows[best][c]) ? c + k : best), c);
    [rows[c], rows[pivot]] = [rows[pivot], rows[c]];
    if (Math.abs(rows[c][c]) < 1e-15) continue;
    for (let r = 0; r < count; r += 1) {
      if (r === c) continue;
      const factor = rows[r][c] / rows[c][c];
      if (factor !== 0) for (let k = c; k <= count; k += 1) rows[r][k] -= factor * rows[c][k];
    }
  }
  return rows.map((row, i) => (Math.abs(row[i]) < 1e-15 ? 0 : row[count] / row[i]));
}
