// The day as a graph: readings in stops over key, spots over middle grey, against the clock, their
// spread, what is wanted and when it holds, night and twilight, and the hour as a line that a hand drags.

import { clockText, wholeHours } from "./day-clock.js";
import { flagStretches, isSpot, levelAt, targetStretches } from "./day-levels.js";
import { stopsTenths } from "./format.js";
import { svg, widthOf } from "./plan-view.js";

const LEFT = 52;
const TOP = 20;
const BOTTOM = 20; // the clock's labels
const ROW = 17; // one line of stretches
const MOST_ROWS = 4;
const STEP_MIN = 5;
const NARROW_PX = 620;
const LIMITS = [-7, 7]; // stops over key that are drawn at most
const TWILIGHTS = [["astronomical", -12], ["nautical", -6], ["civil", -0.27]]; // degrees as seen that each ends at

let count = 0;

export class Graph {
  /** @param {HTMLElement} root @param {any} app @param {{drag: (minute: number) => void, end: () => void, leave: () => void}} hand */
  constructor(root, app, hand) {
    this.app = app;
    this.hand = hand;
    this.told = null;
    /** @type {{now: string, day: any, targets: any} | null} */
    this.drawn = null;
    this.key = `day-${(count += 1)}`;
    this.element = svg("svg", { class: "day-graph", role: "img" });
    this.under = svg("g");
    this.over = svg("g");
    this.element.append(this.patterns(), this.under, this.over);
    root.append(this.element);
    this.sizes = new ResizeObserver(() => this.told && this.show(this.told));
    this.sizes.observe(this.element);
    this.element.addEventListener("pointerdown", (event) => this.press(/** @type {PointerEvent} */ (event)));
  }

  close() {
    this.sizes.disconnect();
    this.element.remove();
  }

  patterns() {
    const made = [0, 1, 2, 3, 4].map((k) => svg("pattern",
      { id: `${this.key}-${k}`, width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: `rotate(${20 + 35 * k})` },
      svg("line", { class: `day-hatch line-${k}`, x1: 0, y1: 0, x2: 0, y2: 6 })));
    const unsure = svg("pattern", { id: `${this.key}-maybe`, width: 5, height: 5, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      svg("line", { class: "day-maybe-line", x1: 0, y1: 0, x2: 0, y2: 5 }));
    return svg("defs", {}, ...made, unsure);
  }

  /** @param {any} told what is drawn: day, hour, minute, levels, names, stale */
  show(told) {
    this.told = told;
    const { width, height } = this.element.getBoundingClientRect();
    if (!width || !told.day) {
      this.under.replaceChildren();
      this.over.replaceChildren();
      this.drawn = null;
      return;
    }
    this.element.classList.toggle("is-stale", told.stale);
    // While the hour alone moves, all else stays.
    const now = JSON.stringify([width, height, told.names, [...told.levels].map(([name, one]) => [name, one.fixed, one.zero])]);
    const { targets } = this.app.tree;
    const drawn = this.drawn;
    if (drawn?.now !== now || drawn.day !== told.day || drawn.targets !== targets) {
      this.drawn = { now, day: told.day, targets };
      this.rows = this.stretchRows();
      this.fitted(width, height);
      this.under.replaceChildren(...this.sky(), ...this.grid(), ...this.targets(), ...this.lines(), ...this.rowsDrawn());
    }
    this.over.replaceChildren(...this.hourLine());
    this.element.setAttribute("aria-label", this.words());
  }

  /** Where everything lies. */
  fitted(width, height) {
    const { names, levels } = this.told;
    this.narrow = width < NARROW_PX;
    const ends = names.map((/** @type {string} */ name) => widthOf(name));
    this.right = width - (this.narrow ? 12 : Math.min(150, Math.max(24, ...ends) + 14));
    this.foot = height - BOTTOM - ROW * this.rows.length - (this.rows.length ? 4 : 0);
    const shown = names.flatMap((/** @type {string} */ name) => [...levels.get(name).low, ...levels.get(name).high, ...levels.get(name).stops]);
    const wanted = this.bands().flatMap(([, low, high]) => [low, high]);
    const known = [...shown, ...wanted].filter((one) => one !== null && one > LIMITS[0] && one < LIMITS[1]);
    this.low = Math.max(LIMITS[0], Math.floor(Math.min(-1, ...known)));
    this.high = Math.min(LIMITS[1], Math.ceil(Math.max(1, ...known)));
    this.widthPx = width;
  }

  /** @param {number} minute */
  x(minute) {
    return LEFT + ((this.right - LEFT) * minute) / this.told.hour.clock.length;
  }

  /** @param {number | null} stops */
  y(stops) {
    const value = Math.min(this.high, Math.max(this.low, stops ?? this.low));
    return TOP + ((this.foot - TOP) * (this.high - value)) / (this.high - this.low);
  }

  // The sky ------------------------------------------------------------------------------------

  /** Night and twilight, darker step by step, each named where there is room. */
  sky() {
    const { day, hour } = this.told;
    const { minutes, altitude_deg: altitude } = day;
    const end = hour.clock.length;
    const found = [];
    const shade = (/** @type {string} */ kind, /** @type {number} */ from, /** @type {number} */ to) => {
      if (to - from < 0.5) return;
      found.push(svg("rect", { class: `day-${kind}`, x: this.x(from), y: TOP, width: this.x(to) - this.x(from), height: this.foot - TOP }));
      const wide = this.x(to) - this.x(from);
      if (kind === "night" && wide > widthOf("night") + 8) found.push(svg("text", { class: "day-night-name", x: (this.x(from) + this.x(to)) / 2, y: TOP + 14 }, "night"));
    };
    shade("night", 0, minutes[0]);
    shade("night", minutes[minutes.length - 1], end);
    const kinds = minutes.slice(1).map((/** @type {number} */ _, /** @type {number} */ k) => kindOf((altitude[k] + altitude[k + 1]) / 2));
    for (let k = 0, from = 0; k < kinds.length; k += 1) {
      if (k + 1 < kinds.length && kinds[k + 1] === kinds[k]) continue;
      if (kinds[k]) shade(kinds[k], minutes[from], minutes[k + 1]);
      from = k + 1;
    }
    for (const name of ["sunrise", "sunset"]) {
      const minute = day.events[name];
      if (minute === null || minute < 0 || minute > end) continue;
      const words = this.narrow ? clockText(hour.clock, minute) : `${name} ${clockText(hour.clock, minute)}`;
      found.push(svg("line", { class: "day-event", x1: this.x(minute), x2: this.x(minute), y1: TOP - 4, y2: this.foot }));
      found.push(svg("text", { class: "day-event-name", x: this.x(minute), y: TOP - 7 }, words));
    }
    if (day.always) found.push(svg("text", { class: "day-event-name", x: (LEFT + this.right) / 2, y: TOP - 7 }, `the sun is ${day.always} all day`));
    return found;
  }

  grid() {
    const { hour, names } = this.told;
    const zero = names.length > 0 && names.every((/** @type {string} */ name) => isSpot(this.app, name)) ? "grey" : "key";
    const found = [];
    for (let stops = this.low; stops <= this.high; stops += 1) {
      const far = (this.foot - TOP) / (this.high - this.low);
      const named = stops === 0 || far >= 15 || stops % 2 === 0;
      found.push(svg("line", { class: stops === 0 ? "day-key" : "day-grid", x1: LEFT, x2: this.right, y1: this.y(stops), y2: this.y(stops) }));
      if (named) found.push(svg("text", { class: "day-stop", x: LEFT - 6, y: this.y(stops) + 4 }, stops === 0 ? zero : stopsTenths(stops).replace(".0", "").replace("-", "−")));
    }
    found.push(svg("text", { class: "day-stop is-unit", x: 2, y: TOP - 7 }, "stops"));
    const room = this.x(60) - this.x(0);
    const every = room > 40 ? 1 : room > 20 ? 2 : room > 13 ? 3 : 6;
    for (const minute of wholeHours(hour.clock)) {
      const named = (minute / 60) % every === 0;
      found.push(svg("line", { class: "day-tick", x1: this.x(minute), x2: this.x(minute), y1: this.foot, y2: this.foot + (named ? 5 : 3) }));
      const last = minute === hour.clock.length;
      if (last && this.narrow) continue;
      if (named) found.push(svg("text", { class: "day-clock", x: this.x(minute), y: this.foot + 16 }, last ? "24:00" : clockText(hour.clock, minute)));
    }
    return found;
  }

  // Readings and targets -----------------------------------------------------------------------

  /** Targets that are told over key, of the readings shown: name, least and most stops. */
  bands() {
    const { names } = this.told;
    return Object.entries(this.app.tree.targets).filter(([, one]) => one.kind === "level" && one.over === null && names.includes(one.reading)).map(([name, one]) => {
      const low = one.limit === "at most" ? LIMITS[0] : one.level_stops - one.tolerance_stops;
      const high = one.limit === "at least" ? LIMITS[1] : one.level_stops + one.tolerance_stops;
      return [name, low, high];
    });
  }

  targets() {
    return this.bands().map(([, low, high]) => svg("rect", {
      class: "day-wanted", x: LEFT, width: this.right - LEFT, y: this.y(high), height: Math.max(2, this.y(low) - this.y(high)),
    }));
  }

  lines() {
    const { names, levels } = this.told;
    const found = [];
    const ends = [];
    names.forEach((/** @type {string} */ name, /** @type {number} */ k) => {
      const { minutes, stops, low, high } = levels.get(name);
      const there = (/** @type {(number | null)[]} */ values) => minutes.map((minute, i) => [this.x(minute), this.y(values[i])]);
      const [upper, lower] = [there(high), there(low).reverse()];
      found.push(svg("path", { class: "day-band", d: `M${upper.join("L")}L${lower.join("L")}Z`, fill: `url(#${this.key}-${k})` }));
      const whole = [[LEFT, this.y(stops[0])], ...there(stops), [this.right, this.y(stops[stops.length - 1])]];
      found.push(svg("path", { class: `day-line line-${k}`, d: `M${whole.join("L")}`, "data-reading": name }));
      ends.push({ name, k, y: this.y(stops[stops.length - 1]) });
    });
    if (this.narrow) return found;
    ends.sort((a, b) => a.y - b.y);
    ends.forEach((one, i) => {
      one.y = i === 0 ? Math.max(TOP + 4, one.y) : Math.max(one.y, ends[i - 1].y + 14);
    });
    const over = ends.length ? Math.max(0, ends[ends.length - 1].y - this.foot) : 0;
    for (const one of ends) found.push(svg("text", { class: "day-line-name", x: this.right + 6, y: one.y - over + 4 }, one.name));
    return found;
  }

  /** When each target holds, and when the sun is in the frame or on the lens. */
  stretchRows() {
    const { day, levels } = this.told;
    const rows = Object.entries(this.app.tree.targets).flatMap(([name, one]) => {
      const times = targetStretches(one, levels);
      return times ? [{ name: `${name} holds`, times }] : [];
    }).slice(0, MOST_ROWS);
    const sun = [["sun in frame", day.in_frame], ["sun on the lens", day.on_lens]];
    for (const [name, flags] of sun) if (flags.some(Boolean)) rows.push({ name, times: flagStretches(day.minutes, flags).map((one) => ({ ...one, sure: true })) });
    return rows;
  }

  rowsDrawn() {
    const { clock } = this.told.hour;
    return this.rows.flatMap((/** @type {any} */ row, /** @type {number} */ k) => {
      const top = this.foot + BOTTOM + 4 + k * ROW;
      const bars = row.times.map((/** @type {any} */ one) => svg("rect", {
        class: one.sure ? "day-holds" : "day-holds is-maybe", x: this.x(one.start), y: top + 2, width: Math.max(2, this.x(one.end) - this.x(one.start)),
        height: ROW - 7, fill: one.sure ? null : `url(#${this.key}-maybe)`,
      }, svg("title", {}, `${row.name} ${clockText(clock, one.start)} to ${clockText(clock, one.end)}${one.sure ? "" : ", if the sky is as expected"}`)));
      return [svg("line", { class: "day-row", x1: LEFT, x2: this.right, y1: top + ROW - 3, y2: top + ROW - 3 }), ...bars, this.rowName(row, top)];
    });
  }

  /** A row's name where its bars leave room, in words that say so where there is no bar at all. */
  rowName({ name, times }, top) {
    const words = times.length > 0 ? name : `${name}: at no hour`;
    const wide = widthOf(words) + 12;
    const gaps = [];
    let from = LEFT;
    for (const one of times) {
      gaps.push([from, this.x(one.start)]);
      from = this.x(one.end);
    }
    gaps.push([from, this.right]);
    const [a] = gaps.filter(([low, high]) => high - low >= wide)[0] ?? [LEFT];
    return svg("text", { class: "day-row-name", x: a + 5, y: top + ROW - 6 }, words);
  }

  // The hour -----------------------------------------------------------------------------------

  hourLine() {
    const { minute, hour, names, levels } = this.told;
    const x = this.x(minute);
    const words = clockText(hour.clock, minute);
    const wide = widthOf(words, { bold: true }) + 12;
    const at = Math.min(this.widthPx - wide - 1, Math.max(1, x - wide / 2));
    const dots = names.flatMap((/** @type {string} */ name, /** @type {number} */ k) => {
      const stops = levelAt(levels.get(name), minute);
      return stops === null ? [] : [svg("circle", { class: `day-dot line-${k}`, cx: x, cy: this.y(stops), r: 4 })];
    });
    return [
      svg("line", { class: "day-now", x1: x, x2: x, y1: TOP - 2, y2: this.foot + 4 }),
      ...dots,
      svg("g", { class: "day-handle" },
        svg("rect", { x: at, y: 1, width: wide, height: 18, rx: 4 }),
        svg("text", { x: at + wide / 2, y: 14 }, words)),
    ];
  }

  /** @param {PointerEvent} event */
  press(event) {
    if (event.button !== 0 || !this.told?.day) return;
    event.preventDefault();
    const { element } = this;
    element.setPointerCapture(event.pointerId);
    const to = (/** @type {PointerEvent} */ next) => {
      const px = next.clientX - element.getBoundingClientRect().left;
      const long = this.told.hour.clock.length;
      const minute = STEP_MIN * Math.round(((px - LEFT) / (this.right - LEFT)) * (long / STEP_MIN));
      this.hand.drag(Math.min(long - STEP_MIN, Math.max(0, minute)));
    };
    const off = () => {
      element.removeEventListener("pointermove", to);
      element.removeEventListener("pointerup", up);
      element.removeEventListener("pointercancel", gone);
      removeEventListener("keydown", key, true);
    };
    const up = () => {
      off();
      this.hand.end();
    };
    const gone = () => {
      off();
      this.hand.leave();
    };
    const key = (/** @type {KeyboardEvent} */ pressed) => {
      if (pressed.key !== "Escape") return;
      pressed.stopPropagation();
      gone();
    };
    element.addEventListener("pointermove", to);
    element.addEventListener("pointerup", up);
    element.addEventListener("pointercancel", gone);
    addEventListener("keydown", key, true);
    to(event);
  }

  /** The graph for whoever does not see it. */
  words() {
    const { minute, names, levels, hour } = this.told;
    const each = names.map((/** @type {string} */ name) => {
      const stops = levelAt(levels.get(name), minute);
      return `${name} ${stops === null ? "unknown" : stopsTenths(stops)}${isSpot(this.app, name) ? " over middle grey" : ""}`;
    });
    return `Readings in stops over key, spots over middle grey, through the day; at ${clockText(hour.clock, minute)}: ${each.join(", ")}`;
  }
}

/** The kind of darkness at an altitude of the sun, or null by day. @param {number} altitude */
function kindOf(altitude) {
  const found = TWILIGHTS.find(([, end]) => altitude < Number(end));
  return found ? (found[0] === "astronomical" ? "night" : `${found[0]}`) : null;
}
