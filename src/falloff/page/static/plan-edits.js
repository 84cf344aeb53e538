// A hand's edits on their way: one gesture a drag, some twelve a second, the newest kept.

const PAUSE_MS = 85;
let gestures = 0;

/** A name for a gesture that no other has. */
function gestureName() {
  gestures += 1;
  return `plan-${Date.now().toString(36)}-${gestures}`;
}

/**
 * Edits of one movement of a hand. What is sent last counts; what lies between may be left out.
 */
export class Gesture {
  /** @param {{edit: Function, rest: Function, unmake: Function}} app */
  constructor(app) {
    this.app = app;
    this.name = gestureName();
    this.waiting = null;
    this.timer = 0;
    this.sent = false;
  }

  /**
   * Send changes as soon as the pause after the ones before is over.
   * @param {object[] | (() => object[] | null)} changes or what gives them when they are sent
   */
  send(changes) {
    this.waiting = changes;
    if (!this.timer) this.flush();
  }

  /** The hand has let go: what waits is sent, and the server may settle. */
  end() {
    this.flush();
    if (this.sent) this.app.rest();
  }

  /**
   * The hand takes back all that it did: nothing of the gesture stays, not even a step.
   * @param {object[]} changes that put it back where another step came between
   */
  takeBack(changes) {
    this.waiting = null;
    if (this.sent) this.app.unmake(this.name, changes);
    this.sent = false;
  }

  flush() {
    clearTimeout(this.timer);
    this.timer = 0;
    const next = this.waiting;
    this.waiting = null;
    const changes = typeof next === "function" ? next() : next;
    if (!changes?.length) return;
    if (this.app.edit(changes, { gesture: this.name })) this.sent = true;
    this.timer = setTimeout(() => {
      this.timer = 0;
      if (this.waiting) this.flush();
    }, PAUSE_MS);
  }
}
