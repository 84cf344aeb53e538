// What is drawn from which circuit, against its breaker.

import { el, say } from "./dom.js";

// Common practice, no source: a breaker is not loaded over four fifths for long.
const USED_SHARE = 0.8;
const CAUTION = "Common practice keeps a circuit under 80 % of its breaker; a licensed electrician and local code decide.";

/** @param {any} app @returns {{node: HTMLElement, show: () => void}} */
export function circuits(app) {
  const summary = el("summary", {});
  const list = el("ul", {});
  const caution = el("p", { class: "caution-line" });
  const node = el("details", { class: "circuits" }, summary, el("div", { class: "circuits-all" }, list, caution));
  say(caution, CAUTION);
  let told = "";

  function show() {
    const { tree } = app;
    const loads = loadsOf(tree, tree.setups[app.look.state.setup]);
    const now = JSON.stringify(loads);
    if (now === told) return;
    told = now;
    node.hidden = loads.length === 0;
    const over = loads.filter((one) => one.over);
    node.classList.toggle("over", over.length > 0);
    say(summary, [...over, ...loads.filter((one) => !one.over)].map(brief).join(" · "));
    list.replaceChildren(...loads.map((one) => el("li", {}, full(one))));
  }
  return { node, show };
}

/** Rated watts by circuit: what a dimmer saves is not counted on. @param {any} tree @param {any} setup */
function loadsOf(tree, setup) {
  /** @type {Map<string | null, number>} */
  const watts = new Map(Object.keys(tree.circuits).map((name) => [name, 0]));
  for (const name of tree.source_order) {
    const source = tree.sources[name];
    if (!source.watts || setup?.without.includes(name)) continue;
    const circuit = tree.circuits[source.circuit] ? source.circuit : null;
    watts.set(circuit, (watts.get(circuit) ?? 0) + source.watts);
  }
  return [...watts].map(([name, drawn_w]) => {
    const circuit = name === null ? null : tree.circuits[name];
    const drawn_a = circuit ? drawn_w / circuit.supply_v : null;
    return {
      name, drawn_w, drawn_a, breaker_a: circuit?.breaker_a ?? null, sockets: circuit?.sockets ?? null,
      over: circuit !== null && drawn_a > USED_SHARE * circuit.breaker_a,
    };
  });
}

/** @param {any} load */
function brief({ name, drawn_w, drawn_a, breaker_a, over }) {
  if (name === null) return `on no circuit ${Math.round(drawn_w)} W`;
  return `${name} ${drawn_a.toFixed(1)} of ${breaker_a} A${over ? " – over 80 %" : ""}`;
}

/** @param {any} load */
function full({ name, drawn_w, drawn_a, breaker_a, sockets }) {
  if (name === null) return `No circuit named: ${Math.round(drawn_w)} W rated`;
  const where = sockets ? `, sockets ${sockets}` : "";
  const share = Math.round((100 * drawn_a) / breaker_a);
  return `${name}: ${Math.round(drawn_w)} W rated, ${drawn_a.toFixed(1)} A of ${breaker_a} A (${share} %)${where}`;
}
