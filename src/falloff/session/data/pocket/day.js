// The day: buttons for its hours, a line on the one that is chosen, and a list of when it suits.
import { fitting } from "./answer.js";
import { element, say } from "./elements.js";
import { hourShown, spreadOf } from "./hours.js";
import { readingsOf } from "./light.js";
import { levelAgainst, tenths, threeFigures } from "./words.js";

const LINE_PX = 20;
const MOST_TARGETS = 3;
const DATE = { day: "numeric", month: "long", year: "numeric" };
const NBSP = "\u00a0";
const WAYS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];

/** Whether any setup of a scene has an hour. */
export function hasDay(scene) {
  return scene.setups.some(({ day }) => day);
}

/** The row of hours with its line; update(values) takes what `readingsOf` gave. */
export function hoursRow(state, measure) {
  const row = element("div", { class: "hours", role: "radiogroup", "aria-labelledby": "the-day" });
  const line = element("p", { class: "hour-line" });
  const root = element("div", { class: "day" }, row, line);
  let of = null;
  let choices = [];
  return {
    root,
    update() {
      const { setup, now, shown } = state;
      root.hidden = !setup.day;
      if (!setup.day) return;
      if (of !== setup) {
        of = setup;
        choices = setup.day.hours.map((hour, n) => hourChoice(state, hour, n));
        row.replaceChildren(
          element("span", { class: "under", id: "the-day" }, "the day:"),
          ...choices.map((one) => one.root),
        );
        row.hidden = choices.length < 2;
      }
      const { clock } = hourShown(setup, now);
      choices.forEach((one, n) => one.update(setup.day.hours[n].clock === clock));
      const values = readingsOf(setup, shown, state.scene.luminance);
      const lines = Math.floor(line.clientHeight / LINE_PX);
      say(line, fitting(linesOf(setup, shown, values), line.clientWidth, lines, measure(line)));
    },
  };
}

function hourChoice(state, hour, n) {
  const id = `hour-${n}`;
  const radio = element("input", {
    type: "radio",
    name: "hour",
    id,
    value: hour.clock,
    onchange: () => state.pickHour(hour),
  });
  const word = hour.word ? element("span", { class: "under" }, hour.word) : null;
  const clock = element("span", {}, hour.clock);
  const root = element("label", { class: "hour", for: id }, radio, clock, word);
  return {
    root,
    update(chosen) {
      if (chosen && !radio.checked) root.scrollIntoView({ block: "nearest", inline: "nearest" });
      radio.checked = chosen;
    },
  };
}

/** From the longest to the shortest: sun, sky and spread; when targets hold; for how long. */
function linesOf(setup, now, values) {
  const hour = hourShown(setup, now);
  const sky = skyWords(setup.day, hour);
  const spread = spreadWords(setup, now, values);
  const first = spread ? `${sky}; ${spread}.` : `${sky}.`;
  const [stay, shorter] = [stayWords(hour), stayInShort(hour)];
  const targets = setup.day.targets.slice(0, MOST_TARGETS).map(holdWords);
  const found = [];
  for (let count = targets.length; count > 0; count -= 1) {
    found.push(sentences([first, ...targets.slice(0, count), stay]));
    found.push(sentences([first, ...targets.slice(0, count), shorter]));
  }
  if (targets.length > 0) found.push(sentences([first, targets[0]]));
  return [...found, sentences([first, stay]), sentences([first, shorter]), first, `${sky}.`];
}

function sentences(parts) {
  return parts.filter(Boolean).map((part) => part.charAt(0).toUpperCase() + part.slice(1))
    .map((part) => (part.endsWith(".") ? part : `${part}.`))
    .join(" ");
}

function skyWords(day, hour) {
  const { sun_altitude_deg: up, sun_azimuth_deg: azimuth, sun_lux: lux } = hour;
  const way = WAYS[Math.floor((((azimuth % 360) + 360) % 360) / 45 + 0.5) % 8];
  const height = `${Math.floor(Math.abs(up) + 0.5)}°`;
  const hidden = lux > 0 ? "" : ", hidden";
  const sun = up > 0 ? `Sun ${height} up, ${way}${hidden}` : `Sun ${height} down`;
  const sky = /^\d+$/.test(day.sky) ? `sky of type ${day.sky}` : `${day.sky} sky`;
  return `${sun}; ${sky}`;
}

/** How far the answer's reading may lie from what is told, in this weather. */
function spreadWords(setup, now, values) {
  if (values.length === 0) return "";
  const n = setup.first;
  const told = rangeWords(spreadOf(setup, now, n, values[n].value));
  return told && `${setup.readings[n].name} ${told}`;
}

/** A spread: "−0.4 to +0.3 stop"; empty where there is none. */
export function rangeWords(spread) {
  if (spread === null || (spread[0] > -0.05 && spread[1] < 0.05)) return "";
  return `${tenths(spread[0])}${NBSP}to${NBSP}${tenths(spread[1])}${NBSP}stop`;
}

function holdWords({ name, holds }) {
  if (holds.length === 0) return `${name} holds at no hour`;
  const times = (wanted) => holds.filter(([, , sure]) => sure === wanted).map(([from, to]) => `${from}${NBSP}to${NBSP}${to}`).join(", ");
  const [sure, perhaps] = [times(true), times(false)];
  return `${name} ${[sure && `holds ${sure}`, perhaps && `perhaps holds ${perhaps}`].filter(Boolean).join("; ")}`;
}

function stayWords({ stays }) {
  if (stays === null) return "";
  const { reading, minutes, falls } = stays;
  if (minutes === null) return `${reading} stays within half a stop for the rest of the day`;
  const then = falls ? "falls" : "rises";
  return `${reading} stays within half a stop for ${timeWords(minutes)}, then ${then}`;
}

function stayInShort({ stays }) {
  if (!stays?.minutes) return "";
  return `${stays.reading} within half a stop for ${timeWords(stays.minutes)}`;
}

function timeWords(minutes) {
  const whole = Math.floor(minutes + 0.5);
  const hours = Math.floor(whole / 60);
  const rest = `${whole % 60}${NBSP}min`;
  if (hours === 0) return rest;
  return whole % 60 === 0 ? `${hours}${NBSP}h` : `${hours}${NBSP}h${NBSP}${rest}`;
}

/** The list: the hour that is chosen, targets, and the answer's reading at every hour. */
export function dayPanel(state) {
  const root = element("div", {});
  return {
    root,
    update(values) {
      const { setup, now, scene } = state;
      if (!setup.day) {
        root.replaceChildren(element("p", { class: "told quiet" }, "No daylight comes into this setup."));
        return;
      }
      const hour = hourShown(setup, now);
      root.replaceChildren(
        element("div", { class: "told" }, ...hourWords(setup, now, hour, values)),
        element("ul", { class: "list" }, ...setup.day.targets.map(targetRow)),
        ...byTheHour(scene, setup, now),
        element("div", { class: "notes" }, ...notes(setup.day)),
      );
    },
  };
}

function hourWords(setup, now, hour, values) {
  const date = new Date(`${setup.day.date}T12:00`).toLocaleDateString("en-GB", DATE);
  const spread = spreadWords(setup, now, values);
  const outside = `On open ground the sky gives ${threeFigures(hour.sky_lux)} lx`;
  const sun = hour.sun_lux > 0 ? `, and the sun ${threeFigures(hour.sun_lux)} lx square to it` : "";
  const stay = stayWords(hour);
  return [
    element("p", {}, `${date}, ${hour.clock}. ${skyWords(setup.day, hour)}.`),
    element("p", { class: "quiet" }, `${outside}${sun}.` +
      (spread ? ` Such a sky leaves ${spread}.` : "")),
    stay ? element("p", { class: "quiet" }, `${sentences([stay])}`) : "",
  ];
}

function targetRow({ name, asks, holds }) {
  const times = holds.map(([from, to, sure]) => `${from} to ${to}${sure ? ", sure" : ""}`);
  return element(
    "li",
    { class: "line" },
    element(
      "div",
      { class: "named" },
      element("span", { class: "name" }, name),
      element("span", { class: "under" }, asks),
    ),
    element(
      "div",
      { class: "count" },
      ...(times.length > 0 ? times : ["at no hour"]).map((told) => element("span", {}, told)),
    ),
  );
}

/** The answer's reading at every hour, with the dims and the exposure of now. */
function byTheHour(scene, setup, now) {
  if (setup.readings.length === 0 || setup.day.hours.length < 2) return [];
  const n = setup.first;
  const rows = setup.day.hours.map((hour) => {
    const then = { ...now, hour: hour.light === null ? undefined : hour.clock };
    const { stops, reference, value } = readingsOf(setup, then, scene.luminance)[n];
    return element(
      "tr",
      {},
      element("th", { scope: "row" }, hour.clock),
      element("td", {}, levelAgainst(stops, reference)),
      element("td", { class: "number" }, rangeWords(spreadOf(setup, then, n, value)) || "–"),
    );
  });
  return [
    element(
      "table",
      { class: "by-hour" },
      element("caption", {}, `${setup.readings[n].name}, lights and camera as now`),
      element("tbody", {}, ...rows),
    ),
  ];
}

function notes(day) {
  const missing = day.left_out.length > 0
    ? element("p", {}, `Not in this copy, for want of room: ${day.left_out.join(", ")}.`)
    : "";
  const told = "When targets hold, and how long a reading stays, is told for the lights and the " +
    "camera as planned. Sure: over all that such a sky may bring.";
  return [missing, element("p", {}, told)];
}
