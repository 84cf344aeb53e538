// Fixes: what brings in the targets that no dim brings in, each as a sentence with what it costs.

import { el } from "./dom.js";
import { Question, lookButtons, sentences } from "./question.js";
import { setupsChoice } from "./setups-choice.js";
import { sizeOf } from "./wants.js";

/** @param {any} app */
export function fixesPart(app) {
  const question = new Question(app, "fixes", { words: "Weighing what would help", render: (answer, self) => fixesAnswer(app, answer, self) });
  const where = setupsChoice(app, "Which setups are fixed together");
  const hours = el("input", { type: "checkbox", checked: true });
  const hoursField = el("label", { class: "match-hold" }, hours, "other hours too");
  const button = el("button", { type: "button", class: "main" }, "What would help?");
  button.addEventListener("click", () => question.ask({ setups: where.chosen(), hours: hours.checked }));
  const ask = el("div", { class: "why-ask" }, el("p", { class: "quiet" },
    "Beyond dims: windows, places, units, boards and flags, stop and ISO, and what each costs in minutes, hands and hire."),
  el("div", { class: "form-line" }, where.node, hoursField, button));
  const stop = app.store.watch((/** @type {any} */ tree) => tree.day, (/** @type {any} */ day) => (hoursField.hidden = !day));
  return {
    node: el("div", { class: "wanted-part" }, ask, question.node),
    open() {},
    close() {
      stop();
      where.close();
      question.close();
    },
  };
}

/** @param {any} app @param {any} answer @param {Question} question */
function fixesAnswer(app, answer, question) {
  const list = el("ol", { class: "fixes" }, ...answer.parts.map((/** @type {any} */ one) => fixItem(app, one, question)));
  return [...sentences(answer.says), list, answer.parts.length > 0 ? el("p", { class: "says quiet" }, `${answer.tried} changes were weighed; ${answer.rule}`) : null].filter(Boolean);
}

/** @param {any} app @param {any} fix @param {Question} question */
function fixItem(app, fix, question) {
  const costs = [worth(fix), minutes(fix.minutes), fix.hands > 0 ? `${fix.hands} ${fix.hands === 1 ? "hand" : "hands"}` : "", fix.hire].filter(Boolean);
  const said = [
    ["", fix.does.join("; ")],
    ["Dims with it: ", fix.dims.join(", ")],
    ["Beside it: ", fix.side_effects.join("; ")],
    ["Mind: ", fix.cautions.join("; ")],
    ["", fix.confirmed ? `${fix.confirmed.slice(0, 1).toUpperCase()}${fix.confirmed.slice(1)}.` : ""],
  ].filter(([, text]) => text);
  return el("li", { class: "fix" },
    el("div", { class: "fix-head" }, el("strong", {}, fix.says.slice(0, 1).toUpperCase() + fix.says.slice(1)), lookButtons(app, fix, question, fix.says, { away: false })),
    el("p", { class: "fix-costs" }, costs.join(" · ")),
    ...said.map(([head, text]) => el("p", { class: fix.keeps === false && text.startsWith("A trace") ? "says missed" : "says" }, head ? el("span", { class: "quiet" }, head) : null, text)));
}

/** @param {any} fix */
function worth({ worth_stops: stops, brings_all: all, later }) {
  if (all) return later ? "brings all in, later" : "brings all in";
  if (stops <= 0) return "no nearer";
  const size = sizeOf(stops);
  return size === "a little" ? "a little nearer" : `${size} stop${stops > 1.17 ? "s" : ""} nearer`;
}

/** @param {number} count */
function minutes(count) {
  if (count <= 0) return "";
  return count < 90 ? `${Math.round(count)} min` : `${(count / 60).toFixed(1)} h`;
}
