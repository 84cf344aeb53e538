// The dialog that adds a light, grip, a prop or a person from the kit.

const SECTIONS = { fixtures: "Lights", practicals: "Lights in shot", grip: "Grip", props: "Props", subjects: "People" };
const MOST = 60; // shown at once

/**
 * A dialog that lists the kit; `choose` is told what was taken.
 * @param {{kit: () => Object<string, {what: string, says: string}[]>,
 *   choose: (section: string, what: string) => void}} how
 */
export function addDialog({ kit, choose }) {
  const dialog = document.createElement("dialog");
  dialog.className = "plan-add";
  dialog.setAttribute("aria-label", "add from the kit");
  const search = Object.assign(document.createElement("input"), { type: "search", placeholder: "search the kit" });
  search.setAttribute("aria-label", "search the kit");
  const list = document.createElement("div");
  list.className = "plan-add-list";
  const close = Object.assign(document.createElement("button"), { type: "button", textContent: "Close" });
  const head = document.createElement("div");
  head.className = "plan-add-head";
  head.append(search, close);
  dialog.append(head, list);

  close.addEventListener("click", () => dialog.close());
  dialog.addEventListener("click", (event) => event.target === dialog && dialog.close());
  search.addEventListener("input", fill);
  search.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== "ArrowDown") return;
    event.preventDefault();
    const first = list.querySelector("button");
    if (event.key === "Enter") first?.click();
    else first?.focus();
  });
  list.addEventListener("keydown", (event) => {
    const way = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    const all = [...list.querySelectorAll("button")];
    (all[all.indexOf(document.activeElement) + way] ?? search).focus();
  });

  function fill() {
    const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    const parts = [];
    for (const [section, title] of Object.entries(SECTIONS)) {
      const found = (kit()[section] ?? []).filter(({ what, says }) =>
        words.every((word) => `${what} ${says} ${title}`.toLowerCase().includes(word)));
      if (!found.length) continue;
      const heading = Object.assign(document.createElement("h3"), { textContent: title });
      parts.push(heading, ...found.slice(0, MOST).map((one) => line(section, one)));
      if (found.length > MOST) {
        const more = document.createElement("p");
        more.textContent = `${found.length - MOST} more: type some of its name`;
        parts.push(more);
      }
    }
    if (!parts.length) {
      const none = document.createElement("p");
      none.textContent = "nothing in the kit is called that";
      parts.push(none);
    }
    list.replaceChildren(...parts);
  }

  function line(section, { what, says }) {
    const button = Object.assign(document.createElement("button"), { type: "button" });
    const name = Object.assign(document.createElement("span"), { textContent: what });
    const more = Object.assign(document.createElement("small"), { textContent: says });
    button.append(name, more);
    button.addEventListener("click", () => {
      dialog.close();
      choose(section, what);
    });
    return button;
  }

  return {
    dialog,
    open() {
      search.value = "";
      fill();
      dialog.showModal();
      search.focus();
    },
  };
}
