// Matching: what another setup has at the face and behind it, held in the one that is shown.

import { el, say } from "./dom.js";
import { Question } from "./question.js";
import { balanceAnswer } from "./wanted-balance.js";

const HELD = [["key", "key level"], ["contrast", "contrast of the face"], ["background", "what is behind"]];

/** @param {any} app */
export function matchPart(app) {
  const question = new Question(app, "match", { words: "Matching", render: (answer, self) => [
    ...balanceAnswer(app, answer, self, `${answer.setup} matched to ${answer.first}`),
    ...(answer.besides.length > 0 ? [el("ul", { class: "answer-findings" }, ...answer.besides.map((/** @type {string} */ one) => el("li", {}, one)))] : []),
  ] });
  const first = el("select", { aria: { label: "Setup that is held" } });
  const second = el("strong", {});
  const holds = HELD.map(([value, words]) => {
    const input = el("input", { type: "checkbox", checked: true, value });
    return { input, node: el("label", { class: "match-hold" }, input, words) };
  });
  const button = el("button", { type: "button", class: "main" }, "Match");
  button.addEventListener("click", () => question.ask({
    first: first.value, hold: holds.filter(({ input }) => input.checked).map(({ input }) => input.value),
  }));
  const ask = el("div", { class: "why-ask" },
    el("div", { class: "form-line" }, el("span", {}, "Hold"), first, el("span", {}, "in"), second),
    el("fieldset", { class: "match-holds" }, el("legend", { class: "apart" }, "What is held"), ...holds.map((one) => one.node)),
    el("div", { class: "box-end" }, button));
  const alone = el("p", { class: "empty" }, "There is only one setup. Make a second one, such as a close-up, and it can be matched to this one.");
  const node = el("div", { class: "wanted-part" }, ask, alone, question.node);
  const tick = () => (button.disabled = holds.every(({ input }) => !input.checked));
  ask.addEventListener("change", tick);

  const show = () => {
    const { tree } = app;
    const { setup } = app.look.state;
    const others = tree.setup_order.filter((/** @type {string} */ name) => name !== setup);
    say(second, setup);
    ask.hidden = others.length === 0;
    alone.hidden = others.length > 0;
    const key = JSON.stringify(others);
    if (first.dataset.choices === key) return;
    first.dataset.choices = key;
    first.replaceChildren(...others.map((/** @type {string} */ name) => el("option", { value: name }, name)));
  };
  const stops = [
    app.store.watch((/** @type {any} */ tree) => tree.setup_order, show),
    app.look.watch((/** @type {any} */ look) => look.setup, show),
  ];
  return {
    node,
    open() {},
    close() {
      stops.forEach((stop) => stop());
      question.close();
    },
  };
}
