// The fold-out beside the readings: what is wanted, what would bring it there, and why it is not so.

import { el } from "./dom.js";
import { balancePart } from "./wanted-balance.js";
import { fixesPart } from "./wanted-fixes.js";
import { matchPart } from "./wanted-match.js";
import { meteredPart } from "./wanted-metered.js";
import { targetsPart } from "./wanted-targets.js";
import { whyPart } from "./wanted-why.js";

const PARTS = [["targets", "Targets"], ["fixes", "Fixes"], ["why", "Why"], ["match", "Match"], ["metered", "Metered"]];

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  root.setAttribute("aria-labelledby", "wanted-name");
  root.hidden = true;
  const lists = /** @type {HTMLElement} */ (root.parentElement);
  const close = el("button", { type: "button", class: "plain", title: "Fold it again (T)", aria: { label: "Fold what is wanted" } }, "×");
  close.addEventListener("click", () => app.wanted.toggle());
  const body = el("div", { class: "wanted-body", tabIndex: 0, role: "region", aria: { labelledby: "wanted-name" } });
  const choice = choices((part) => app.look.set({ wanted: part }));
  root.append(el("div", { class: "panel-head" }, el("h2", { id: "wanted-name" }, "Wanted"), choice.node, close), body);

  const balance = balancePart(app);
  const targets = targetsPart(app, balance);
  /** @type {Record<string, any>} */
  const parts = { targets, fixes: fixesPart(app), why: whyPart(app), match: matchPart(app), metered: meteredPart(app) };
  body.append(...Object.values(parts).map((one) => one.node));

  app.wanted = {
    toggle: () => app.look.set({ wanted: app.look.state.wanted ? "" : "targets" }),
    /** @param {string} part @param {any} [what] */
    open(part, what = null) {
      app.look.set({ wanted: part });
      parts[part].open(what);
    },
  };
  const stop = app.look.watch((/** @type {any} */ look) => look.wanted, (/** @type {string} */ wanted) => {
    const shown = parts[wanted] ? wanted : "";
    root.hidden = !shown;
    lists.classList.toggle("with-wanted", Boolean(shown));
    choice.show(shown);
    for (const [name, part] of Object.entries(parts)) part.node.hidden = name !== shown;
  });
  return () => {
    stop();
    Object.values(parts).forEach((part) => part.close());
    root.replaceChildren();
  };
}

/** One of the parts, as radio buttons in a row. @param {(part: string) => void} act */
function choices(act) {
  const inputs = PARTS.map(([part]) => el("input", { type: "radio", name: "wanted-part", value: part, on: { change: () => act(part) } }));
  const node = el("fieldset", { class: "picture-choices wanted-choices" }, el("legend", {}, "Shown"),
    ...PARTS.map(([, words], k) => el("label", {}, inputs[k], el("span", {}, words))));
  return {
    node,
    show: (/** @type {string} */ part) => inputs.forEach((input) => (input.checked = input.value === part)),
  };
}
