// What is wanted in this setup beside what is got, the dims that bring it in, and what else would help.
import { balanced, missOf } from "./balance.js";
import { button, element, say } from "./elements.js";
import { daylightPlace, otherHour } from "./hours.js";
import { exposureOf, knobOfShare, lightShare, readingsOf } from "./light.js";
import { askedOf, besideWords, levelAgainst, levelWords, perCent } from "./words.js";

const LEAST_KNOB = 0.01;
const TOLD_SHARE = 0.2; // of a reading's light, from which it is said who gives it

/** The section of a setup that has targets; update(values) takes what `readingsOf` gave. */
export function wantedSection(state) {
  const list = element("ul", { class: "wanted" });
  const said = element("p", { class: "told", role: "status" });
  const put = button("Put back", () => putBack(), { class: "plain", hidden: true });
  const ask = button("Balance", () => balance(), { class: "main" });
  const help = element("div", { class: "notes helps" });
  const root = element("section", { "aria-label": "Wanted" },
    element("h2", {}, "Wanted"), list, said, element("div", { class: "actions" }, ask, put), help);
  let of = null;
  let rows = [];
  /** @type {{knobs: Object<string, number>, set: string} | null} dims before the last balance */
  let before = null;

  function balance() {
    const { setup, now } = state;
    const knobs = balancedKnobs(setup, now, state.scene.luminance);
    const moved = Object.entries(knobs).filter(([name, knob]) => Math.abs(knob - now.knobs[name]) > 0.004);
    before = moved.length > 0 ? { knobs: { ...now.knobs }, set: setup.name } : null;
    if (moved.length > 0) state.dimAll(Object.fromEntries(moved));
    say(said, moved.length > 0 ? `Set: ${moved.map(([name, knob]) => `${name} ${perCent(knob)}`).join(", ")}.` : "No dim brings it nearer.");
    put.hidden = before === null;
  }
  function putBack() {
    if (before?.set === state.setup.name) state.dimAll(before.knobs);
    before = null;
    say(said, "");
    put.hidden = true;
  }

  return {
    root,
    update(values) {
      const { setup } = state;
      root.hidden = setup.targets.length === 0;
      if (root.hidden) return;
      if (of !== setup) {
        of = setup;
        before = null;
        put.hidden = true;
        say(said, "");
        rows = setup.targets.map((target) => wantedRow(setup, target));
        list.replaceChildren(...rows.map((row) => row.root));
        help.replaceChildren(...fixesOf(setup));
      }
      rows.forEach((row) => row.update(values));
    },
  };
}

/** Level of a target in its own terms, from the values of all readings. */
function stopsOfTarget({ reading, over }, values) {
  const level = values[reading].stops;
  return over === null ? level : level - values[over].stops;
}

function wantedRow(setup, target) {
  const reference = target.over === null
    ? (setup.readings[target.reading].instrument === "spot" ? "grey" : "key")
    : setup.readings[target.over].name;
  const asks = askedOf(target, reference);
  const got = element("span", { class: "under" });
  const mark = element("span", { class: "figure" });
  const why = element("p", { class: "under" });
  return {
    root: element("li", {},
      element("div", { class: "line" },
        element("div", { class: "named" }, element("span", { class: "name" }, target.name),
          element("span", { class: "under" }, `wanted ${asks}`), got),
        element("div", { class: "count" }, mark)),
      why),
    update(values) {
      const stops = stopsOfTarget(target, values);
      say(got, Number.isNaN(stops) || Math.abs(stops) === Infinity ? "got no light" : `got ${besideWords(stops, target, reference)}`);
      const { miss } = missOf(target, stops);
      say(mark, markOf(miss));
      mark.className = miss === 0 ? "figure met" : "figure missed";
      say(why, miss === 0 ? "" : whyOf(setup, target, values[target.reading]));
    },
  };
}

/** A mark and a word, the size in thirds. */
function markOf(miss) {
  if (miss === 0) return "✓ met";
  if (!Number.isFinite(miss)) return "▼ no light";
  const said = levelWords(miss, "it").replace(/ (over|under)$/, "");
  return `${miss > 0 ? "▲" : "▼"} ${said === "at it" ? "a little" : said} ${miss > 0 ? "bright" : "dark"}`;
}

/** Who gives most of what is missed, and what it would be without. */
function whyOf(setup, target, value) {
  const lead = [...value.parts].sort((a, b) => b.share - a.share)[0];
  if (!lead || lead.share < TOLD_SHARE) return "No one light stands out there.";
  const rest = value.stops + Math.log2(Math.max(1 - lead.share, 1e-9));
  const without = lead.share > 0.999 ? "no light" : levelAgainst(rest, value.reference);
  const { dims } = setup.sources.find(({ name }) => name === lead.source);
  return `${lead.source} gives ${perCent(lead.share)} of ${setup.readings[target.reading].name}${dims ? "" : " and has no dim"}; without it ${without}.`;
}

/** The knobs that bring the targets nearest. */
function balancedKnobs(setup, now, weights) {
  const hour = otherHour(setup, now);
  const full = setup.sources.map((source) => source.gains[source.gains.length - 1]);
  const light = setup.sources.map((source, s) => setup.readings.map((reading, p) => {
    const place = hour ? daylightPlace(setup, source.name) : -1;
    if (place >= 0) return now.dayOut ? 0 : hour.readings[p][place][0];
    return [0, 1, 2].reduce((sum, c) => sum + weights[c] * full[s][c] * (reading.direct[s][c] + reading.bounced[s][c]), 0);
  }));
  const levers = setup.sources.map((source) => {
    const daylight = hour && daylightPlace(setup, source.name) >= 0;
    const share = now.out[source.name] && !daylight ? 0 : source.dims ? lightShare(source, now.knobs[source.name], weights) : 1;
    const lowest = source.dims ? lightShare(source, Math.max(source.steady_from, LEAST_KNOB), weights) : 1;
    return { now: share, lowest, free: source.dims };
  });
  const { key_lux: key, grey_nit: grey } = exposureOf(setup, now);
  const against = setup.readings.map(({ instrument }) => (instrument === "spot" ? grey : key));
  const shares = balanced(levers, light, against, setup.targets);
  const moved = setup.sources.map((_, s) => s)
    .filter((s) => levers[s].free && levers[s].now > 0 && Math.abs(Math.log2(shares[s] / levers[s].now)) >= 0.02);
  // To tenths of a per cent, whichever way loses no target at its edge.
  const rounded = [Math.round, Math.floor, Math.ceil].map((round) => Object.fromEntries(moved.map((s) =>
    [setup.sources[s].name, round(1000 * knobOfShare(setup.sources[s], shares[s], weights)) / 1000])));
  const missed = (knobs) => {
    const values = readingsOf(setup, { ...now, knobs: { ...now.knobs, ...knobs } }, weights);
    return setup.targets.filter((target) => missOf(target, stopsOfTarget(target, values)).miss !== 0).length;
  };
  return rounded.reduce((best, one) => (missed(one) < missed(best) ? one : best));
}

/** What was found to help beyond dims, when the copy was written. */
function fixesOf({ fixes }) {
  if (fixes.length === 0) return [];
  return [
    element("h3", {}, "If dims do not do it"),
    ...fixes.map(({ says, costs, dims, levels, minds }) => element("details", { class: "help" },
      element("summary", {}, element("div", { class: "named" },
        element("span", {}, `${says.charAt(0).toUpperCase()}${says.slice(1)}`), element("span", { class: "under" }, costs))),
      dims.length > 0 ? element("p", {}, `Dims with it: ${dims.join(", ")}.`) : null,
      levels.length > 0 ? element("p", {}, `Then: ${levels.join("; ")}.`) : null,
      minds.length > 0 ? element("p", { class: "under" }, `${minds.join("; ")}.`) : null)),
    element("p", { class: "under" }, "Found for the plan; weighed, not traced. Local codes and licensed people decide what is safe."),
  ];
}
