// The camera: stop, ISO, ND and white balance from lists, and what key is with them.
import { button, element, say } from "./elements.js";
import { exposureOf } from "./light.js";
import { tenths, threeFigures } from "./words.js";

const LISTS = [
  ["stop", "Stop"],
  ["iso", "ISO"],
  ["nd", "ND"],
  ["balance", "White balance"],
];

/** The lists and what they come to; update() tells what is set. */
export function cameraPanel(state) {
  const root = element("div", { class: "camera" });
  const key = element("p", { class: "told" });
  const against = element("p", { class: "told quiet" });
  let of = null;
  let rows = [];
  return {
    root,
    update() {
      if (of !== state.setup) {
        of = state.setup;
        rows = LISTS.map(([name, label]) => listRow(state, name, label));
        root.replaceChildren(...rows.map((row) => row.root), key, against);
      }
      for (const row of rows) row.update();
      const { stops, key_lux: lux } = exposureOf(state.setup, state.now);
      const candles = lux / state.scene.per_unit.fc;
      say(key, `Key at this exposure: ${threeFigures(lux)} lx (${threeFigures(candles)} fc).`);
      say(against, `${exposureWords(stops)} Shutter ${of.exposure.shutter}, as planned.`);
    },
  };
}

function exposureWords(stops) {
  if (Math.abs(stops) < 0.05) return "The plan's own exposure.";
  const much = tenths(Math.abs(stops)).slice(1);
  return `The picture is ${much} stops ${stops > 0 ? "darker" : "lighter"} than planned.`;
}

function listRow(state, name, label) {
  const choices = state.setup.exposure[name];
  const own = state.setup.exposure.own[name];
  const list = element(
    "select",
    { id: `list-${name}`, onchange: () => state.pick(name, list.selectedIndex) },
    ...choices.map(({ text }, n) =>
      element("option", {}, n === own ? `${text} (plan)` : text)),
  );
  const step = (by) => () => {
    const place = state.now.chosen[name] + by;
    state.pick(name, Math.min(Math.max(place, 0), choices.length - 1));
  };
  const before = button("‹", step(-1), { "aria-label": `${label}: the one before` });
  const after = button("›", step(1), { "aria-label": `${label}: the one after` });
  return {
    root: element(
      "div",
      { class: "choice" },
      element("label", { for: `list-${name}` }, label),
      element("div", { class: "stepper" }, before, list, after),
    ),
    update() {
      list.selectedIndex = state.now.chosen[name];
      before.disabled = list.selectedIndex <= 0;
      after.disabled = list.selectedIndex >= choices.length - 1;
    },
  };
}
