// What is set on the phone: setup, dims, exposure, what was metered; kept over a reload.
import { daylightPlace, hourShown, otherHour } from "./hours.js";
import { planned } from "./light.js";

/** The state of a copy; watchers are called once a frame after a change. */
export class State {
  /** @param {object} scene as Python wrote it */
  constructor(scene) {
    this.scene = scene;
    this.keptBy = `falloff-pocket ${scene.checksum}`;
    this.at = 0;
    this.peek = false;
    this.keeps = true;
    /** @type {Object<string, import("./light.js").Now>} */
    this.set = {};
    /** @type {Object<string, Object<string, object>>} by setup, by reading */
    this.metered = {};
    this.watchers = [];
    this.waiting = false;
    this._recall();
  }

  get setup() {
    return this.scene.setups[this.at];
  }

  /** How the setup is set, by name. */
  nowOf(setup) {
    this.set[setup.name] ??= planned(setup);
    return this.set[setup.name];
  }

  get now() {
    return this.nowOf(this.setup);
  }

  /** What is shown: as it is set, or the plan while one looks back at it. */
  get shown() {
    return this.peek ? planned(this.setup) : this.now;
  }

  choose(at) {
    this.at = at;
    this.peek = false;
    this._changed();
  }

  dim(source, knob) {
    this.now.knobs[source] = Math.min(Math.max(knob, 0), 1);
    delete this.now.out[source];
    this._moved();
  }

  /** Dims of several lights at once; what was put out stays out. */
  dimAll(knobs) {
    for (const [source, knob] of Object.entries(knobs)) this.now.knobs[source] = Math.min(Math.max(knob, 0), 1);
    this._moved();
  }

  turn(source, on) {
    if (on) delete this.now.out[source];
    else this.now.out[source] = true;
    this._moved();
  }

  pick(key, place) {
    this.now.chosen[key] = place;
    this._moved();
  }

  /** @param {import("./hours.js").Hour} hour */
  pickHour({ clock, light }) {
    if (light === null) delete this.now.hour;
    else this.now.hour = clock;
    this._moved();
  }

  /** All daylight of another hour, in or left out. */
  turnDay(on) {
    if (on) delete this.now.dayOut;
    else this.now.dayOut = true;
    this._moved();
  }

  look(peek) {
    this.peek = peek;
    this._changed();
  }

  back() {
    delete this.set[this.setup.name];
    this._moved();
  }

  /** How many things differ from the plan. */
  changes() {
    const { setup, now } = this;
    const other = otherHour(setup, now);
    const dims = setup.sources.filter(({ name, knob }) => {
      if (other && daylightPlace(setup, name) >= 0) return false;
      return now.out[name] || Math.abs(now.knobs[name] - knob) > 1e-9;
    });
    const own = setup.exposure.own;
    const hour = other ? 1 + (now.dayOut ? 1 : 0) : 0;
    return dims.length + hour + Object.keys(own).filter((key) => now.chosen[key] !== own[key]).length;
  }

  /** What was metered in this setup, by reading. */
  meteredHere() {
    this.metered[this.setup.name] ??= {};
    return this.metered[this.setup.name];
  }

  note(reading, entry) {
    if (entry === null) delete this.meteredHere()[reading];
    else this.meteredHere()[reading] = entry;
    this._changed();
  }

  forget() {
    this.metered = {};
    this._changed();
  }

  watch(watcher) {
    this.watchers.push(watcher);
  }

  _moved() {
    this.peek = false;
    this._changed();
  }

  _changed() {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      for (const watcher of this.watchers) watcher();
      clearTimeout(this.later);
      this.later = setTimeout(() => this.keep(), 200);
    });
  }

  /** Keep all of it in the browser, which may refuse for a file. */
  keep() {
    const { set, metered } = this;
    try {
      const kept = { setup: this.setup.name, set, metered };
      localStorage.setItem(this.keptBy, JSON.stringify(kept));
      this.keeps = true;
    } catch {
      this.keeps = false;
    }
  }

  _recall() {
    let kept = null;
    try {
      localStorage.setItem(`${this.keptBy} tried`, "yes");
      localStorage.removeItem(`${this.keptBy} tried`);
      kept = JSON.parse(localStorage.getItem(this.keptBy));
    } catch {
      this.keeps = false;
    }
    if (kept === null || typeof kept !== "object") return;
    this.at = Math.max(0, this.scene.setups.findIndex(({ name }) => name === kept.setup));
    for (const setup of this.scene.setups) {
      this.metered[setup.name] = soundEntries(kept.metered?.[setup.name]);
      const set = kept.set?.[setup.name];
      if (set && fits(setup, set)) this.set[setup.name] = set;
    }
  }
}

/** What was metered, without what nobody can have written down here. */
function soundEntries(kept) {
  if (kept === null || typeof kept !== "object") return {};
  const sound = ([, one]) =>
    typeof one?.time === "string" && typeof one.typed === "string" &&
    one.value > 0 && Number.isFinite(one.computed_value);
  return Object.fromEntries(Object.entries(kept).filter(sound));
}

/** Whether what was kept is of these very sources and lists. */
function fits(setup, set) {
  const known = setup.sources.every(({ name }) => Number.isFinite(set.knobs?.[name]));
  const lists = Object.keys(setup.exposure.own);
  const hour = set.hour === undefined || hourShown(setup, set)?.clock === set.hour;
  return known && hour && Boolean(set.out) && lists.every((key) => setup.exposure[key][set.chosen?.[key]]);
}
