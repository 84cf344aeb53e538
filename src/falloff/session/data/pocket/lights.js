// The lights: a dim for each that has one, by slider or by thirds of a stop, on or off.
import { button, element, say } from "./elements.js";
import { otherHour } from "./hours.js";
import { knobMoved, lightShare } from "./light.js";
import { perCent, tenthsOfStops } from "./words.js";

const THIRD = 1 / 3;

/** Rows of the setup's sources; update() tells what is set. */
export function lightsPanel(state) {
  const root = element("ul", { class: "list" });
  let of = null;
  let rows = [];
  return {
    root,
    update(values) {
      if (of !== state.setup) {
        of = state.setup;
        rows = inOrder(of.sources).map((source) => lightRow(state, source));
        if (of.day) rows.splice(of.sources.filter(({ dims }) => dims).length, 0, daylightRow(state));
        root.replaceChildren(...rows.map((row) => row.root));
      }
      for (const row of rows) row.update(values);
    },
  };
}

/** What dims before what does not. */
function inOrder(sources) {
  return [...sources.filter(({ dims }) => dims), ...sources.filter(({ dims }) => !dims)];
}

function lightRow(state, source) {
  const { name } = source;
  const says = state.setup.units.find((unit) => unit.name === name)?.says ?? outsideWords(source);
  const weights = state.scene.luminance;
  const about = element("span", { class: "under" });
  const level = element("span", { class: "figure" });
  const stops = element("span", { class: "under" });
  const onOff = button("", () => state.turn(name, Boolean(state.now.out[name])), {
    class: "switch",
  });
  const row = element(
    "li",
    { class: "light" },
    element(
      "div",
      { class: "line" },
      element("div", { class: "named" }, element("span", { class: "name" }, name), about),
      element("div", { class: "count" }, level, stops),
      onOff,
    ),
  );
  const slider = source.dims ? dimmer(state, source, row) : null;
  return {
    root: row,
    update(values) {
      const { now, setup } = state;
      const hour = isOutside(source) ? otherHour(setup, now) : null;
      onOff.hidden = hour !== null;
      if (hour) {
        say(about, givenWords(setup, name, hour, values));
        row.classList.toggle("dark", Boolean(now.dayOut));
        return;
      }
      const knob = now.knobs[name];
      const out = Boolean(now.out[name]);
      say(about, aboutLight(source, knob, out, says));
      const words = onWords(source, out);
      say(onOff, words);
      onOff.setAttribute("aria-pressed", String(!out));
      onOff.setAttribute("aria-label", `${name}: ${words}`);
      say(level, source.dims && !out ? perCent(knob) : "");
      const share = lightShare(source, knob, weights);
      say(stops, source.dims && !out ? dimWords(share) : "");
      row.classList.toggle("dark", out);
      slider?.(knob, out);
    },
  };
}

/** All daylight of another hour together: its picture is one. */
function daylightRow(state) {
  const about = element("span", { class: "under" });
  const onOff = button("", () => state.turnDay(Boolean(state.now.dayOut)), { class: "switch" });
  const row = element(
    "li",
    { class: "light" },
    element(
      "div",
      { class: "line" },
      element("div", { class: "named" }, element("span", { class: "name" }, "Daylight"), about),
      onOff,
    ),
  );
  return {
    root: row,
    update() {
      const { now, setup } = state;
      const hour = otherHour(setup, now);
      row.hidden = hour === null;
      if (hour === null) return;
      const out = Boolean(now.dayOut);
      say(about, `all of it together at ${hour.clock}`);
      say(onOff, out ? "Left out" : "In");
      onOff.setAttribute("aria-pressed", String(!out));
      onOff.setAttribute("aria-label", `Daylight: ${out ? "Left out" : "In"}`);
      row.classList.toggle("dark", out);
    },
  };
}

/** What a window or the sun gives the answer's reading at another hour. */
function givenWords(setup, name, { clock }, values) {
  if (values.length === 0) return `as at ${clock}`;
  const n = setup.first;
  const { share } = values[n].parts.find((part) => part.source === name);
  const given = share > 0 ? `${perCent(share)} of` : "nothing to";
  return `${given} ${setup.readings[n].name} at ${clock}`;
}

/** The slider with a third of a stop down and up beside it; returns what tells it the knob. */
function dimmer(state, source, row) {
  const { name } = source;
  const weights = state.scene.luminance;
  const move = (stops) => () => {
    state.dim(name, knobMoved(source, state.now.knobs[name], stops, weights));
  };
  const slider = element("input", {
    type: "range",
    min: "0",
    max: "100",
    step: "any",
    "aria-label": `${name}, dim in per cent`,
    oninput: () => state.dim(name, Math.round(Number(slider.value)) / 100),
  });
  const down = button("−1/3", move(-THIRD), { "aria-label": `${name}: a third of a stop down` });
  const up = button("+1/3", move(THIRD), { "aria-label": `${name}: a third of a stop up` });
  row.append(element("div", { class: "dimmer" }, down, slider, up));
  return (knob, out) => {
    if (Math.abs(Number(slider.value) - 100 * knob) > 0.01) slider.value = String(100 * knob);
    slider.style.setProperty("--filled", `${100 * knob}%`);
    slider.setAttribute("aria-valuetext", out ? "off" : perCent(knob));
    up.disabled = knob >= 1;
    down.disabled = knob <= 0;
  };
}

function dimWords(share) {
  if (share > 0.9999) return "full light";
  return tenthsOfStops(share > 0 ? Math.log2(share) : -Infinity);
}

function isOutside(source) {
  return source.kind === "window" || source.kind === "sun";
}

function outsideWords(source) {
  return source.kind === "sun" ? "its disc, through every opening" : "the light that it lets in";
}

function onWords(source, out) {
  return isOutside(source) ? (out ? "Left out" : "In") : out ? "Off" : "On";
}

function aboutLight(source, knob, out, says) {
  if (isOutside(source)) return says;
  if (!source.dims) return out ? "plan: on" : `${says}, does not dim`;
  if (!out && knob > 0 && knob < source.steady_from) {
    return `not steady under ${perCent(source.steady_from)}`;
  }
  const differs = out || Math.abs(knob - source.knob) > 1e-9;
  return differs ? `plan ${perCent(source.knob)}` : says;
}
