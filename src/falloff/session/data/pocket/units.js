// The units as one sets them up: what each is, from whose mark, how high, aimed where, how many watts.
import { element } from "./elements.js";

/** The list of lights; it does not change with the dims. */
export function unitsPanel(state) {
  const root = element("div", {});
  let of = null;
  return {
    root,
    update() {
      if (of === state.setup) return;
      of = state.setup;
      const rows = of.units.map(unitRow);
      root.replaceChildren(
        element("ol", { class: "list" }, ...rows),
        element("p", { class: "told quiet" }, totals(of.units)),
        element(
          "p",
          { class: "told quiet" },
          "Distances are on the floor, from the middle of the mark to the middle of the light's " +
            "front. Seen from above, the person faces 6 o'clock, and 9 is at their right hand.",
        ),
      );
    },
  };
}

function unitRow(unit) {
  const watts = unit.watts === null ? "watts not told" : `${wattsOf(unit.watts)} W`;
  return element(
    "li",
    { class: "unit" },
    element("span", { class: "number-of", "aria-label": `number ${unit.number}` },
      String(unit.number)),
    element(
      "div",
      { class: "named" },
      element("span", { class: "name" }, unit.name),
      element("span", { class: "under" }, glued(unit.says)),
    ),
    element(
      "div",
      { class: "count" },
      element("span", {}, watts),
      element("span", { class: "under" }, unit.circuit ?? unit.section),
    ),
    element("p", { class: "where" }, glued(unit.place)),
    element("p", { class: "where" }, glued(unit.aim)),
  );
}

/** A text in which a number is not parted from its unit. */
function glued(text) {
  return text.replace(/(\d) (?=(?:m|cm|ft|in|K)\b)/g, "$1\u00a0").replace(/(\S) up\b/g, "$1\u00a0up");
}

function wattsOf(watts) {
  return watts >= 10 ? watts.toFixed(0) : String(Number(watts.toFixed(1)));
}

function totals(units) {
  if (units.length === 0) return "This setup has no lights of its own.";
  const told = units.filter(({ watts }) => watts !== null);
  const sum = told.reduce((total, { watts }) => total + watts, 0);
  const missing = units.length - told.length;
  const besides = missing > 0 ? `, and ${missing} whose watts are not told` : "";
  return `${wattsOf(sum)} W together at full${besides}.`;
}
