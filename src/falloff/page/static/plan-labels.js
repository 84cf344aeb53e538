// Numbers and names on the plan, in pixels, placed where they cover nothing of each other.

import { boundsOf, wayOf } from "./plan-geometry.js";
import { svg, widthOf } from "./plan-view.js";

const LINE_PX = 16;
const BADGE_PX = 9;

/**
 * Labels of everything that has room for one.
 * @param {import("./plan-view.js").View} view
 * @param {import("./plan-items.js").Item[]} items
 * @param {{chosen: string | null, camera: string, taken?: number[][]}} how taken: boxes in pixels,
 *   left, top, right, bottom
 */
export function drawLabels(view, items, how) {
  const taken = [[0, 0, 20, view.size[1]], [0, 0, view.size[0], 20], ...(how.taken ?? [])];
  const group = svg("g", { class: "plan-labels", "aria-hidden": "true" });
  const walls = items.filter((one) => one.kind === "wall").map((one) => wallBox(view, one.it));
  const order = [...items].sort((a, b) => rank(a, how) - rank(b, how));
  for (const item of order) if (item.kind === "unit") taken.push(boxOf(view, item.it.face, 2));
  for (const item of order) if (item.kind === "subject") taken.push(boxOf(view, item.it.shoulders, 1));
  for (const item of order) {
    const chosen = item.key === how.chosen;
    const into = { group, taken, chosen, how, walls, items };
    if (item.kind === "unit") drawUnitLabel(view, item, into);
    else drawName(view, item, into);
  }
  return group;
}

function rank(item, how) {
  if (item.key === how.chosen) return 0;
  const order = { unit: 1, subject: 2, camera: 3, opening: 5, reading: 7, wall: 9 };
  if (item.kind === "body") return item.it.section === "grip" ? 4 : 6;
  return order[item.kind];
}

function drawUnitLabel(view, item, into) {
  const { group, taken, chosen } = into;
  const { it } = item;
  const at = view.toPx(item.at);
  const beyond = offSheet(view, at);
  if (beyond) {
    group.append(edgeMark(view, item, at));
    return;
  }
  const pan = it.pan_deg;
  const body = boxOf(view, it.body ?? it.face, 0);
  const half = Math.max(body[2] - body[0], body[3] - body[1]) / 2;
  const middle = [(body[0] + body[2]) / 2, (body[1] + body[3]) / 2];
  if (pan !== null) {
    const way = wayOf(pan);
    const ahead = (spot) => (spot[0] - at[0]) * way[0] - (spot[1] - at[1]) * way[1];
    const edge = Math.max(...it.face.map((spot) => ahead(view.toPx(spot)))) + 2;
    const from = [at[0] + edge * way[0], at[1] - edge * way[1]];
    const to = [at[0] + (edge + 12) * way[0], at[1] - (edge + 12) * way[1]];
    group.append(svg("path", { class: "plan-tick-ahead", d: `M${from}L${to}` }));
  }
  const behind = pan === null ? 45 : pan + 180;
  const away = half + BADGE_PX + 3;
  const turns = [0, 35, -35, 70, -70, 110, -110, 180];
  const spots = [away, away + 12].flatMap((far) => turns.map((turn) => {
    const way = wayOf(behind + turn);
    return [middle[0] + far * way[0], middle[1] - far * way[1]];
  }));
  const free = (spot) => isFree(badgeBox(spot), taken) && inSheet(view, badgeBox(spot));
  const offWalls = (spot) => isFree(badgeBox(spot), into.walls);
  const spot = spots.find((one) => free(one) && offWalls(one)) ?? spots.find(free) ?? spots[0];
  taken.push(badgeBox(spot));
  const klass = `plan-badge is-${it.section}${chosen ? " is-chosen" : ""}`;
  group.append(
    svg("circle", { class: klass, cx: spot[0], cy: spot[1], r: BADGE_PX }),
    svg("text", { class: `plan-number is-${it.section}`, x: spot[0], y: spot[1] + 4 }, it.number),
  );
  const wide = widthOf(it.name, { bold: true }) + 4;
  const sides = [
    [spot[0] + BADGE_PX + 3, spot[1] + 4, "start"],
    [spot[0] - BADGE_PX - 3, spot[1] + 4, "end"],
    [spot[0], spot[1] - BADGE_PX - 4, "middle"],
    [spot[0], spot[1] + BADGE_PX + 12, "middle"],
  ];
  const side = bestOf(view, sides, wide, into);
  if (side) addWords(group, taken, { side, wide, words: it.name, klass: "plan-name is-unit" });
}

function drawName(view, item, into) {
  const { group, taken, chosen, how } = into;
  if (item.kind === "wall" || (item.kind === "reading" && !chosen)) return;
  const outline = outlineOf(item);
  const box = boxOf(view, outline, 0);
  const middle = [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
  if (offSheet(view, middle)) return;
  const words = item.kind === "camera" && item.key === how.camera ? `${item.name}, in use` : item.name;
  const wide = widthOf(words, { px: isSmall(item) ? 11 : 12 }) + 4;
  const prop = item.kind === "body" && item.it.section === "props";
  const within = [middle[1] + 4, box[3] - 5, box[1] + 13].map((y) => [middle[0], y, "middle"]);
  const around = [
    [middle[0], box[3] + 12, "middle"],
    [middle[0], box[1] - 5, "middle"],
    [box[2] + 4, middle[1] + 4, "start"],
    [box[0] - 4, middle[1] + 4, "end"],
  ];
  const large = box[2] - box[0] > wide + 4 && box[3] - box[1] > LINE_PX;
  const sides = !prop ? around : large && !item.it.on ? within : chosen ? around : [];
  const covered = prop && !chosen ? propsOver(view, item, into.items) : [];
  const side = bestOf(view, sides, wide, { ...into, taken: [...taken, ...covered] });
  if (side) addWords(group, taken, { side, wide, words, klass: `plan-name is-${prop ? "prop" : item.kind}` });
}

/** The first place that covers nothing; else one over a wall; of what is chosen, any. */
function bestOf(view, sides, wide, { taken, walls, chosen }) {
  return sides.find((one) => fits(view, one, wide, [...taken, ...walls])) ??
    sides.find((one) => fits(view, one, wide, taken)) ?? (chosen ? sides[0] : null);
}

/** Where other props are drawn upon a prop. */
function propsOver(view, item, items) {
  const over = items.filter((one) => one.kind === "body" && one !== item &&
    (one.it.on === item.name || one.it.low_m >= item.it.high_m - 0.01));
  return over.map((one) => boxOf(view, one.it.outline, 0));
}

function isSmall(item) {
  return item.kind === "opening" || (item.kind === "body" && item.it.section === "props");
}

function outlineOf(item) {
  switch (item.kind) {
    case "subject": return item.it.shoulders;
    case "camera": return item.it.body;
    case "opening": return item.it.hole;
    case "body": return item.it.outline;
    default: return [item.at];
  }
}

function addWords(group, taken, { side: [x, y, anchor], wide, words, klass }) {
  taken.push(wordBox([x, y, anchor], wide));
  group.append(svg("text", { class: klass, x, y, "text-anchor": anchor }, words));
}

/** What stands outside the sheet, told at its edge with the way there. */
function edgeMark(view, item, at) {
  const [width, height] = view.size;
  const x = Math.min(Math.max(at[0], 36), width - 16);
  const y = Math.min(Math.max(at[1], 36), height - 40);
  const way = [at[0] - x, at[1] - y];
  const far = Math.hypot(way[0], way[1]) || 1;
  const [ux, uy] = [way[0] / far, way[1] / far];
  const tip = [x + 16 * ux, y + 16 * uy];
  const base = [x + 10 * ux, y + 10 * uy];
  const arrow = `M${tip}L${base[0] - 5 * uy} ${base[1] + 5 * ux}L${base[0] + 5 * uy} ${base[1] - 5 * ux}Z`;
  const right = x > width / 2;
  return svg(
    "g",
    { class: "plan-beyond", "data-key": item.key },
    svg("path", { d: arrow }),
    svg("circle", { class: `plan-badge is-${item.it.section}`, cx: x, cy: y, r: BADGE_PX }),
    svg("text", { class: `plan-number is-${item.it.section}`, x, y: y + 4 }, item.it.number),
    svg("text", { class: "plan-name is-unit", x: right ? x - 13 : x + 13, y: y + 4,
      "text-anchor": right ? "end" : "start" }, item.name),
  );
}

// Boxes in pixels --------------------------------------------------------------------------

function boxOf(view, outline, margin) {
  const [lowX, lowY, highX, highY] = boundsOf(outline.map((one) => view.toPx(one)));
  return [lowX - margin, lowY - margin, highX + margin, highY + margin];
}

/** The box of a wall with its thickness. */
function wallBox(view, { a, b, thickness_m: thick }) {
  const far = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  const out = [(thick * (b[1] - a[1])) / far, (-thick * (b[0] - a[0])) / far];
  const slanted = Math.min(Math.abs(out[0]), Math.abs(out[1])) > 0.2 * thick;
  return boxOf(view, slanted ? [a] : [a, b, [a[0] + out[0], a[1] + out[1]], [b[0] + out[0], b[1] + out[1]]], 0);
}

function badgeBox([x, y]) {
  return [x - BADGE_PX - 1, y - BADGE_PX - 1, x + BADGE_PX + 1, y + BADGE_PX + 1];
}

function wordBox([x, y, anchor], wide) {
  const left = anchor === "start" ? x : anchor === "end" ? x - wide : x - wide / 2;
  return [left, y - 11, left + wide, y + 4];
}

function fits(view, side, wide, taken) {
  const box = wordBox(side, wide);
  return inSheet(view, box) && isFree(box, taken);
}

function isFree([left, top, right, low], taken) {
  return taken.every(([l, t, r, b]) => right <= l || left >= r || low <= t || top >= b);
}

function inSheet(view, [left, top, right, low]) {
  return left >= 2 && top >= 2 && right <= view.size[0] - 2 && low <= view.size[1] - 2;
}

function offSheet(view, [x, y]) {
  return x < 20 || y < 20 || x > view.size[0] || y > view.size[1];
}

