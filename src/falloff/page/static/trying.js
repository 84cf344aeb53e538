// A step that is only tried: made as any change, so that it is traced, and kept or put back.

/** What is tried just now is kept in what the window looks at: a reload leaves it as it is. */
export class Trying {
  /** @param {any} app */
  constructor(app) {
    this.app = app;
    /** @type {number | null} the edit whose step is awaited */
    this.seq = null;
    /** The question whose answer it comes from, where it does. @type {any} */
    this.from = null;
    /** @type {any} that of the step that is awaited */
    this.next = null;
    app.status.watch((/** @type {any} */ value) => value, () => this.check());
  }

  /** {step, label} or null. */
  get now() {
    return this.app.look.state.trying;
  }

  /** Makes changes as one step that can be put back; what is tried already is put back first. @param {any[]} changes @param {any} [from] whose answer they are of */
  begin(changes, from = null) {
    const { app } = this;
    app.leaveTrial();
    if (this.now) this.putBack();
    if (!app.edit(changes)) return;
    this.seq = app.link.seq;
    this.next = from;
  }

  /** The server has made an edit: was it this one? @param {any} m a patch */
  hear(m) {
    if (this.seq === null || m.seq !== this.seq) return;
    this.seq = null;
    this.from = this.next;
    this.app.look.set({ trying: { step: m.at, label: m.steps[m.at] } });
  }

  keep() {
    const { label } = this.now;
    this.app.look.set({ trying: null });
    this.app.say(`Kept: ${label}.`);
  }

  /** Undoes exactly this step; what was done since stays. */
  putBack() {
    this.app.link.send({ t: "withdraw", ...this.now });
  }

  /** A step that is gone, undone or put back is tried no more. */
  check() {
    if (!this.now) return;
    const { steps, at } = this.app.status.value;
    const { step, label } = this.now;
    const gone = steps.length > 0 && (steps[step] !== label || at < step || steps.slice(step + 1, at + 1).includes(`put back: ${label}`));
    if (gone) this.app.look.set({ trying: null });
  }
}
