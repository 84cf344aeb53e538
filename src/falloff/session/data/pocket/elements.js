// Elements in one call, and text that is only written where it changed.

/**
 * @param {string} tag
 * @param {Object<string, any>} parts class, on...: listeners, other names: attributes
 * @param {...(Node|string|null)} children
 * @returns {any}
 */
export function element(tag, parts = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(parts)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null) made.setAttribute(name, value);
  }
  made.append(...children.filter((child) => child !== null));
  return made;
}

/** Write a text where it is another. */
export function say(target, text) {
  if (target.textContent !== text) target.textContent = text;
}

/** A button with a word in it. */
export function button(text, onclick, parts = {}) {
  return element("button", { type: "button", onclick, ...parts }, text);
}
