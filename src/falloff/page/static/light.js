// Light layers in this window: fetched once by their names, the newest wanted one wins.

import { Signal } from "./store.js";

const KEPT_BYTES = 700e6;
const FIRST_RETRY_MS = 500;
const SLOWEST_RETRY_MS = 8000;

/** Contents by key, fetched once and kept while there is room. */
export class Blobs {
  constructor() {
    /** @type {Map<string, Promise<ArrayBuffer>>} */
    this.kept = new Map();
    /** @type {Map<string, number>} */
    this.sizes = new Map();
    this.held = 0;
  }

  /** @param {string} key @returns {Promise<ArrayBuffer>} */
  get(key) {
    const known = this.kept.get(key);
    if (known) {
      this.kept.delete(key);
      this.kept.set(key, known);
      return known;
    }
    const made = fetch(`/blob/${key}`).then((answer) => {
      if (!answer.ok) throw new Error(`no content ${key}`);
      return answer.arrayBuffer();
    });
    this.kept.set(key, made);
    made.then(
      (content) => {
        this.sizes.set(key, content.byteLength);
        this.held += content.byteLength;
        this.trim(key);
      },
      () => this.kept.delete(key),
    );
    return made;
  }

  /** @param {string} newest */
  trim(newest) {
    for (const key of this.kept.keys()) {
      if (this.held <= KEPT_BYTES) return;
      const size = this.sizes.get(key);
      if (size === undefined || key === newest) continue;
      this.held -= size;
      this.sizes.delete(key);
      this.kept.delete(key);
    }
  }
}

/** The light of every setup this window knows of. */
export class Light {
  /** @param {Blobs} blobs */
  constructor(blobs) {
    this.blobs = blobs;
    this.changed = new Signal(); // (setup)
    /** @type {Map<string, any>} */
    this.setups = new Map();
    /** @type {Set<string>} */
    this.direct = new Set();
  }

  /** @param {string} setup */
  of(setup) {
    const held = this.setups.get(setup);
    // A scene without any source has no layers, and is dark.
    return held && (held.layers.size > 0 || (held.pass && held.wanted.size === 0)) ? held : null;
  }

  /**
   * The colour that a window's or the sun's layer was made for, which its hour decides; null for
   * any other source. @param {string} setup @param {string} source @returns {number[] | null}
   */
  colourOf(setup, source) {
    return this.setups.get(setup)?.layers.get(source)?.colour ?? null;
  }

  /** @param {(setup: string) => void} call */
  watch(call) {
    return this.changed.watch(call);
  }

  /** Asks for the direct light apart from now on. @param {string} setup */
  wantDirect(setup) {
    if (this.direct.has(setup)) return;
    this.direct.add(setup);
    const held = this.setups.get(setup);
    if (held) for (const name of held.wanted.keys()) this.fetch(setup, held, [name]);
  }

  /** What is shown is of an earlier state: all of it waits for the trace. @param {string} setup */
  wait(setup) {
    const held = this.setups.get(setup);
    if (!held) return;
    held.pending = new Set(held.layers.keys());
    this.changed.tell(setup);
  }

  /** One `light` message. @param {any} message */
  hear(message) {
    const { setup } = message;
    let held = this.setups.get(setup);
    if (!held) {
      held = { width: 0, height: 0, layers: new Map(), ground: null, pending: new Set(), pass: "", wanted: new Map(), era: 0, turn: 0 };
      this.setups.set(setup, held);
    }
    held.turn += 1;
    if (message.whole) {
      held.era = held.turn;
      for (const name of [...held.wanted.keys()]) {
        if (!(name in message.layers)) {
          held.wanted.delete(name);
          held.layers.delete(name);
        }
      }
      const [width, height] = message.size;
      // A coarse picture is spread over the frame, unless the frame has another shape now.
      const alike = Math.abs(width / height - held.width / held.height) < 2 / height;
      if (message.pass === "full" || !alike) [held.width, held.height] = [width, height];
    }
    held.pass = message.pass;
    held.pending = new Set(message.pending);
    for (const [name, keys] of Object.entries(message.layers)) {
      const size = message.sizes?.[name] ?? message.size;
      const { era, turn } = held;
      held.wanted.set(name, { ...keys, size, colour: message.colours?.[name] ?? null, era, turn });
      if (message.whole) this.fetch(setup, held, [name]);
    }
    // A glance is one picture: its layers are shown together.
    if (!message.whole) this.fetch(setup, held, Object.keys(message.layers));
    if (message.ground) this.fetchGround(setup, held, message.ground, message.size);
    this.changed.tell(setup);
  }

  /** Layers that are shown together once they are there. @param {string} setup @param {any} held @param {string[]} names */
  async fetch(setup, held, names, wait = FIRST_RETRY_MS) {
    const wanted = new Map(names.map((name) => [name, held.wanted.get(name)]));
    const direct = this.direct.has(setup);
    try {
      const got = await Promise.all(names.map((name) => {
        const keys = wanted.get(name);
        return Promise.all([this.blobs.get(keys.sum), direct && keys.direct ? this.blobs.get(keys.direct) : null]);
      }));
      names.forEach((name, k) => this.put(held, name, wanted.get(name), got[k]));
      this.changed.tell(setup);
    } catch {
      const longer = Math.min(SLOWEST_RETRY_MS, 2 * wait);
      const left = () => names.filter((name) => held.wanted.get(name) === wanted.get(name));
      setTimeout(() => left().length > 0 && this.fetch(setup, held, left(), longer), wait);
    }
  }

  /** One layer that has come. @param {any} held @param {string} name @param {any} wanted @param {(ArrayBuffer | null)[]} content */
  put(held, name, wanted, [sum, direct]) {
    // Of one trace, older ones are shown until newer ones are there: a hand sees all that comes.
    const shown = held.layers.get(name);
    if (!held.wanted.has(name) || wanted.era !== held.era || wanted.turn < shown?.turn) return;
    const [width, height] = wanted.size;
    held.layers.set(name, {
      sum: new Float32Array(/** @type {ArrayBuffer} */ (sum)),
      direct: direct ? new Float32Array(direct) : null,
      width,
      height,
      colour: wanted.colour,
      turn: wanted.turn,
    });
  }

  /** @param {string} setup @param {any} held @param {string} key @param {[number, number]} size */
  async fetchGround(setup, held, key, size) {
    held.groundKey = key;
    const content = await this.blobs.get(key).catch(() => null);
    if (!content || held.groundKey !== key) return;
    held.ground = new Float32Array(content);
    [held.groundWidth, held.groundHeight] = size;
    this.changed.tell(setup);
  }
}
