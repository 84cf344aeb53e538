// What a meter said on the day: a field for each reading, kept in the browser, saved as a file.
import { button, element, say } from "./elements.js";
import { daylightPlace, otherHour } from "./hours.js";
import { planned, readingsOf, stopsOf } from "./light.js";
import { noReadings, unitOf } from "./readings.js";
import { levelWords, localTime, threeFigures, typedNumber } from "./words.js";

/** Fields, and the two buttons; update(values) takes what `readingsOf` gave. */
export function meteredPanel(state) {
  const root = element("div", {});
  const list = element("div", { class: "list", role: "list" });
  const about = element("p", { class: "quiet" });
  const save = button("Save what I metered", () => saveFile(state), { class: "main" });
  const sure = askFirst("Clear what was metered in all setups?", "Clear", () => state.forget());
  const clear = button("Clear", () => sure.showModal(), { class: "plain" });
  const text = element("textarea", { readonly: true, rows: 4, "aria-label": "What I metered, as text", onfocus: () => text.select() });
  const copied = element("span", { class: "under", role: "status" });
  const copy = button("Copy", () => copyText(text, copied), { class: "plain" });
  const asText = element("details", { class: "as-text" },
    element("summary", {}, "As text"), text, element("div", { class: "actions" }, copied, copy),
    element("p", { class: "under" }, "Paste it on the page under Metered; each line also goes after --read of falloff correct."));
  root.append(list, element("div", { class: "actions held" }, about, save, clear), asText, sure);
  let of = null;
  let rows = [];
  return {
    root,
    update(values) {
      if (of !== state.setup) {
        of = state.setup;
        rows = of.readings.map((one, n) => fieldRow(state, one, n));
        list.replaceChildren(...rows.map((row) => row.root), ...noReadings(of));
      }
      rows.forEach((row, n) => row.update(values[n]));
      const count = countOf(state);
      asText.hidden = count === 0;
      if (text.value !== meteredLines(state)) text.value = meteredLines(state);
      save.disabled = count === 0;
      clear.disabled = count === 0;
      say(about, aboutKept(state, count));
    },
  };
}

function countOf(state) {
  return Object.values(state.metered).reduce((sum, one) => sum + Object.keys(one).length, 0);
}

function aboutKept(state, count) {
  if (!state.keeps) return "This browser keeps nothing of a file: save before you close it.";
  if (count === 0) return "Set the lights as they burn, then write down what the meter says.";
  return `${count} metered, kept in this browser. Dims and settings go with each, as they were.`;
}

function fieldRow(state, reading, n) {
  const unit = unitOf(state.scene, reading);
  const expected = element("span", { class: "under" });
  const off = element("span", { class: "under off" });
  const field = element("input", {
    type: "text",
    inputmode: "decimal",
    enterkeyhint: "done",
    autocomplete: "off",
    id: `metered-${n}`,
    "aria-describedby": `metered-off-${n}`,
    oninput: () => noted(),
    onkeydown: (event) => {
      if (event.key === "Enter") field.blur();
    },
  });
  off.id = `metered-off-${n}`;
  let bad = false;
  function noted() {
    const value = typedNumber(field.value);
    bad = value === null && field.value.trim() !== "";
    state.note(reading.name, value === null ? null : entryOf(state, n, value));
  }
  return {
    root: element(
      "div",
      { class: "metered", role: "listitem" },
      element(
        "label",
        { class: "named", for: field.id },
        element("span", { class: "name" }, reading.name),
        expected,
      ),
      field,
      element("span", { class: "unit-name" }, unit.name),
      off,
    ),
    update(now) {
      const entry = state.meteredHere()[reading.name];
      if (!bad && document.activeElement !== field) field.value = entry ? entry.typed : "";
      else if (!entry && !bad && field.value !== "") field.value = "";
      field.setAttribute("aria-invalid", String(bad));
      say(expected, `computed ${threeFigures(now.value / unit.si)} ${unit.name}, ${reading.instrument}`);
      say(off, bad ? "this is no number above nought" : entry ? comparison(entry) : "not metered yet");
    },
  };
}

function comparison(entry) {
  const stops = stopsOf(entry.value, entry.computed_value);
  const said = levelWords(stops, "what was computed");
  const words = said.startsWith("at ") ? "as computed" : `${said} what was computed`;
  return `${entry.time.slice(11, 16)}: ${words}`;
}

/** One entry of the file, with dims and settings as they are now. */
function entryOf(state, n, value) {
  const { scene, setup, now } = state;
  const reading = setup.readings[n];
  const unit = unitOf(scene, reading);
  const plan = readingsOf(setup, planned(setup), scene.luminance)[n].value;
  const computed = readingsOf(setup, now, scene.luminance)[n].value;
  const lights = setup.sources.filter(({ dims }) => dims);
  const hour = otherHour(setup, now);
  const isOn = (source) => {
    if (hour && daylightPlace(setup, source.name) >= 0) return !now.dayOut;
    return !now.out[source.name] && now.knobs[source.name] > 0;
  };
  const { exposure } = setup;
  const text = (list) => exposure[list][now.chosen[list]].text;
  return {
    typed: document.getElementById(`metered-${n}`).value.trim(),
    setup: setup.name,
    name: reading.name,
    instrument: reading.instrument,
    unit: unit.name,
    value,
    planned_value: plan / unit.si,
    computed_value: computed / unit.si,
    time: localTime(new Date()),
    ...(hour ? { hour: hour.instant } : {}),
    dims: Object.fromEntries(
      lights.map((one) => [one.name, isOn(one) ? now.knobs[one.name] : 0]),
    ),
    lit: setup.sources.filter(isOn).map(({ name }) => name),
    settings: {
      stop: text("stop"),
      iso: text("iso"),
      nd: text("nd"),
      balance: text("balance"),
      shutter: exposure.shutter,
    },
  };
}

/** The whole file; docs/pocket.md has its fields. */
export function meteredFile(state) {
  const { scene, metered } = state;
  const kept = scene.setups.flatMap(({ name }) => Object.values(metered[name] ?? {}));
  return {
    falloff_metered: 1,
    scene: { title: scene.title, file: scene.file, checksum: scene.checksum },
    saved: localTime(new Date()),
    readings: kept.map(({ typed, ...entry }) => entry),
  };
}

/** What was metered as lines that people and programs read: "key cheek: 320 lx; BOOK alone". */
export function meteredLines(state) {
  const { setups } = state.scene;
  return setups.flatMap((setup) => {
    const kept = Object.values(state.metered[setup.name] ?? {});
    if (kept.length === 0) return [];
    return [`# ${setup.name}`, ...kept.map((one) => [
      `${one.name}: ${one.typed.replace(",", ".")} ${one.unit.replace("²", "2")}`,
      wasOn(setup, one),
      one.hour ? `at ${one.hour.slice(0, 16).replace("T", " ")}` : "",
    ].filter(Boolean).join("; "))];
  }).join("\n");
}

/** What was on, where it was not all of the setup at its own dims. */
function wasOn(setup, { lit, dims }) {
  const moved = ({ name, knob }) => name in dims && Math.abs(dims[name] - knob) >= 0.005;
  const all = setup.sources.every(({ name, knob }) => knob === 0 || lit.includes(name));
  if (all && !setup.sources.some(moved)) return "";
  const named = setup.sources.filter(({ name }) => lit.includes(name))
    .map((one) => (moved(one) ? `${one.name} at ${Number((100 * dims[one.name]).toFixed(1))} %` : one.name));
  return named.length > 0 ? `${named.join(", ")} alone` : `all but ${setup.sources.map(({ name }) => name).join(", ")}`;
}

async function copyText(text, copied) {
  text.select();
  try {
    await navigator.clipboard.writeText(text.value);
    say(copied, "Copied.");
  } catch {
    say(copied, "It is chosen: copy it from here.");
  }
}

function saveFile(state) {
  const text = `${JSON.stringify(meteredFile(state), null, 2)}\n`;
  const address = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  const link = element("a", { href: address, download: `${state.scene.stem}.metered.json` });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
}

function askFirst(question, word, then) {
  const box = element("dialog", {}, element("p", {}, question));
  box.append(
    element(
      "div",
      { class: "actions" },
      button(word, () => {
        box.close();
        then();
      }, { class: "main" }),
      button("Keep", () => box.close(), { class: "plain" }),
    ),
  );
  return box;
}
