// Why it is not so: complaints as a person makes them, answered with causes and the cheapest cure.

import { el } from "./dom.js";
import { levelsOf } from "./levels.js";
import { Question, lookButtons } from "./question.js";
import { wantsOf } from "./wants.js";

// What is complained of most: common practice, no source.
const USUAL = [
  "face flat", "face contrasty", "face too dark", "eyes dark", "wall hot", "window hot", "beam not landing", "face jumps",
];

/** @param {any} app */
export function whyPart(app) {
  const question = new Question(app, "why", { words: "Looking for the cause", render: (answer, self) => whyAnswer(app, answer, self) });
  const said = el("input", { type: "text", autocomplete: "off", aria: { label: "What is wrong" }, placeholder: "or in your words: the back wall too bright" });
  const ask = (/** @type {any} */ asked) => question.ask(asked);
  const form = el("form", { class: "why-said" }, said, el("button", { type: "submit" }, "Why?"));
  form.addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    ask({ said: said.value });
  });
  const node = el("div", { class: "wanted-part" },
    el("div", { class: "why-ask" },
      el("div", { class: "why-usual", role: "group", aria: { label: "Usual complaints" } },
        ...USUAL.map((words) => el("button", { type: "button", on: { click: () => ask({ said: words }) } }, words)),
        el("button", { type: "button", title: "All that is off by the usual measures and by what is wanted", on: { click: () => ask({}) } }, "anything?")),
      form),
    question.node);
  return {
    node,
    /** @param {{reading?: string} | null} what */
    open(what) {
      if (what?.reading) ask({ reading: what.reading, high: isHigh(app, what.reading) });
    },
    close: () => question.close(),
  };
}

/** Whether a reading is rather too bright than too dark: by what is wanted there, else by key. */
function isHigh(app, reading) {
  const { setup } = app.look.state;
  const levels = levelsOf(app, setup, app.gains(setup, { alone: null }));
  const missed = wantsOf(app, setup, levels).find(({ target, state }) => target.reading === reading && (state === "over" || state === "under"));
  return missed ? missed.state === "over" : (levels.get(reading)?.stops ?? 0) > 0;
}

/** @param {any} app @param {any} answer @param {Question} question */
function whyAnswer(app, answer, question) {
  if (answer.parts.length === 0) return [el("p", { class: "says-first" }, answer.says[0])];
  return answer.parts.map((/** @type {any} */ part) => el("article", { class: "why-part", aria: { label: part.about } },
    el("h3", {}, part.about.slice(0, 1).toUpperCase() + part.about.slice(1)),
    ...part.says.map((/** @type {string} */ text, /** @type {number} */ k) => el("p", { class: k === 0 ? "says-first" : "says" }, text)),
    lookButtons(app, part, question, part.changes[0]?.label ?? "the cure", { away: false })));
}
