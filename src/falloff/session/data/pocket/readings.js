// The readings: level over or under key, lux or foot-candles, and each source's share of them.
import { rangeWords } from "./day.js";
import { element, say } from "./elements.js";
import { planned, readingsOf, stopsOf } from "./light.js";
import { wantedSection } from "./wanted.js";
import { levelAgainst, levelWords, perCent, ratioWords, tenths, threeFigures } from "./words.js";

/** How a reading's unit is told in this scene, and its size in SI. */
export function unitOf(scene, reading) {
  const spot = reading.instrument === "spot";
  const name = scene.units === "metric" ? (spot ? "cd/m²" : "lx") : spot ? "fL" : "fc";
  return { name, si: scene.per_unit[name] };
}

/** Readings with their shares; update(values) takes what `readingsOf` gave. */
export function readingsPanel(state) {
  const root = element("div", {});
  const wanted = wantedSection(state);
  const contrasts = element("div", { class: "told" });
  const list = element("div", { class: "list" });
  const notes = element("div", { class: "notes" });
  root.append(wanted.root, contrasts, list, notes);
  let of = null;
  let rows = [];
  return {
    root,
    update(values) {
      const { setup, scene } = state;
      if (of !== setup) {
        of = setup;
        const plan = readingsOf(setup, planned(setup), scene.luminance);
        rows = setup.readings.map((one, n) => readingRow(state, one, n, plan[n]));
        list.replaceChildren(...rows.map((row) => row.root), ...noReadings(setup));
        notes.replaceChildren(...findings(setup, scene.left_out));
      }
      wanted.update(values);
      contrasts.replaceChildren(...setup.contrasts.map((one) => contrastLine(one, values)));
      rows.forEach((row, n) => row.update(values[n]));
    },
  };
}

/** What stands where a list of readings would, if there are none. */
export function noReadings(setup) {
  if (setup.readings.length > 0) return [];
  return [element("p", { class: "quiet" }, "The scene file names no readings for this setup.")];
}

function contrastLine({ subject, key, shadow }, values) {
  const low = values[shadow].value;
  const ratio = low > 0 ? values[key].value / low : 0;
  const said = ratio > 0
    ? `${ratioWords(ratio)} key and fill to fill (${tenths(stopsOf(ratio, 1)).replace("+", "")} stops)` +
      (ratio < 1
        ? "; the shadow side has more light than the key side, so there is no key to fill."
        : `, ${ratioWords(ratio - 1)} key to fill.`)
    : "no light on one side of the face.";
  return element("p", {}, `${subject}: ${said}`);
}

function readingRow(state, reading, n, plan) {
  const { scene, setup } = state;
  const unit = unitOf(scene, reading);
  const level = element("span", { class: "figure" });
  const value = element("span", { class: "under" });
  const before = element("span", { class: "under" });
  const bars = setup.sources.map(({ name }) => shareRow(name));
  const root = element(
    "details",
    { class: "reading", open: n === setup.first },
    element(
      "summary",
      {},
      element(
        "div",
        { class: "named" },
        element("span", { class: "name" }, reading.name),
        before,
      ),
      element("div", { class: "count" }, level, value),
    ),
    element(
      "table",
      {},
      element(
        "thead",
        {},
        element(
          "tr",
          {},
          element("th", { scope: "col" }, "light"),
          element("th", { scope: "col", colspan: "2" }, "share"),
          element("th", { scope: "col" }, "alone"),
        ),
      ),
      element("tbody", {}, ...bars.map((bar) => bar.root)),
    ),
    element(
      "p",
      { class: "under" },
      `${instrumentWords(reading)} Alone: each light's own stops from ` +
        `${reading.instrument === "spot" ? "middle grey" : "key"}. ${samplingWords(reading)}`,
    ),
  );
  return {
    root,
    update(now) {
      say(level, levelWords(now.stops, now.reference));
      say(value, `${threeFigures(now.value / unit.si)} ${unit.name}`);
      const range = rangeWords(now.spread);
      const planWords = `plan ${levelAgainst(plan.stops, plan.reference)}`;
      say(before, range ? `${planWords}; this sky ${range}` : planWords);
      now.parts.forEach((part, s) => bars[s].update(part));
    },
  };
}

function instrumentWords({ instrument, faces, place }) {
  const where = place.replace(".", ", ").replaceAll("_", " ");
  const what = instrument === "spot" ? "Spot meter" : instrument === "dome" ? "Dome" : "Flat receptor";
  return `${what}, ${faces}; ${where}.`;
}

function samplingWords({ error_stops: stops }) {
  const size = stops < 0.005 ? "under 0.01" : stops.toFixed(2);
  return `Sampling leaves ${size} stop either way.`;
}

function shareRow(name) {
  const bar = element("span", { class: "bar" });
  const share = element("td", { class: "number" });
  const alone = element("td", { class: "number" });
  return {
    root: element(
      "tr",
      {},
      element("th", { scope: "row" }, name),
      element("td", { class: "track", "aria-hidden": "true" },
        element("span", { class: "rail" }, bar)),
      share,
      alone,
    ),
    update(part) {
      bar.style.setProperty("width", `${100 * part.share}%`);
      say(share, perCent(part.share));
      say(alone, part.stops === -Infinity ? "–" : tenths(part.stops));
    },
  };
}

function findings(setup, leftOut) {
  if (setup.findings.length + leftOut.length === 0) return [];
  const missing = leftOut.length > 0
    ? element("p", {}, `Not in this copy, for want of room: ${leftOut.join(", ")}.`)
    : "";
  return [
    element("h2", {}, "To know"),
    missing,
    ...setup.findings.map(({ weight, says, do: cure }) =>
      element("p", {}, `${weight}: ${says}${cure ? `; ${cure}` : ""}.`)),
  ];
}
