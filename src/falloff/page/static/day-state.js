// The days of the setups, and the hour that a hand drags in this window before it is an edit.

import { timeText } from "./day-clock.js";
import { Signal } from "./store.js";

const SEND_EVERY_MS = 40;

export class Days {
  /** @param {any} app */
  constructor(app) {
    this.app = app;
    this.changed = new Signal(); // (): a day came, or the hour moved
    /** @type {Map<string, any>} */
    this.days = new Map();
    /** Setups whose day is of an earlier state. @type {Set<string>} */
    this.stale = new Set();
    /** What a hand drags. @type {{setup: string, minute: number, released: boolean} | null} */
    this.held = null;
    this.sentAt = 0;
    /** @type {number | undefined} */
    this.timer = undefined;
    app.store.watch((/** @type {any} */ tree) => tree?.day, () => this.settle());
  }

  /** @param {any} message */
  hear({ setup, day, stale }) {
    this.days.set(setup, day);
    if (stale) this.stale.add(setup);
    else this.stale.delete(setup);
    this.changed.tell();
  }

  /** Its day is of an earlier state until the next one comes. @param {string} setup */
  wait(setup) {
    if (!this.days.has(setup)) return;
    this.stale.add(setup);
    this.changed.tell();
  }

  /** @param {string} setup @returns {any} as docs/page.md has it, or null */
  of(setup) {
    const day = this.days.get(setup);
    const now = this.app.tree?.day?.at[setup];
    // Of another date it says nothing of this one.
    return day && now && day.date === now.date ? day : null;
  }

  /** What the tree says of a setup's hour, or null. @param {string} setup */
  hourOf(setup) {
    return this.app.tree?.day?.at[setup] ?? null;
  }

  /** Real minutes since midnight of a setup's hour, also while it is dragged. @param {string} setup */
  minute(setup) {
    if (this.held?.setup === setup) return this.held.minute;
    return this.hourOf(setup)?.minute ?? null;
  }

  /** @param {() => void} call */
  watch(call) {
    return this.changed.watch(call);
  }

  /** A hand drags the hour of the setup that is shown. @param {number} minute */
  drag(minute) {
    const { setup } = this.app.look.state;
    if (!this.hourOf(setup)) return;
    this.held = { setup, minute, released: false };
    this.changed.tell();
    this.sendSoon();
  }

  /** The hand lets go: what it dragged becomes an edit. @param {string | null} [gesture] */
  end(gesture = null) {
    const { held } = this;
    if (!held || held.released) return;
    clearTimeout(this.timer);
    this.timer = undefined;
    const hour = this.hourOf(held.setup);
    if (!hour || hour.minute === held.minute) {
      this.leave();
      return;
    }
    held.released = true;
    const at = timeText(hour.clock, held.minute);
    if (!this.app.edit([{ do: "hour", at }], { gesture })) this.leave();
  }

  /** Back where it was, without a step. */
  leave() {
    const { held } = this;
    clearTimeout(this.timer);
    this.timer = undefined;
    this.held = null;
    if (held) this.app.link.send({ t: "hour", setup: held.setup, at: null });
    this.changed.tell();
  }

  /** An edit was refused: if it was this hour's, all is shown as it really is. */
  refused() {
    if (this.held?.released) this.leave();
  }

  /** The tree says the hour now. */
  settle() {
    if (this.held?.released) this.held = null;
    this.changed.tell();
  }

  sendSoon() {
    if (this.timer !== undefined) return;
    const wait = Math.max(0, this.sentAt + SEND_EVERY_MS - performance.now());
    this.timer = setTimeout(() => {
      this.timer = undefined;
      if (!this.held || this.held.released) return;
      this.sentAt = performance.now();
      const { setup, minute } = this.held;
      const hour = this.hourOf(setup);
      const direct = this.app.light.direct.has(setup);
      if (hour) this.app.link.send({ t: "hour", setup, at: timeText(hour.clock, minute), direct });
    }, wait);
  }
}
