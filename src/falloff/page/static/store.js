// Values that can be watched: a watcher is called when the part it picked is another object.

/** A value and who watches parts of it. */
export class Watched {
  /** @param {any} value */
  constructor(value) {
    this.value = value;
    /** @type {Set<{pick: (value: any) => any, last: any, call: (part: any) => void}>} */
    this.watchers = new Set();
  }

  /** @param {any} value */
  put(value) {
    this.value = value;
    for (const one of [...this.watchers]) {
      if (!this.watchers.has(one)) continue;
      // Not of `value`: a watcher before this one may have put something newer.
      const part = one.pick(this.value);
      if (part === one.last) continue;
      one.last = part;
      guarded(one.call, part);
    }
  }

  /**
   * Calls with the part now and whenever it is another object; returns how to stop.
   * @param {(value: any) => any} pick
   * @param {(part: any) => void} call
   */
  watch(pick, call) {
    const one = { pick, last: pick(this.value), call };
    this.watchers.add(one);
    call(one.last);
    return () => this.watchers.delete(one);
  }
}

/** Whoever wants to be told that something happened. */
export class Signal {
  constructor() {
    /** @type {Set<(...args: any[]) => void>} */
    this.calls = new Set();
  }

  /** @param {(...args: any[]) => void} call */
  watch(call) {
    this.calls.add(call);
    return () => this.calls.delete(call);
  }

  /** @param {any[]} args */
  tell(...args) {
    for (const call of [...this.calls]) if (this.calls.has(call)) guarded(call, ...args);
  }
}

/** A fault in one piece of the page is told and leaves the others alone. */
function guarded(/** @type {(...args: any[]) => void} */ call, /** @type {any[]} */ ...args) {
  try {
    call(...args);
  } catch (fault) {
    reportError(fault);
  }
}
