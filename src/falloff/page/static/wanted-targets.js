// The targets of the setup that is shown, wanted and got beside each other, and the form for one.

import { el, keyed, say } from "./dom.js";
import { nextFrame } from "./hand.js";
import { levelsOf } from "./levels.js";
import { targetForm } from "./target-form.js";
import { typedForm } from "./target-typed-form.js";
import { markOf, wantsOf } from "./wants.js";

const EMPTY = "Nothing is wanted yet. Choose a reading and say how many stops over key it should be; then ask what would bring it there.";

/**
 * @param {any} app @param {any} balance its button stands below the list, its answer over it
 * @returns {{node: HTMLElement, open: (what: any) => void, close: () => void}}
 */
export function targetsPart(app, balance) {
  const list = el("ul", { class: "wants" });
  const empty = el("p", { class: "empty" }, EMPTY);
  const add = el("button", { type: "button", on: { click: () => open({}) } }, "Add target");
  const place = el("div", { class: "target-place" });
  const listed = el("div", { class: "wants-listed" }, balance.node, list, empty, el("div", { class: "wants-end" }, add, balance.ask));
  const node = el("div", { class: "wanted-part" }, place, listed);
  /** @type {any} */
  let form = null;

  const shut = () => {
    form = null;
    place.replaceChildren();
    listed.hidden = false;
  };
  /** @param {{target?: string, reading?: string}} what */
  function open(what) {
    if (app.tree.reading_order.length === 0) {
      app.say("Put a reading somewhere first: click a face or a wall in the picture.", "refused");
      return;
    }
    const done = () => {
      shut();
      add.focus();
    };
    const other = what.target !== undefined && app.tree.targets[what.target]?.kind !== "level";
    form = other ? typedForm(app, what.target ?? "", done) : targetForm(app, what, done);
    form.target = what.target;
    place.replaceChildren(form.node);
    listed.hidden = true;
    form.focus();
  }

  const show = nextFrame(() => {
    const { setup } = app.look.state;
    if (!app.tree?.setups[setup]) return;
    if (form?.target !== undefined && !app.tree.targets[form.target]) shut();
    const wants = wantsOf(app, setup, levelsOf(app, setup, app.gains(setup)));
    keyed(list, wants.map((want) => want.name), (name) => row(app, name, () => open({ target: name })));
    wants.forEach((want, k) => /** @type {any} */ (list.children[k]).show(want));
    empty.hidden = wants.length > 0;
  });
  const stops = [
    app.store.watch((/** @type {any} */ tree) => tree, show),
    app.look.watch((/** @type {any} */ look) => look, show),
    app.meter.watch(show),
    app.answers.watch((/** @type {any} */ all) => all, show),
    app.watchGains(show),
    app.watchExposure(show),
  ];
  return { node, open: (/** @type {any} */ what) => (what ? open(what) : shut()), close: () => [...stops, balance.close].forEach((stop) => stop()) };
}

/** One target: its name, what is wanted and got, a mark, a way to change it. */
function row(app, name, change) {
  const mark = el("span", { class: "mark" });
  const asks = el("span", { class: "want-asks" });
  const got = el("span", { class: "want-got" });
  const at = el("span", { class: "quiet" });
  const alter = el("button", { type: "button", aria: { label: `Change ${name}` }, on: { click: change } }, "Change");
  const take = el("button", { type: "button", class: "plain", title: `Delete ${name}`, aria: { label: `Delete target ${name}` } }, "×");
  take.addEventListener("click", () => {
    if (app.edit([{ do: "untarget", name }])) app.say(`${name} is wanted no more; undo brings it back.`);
  });
  const node = el("li", { class: "want" },
    el("div", { class: "want-head" }, el("strong", { title: name }, name), at, mark),
    el("div", { class: "want-sums" }, asks, got), el("div", { class: "want-buttons" }, alter, take));
  node.show = (/** @type {import("./wants.js").Want} */ want) => {
    const { target, state } = want;
    say(mark, markOf(want));
    mark.className = `mark ${state === "met" ? "met" : state ? "missed" : ""}`;
    say(asks, `wanted ${want.asks || "as the scene file says"}`);
    say(got, want.got ? `got ${want.got}` : "not metered yet");
    // What other kinds ask names their readings itself.
    const where = target.kind === "level" ? target.readings.join(", ") : name;
    say(at, [where === name ? "" : `at ${where}`, target.weight !== 1 ? `counts ${target.weight}×` : ""].filter(Boolean).join(", "));
  };
  return node;
}
