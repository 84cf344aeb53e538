// The plan's own geometry: lengths read, clock hours, snapping, nearest walls. No page in here.

/** @typedef {[number, number]} Spot metres on the plan, or (x or y, z) from a side */
/** @typedef {"metric" | "imperial"} System */

const INCH_M = 0.0254; // source: the international inch
const FOOT_M = 12 * INCH_M;
const UNIT_M = { m: 1, cm: 0.01, mm: 0.001, ft: FOOT_M, "'": FOOT_M, in: INCH_M, '"': INCH_M };

// Lengths ----------------------------------------------------------------------------------

/**
 * Metres of "2.1", "2.1 m", "210 cm", "7 ft", "7 ft 6 in", `7' 6"`; null where it is no length.
 * A bare number is in metres, or in feet where the scene is.
 * @param {string} text @param {System} units @returns {number | null}
 */
export function parseLength(text, units) {
  const tidy = text.trim().toLowerCase().replace(/[′’]/g, "'").replace(/[″”]/g, '"')
    .replace(",", ".").replace(/feet|foot/g, "ft").replace(/inches|inch/g, "in");
  const whole = /^([-+−]?)\s*(.+)$/.exec(tidy);
  if (!whole) return null;
  const sign = whole[1] === "-" || whole[1] === "−" ? -1 : 1;
  const parts = [...whole[2].matchAll(/(\d*\.?\d+)\s*(mm|cm|m|ft|in|'|")?\s*/g)];
  if (!parts.length || parts.map((one) => one[0]).join("") !== whole[2]) return null;
  if (parts.length > 2 || (parts.length === 2 && !parts[0][2])) return null;
  let metres = 0;
  for (const [k, [, number, unit]] of parts.entries()) {
    const usual = k === 1 ? "in" : units === "imperial" ? "ft" : "m";
    metres += Number(number) * UNIT_M[unit ?? usual];
  }
  return sign * metres;
}

/** How far places snap: 10 cm, or 3 inches. @param {System} units */
export function gridStep(units) {
  return units === "imperial" ? 3 * INCH_M : 0.1;
}

/** How far a key moves something: 5 cm or 2 in, finely 1 cm or half an inch. */
export function nudgeStep(units, fine = false) {
  if (units === "imperial") return fine ? 0.5 * INCH_M : 2 * INCH_M;
  return fine ? 0.01 : 0.05;
}

/** The nearest whole number of steps. @param {number} value @param {number} step */
export function snapTo(value, step) {
  return Math.round(value / step) * step + 0;
}

/** To the millimetre. @param {number} value */
export function tidy(value) {
  return Math.round(value * 1000) / 1000 + 0;
}

/**
 * Metres between lines of a grid or ticks of a ruler that stand some `apartPx` apart or more.
 * @param {number} pxPerM @param {System} units @param {number} apartPx
 */
export function tickStep(pxPerM, units, apartPx) {
  const steps = units === "imperial"
    ? [INCH_M, 3 * INCH_M, 6 * INCH_M, FOOT_M, 2 * FOOT_M, 5 * FOOT_M, 10 * FOOT_M, 20 * FOOT_M]
    : [0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10, 20];
  return steps.find((step) => step * pxPerM >= apartPx) ?? steps.at(-1);
}

// Clock hours ------------------------------------------------------------------------------

/**
 * The hour, above 0 to 12, at which something lies; 6 is the way that a subject faces, and hours
 * run clockwise as seen from above.
 * @param {number} facingDeg @param {number} dx @param {number} dy
 */
export function clockHour(facingDeg, dx, dy) {
  const turn = facingDeg - (Math.atan2(dy, dx) * 180) / Math.PI;
  const hour = (((6 + turn / 30) % 12) + 12) % 12;
  return hour || 12;
}

/** The unit way to an hour. @param {number} facingDeg @param {number} hour @returns {Spot} */
export function clockWay(facingDeg, hour) {
  const angle = ((facingDeg - 30 * (hour - 6)) * Math.PI) / 180;
  return [Math.cos(angle), Math.sin(angle)];
}

/** To five minutes: "7:40". @param {number} hour */
export function clockText(hour) {
  const minutes = (Math.round(hour * 12) * 5) % 720;
  return `${Math.floor(minutes / 60) || 12}:${String(minutes % 60).padStart(2, "0")}`;
}

/** The hour of "7", "7:40" or "7.5"; null where it is none. @param {string} text */
export function parseClock(text) {
  const found = /^\s*(\d{1,2})(?:\s*[:.]\s*(\d{1,2}))?\s*(?:o'clock)?\s*$/i.exec(text);
  if (!found) return null;
  const minutes = text.includes(".") ? Number(`0.${found[2] ?? 0}`) * 60 : Number(found[2] ?? 0);
  const hour = Number(found[1]);
  if (hour < 1 || hour > 12 || minutes >= 60) return null;
  return ((hour * 60 + minutes) % 720 || 720) / 60;
}

// Outlines ---------------------------------------------------------------------------------

/** @param {Spot} a @param {Spot} b */
export function distance(a, b) {
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}

/** The middle of what goes round points. @param {Spot[]} points @returns {Spot} */
export function middleOf(points) {
  const [lowX, lowY, highX, highY] = boundsOf(points);
  return [(lowX + highX) / 2, (lowY + highY) / 2];
}

/** Least x and y, greatest x and y. @param {Spot[]} points */
export function boundsOf(points) {
  let [lowX, lowY, highX, highY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of points) {
    lowX = Math.min(lowX, x);
    highX = Math.max(highX, x);
    lowY = Math.min(lowY, y);
    highY = Math.max(highY, y);
  }
  return [lowX, lowY, highX, highY];
}

/** Whether a point lies within an outline. @param {Spot} point @param {Spot[]} outline */
export function isInside([x, y], outline) {
  let inside = false;
  for (let k = 0, before = outline.length - 1; k < outline.length; before = k++) {
    const [x0, y0] = outline[k];
    const [x1, y1] = outline[before];
    if (y0 > y !== y1 > y && x < x0 + ((y - y0) * (x1 - x0)) / (y1 - y0)) inside = !inside;
  }
  return inside;
}

/** The way at an angle. @param {number} deg @returns {Spot} */
export function wayOf(deg) {
  return [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
}

/** The angle of a way in degrees. @param {number} dx @param {number} dy */
export function angleOf(dx, dy) {
  return (Math.atan2(dy, dx) * 180) / Math.PI;
}

/** From -180 to 180. @param {number} deg */
export function halfTurn(deg) {
  return ((((deg + 180) % 360) + 360) % 360) - 180;
}

// Walls ------------------------------------------------------------------------------------

/**
 * A wall's own frame: the unit way along it, the unit way into the room, its length.
 * @param {{a: Spot, b: Spot}} wall
 */
export function wallFrame(wall) {
  const length = distance(wall.a, wall.b);
  const along = [(wall.b[0] - wall.a[0]) / length, (wall.b[1] - wall.a[1]) / length];
  return { along, inward: [-along[1], along[0]], length };
}

/**
 * How far along a wall a point lies from its first corner, and how far into the room.
 * @param {{a: Spot, b: Spot}} wall @param {Spot} point
 */
export function onWall(wall, point) {
  const { along, inward, length } = wallFrame(wall);
  const away = [point[0] - wall.a[0], point[1] - wall.a[1]];
  return {
    along_m: away[0] * along[0] + away[1] * along[1],
    off_m: away[0] * inward[0] + away[1] * inward[1],
    length,
  };
}

// Snapping ---------------------------------------------------------------------------------

/**
 * Where something that is let go at `point` comes to stand, and why.
 * @param {Spot} point
 * @param {{plan: object, units: System, reachM: number, outline?: Spot[], at?: Spot,
 *   subject?: {mark: Spot, facing_deg: number} | null, free?: boolean}} how
 *   reachM: how near is near; outline and at: of the thing where it stands now; subject: whose
 *   clock it is told by; free: nothing snaps
 * @returns {{at: Spot, by: string}}
 */
export function snapPlace(point, how) {
  if (how.free) return { at: [tidy(point[0]), tidy(point[1])], by: "" };
  const step = gridStep(how.units);
  if (how.subject) {
    const found = snapToClock(point, how.subject, how);
    if (found) return { at: found, by: "clock" };
  }
  const wall = how.outline ? snapToWall(point, how) : null;
  if (wall) return { at: [tidy(wall[0]), tidy(wall[1])], by: "wall" };
  return { at: [tidy(snapTo(point[0], step)), tidy(snapTo(point[1], step))], by: "grid" };
}

/** A half hour and a whole distance from a subject's mark, where one of both is near. */
function snapToClock(point, subject, { units, reachM }) {
  const [dx, dy] = [point[0] - subject.mark[0], point[1] - subject.mark[1]];
  const far = Math.hypot(dx, dy);
  if (far < 0.3) return null;
  const hour = clockHour(subject.facing_deg, dx, dy);
  const half = snapTo(hour, 0.5);
  const off = Math.abs(half - hour) * (Math.PI / 6) * far;
  if (off > reachM) return null;
  const whole = units === "imperial" ? FOOT_M : 0.5;
  const near = Math.abs(snapTo(far, whole) - far) < reachM;
  const way = clockWay(subject.facing_deg, half);
  const told = near ? snapTo(far, whole) : snapTo(far, gridStep(units));
  return [tidy(subject.mark[0] + told * way[0]), tidy(subject.mark[1] + told * way[1])];
}

/** Against a wall: its outline touches the inside face; along the wall by the grid. */
function snapToWall(point, { plan, units, reachM, outline, at }) {
  const moved = outline.map(([x, y]) => [x + point[0] - at[0], y + point[1] - at[1]]);
  for (const wall of plan.walls) {
    const { along, inward } = wallFrame(wall);
    const spots = moved.map((one) => onWall(wall, one));
    const nearest = Math.min(...spots.map((one) => one.off_m));
    const middle = onWall(wall, point);
    if (Math.abs(nearest) > reachM || middle.along_m < 0 || middle.along_m > middle.length) continue;
    if (middle.off_m < -reachM) continue;
    const off = middle.off_m - nearest + 0.005;
    const run = snapTo(middle.along_m, gridStep(units));
    return [
      wall.a[0] + run * along[0] + off * inward[0],
      wall.a[1] + run * along[1] + off * inward[1],
    ];
  }
  return null;
}
