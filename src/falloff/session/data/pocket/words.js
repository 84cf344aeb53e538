// Numbers as people on a set read them: stops in thirds and tenths, lux or foot-candles, per cent.

const MINUS = "−";

/** Nearest whole number, halves away from nought; value is 0 or more. */
function nearest(value) {
  return Math.floor(value + 0.5);
}

/**
 * Stops in thirds, without a sign: "1/3", "1 1/3", "2"; no line is broken within.
 * @param {number} stops
 */
function thirds(stops) {
  const count = nearest(Math.abs(stops) * 3);
  const whole = Math.floor(count / 3);
  const rest = ["", "1/3", "2/3"][count % 3];
  return [whole || rest === "" ? String(whole) : "", rest].filter(Boolean).join("\u00a0");
}

/**
 * A level against a reference: "1/3 under", "2 over", "at key", "no light".
 * @param {number} stops -Infinity where there is no light
 * @param {string} reference "key" or "grey"
 */
export function levelWords(stops, reference) {
  if (stops === -Infinity) return "no light";
  const said = thirds(stops);
  if (said === "0") return `at ${reference}`;
  return `${said} ${stops > 0 ? "over" : "under"}`;
}

/**
 * The same with its reference always named: "1/3 under key".
 * @param {number} stops
 * @param {string} reference
 */
export function levelAgainst(stops, reference) {
  const said = levelWords(stops, reference);
  return said.endsWith("over") || said.endsWith("under") ? `${said} ${reference}` : said;
}

/**
 * A level beside another, or against key: "level with back", "1/3 under key".
 * @param {number} stops
 * @param {{over: number|string|null}} target
 * @param {string} reference
 */
export function besideWords(stops, { over }, reference) {
  const said = levelAgainst(stops, reference);
  return over !== null && said === `at ${reference}` ? `level with ${reference}` : said;
}

/**
 * What a target asks, in tenths where it was written so: "at most 2.5 over key", "1/3 under back".
 * @param {{level_stops: number, limit: string, over: number|string|null}} target
 * @param {string} reference
 */
export function askedOf(target, reference) {
  const stops = target.level_stops;
  const inThirds = Math.abs(3 * stops - Math.round(3 * stops)) < 0.11;
  const said = inThirds ? besideWords(stops, target, reference) : `${Math.abs(stops).toFixed(1)} ${stops > 0 ? "over" : "under"} ${reference}`;
  return `${target.limit === "equal" ? "" : `${target.limit} `}${said}`;
}

/**
 * Stops to a tenth with their sign: "+1.3", "−0.4", "0.0", "no light".
 * @param {number} stops
 */
export function tenths(stops) {
  if (stops === -Infinity) return "no light";
  const count = nearest(Math.abs(stops) * 10);
  const sign = count === 0 ? "" : stops > 0 ? "+" : MINUS;
  return sign + (count / 10).toFixed(1);
}

/**
 * Tenths with the word: "−1.0 stops", "0.0 stops", "no light".
 * @param {number} stops
 */
export function tenthsOfStops(stops) {
  return stops === -Infinity ? "no light" : `${tenths(stops)} stops`;
}

/**
 * A number to three figures: "1250", "61.2", "0.08".
 * @param {number} value 0 or more
 */
export function threeFigures(value) {
  if (!(value > 0)) return "0";
  const rounded = Number(value.toPrecision(3));
  const decimals = 2 - Math.floor(Math.log10(rounded));
  return rounded.toFixed(Math.max(0, Math.min(decimals, 6)));
}

/**
 * A share of a whole: "71 %", "0.4 %", "0 %".
 * @param {number} share 0 to 1
 */
export function perCent(share) {
  const count = 100 * share;
  if (count > 0 && count < 0.95) return count < 0.1 ? "<0.1 %" : `${count.toFixed(1)} %`;
  return `${nearest(count)} %`;
}

/**
 * A ratio as contrast is told: "4.0:1", "12:1".
 * @param {number} value
 */
export function ratioWords(value) {
  return `${value < 9.95 ? value.toFixed(1) : value.toFixed(0)}:1`;
}

/**
 * A number that somebody typed, with a point or a comma; null where it is none above nought.
 * @param {string} text
 * @returns {number|null}
 */
export function typedNumber(text) {
  const tidy = text.trim().replace(",", ".");
  if (!/^\d*\.?\d+$|^\d+\.$/.test(tidy)) return null;
  const value = Number(tidy);
  return Number.isFinite(value) && value > 0 ? value : null;
}

/**
 * A local time with its offset, ISO 8601: "2024-05-06T14:03:22+02:00".
 * @param {Date} date
 */
export function localTime(date) {
  const minutes = -date.getTimezoneOffset();
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const local = new Date(date.getTime() + 60000 * minutes).toISOString().slice(0, 19);
  return `${local}${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
}
