// Which setups a question is about: the one that is shown, or all that stand alike.

import { el } from "./dom.js";

/** @param {any} app @param {string} words what the choice is called */
export function setupsChoice(app, words) {
  const node = el("select", { aria: { label: words } });
  const show = () => {
    const { tree } = app;
    const { setup } = app.look.state;
    const one = tree.setups[setup];
    if (!one) return;
    const alike = tree.setup_order.filter((/** @type {string} */ name) => tree.setups[name].plan === one.plan);
    const choices = [[[setup], `${setup} alone`]];
    if (alike.length > 1) choices.push([alike, alike.length > 2 ? `${alike.length} setups, one dim each light` : `${alike.join(" and ")}, one dim each light`]);
    const key = JSON.stringify(choices);
    if (node.dataset.choices === key) return;
    node.dataset.choices = key;
    node.replaceChildren(...choices.map(([names, text]) => el("option", { value: JSON.stringify(names) }, text)));
    node.hidden = choices.length < 2;
  };
  const stops = [
    app.store.watch((/** @type {any} */ tree) => tree, show),
    app.look.watch((/** @type {any} */ look) => look.setup, show),
  ];
  return {
    node,
    /** @returns {string[]} */
    chosen: () => JSON.parse(node.value),
    close: () => stops.forEach((stop) => stop()),
  };
}
