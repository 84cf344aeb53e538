// What is wanted and what is got: targets of one setup beside the levels of this very moment.

import { stopsThirds } from "./format.js";
import { missedBy } from "./levels.js";

const THIRDS = ["", "1/3", "2/3"];

/**
 * @typedef {object} Want one target in one setup
 * @property {string} name @property {any} target as the tree has it
 * @property {string} asks in words @property {string} got in words, "" while nothing is metered
 * @property {"met" | "over" | "under" | ""} state "" where it cannot be told
 * @property {string} miss by how much, in words; "" where it is met
 */

/**
 * The targets of a setup, in the order they are written.
 * @param {any} app @param {string} setup @param {Map<string, import("./levels.js").Level>} levels
 * @returns {Want[]}
 */
export function wantsOf(app, setup, levels) {
  return Object.entries(app.tree.targets)
    .filter(([, target]) => target.setups.length === 0 || target.setups.includes(setup))
    .map(([name, target]) => (target.kind === "level" ? levelWant(name, target, levels) : otherWant(app, setup, name, target)));
}

/** @param {string} name @param {any} target @param {Map<string, any>} levels @returns {Want} */
function levelWant(name, target, levels) {
  const asks = asked(target);
  const level = levels.get(target.reading);
  const over = target.over === null ? null : levels.get(target.over);
  if (!level || over === undefined) return { name, target, asks, got: "", state: "", miss: "" };
  const stops = over ? level.stops - over.stops : level.stops;
  const got = Number.isFinite(stops) ? against(stops, target.over, level.reference) : "no light";
  const off = missedBy(target, levels);
  // Without any light nothing is told in stops, but what asks for some is missed.
  if (off === null) return { name, target, asks, got, state: target.limit === "at most" ? "met" : "under", miss: target.limit === "at most" ? "" : "no light" };
  if (off === 0) return { name, target, asks, got, state: "met", miss: "" };
  return { name, target, asks, got, state: off > 0 ? "over" : "under", miss: sizeOf(off) };
}

/** A target that the server judges. @param {any} app @returns {Want} */
function otherWant(app, setup, name, target) {
  const judged = (app.trial?.setups[setup]?.judged ?? app.judged?.[setup])?.[name];
  const asks = judged?.asks ?? target.says ?? "";
  if (!judged) return { name, target, asks, got: "", state: "", miss: "" };
  const state = judged.holds ? "met" : (judged.off ?? 0) >= 0 ? "over" : "under";
  return { name, target, asks, got: judged.got, state, miss: judged.holds ? "" : judged.miss };
}

/** A level target in words: "at key", "at most 3 over middle grey", "2 under key cheek". @param {any} target */
function asked(target) {
  const limit = target.limit === "equal" ? "" : `${target.limit} `;
  const stops = target.level_stops;
  const inTenths = Math.abs(3 * stops - Math.round(3 * stops)) >= 0.11;
  const said = inTenths ? `${Math.abs(stops).toFixed(1)} ${stops > 0 ? "over" : "under"}` : stopsThirds(stops, "it");
  if (said === "at it") return target.over ? `${limit}level with ${target.over}` : `${limit}at ${target.reference ?? "key"}`;
  return `${limit}${said} ${target.over ?? target.reference ?? "key"}`;
}

/** @param {number} stops @param {string | null} over @param {string} reference */
function against(stops, over, reference) {
  const said = stopsThirds(stops, "it");
  if (said === "at it") return over ? `level with ${over}` : `at ${reference}`;
  return `${said} ${over ?? reference}`;
}

/** How much a level is off: "a little", "2/3", "1 1/3". @param {number} stops */
export function sizeOf(stops) {
  const thirds = Math.floor(Math.abs(stops) * 3 + 0.5);
  if (thirds === 0) return "a little";
  return [thirds >= 3 ? String(Math.floor(thirds / 3)) : "", THIRDS[thirds % 3]].filter(Boolean).join(" ");
}

/** What a want's state is called, with its mark. @param {Want} want */
export function markOf({ state, miss, target }) {
  if (state === "") return "";
  if (state === "met") return "✓ met";
  if (miss === "no light") return "▼ no light";
  if (target.kind !== "level") return `✗ ${miss || "missed"}`;
  return state === "over" ? `▲ ${miss} bright` : `▼ ${miss} dark`;
}

/** A want's state in words: "met", "2/3 too bright"; what the server judges is told in its own. @param {Want} want */
export function stateWords({ state, miss, target }) {
  if (state === "" || state === "met") return state;
  if (target.kind !== "level" || miss === "no light") return miss || "missed";
  return `${miss} too ${state === "over" ? "bright" : "dark"}`;
}

/** Stops as one writes them: "−1 1/3", "0", "0.45". @param {number} stops */
export function stopsWritten(stops) {
  const size = Math.abs(stops);
  const thirds = Math.round(size * 3);
  const sign = stops < 0 && size > 0.004 ? "−" : "";
  if (Math.abs(size * 3 - thirds) > 0.03) return `${sign}${size.toFixed(2)}`;
  if (thirds === 0) return "0";
  return `${sign}${[thirds >= 3 ? String(Math.floor(thirds / 3)) : "", THIRDS[thirds % 3]].filter(Boolean).join(" ")}`;
}

/** Stops from what one writes: "−1 1/3", "+2/3", "1.5", "0"; null for anything else. @param {string} text */
export function stopsRead(text) {
  const plain = text.trim().replace("−", "-").replace(",", ".").replace(/\s*stops?$/, "");
  const found = /^([+-]?)\s*(?:(\d+)\s+)?(\d+)\/([1-9]\d*)$/.exec(plain);
  if (found) return (found[1] === "-" ? -1 : 1) * (Number(found[2] ?? 0) + Number(found[3]) / Number(found[4]));
  return /^[+-]?(?:\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}
