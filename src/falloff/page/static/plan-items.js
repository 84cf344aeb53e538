// What stands on the plan, as one list of things that can be chosen, each with its words.

import { length } from "./format.js";

/**
 * @typedef {object} Item
 * @property {string} key name, or "wall 2" of a room
 * @property {string} name
 * @property {"unit"|"subject"|"camera"|"body"|"opening"|"reading"|"wall"} kind
 * @property {[number, number]} at
 * @property {number} z_m
 * @property {object} it the plan's own record
 */

/** Everything of a plan that can be chosen, in the order in which Tab goes through it. */
export function itemsOf(plan) {
  const found = [];
  const add = (kind, it, at, z_m) => found.push({ key: it.name, name: it.name, kind, at, z_m, it });
  for (const it of plan.units) add("unit", it, it.at, it.z_m);
  for (const it of plan.subjects) add("subject", it, it.mark, it.z_m);
  for (const it of plan.cameras) add("camera", it, it.at, it.z_m);
  for (const it of plan.bodies) if (it.section === "grip") add("body", it, it.at, it.z_m);
  for (const it of plan.openings) {
    add("opening", it, [(it.a[0] + it.b[0]) / 2, (it.a[1] + it.b[1]) / 2], it.sill_m);
  }
  for (const it of plan.readings) if (it.movable) add("reading", it, it.at, it.z_m);
  for (const it of plan.bodies) if (it.section === "props") add("body", it, it.at, it.z_m);
  for (const it of plan.walls) {
    const name = wallName(it);
    const at = [(it.a[0] + it.b[0]) / 2, (it.a[1] + it.b[1]) / 2];
    found.push({ key: name, name, kind: "wall", at, z_m: 0, it });
  }
  return found;
}

/** @param {{room: string | null, number: number}} wall */
export function wallName(wall) {
  return wall.room === null ? `wall ${wall.number}` : `${wall.room} wall ${wall.number}`;
}

/** Whether a thing can be put elsewhere on the plan. @param {Item} item */
export function canMove(item) {
  return item.kind !== "wall";
}

/** Whether a thing's height can be changed. @param {Item} item */
export function canRise(item) {
  if (item.kind === "opening") return item.it.kind === "window";
  return ["unit", "body", "camera", "reading"].includes(item.kind) && !item.it.on;
}

/** The same height as a person says it. */
export function heightOf(item) {
  return item.kind === "opening" ? item.it.sill_m : item.z_m;
}

/** Whether a thing has an aim that can be dragged. @param {Item} item */
export function hasAim(item) {
  return (item.kind === "unit" && item.it.aim !== null) || item.kind === "camera" ||
    (item.kind === "body" && item.it.section === "grip");
}

/** Whether a thing is turned about itself. @param {Item} item */
export function canTurn(item) {
  return item.kind === "subject" || (item.kind === "body" && item.it.section === "props");
}

/** The way that a thing looks on the plan, in degrees; null where there is none. */
export function facingOf(item) {
  switch (item.kind) {
    case "unit": return item.it.pan_deg;
    case "camera": return item.it.forward_deg;
    case "subject": return item.it.facing_deg;
    case "body":
      if (item.it.section === "props") return item.it.turn_deg - 90;
      if (!item.it.aim) return null;
      return (Math.atan2(item.it.aim[1] - item.at[1], item.it.aim[0] - item.at[0]) * 180) / Math.PI;
    default: return null;
  }
}

/** The subject whose clock a thing is told by: its record, or null. */
export function subjectOf(plan, item) {
  const name = item.it.distance?.from_name;
  return plan.subjects.find((one) => one.name === name && one.name !== item.name) ?? null;
}

/** A thing in one sentence, for who does not see it. @param {Item} item */
export function labelOf(item, units) {
  const { it } = item;
  const at = `${length(item.at[0], units)} across, ${length(item.at[1], units)} up the plan`;
  const turned = facingOf(item);
  const faces = turned === null ? "" : `, faces ${Math.round(turned)} degrees`;
  switch (item.kind) {
    case "unit": {
      const where = it.distance ? `${it.distance.says}, from ${it.distance.from_name}` : at;
      const aim = it.aims_at ? `, aimed at ${it.aims_at}` : faces;
      return `${it.number}, ${it.name}, ${it.says}, ${where}${aim}`;
    }
    case "subject": return `${it.name}, ${it.says}, ${at}${faces}`;
    case "camera": return `camera ${it.name}, ${it.says}, ${at}, ${length(it.z_m, units)} up${faces}`;
    case "opening": return `${it.kind} ${it.name}, ${it.says}, sill ${length(it.sill_m, units)} up`;
    case "reading": return `reading ${it.name}, ${at}, ${length(it.z_m, units)} up`;
    case "wall": return `${item.name}, ${length(Math.hypot(it.b[0] - it.a[0], it.b[1] - it.a[1]), units)} long`;
    default: return `${it.name}, ${it.says}, ${at}${faces}`;
  }
}
