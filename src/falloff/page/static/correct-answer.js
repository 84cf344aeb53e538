// What readings say of the plan: what changed and how surely, what is doubted, what to read next.

import { el } from "./dom.js";
import { illuminance, luminance, stopsTenths } from "./format.js";
import { sentences } from "./question.js";
import { findingsList } from "./wanted-balance.js";

const KINDS = /** @type {Record<string, string>} */ ({ output: "output", modifier: "what it passes", reflectance: "reflectance", sky: "level", sun: "level" });

/**
 * @param {any} app @param {any} answer @param {import("./question.js").Question} question
 * @param {{doubt: (name: string, act: string, value?: string) => void, take: () => void}} acts
 */
export function correctAnswer(app, answer, question, acts) {
  const { units } = app.tree;
  const [first, ...rest] = sentences(answer.says);
  return [first, ...rest, ...answer.doubted.map((/** @type {any} */ one) => doubtItem(one, units, acts)),
    changed(answer, units), readings(answer, units), further(answer, units), findingsList(answer.findings), takeLine(app, answer, question, acts)].filter(Boolean);
}

/** A reading that cannot well be: it is asked about. */
function doubtItem(one, units, { doubt }) {
  const other = one.might_be.find((/** @type {any} */ may) => Math.abs(may.value / one.value - 1) > 0.01);
  return el("div", { class: "doubt", role: "group", aria: { label: `Doubtful: ${one.name}` } },
    el("p", {}, one.says),
    el("div", { class: "box-end" },
      other ? el("button", { type: "button", on: { click: () => doubt(one.name, "value", level(other.value, one.unit, units).replace("nit", "cd/m2")) } }, `It was ${level(other.value, one.unit, units)}`) : null,
      el("button", { type: "button", on: { click: () => doubt(one.name, "out") } }, "Take it out"),
      el("button", { type: "button", on: { click: () => doubt(one.name, "believe") } }, "It is right")));
}

/** What was corrected, largest first. */
function changed(answer, units) {
  if (answer.corrected.length === 0) return null;
  const told = [...answer.corrected].sort((a, b) => Math.abs(b.stops) - Math.abs(a.stops));
  const rows = told.map((one) => el("tr", {}, el("th", { scope: "row" }, one.name, el("span", { class: "quiet" }, `, ${KINDS[one.kind]}`)),
    el("td", {}, figure(one, one.assumed, units)), el("td", {}, el("strong", {}, figure(one, one.found, units))),
    el("td", {}, stops(one.stops)), el("td", {}, `± ${one.spread_stops.toFixed(1)}`), el("td", { class: "quiet" }, `± ${one.prior_stops.toFixed(1)}`)));
  const mixed = told.filter((one) => one.mixed_with.length > 0).map((one) => el("p", { class: "says quiet" },
    `${one.name} and ${one.mixed_with.join(" and ")} are hard to tell apart by these readings: the two together are surer than either.`));
  return el("div", {},
    table(["What", "Assumed", "Found", "Stops", "May be out", "Before"], rows), ...mixed,
    answer.unsaid.length > 0 ? el("p", { class: "says quiet" }, `As assumed, for want of readings that tell of it: ${answer.unsaid.join(", ")}.`) : null);
}

/** Each reading against the plan, before and after. */
function readings(answer, units) {
  const rows = answer.readings.map((/** @type {any} */ one) => el("tr", {}, el("th", { scope: "row" }, one.name, one.used ? null : el("span", { class: "mark missed" }, " left out")),
    el("td", {}, one.on), el("td", {}, level(one.measured, one.unit, units)), el("td", {}, level(one.planned, one.unit, units)),
    el("td", {}, one.before_stops === null ? "" : stops(one.before_stops)), el("td", {}, one.after_stops === null ? "" : stops(one.after_stops))));
  return el("details", {}, el("summary", {}, "Each reading against the plan"), table(["Reading", "On", "Meter", "Plan", "Off before", "Off now"], rows));
}

/** The one reading that would tell most. */
function further({ further: one }, units) {
  if (!one) return null;
  return el("p", { class: "says" }, `If you read one more: ${one.reading}, ${one.on} (the plan has ${level(one.expected, one.unit, units)}). It would tell most of ${one.about}.`);
}

function takeLine(app, answer, question, { take }) {
  if (answer.changes.length === 0) return null;
  const button = el("button", { type: "button", class: "main" }, "Take: correct the plan");
  button.addEventListener("click", () => {
    if (!app.edit(answer.changes)) return;
    question.put(null);
    take();
    app.say("The plan is corrected and is being traced. Undo puts it back.");
  });
  return el("div", { class: "box-end" }, button);
}

/** @param {string[]} head @param {any[]} rows */
function table(head, rows) {
  return el("table", { class: "answer-table" }, el("thead", {}, el("tr", {}, ...head.map((words) => el("th", { scope: "col" }, words)))), el("tbody", {}, ...rows));
}

/** @param {any} one @param {number} value */
function figure(one, value, units) {
  if (one.unit === "") return one.kind === "reflectance" ? value.toFixed(2) : `× ${value.toFixed(2)}`;
  return one.unit === "lm" ? `${Number(value.toPrecision(3))} lm` : level(value, one.unit, units);
}

/** @param {number} value @param {string} unit @param {"metric" | "imperial"} units */
function level(value, unit, units) {
  return unit === "lx" ? illuminance(value, units) : luminance(value, units);
}

/** @param {number} value */
function stops(value) {
  return stopsTenths(value).replace("-", "−");
}
