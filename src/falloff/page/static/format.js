// Numbers as people read them: the same words that the terminal uses, rounded the same way.
// Each function here is told from one in Python; tests/page/cases/format.json holds both to it.

// Source: the international foot, 0.3048 m; 1 fc is 1 lm/ft²; 1 fL is 1/π cd/ft².
const METRES_PER_INCH = 0.0254;
const LUX_PER_FOOTCANDLE = 1 / 0.3048 ** 2;
const NITS_PER_FOOTLAMBERT = 1 / (Math.PI * 0.3048 ** 2);
const NO_BREAK = "\u00a0";

/** @typedef {"metric" | "imperial"} System */

/**
 * Stops as people say them: "at key", "a third over", "1 1/3 under"; "no light" for none.
 * @param {number} stops @param {string} reference what 0 is called @returns {string}
 */
export function stopsThirds(stops, reference = "key") {
  if (stops === -Infinity) return "no light";
  const thirds = nearest(Math.abs(stops) * 3);
  if (thirds === 0) return `at ${reference}`;
  const whole = Math.floor(thirds / 3);
  const rest = thirds % 3;
  const alone = ["", "a third", "two thirds"][rest];
  const size = whole ? `${whole}${["", " 1/3", " 2/3"][rest]}` : alone;
  return `${size} ${stops > 0 ? "over" : "under"}`;
}

/**
 * The same with what it is over or under: "1 1/3 over key", "at middle grey", "no light".
 * @param {number} stops @param {string} reference @returns {string}
 */
export function stopsAgainst(stops, reference = "key") {
  const said = stopsThirds(stops, reference);
  return said.startsWith("at ") || said === "no light" ? said : `${said} ${reference}`;
}

/** Stops to a tenth, with their sign: "+1.3", "0.0"; "no light". @param {number} stops */
export function stopsTenths(stops) {
  if (stops === -Infinity) return "no light";
  const tenths = nearest(Math.abs(stops) * 10);
  if (tenths === 0) return "0.0";
  return `${stops > 0 ? "+" : "-"}${(tenths / 10).toFixed(1)}`;
}

/** To three figures: "1250 lx" or "116 fc". @param {number} lux @param {System} units */
export function illuminance(lux, units = "metric") {
  if (units === "metric") return `${threeFigures(lux)} lx`;
  return `${threeFigures(lux / LUX_PER_FOOTCANDLE)} fc`;
}

/** To three figures: "250 nit" or "73.0 fL". @param {number} nit @param {System} units */
export function luminance(nit, units = "metric") {
  if (units === "metric") return `${threeFigures(nit)} nit`;
  return `${threeFigures(nit / NITS_PER_FOOTLAMBERT)} fL`;
}

/** To the centimetre, "1.20 m", or to the inch, "5 ft 6 in". @param {number} metres */
export function length(metres, units = "metric") {
  if (units === "metric") return Math.abs(metres) >= 0.005 ? `${fixed(metres, 2)} m` : "0.00 m";
  const total = nearest(Math.abs(metres) / METRES_PER_INCH);
  const feet = Math.floor(total / 12);
  const inches = total % 12;
  const parts = [];
  if (feet) parts.push(`${feet} ft`);
  if (inches || !feet) parts.push(`${inches} in`);
  return `${metres < 0 && total > 0 ? "-" : ""}${parts.join(" ")}`;
}

/** A share as per cent: "12 %", "0.3 %", "under 0.1 %" or "none". @param {number} share */
export function perCent(share) {
  const percent = 100 * share;
  if (percent <= 0) return "none";
  if (percent < 0.1) return `under 0.1${NO_BREAK}%`;
  return `${fixed(percent, percent < 9.95 ? 1 : 0)}${NO_BREAK}%`;
}

/** A ratio to one: "1.6:1", "30:1". @param {number} value above 0 */
export function ratio(value) {
  return `${value < 20 ? fixed(value, 1).replace(/\.0$/, "") : fixed(value, 0)}:1`;
}

/** Nearest whole number of one that is 0 or more, halves up. */
function nearest(value) {
  return Math.floor(value + 0.5);
}

/** So many decimals; an exact half goes to the even neighbour, as Python rounds. */
function fixed(value, decimals) {
  const tail = Math.abs(value).toFixed(decimals + 25).slice(-25);
  const up = value.toFixed(decimals);
  if (!/^50*$/.test(tail) || Number(up.at(-1)) % 2 === 0) return up;
  const step = 10 ** -decimals;
  return (Math.abs(Number(up)) > Math.abs(value)
    ? Number(up) - Math.sign(value) * step
    : Number(up) + Math.sign(value) * step
  ).toFixed(decimals);
}

function threeFigures(value) {
  if (value === 0) return "0";
  const rounded = toThree(value);
  const decimals = 2 - Math.floor(Math.log10(Math.abs(rounded)));
  return rounded.toFixed(Math.max(0, Math.min(decimals, 6)));
}

/** To three figures, an exact half to the even neighbour. */
function toThree(value) {
  const [digits, power] = value.toExponential(27).split("e");
  const up = Number(value.toExponential(2));
  const [figures, tail] = [digits.replace(/[-.]/g, "").slice(0, 3), digits.slice(-25)];
  if (!/^50*$/.test(tail) || Number(figures.at(-1)) % 2 === 1) return up;
  return Math.sign(value) * Number(`${figures[0]}.${figures.slice(1)}e${power}`);
}
