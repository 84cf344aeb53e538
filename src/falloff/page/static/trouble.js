// What cannot stand as it is, at once and in full; what is worth knowing, folded by its weight.

import { el, say } from "./dom.js";

const WEIGHTS = [
  ["caution", "caution", "cautions"],
  ["warning", "warning", "warnings"],
  ["note", "note", "notes"],
];

/** @param {HTMLElement} root @param {any} app @returns {() => void} takes it down */
export function mount(root, app) {
  const faultList = el("ul", {});
  const faults = el("div", { class: "faults", role: "alert", hidden: true }, faultList);
  const count = el("summary", {});
  const list = el("div", { class: "findings-list" });
  const findings = el("details", { class: "findings", hidden: true }, count, list);
  findings.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Escape" || !findings.open) return;
    findings.open = false;
    count.focus();
    event.stopPropagation();
  });
  const outside = (/** @type {PointerEvent} */ event) => {
    if (findings.open && !findings.contains(/** @type {Node} */ (event.target))) findings.open = false;
  };
  document.addEventListener("pointerdown", outside);
  root.append(findings, faults);
  let told = "";

  const show = () => {
    const all = app.troubles.value;
    const own = all[app.look.state.setup];
    const text = [...new Set([...(all[""]?.faults ?? []), ...(own?.faults ?? [])])];
    const found = own?.findings ?? [];
    const now = JSON.stringify([text, found]);
    if (now === told) return;
    told = now;
    faults.hidden = text.length === 0;
    faultList.replaceChildren(...text.map((one) => el("li", {}, el("strong", {}, "Cannot stand: "), one)));
    findings.hidden = found.length === 0;
    const counted = [];
    const parts = [];
    for (const [weight, one, many] of WEIGHTS) {
      const these = found.filter((/** @type {any} */ finding) => finding.weight === weight);
      if (these.length === 0) continue;
      counted.push(`${these.length} ${these.length === 1 ? one : many}`);
      parts.push(el("h2", { class: `weight ${weight}` }, capital(these.length === 1 ? one : many)));
      parts.push(el("ul", {}, ...these.map(entry)));
    }
    say(count, counted.join(", "));
    findings.classList.toggle("heavy", found.some((/** @type {any} */ finding) => finding.weight !== "note"));
    list.replaceChildren(...parts);
  };

  const stops = [
    app.troubles.watch((/** @type {any} */ all) => all, show),
    app.look.watch((/** @type {any} */ look) => look.setup, show),
  ];
  return () => {
    document.removeEventListener("pointerdown", outside);
    stops.forEach((stop) => stop());
    root.replaceChildren();
  };
}

/** @param {any} finding */
function entry(finding) {
  const { about, says, do: act } = finding;
  return el("li", {}, el("strong", {}, `${about}: `), `${says}.`, act ? el("span", { class: "finding-do" }, ` ${capital(act)}.`) : null);
}

/** @param {string} text */
function capital(text) {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}
