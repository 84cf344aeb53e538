// What every piece of the page is given: the tree, what this window looks at, light, edits.

import { Asking } from "./asking.js";
import { Days } from "./day-state.js";
import { Blobs, Light } from "./light.js";
import { Link } from "./link.js";
import { exposureOf, gainsOf } from "./mixing.js";
import { Signal, Watched } from "./store.js";
import { apply } from "./tree.js";
import { Trying } from "./trying.js";

const LOOK = {
  setup: "", spot: "", map: false, light: "all", alone: null, plan: false, section: false,
  waveform: false, cross: null, chosen: null, theme: "system", beside: false,
  unseen: [], dayOpen: null, dayReadings: null, wanted: "", trying: null,
};
const LOOK_KEY = "falloff look";
const RETRY_MS = 500;

/** The state of this window and its ways to the server. */
export class App {
  constructor() {
    this.store = new Watched(null);
    Object.defineProperty(this.store, "tree", { get: () => this.store.value });
    this.link = new Link();
    this.asking = new Asking(this.link);
    this.blobs = new Blobs();
    this.light = new Light(this.blobs);
    this.looked = new Watched({ ...LOOK, ...kept() });
    this.gainsChanged = new Signal();
    this.exposureChanged = new Signal();
    this.meterChanged = new Signal();
    this.said = new Watched("");
    this.status = new Watched({ open: false, saved: true, steps: [], at: 0, outside: null });
    this.answers = new Watched({});
    this.troubles = new Watched({});
    /** Dims and exposure that are looked at and not written; see question.js. @type {Watched} */
    this.trials = new Watched(null);
    /** @type {Record<string, any>} targets that the server judges, by setup */
    this.judged = {};
    /** @type {Map<string, any>} */
    this.meters = new Map();
    /** @type {Map<string, any>} source -> {knob?, kelvin?} that a hand holds just now */
    this.held = new Map();
    /** @type {any} */
    this.idle = false; // whether the worker has done all that is asked
    this.heldSettings = null;
    /** @type {Map<number, {changes: any[]}>} */
    this.pending = new Map();
    /** @type {Map<string, Float32Array>} */
    this.tones = new Map();
    this.days = new Days(this);
    const app = this;
    this.look = {
      get state() {
        return app.looked.value;
      },
      set: (/** @type {any} */ changes) => this.lookAt(changes),
      watch: (/** @type {any} */ pick, /** @type {any} */ call) => this.looked.watch(pick, call),
    };
    this.trying = new Trying(this);
    this.meter = {
      of: (/** @type {string} */ setup) => this.meters.get(setup) ?? null,
      watch: (/** @type {any} */ call) => this.meterChanged.watch(call),
    };
  }

  /** The tree that the server told. */
  get tree() {
    return this.store.value;
  }

  start() {
    this.link.heard.watch((message) => this.hear(message));
    this.link.changed.watch((open) => {
      this.status.put({ ...this.status.value, open });
      if (!open) this.asking.forsake();
    });
    this.link.start(() => new URLSearchParams({ setup: this.look.state.setup }).toString());
  }

  // Hearing ------------------------------------------------------------------------------

  /** @param {any} message */
  hear(message) {
    const on = /** @type {Record<string, (message: any) => void>} */ ({
      hello: (m) => this.hello(m),
      patch: (m) => this.patched(m),
      ack: (m) => this.acked(m.seq),
      refused: (m) => this.refused(m),
      light: (m) => this.light.hear(m),
      idle: (m) => { this.idle = m.is; },
      stale: (m) => { this.light.wait(m.setup); this.days.wait(m.setup); },
      day: (m) => this.days.hear(m),
      meter: (m) => {
        this.meters.set(m.setup, m.meter);
        this.meterChanged.tell(m.setup);
      },
      answer: (m) => {
        this.judged[m.setup] = m.judged;
        this.answers.put({ ...this.answers.value, [m.setup]: m.sentences });
      },
      trouble: (m) => this.troubles.put({ ...this.troubles.value, [m.setup ?? ""]: m }),
      saved: (m) => this.status.put({ ...this.status.value, saved: m.rev >= this.rev }),
      outside: (m) => this.status.put({ ...this.status.value, outside: m.why }),
      notice: (m) => this.say(m.says),
      reply: (m) => this.asking.hear(m),
      job: (m) => this.asking.hear(m),
    })[message.t];
    on?.(message);
  }

  /** @param {any} m */
  hello(m) {
    if (this.version !== undefined && this.version !== m.version) location.reload();
    this.version = m.version;
    this.pending.clear();
    this.held.clear();
    this.heldSettings = null;
    this.rev = m.rev;
    this.idle = m.idle;
    this.loadTones(m.tree);
    this.store.put(m.tree);
    this.status.put({ ...this.status.value, open: true, saved: m.saved, steps: m.steps, at: m.at, outside: m.outside });
    this.lookAtWhatIsThere();
    this.tellLook();
    this.tellAll();
  }

  /** @param {any} m */
  patched(m) {
    if (m.rev !== this.rev + 1) {
      this.link.again();
      return;
    }
    if (m.patch.length > 0) this.leaveTrial();
    const before = this.tree;
    let tree;
    try {
      tree = apply(before, m.patch);
    } catch {
      this.link.again();
      return;
    }
    this.rev = m.rev;
    this.loadTones(tree);
    this.store.put(tree);
    this.trying.hear(m);
    this.status.put({ ...this.status.value, saved: false, steps: m.steps, at: m.at });
    this.lookAtWhatIsThere();
    if (this.look.state.beside && tree.setup_order !== before.setup_order) this.tellLook();
    this.settle();
    this.tellAll();
  }

  /** Lets go of what a hand held once the tree says the same. */
  settle() {
    if (this.pending.size > 0) return;
    for (const [source, held] of this.held) {
      if (!held.released) continue;
      this.held.delete(source);
    }
    if (this.heldSettings?.released) this.heldSettings = null;
  }

  /** @param {number} seq */
  acked(seq) {
    this.pending.delete(seq);
  }

  /** @param {any} m */
  refused(m) {
    if (m.seq !== null) this.pending.delete(m.seq);
    this.held.clear();
    this.heldSettings = null;
    this.days.refused();
    this.say(m.why.join(" "), "refused");
    this.tellAll();
    this.store.put({ ...this.tree });
  }

  tellAll() {
    this.gainsChanged.tell();
    this.exposureChanged.tell();
  }

  // Looking at what is not written ---------------------------------------------------------

  /** What is looked at, or null. */
  get trial() {
    return this.trials.value;
  }

  /** Shows some setups with other dims and another exposure. @param {any} trial {setups, label, take} */
  tryOut(trial) {
    this.trials.put(trial);
    this.tellAll();
  }

  /** Shows them again as they are written. */
  leaveTrial() {
    if (this.trial) this.tryOut(null);
  }

  // Editing ------------------------------------------------------------------------------

  /**
   * Sends changes, which are shown at once where they can be.
   * @param {any[]} changes
   * @param {{gesture?: string | null}} [how]
   */
  edit(changes, { gesture = null } = {}) {
    const seq = this.link.next();
    const sent = this.link.send({ t: "edit", seq, setup: this.look.state.setup, gesture, changes });
    if (!sent) {
      this.say("Not linked to Falloff just now: nothing can be changed until it is back.", "refused");
      return false;
    }
    this.pending.set(seq, { changes });
    this.say("");
    return true;
  }

  /** A hand that dragged something has let go. */
  rest() {
    this.link.send({ t: "rest" });
  }

  /**
   * A hand takes back its gesture, which leaves no step.
   * @param {string} gesture
   * @param {any[]} changes that put things back where another step came between
   */
  unmake(gesture, changes) {
    this.link.send({ t: "unmake", setup: this.look.state.setup, gesture, changes });
  }

  undo() {
    this.link.send({ t: "undo" });
  }

  redo() {
    this.link.send({ t: "redo" });
  }

  /** @param {number} step */
  back(step) {
    this.link.send({ t: "back", step });
  }

  /**
   * What a hand moves just now on a source; null: it has let go, the server's word is awaited.
   * @param {string} source
   * @param {{knob?: number, kelvin?: number} | null} value
   */
  hold(source, value) {
    const held = this.held.get(source);
    if (value) this.held.set(source, { ...held, ...value, released: false });
    else if (held) held.released = true;
    if (!value) this.settle();
    this.gainsChanged.tell();
  }

  /** Stops, white balance and the like while they are moved. @param {any} value */
  holdSettings(value) {
    if (value) this.heldSettings = { ...this.heldSettings, ...value, released: false };
    else if (this.heldSettings) this.heldSettings.released = true;
    if (!value) this.settle();
    this.exposureChanged.tell();
  }

  // Light --------------------------------------------------------------------------------

  /**
   * The factor on each source's white light, of this very moment.
   * @param {string} setup
   * @param {{alone?: string | null}} [how]
   */
  gains(setup, { alone = this.look.state.alone } = {}) {
    return gainsOf(this, setup, alone);
  }

  /** @param {() => void} call */
  watchGains(call) {
    return this.gainsChanged.watch(call);
  }

  /** The camera's exposure of a setup, of this very moment. @param {string} setup */
  exposure(setup) {
    return exposureOf(this, setup);
  }

  /** @param {() => void} call */
  watchExposure(call) {
    return this.exposureChanged.watch(call);
  }

  /** @param {any} tree */
  async loadTones(tree) {
    const keys = new Set(Object.values(tree.setups).map((one) => /** @type {any} */ (one).tone));
    await Promise.all([...keys].filter((key) => !this.tones.has(key)).map(async (key) => {
      try {
        this.tones.set(key, new Float32Array(await this.blobs.get(key)));
        this.exposureChanged.tell();
      } catch {
        if (this.link.open) setTimeout(() => this.loadTones(this.tree), RETRY_MS);
      }
    }));
  }

  /** @param {string} key */
  blob(key) {
    return this.blobs.get(key);
  }

  // Looking and asking -------------------------------------------------------------------

  /** @param {any} changes */
  lookAt(changes) {
    const state = { ...this.looked.value, ...changes };
    this.looked.put(state);
    sessionStorage.setItem(LOOK_KEY, JSON.stringify({ ...state, chosen: null }));
    if (!this.tree) return;
    if ("setup" in changes || "beside" in changes) this.tellLook();
    if ("alone" in changes || "unseen" in changes || "setup" in changes) this.gainsChanged.tell();
    if ("setup" in changes) this.exposureChanged.tell();
    if (changes.chosen) this.link.send({ t: "grab", name: changes.chosen });
  }

  /** Tells the server which light this window needs. */
  tellLook() {
    const { setup, beside } = this.look.state;
    this.link.send({ t: "look", setup, beside: beside ? this.tree.setup_order : [] });
  }

  /** Looks away from a setup or a source that has gone. */
  lookAtWhatIsThere() {
    const { setups, setup_order, sources } = this.tree;
    const { setup, alone, unseen } = this.look.state;
    if (!setups[setup]) this.lookAt({ setup: setup_order[0] ?? "" });
    if (alone && !sources[alone]) this.lookAt({ alone: null });
    const left = unseen.filter((/** @type {string} */ name) => sources[name]);
    if (left.length < unseen.length) this.lookAt({ unseen: left });
  }

  /** Asks what one reply answers. @param {string} what @param {any} parts @returns {Promise<any>} */
  ask(what, parts) {
    return this.asking.ask(what, parts);
  }

  /**
   * A longer piece of work, with progress from 0 to 1.
   * @param {string} what
   * @param {any} parts
   * @param {(share: number, answer?: any) => void} [onProgress]
   */
  job(what, parts, onProgress = () => {}) {
    return this.asking.job(what, parts, onProgress);
  }

  steps() {
    return this.status.value.steps;
  }

  /** @param {(steps: string[]) => void} call */
  watchSteps(call) {
    return this.status.watch((value) => value.steps, call);
  }

  /** The status line. @param {string} text @param {string} [tone] */
  say(text, tone = "") {
    this.said.put({ text, tone });
  }
}

function kept() {
  try {
    return JSON.parse(sessionStorage.getItem(LOOK_KEY) ?? "{}");
  } catch {
    return {};
  }
}
