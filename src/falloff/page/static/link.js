// The link to the server: one websocket, opened again when it breaks, edits with their acks.

import { Signal } from "./store.js";

const SLOWEST_RETRY_MS = 4000;

/** A websocket that comes back. */
export class Link {
  constructor() {
    this.heard = new Signal(); // (message)
    this.changed = new Signal(); // (open)
    this.open = false;
    this.seq = 0;
    this.wait = 200;
    /** @type {WebSocket | null} */
    this.socket = null;
  }

  /** @param {() => string} query */
  start(query) {
    this.query = query;
    this.connect();
  }

  connect() {
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    const socket = new WebSocket(`${scheme}//${location.host}/link?${this.query?.() ?? ""}`);
    this.socket = socket;
    socket.addEventListener("open", () => {
      this.open = true;
      this.wait = 200;
      this.changed.tell(true);
    });
    socket.addEventListener("message", (event) => {
      if (this.socket === socket) this.heard.tell(JSON.parse(event.data));
    });
    socket.addEventListener("close", () => {
      if (this.socket === socket) this.lost();
    });
  }

  /** There is no link just now: it is tried again, more and more seldom. */
  lost() {
    this.socket = null;
    this.open = false;
    this.changed.tell(false);
    setTimeout(() => this.connect(), this.wait);
    this.wait = Math.min(SLOWEST_RETRY_MS, this.wait * 2);
  }

  /** Sends a message if there is a link; whether there was. @param {Record<string, any>} message */
  send(message) {
    if (!this.open || !this.socket) return false;
    this.socket.send(JSON.stringify(message));
    return true;
  }

  /** Gives up this socket and comes back with a fresh state. */
  again() {
    if (!this.socket) return;
    this.socket.close();
    this.lost();
  }

  /** The number of the next edit. */
  next() {
    this.seq += 1;
    return this.seq;
  }
}
