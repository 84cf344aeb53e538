// Questions to the server and longer pieces of work: who waits for which answer.

const UNLINKED = "not linked to Falloff just now";

/** Questions on their way, by their names. */
export class Asking {
  /** @param {import("./link.js").Link} link */
  constructor(link) {
    this.link = link;
    this.count = 0;
    /** @type {Map<string, (message: any) => void>} */
    this.waiting = new Map();
  }

  /**
   * Asks the server something that one reply answers.
   * @param {string} what
   * @param {any} parts
   * @returns {Promise<any>}
   */
  ask(what, parts) {
    return new Promise((resolve, reject) => {
      this.send({ t: "ask", what, ...parts }, (m) => (m.point ?? m.sun ? resolve(m.point ?? m.sun) : reject(reason(m))));
    });
  }

  /**
   * A longer piece of work, with progress from 0 to 1.
   * @param {string} what
   * @param {any} parts
   * @param {(share: number, answer?: any) => void} onProgress   answer: what is known of it so far
   * @returns {{done: Promise<{key: string, answer?: any}>, cancel: () => void}}
   */
  job(what, parts, onProgress) {
    let id = "";
    const done = new Promise((resolve, reject) => {
      id = this.send({ t: "job", what, ...parts }, (m) => {
        if (m.ended === "done") resolve({ key: m.key, answer: m.answer });
        else if (m.ended) reject(reason(m));
        else onProgress(m.done / m.of, m.answer);
      });
    });
    return { done, cancel: () => this.waiting.has(id) && this.link.send({ t: "cancel", id }) };
  }

  /** @param {any} message @param {(message: any) => void} call hears the answers */
  send(message, call) {
    const id = `${message.t} ${(this.count += 1)}`;
    this.waiting.set(id, call);
    if (!this.link.send({ ...message, id })) this.hear({ id, ended: "failed", why: UNLINKED });
    return id;
  }

  /** One answer. @param {any} message */
  hear(message) {
    this.waiting.get(message.id)?.(message);
    if (message.t === "reply" || message.ended) this.waiting.delete(message.id);
  }

  /** The link has broken: whoever waits for a word over it is told so. */
  forsake() {
    for (const id of [...this.waiting.keys()]) this.hear({ id, ended: "failed", why: UNLINKED });
  }
}

/** Why there is no answer. @param {any} message */
function reason({ ended, why }) {
  if (ended === "cancelled") return new Error("cancelled");
  return new Error(Array.isArray(why) ? why.join(" ") : why ?? "no answer");
}
