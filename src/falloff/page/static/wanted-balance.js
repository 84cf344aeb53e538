// Balancing: the dims that bring what is wanted in, looked at in the picture, taken or left.

import { el } from "./dom.js";
import { stopsTenths } from "./format.js";
import { Question, lookButtons, sentences } from "./question.js";
import { setupsChoice } from "./setups-choice.js";
import { sizeOf } from "./wants.js";

/**
 * @param {any} app
 * @returns {{ask: HTMLElement, node: HTMLElement, close: () => void}} the button with its choice, and
 *   the place of the answer
 */
export function balancePart(app) {
  const question = new Question(app, "balance", { words: "Balancing", render: (answer, self) => balanceAnswer(app, answer, self) });
  const where = setupsChoice(app, "Which setups are balanced");
  const button = el("button", { type: "button", class: "main", title: "Which dims bring in what is wanted" }, "Balance");
  button.addEventListener("click", () => question.ask({ setups: where.chosen() }));
  const stop = app.store.watch((/** @type {any} */ tree) => tree.targets, (/** @type {any} */ targets) => {
    button.disabled = Object.keys(targets).length === 0;
  });
  return {
    ask: el("div", { class: "balance-ask" }, where.node, button),
    node: question.node,
    close() {
      stop();
      where.close();
      question.close();
    },
  };
}

/** @param {any} app @param {any} answer @param {Question} question @returns {any[]} */
export function balanceAnswer(app, answer, question, label = "the balance") {
  const [first, ...rest] = sentences(answer.says);
  return [first, lookButtons(app, answer, question, label), ...rest, dimsList(answer), targetsTable(answer), findingsList(answer.findings)].filter(Boolean);
}

/** What becomes of each light. @param {any} answer */
function dimsList(answer) {
  const moved = answer.dims.filter((/** @type {any} */ one) => one.moved || one.colour);
  const items = moved.map((/** @type {any} */ one) => el("li", {},
    el("strong", {}, one.source), ` ${before(one)} → ${knob(one.knob)}`,
    el("span", { class: "quiet" }, [one.light_stops === null ? "" : ` (${stopsTenths(one.light_stops).replace("-", "−")} stops)`, one.at ? `, ${one.at === "full" ? "all it has" : "as low as it goes"}` : "", one.colour ? `, ${one.colour}` : ""].join(""))));
  items.push(...answer.exposures.filter((/** @type {any} */ one) => one.after !== one.before).map((/** @type {any} */ one) => el("li", {},
    el("strong", {}, one.setup), ` ${one.before} → ${one.after}`)));
  return items.length > 0 ? el("ul", { class: "answer-dims" }, ...items) : null;
}

/** Wanted, now, and then, for every target. @param {any} answer */
function targetsTable(answer) {
  if (answer.targets.length === 0) return null;
  const several = answer.setups.length > 1;
  const rows = answer.targets.map((/** @type {any} */ one) => el("tr", {},
    el("th", { scope: "row" }, one.name, several ? el("span", { class: "quiet" }, ` ${one.setup}`) : null),
    el("td", {}, one.asks), el("td", {}, one.before), el("td", {}, one.got),
    el("td", { class: `mark ${one.holds ? "met" : "missed"}` }, one.holds ? `✓ ${room(one)}` : `✗ by ${amount(one.short, one.unit)}`)));
  return el("table", { class: "answer-table" },
    el("thead", {}, el("tr", {}, ...["Target", "Wanted", "Now", "Then", "Met"].map((words) => el("th", { scope: "col" }, words)))),
    el("tbody", {}, ...rows));
}

/** @param {any[]} findings */
export function findingsList(findings) {
  if (!findings?.length) return null;
  return el("ul", { class: "answer-findings" }, ...findings.map((one) => el("li", { class: one.weight }, el("strong", {}, `${one.about}: `), `${one.says}.`, one.do ? ` ${one.do.slice(0, 1).toUpperCase()}${one.do.slice(1)}.` : "")));
}

/** How much a target that holds has to spare. @param {any} one */
function room({ margin, unit }) {
  return margin === null ? "met" : `${amount(margin, unit)} to spare`;
}

/** @param {number} value @param {string} unit */
function amount(value, unit) {
  if (unit !== "stops") return `${Math.round(value)} ${unit}`;
  const size = sizeOf(value);
  return size === "a little" ? "a little" : `${size} stop${Math.abs(value) > 1.17 ? "s" : ""}`;
}

/** Where a light stands, in every setup that it stands differently in. @param {any} one */
function before(one) {
  return [...new Set(Object.values(one.before).map(knob))].join(" and ");
}

/** @param {number} share */
function knob(share) {
  return share <= 0 ? "off" : `${Number((100 * share).toFixed(1))} %`;
}
