// A hand on a range: shown at once, sent now and then as one step, let go once the server has said it.

const SEND_EVERY_MS = 220;
const LOOK_EVERY_MS = 30;
const PATIENCE_MS = 1000; // with what follows an answer
const RUN_MS = 1000; // keys pressed within this time are one step back

let count = 0;

export class Hand {
  /**
   * @param {any} app
   * @param {(value: any) => void} hold shows a value that is not sent yet; null lets go
   * @param {(value: any) => any[]} changes the edit that a value makes
   */
  constructor(app, hold, changes) {
    this.app = app;
    this.hold = hold;
    this.changes = changes;
    this.gesture = "";
    this.ended = 0;
    this.sentAt = 0;
    this.moving = false;
    /** Whether the value is still to be sent. */
    this.due = false;
    /** The edit that is on its way, which no other overtakes. @type {number | null} */
    this.waits = null;
    /** @type {number | undefined} */
    this.timer = undefined;
    // A window that is closed sends what it still holds.
    this.leave = () => this.due && this.send();
    addEventListener("pagehide", this.leave);
  }

  /** Whether what it shows is ahead of what the server has said. */
  get busy() {
    return this.moving || this.due || this.waits !== null;
  }

  /** The hand moves to a value. @param {any} value */
  move(value) {
    const now = performance.now();
    if (!this.gesture || (!this.busy && now - this.ended > RUN_MS)) {
      count += 1;
      this.gesture = `hand ${count} ${Math.round(performance.timeOrigin + now)}`;
    }
    this.moving = true;
    this.value = value;
    this.due = true;
    this.hold(value);
    this.look();
  }

  /** The hand lets go at a value. @param {any} value */
  end(value) {
    if (!this.moving || value !== this.value) this.move(value);
    this.moving = false;
    this.ended = performance.now();
    this.look();
  }

  /** A value that was typed or ticked: a step of its own. @param {any} value */
  set(value) {
    this.gesture = "";
    this.end(value);
    this.ended = -RUN_MS;
  }

  /** Sends what is due when it may, and lets go when all of it is part of what the server says. */
  look() {
    clearTimeout(this.timer);
    this.timer = undefined;
    if (this.waits !== null && this.isSaid()) this.waits = null;
    if (this.due && this.waits === null && performance.now() - this.sentAt >= SEND_EVERY_MS) this.send();
    if (this.due || this.waits !== null) this.timer = setTimeout(() => this.look(), LOOK_EVERY_MS);
    else if (!this.moving) this.release();
  }

  /** Whether the edit on its way is answered, and what it made has been heard. */
  isSaid() {
    const { pending, rev } = this.app;
    if (pending.has(this.waits)) return false;
    return rev !== this.sentRev || performance.now() - this.sentAt > PATIENCE_MS;
  }

  send() {
    this.sentRev = this.app.rev;
    this.due = false;
    this.sentAt = performance.now();
    if (this.app.edit(this.changes(this.value), { gesture: this.gesture })) this.waits = this.app.link.seq;
  }

  release() {
    this.hold(null);
    this.app.settle();
    this.app.tellAll();
  }

  close() {
    removeEventListener("pagehide", this.leave);
    clearTimeout(this.timer);
    if (this.busy) this.release();
  }
}

/**
 * A function that runs another at the next frame, however often it is called before.
 * @param {() => void} call
 */
export function nextFrame(call) {
  let asked = 0;
  return () => {
    if (asked) return;
    asked = requestAnimationFrame(() => {
      asked = 0;
      call();
    });
  };
}
