// The day: the hour and date of the setup that is shown, what its sky is, how every reading goes from
// one night to the next, and when what is wanted holds.

import { clockText, minuteAt } from "./day-clock.js";
import { locatedBox } from "./day-form.js";
import { Graph } from "./day-graph.js";
import { dayLevels, isSpot, levelAt, nearStretches, targetStretches, valueAt } from "./day-levels.js";
import { el, keyed, say } from "./dom.js";
import { stopsAgainst } from "./format.js";
import { nextFrame } from "./hand.js";
import { spotOf } from "./levels.js";

const STEP_MIN = 5;
const TYPED_MS = 700; // after a key, before its hour becomes an edit
const OPEN_FROM_PX = 940; // lower windows begin with the day folded
const NARROW_PX = 1100;
export const MOST_LINES = 5;
const LACKS = "No day yet, for want of where and when. Whichever is missing is written: location: " +
  "{latitude: 51.5 N, longitude: 0.13 W, zone: Europe/London}, or, in the sky, at: 2026-06-21 15:40.";

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  root.setAttribute("aria-label", "The day");
  const fold = el("button", { type: "button", class: "toggle day-fold", aria: { expanded: "false", controls: "day-inside" } }, "The day");
  const says = el("p", { class: "day-says" });
  const range = el("input", { type: "range", class: "day-range", min: "0", step: "1", aria: { label: "Hour" } });
  const time = el("input", { type: "time", class: "day-time", aria: { label: "Time" }, required: true });
  const date = el("input", { type: "date", class: "day-date", aria: { label: "Date" }, required: true });
  const sky = el("select", { class: "day-sky", aria: { label: "Sky" } });
  const chips = el("div", { class: "day-chips", role: "group", aria: { label: "Readings in the graph" } });
  const sheet = el("div", { class: "day-sheet" });
  const wait = el("p", { class: "day-wait" }, "What the day gives is read while nothing else waits; its lines stand here then.");
  const inside = el("div", { class: "day-inside", id: "day-inside" }, sheet, wait);
  const choice = el("details", { class: "day-choice" }, el("summary", {}, "Lines"), chips);
  const set = el("div", { class: "day-set" }, time, date, sky);
  const there = el("div", { class: "day-there" }, fold, says, choice, range, set, inside);
  const box = locatedBox(app);
  const lack = el("div", { class: "day-lack" }, el("p", {}, LACKS),
    el("button", { type: "button", aria: { haspopup: "dialog" }, on: { click: () => box.open() } }, "Say where and when"), box.node);
  root.append(there, lack);
  const graph = new Graph(sheet, app, { drag: (minute) => app.days.drag(minute), end: () => app.days.end(), leave: () => app.days.leave() });

  const isOpen = () => app.look.state.dayOpen ?? (innerHeight >= OPEN_FROM_PX && innerWidth >= NARROW_PX);
  fold.addEventListener("click", () => app.look.set({ dayOpen: !isOpen() }));
  const hand = hourHand(app);
  const setup = () => app.look.state.setup;

  range.addEventListener("input", () => {
    const last = Number(range.max) + 1 - STEP_MIN;
    const minute = Math.min(last, toStep(Number(range.value)));
    range.value = String(minute);
    app.days.drag(minute);
  });
  range.addEventListener("change", () => app.days.end());
  range.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => hand.key(event));
  range.addEventListener("blur", () => hand.done());
  time.addEventListener("change", () => hand.typed(time.value));
  time.addEventListener("blur", () => hand.done());
  const typedDate = later(() => {
    const now = app.days.hourOf(setup());
    const there = date.validity.valid && date.value.length === 10 && date.value > "1900";
    if (now && there && date.value !== now.date) app.edit([{ do: "date", on: date.value }]);
  });
  date.addEventListener("change", typedDate.soon);
  date.addEventListener("blur", typedDate.now);
  sky.addEventListener("change", () => app.edit([{ do: "sky", type: sky.value }]));

  const show = nextFrame(() => {
    const { tree } = app;
    const windows = tree.source_order.some((/** @type {string} */ name) => tree.sources[name].kind === "window");
    root.hidden = !windows;
    const hour = app.days.hourOf(setup());
    there.hidden = !hour;
    lack.hidden = Boolean(hour);
    if (!hour) return;
    const open = isOpen();
    fold.setAttribute("aria-expanded", String(open));
    there.classList.toggle("is-open", open);
    inside.hidden = choice.hidden = !open;
    range.max = String(hour.clock.length - 1);
    put(date, hour.date);
    fill(sky, tree.day.skies, tree.day.sky);
    const day = app.days.of(setup());
    wait.hidden = Boolean(day);
    const minute = app.days.minute(setup());
    const levels = day ? dayLevels(app, setup(), day) : new Map();
    const names = shownReadings(app, levels);
    const told = tell(app, { day, minute, hour, levels });
    say(says, told.all);
    says.title = told.all;
    if (Number(range.value) !== minute) range.value = String(minute);
    range.setAttribute("aria-valuetext", told.short);
    put(time, clockText(hour.clock, minute));
    if (!open) return;
    keyed(chips, [...levels.keys()], (name) => chip(app, name, levels));
    for (const one of chips.children) {
      const input = /** @type {HTMLInputElement} */ (one.querySelector("input"));
      const at = names.indexOf(/** @type {HTMLElement} */ (one).dataset.key ?? "");
      input.checked = at >= 0;
      input.disabled = at < 0 && names.length >= MOST_LINES;
      one.setAttribute("class", at >= 0 ? `day-chip line-${at}` : "day-chip");
    }
    graph.show({ day, hour, minute, levels, names, stale: app.days.stale.has(setup()) });
  });
  const stops = [
    app.store.watch((/** @type {any} */ tree) => tree, show),
    app.look.watch((/** @type {any} */ look) => look, show),
    app.days.watch(show),
    app.meter.watch(show),
    app.light.watch(show),
    app.watchGains(show),
    app.watchExposure(show),
  ];
  addEventListener("resize", show);
  const shut = (/** @type {Event} */ event) => {
    if (choice.open && !choice.contains(/** @type {Node} */ (event.target))) choice.open = false;
  };
  addEventListener("pointerdown", shut);
  choice.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape" || !choice.open) return;
    choice.open = false;
    choice.querySelector("summary")?.focus();
    event.stopPropagation();
  });
  return () => {
    removeEventListener("pointerdown", shut);
    removeEventListener("resize", show);
    stops.forEach((stop) => stop());
    graph.close();
    root.replaceChildren();
  };
}

/** The readings that have a line: those chosen, or the one that the lists speak of and those with targets. */
function shownReadings(app, levels) {
  const chosen = app.look.state.dayReadings;
  const wanted = Object.values(app.tree.targets).filter((/** @type {any} */ one) => one.kind === "level").flatMap((/** @type {any} */ one) => [one.reading, one.over]);
  const names = chosen ?? [spotOf(app), app.tree.setups[app.look.state.setup].key, ...wanted];
  return [...new Set(names)].filter((name) => levels.has(name)).slice(0, MOST_LINES);
}

/** One reading's tick, with the pattern of its line. @param {any} app @param {string} name @param {Map<string, any>} levels */
function chip(app, name, levels) {
  const input = el("input", { type: "checkbox" });
  input.addEventListener("change", () => {
    const hour = app.days.of(app.look.state.setup);
    const now = shownReadings(app, hour ? dayLevels(app, app.look.state.setup, hour) : levels);
    app.look.set({ dayReadings: input.checked ? [...now, name] : now.filter((one) => one !== name) });
  });
  const words = isSpot(app, name) ? `${name}, over middle grey` : name;
  return el("label", { class: "day-chip" }, input, el("span", { class: "day-sample", aria: { hidden: "true" } }), el("span", {}, words));
}

/** The day in a sentence, and the hour alone for a screen reader. */
function tell(app, { day, minute, hour, levels }) {
  const at = clockText(hour.clock, minute);
  if (!day) return { all: `${at}; the day is being read …`, short: at };
  const spot = spotOf(app);
  const reading = levels.has(spot) ? spot : ([...levels.keys()][0] ?? "");
  const level = levels.get(reading);
  const now = level ? levelAt(level, minute) : null;
  const short = now === null ? at : `${at}, ${reading} ${stopsAgainst(now, isSpot(app, reading) ? "middle grey" : "key")}`;
  const parts = [at, sunText(valueAt(day.minutes, day.altitude_deg, minute), day)];
  if (level) parts.push(holdsText(app, reading, levels, minute, hour.clock));
  const so = app.days.stale.has(app.look.state.setup) ? "; so far: the day is being read anew" : "";
  return { all: `${parts.filter(Boolean).join(", ")}${so}`, short };
}

/** @param {number | null} altitude @param {any} day */
function sunText(altitude, day) {
  if (altitude === null) return day.always === "down" ? "the sun does not rise" : "night";
  const size = Math.round(Math.abs(altitude));
  return altitude >= 0 ? `sun ${size}° high` : `sun ${size}° below the horizon`;
}

function holdsText(app, reading, levels, minute, clock) {
  const found = Object.entries(app.tree.targets).find(([, one]) => one.kind === "level" && one.reading === reading);
  if (found) {
    const times = targetStretches(found[1], levels);
    if (times === null) return "";
    const sure = times.filter((one) => one.sure);
    const perhaps = times.filter((one) => !one.sure);
    const parts = [sure.length > 0 ? `holds ${spans(sure, clock)}` : "", perhaps.length > 0 ? `perhaps holds ${spans(perhaps, clock)}` : ""];
    return `${found[0]} ${parts.filter(Boolean).join("; ") || "holds at no hour"}`;
  }
  const times = nearStretches(levels.get(reading), minute);
  const around = times.filter((one) => one.start <= minute && minute <= one.end);
  return around.length > 0 ? `${reading} stays within half a stop ${spans(around, clock)}` : "";
}

/** @param {{start: number, end: number}[]} times @param {any} clock */
export function spans(times, clock) {
  return times.map((one) => `${clockText(clock, one.start)} to ${clockText(clock, one.end)}`).join(" and ");
}

/** Keys and typed times: shown at once, an edit once the hand rests. One run of keys is one step. @param {any} app */
function hourHand(app) {
  const end = later(() => app.days.end());
  const { days } = app;
  return {
    /** @param {KeyboardEvent} event */
    key(event) {
      const { setup } = app.look.state;
      const hour = days.hourOf(setup);
      const now = days.minute(setup);
      if (!hour || now === null) return;
      const step = { ArrowRight: STEP_MIN, ArrowUp: STEP_MIN, ArrowLeft: -STEP_MIN, ArrowDown: -STEP_MIN, PageUp: 60, PageDown: -60 }[event.key];
      let to = step === undefined ? null : Math.round(now) % STEP_MIN === 0 || Math.abs(step) > STEP_MIN ? now + step
        : STEP_MIN * (step > 0 ? Math.ceil(now / STEP_MIN) : Math.floor(now / STEP_MIN));
      if (event.key === "Home") to = 0;
      if (event.key === "End") to = hour.clock.length - STEP_MIN;
      if (event.key === "Escape" && days.held) {
        end.forget();
        days.leave();
        event.preventDefault();
      }
      if (to === null) return;
      event.preventDefault();
      days.drag(Math.min(hour.clock.length - STEP_MIN, Math.max(0, Math.round(to))));
      end.soon();
    },
    /** @param {string} text */
    typed(text) {
      const { setup } = app.look.state;
      const hour = days.hourOf(setup);
      if (!hour || !text || text === clockText(hour.clock, days.minute(setup))) return;
      const minute = minuteAt(hour.clock, text);
      // A time that the clock skips is asked for all the same: the server says why it cannot be.
      if (minute === null) app.edit([{ do: "hour", at: text }]);
      else {
        days.drag(minute);
        end.soon();
      }
    },
    done: () => end.now(),
  };
}

/** Something that is done a little later, once. @param {() => void} call */
function later(call) {
  /** @type {number | undefined} */
  let timer;
  const forget = () => {
    clearTimeout(timer);
    timer = undefined;
  };
  const run = () => {
    forget();
    call();
  };
  return {
    soon() {
      forget();
      timer = setTimeout(run, TYPED_MS);
    },
    now: () => timer !== undefined && run(),
    forget,
  };
}

/** @param {number} minute */
export function toStep(minute) {
  return STEP_MIN * Math.round(minute / STEP_MIN);
}

/** @param {any} input @param {string} value */
function put(input, value) {
  if (document.activeElement !== input && input.value !== value) input.value = value;
}

/** @param {any} select @param {string[]} words @param {string} value */
function fill(select, words, value) {
  const key = words.join("\n");
  if (select.dataset.words !== key) {
    select.dataset.words = key;
    select.replaceChildren(...words.map((word) => el("option", { value: word }, /^\d/.test(word) ? `sky ${word}` : word)));
  }
  if (select.value !== value) select.value = value;
}
