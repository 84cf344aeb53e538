// The box in which a scene is told where on the earth it is, and when.

import { el, say } from "./dom.js";

/** @param {any} app */
export function locatedBox(app) {
  const zone = el("input", { type: "text", required: true, autocomplete: "off", spellcheck: false });
  const north = el("input", { type: "text", required: true, inputMode: "text", autocomplete: "off", placeholder: "51.5 N" });
  const east = el("input", { type: "text", required: true, inputMode: "text", autocomplete: "off", placeholder: "0.13 W" });
  const date = el("input", { type: "date", required: true });
  const time = el("input", { type: "time", required: true, value: "12:00" });
  const why = el("p", { class: "why", role: "alert" });
  const field = (/** @type {string} */ words, /** @type {any} */ input) => el("label", { class: "field" }, el("span", {}, words), input);
  const form = el("form", { method: "dialog" }, el("h2", {}, "Where and when"),
    el("p", { class: "quiet" }, "Written into the scene file as its location and its sky's hour; undo takes both out again."),
    field("Latitude, degrees N or S", north), field("Longitude, degrees E or W", east),
    field("Time zone", zone), field("Date", date), field("Time", time), why,
    el("div", { class: "box-end" },
      el("button", { type: "button", on: { click: () => node.close() } }, "Cancel"),
      el("button", { type: "submit", class: "main" }, "Write it")));
  const node = el("dialog", { class: "box", aria: { label: "Where and when" } }, form);
  form.addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    const latitude_deg = degrees(north.value, "NS", 90);
    const longitude_deg = degrees(east.value, "EW", 180);
    if (latitude_deg === null || longitude_deg === null) {
      say(why, `${latitude_deg === null ? "A latitude is written like 51.5 N" : "A longitude is written like 0.13 W"}.`);
      (latitude_deg === null ? north : east).focus();
      return;
    }
    const at = `${date.value} ${time.value}`;
    const seq = app.edit([{ do: "located", latitude_deg, longitude_deg, zone: zone.value.trim(), at }]) ? app.link.seq : null;
    if (seq === null) return;
    const stop = app.link.heard.watch((/** @type {any} */ message) => {
      if (message.seq !== seq || !["ack", "refused"].includes(message.t)) return;
      stop();
      if (message.t === "ack") node.close();
      else say(why, message.why.join(" "));
    });
  });
  return {
    node,
    open() {
      say(why, "");
      if (!zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone ?? "";
      if (!date.value) {
        const now = new Date();
        date.value = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((one) => String(one).padStart(2, "0")).join("-");
      }
      node.showModal();
      north.focus();
    },
  };
}

/** Degrees with a sign or with the letter of a side; null for anything else. */
function degrees(text, sides, most) {
  const found = /^\s*([-+−]?\d+(?:[.,]\d+)?)\s*°?\s*([NSEW])?\s*$/i.exec(text);
  if (!found) return null;
  const size = Number(found[1].replace("−", "-").replace(",", "."));
  const side = found[2]?.toUpperCase() ?? sides[0];
  if (!sides.includes(side) || Math.abs(size) > most || (found[2] && /^[-+−]/.test(found[1]))) return null;
  return side === sides[1] ? -size : size;
}
