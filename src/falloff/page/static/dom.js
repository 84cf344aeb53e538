// Making elements: no data ever becomes markup.

/**
 * An element with its properties and children. `class`, `on` (listeners), `aria` and `data` are
 * groups of their own; a property that is no DOM property becomes an attribute.
 * @param {string} tag
 * @param {Record<string, any>} [props]
 * @param {...any} children
 * @returns {any}
 */
export function el(tag, props = {}, ...children) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(props)) {
    if (value === undefined || value === null) continue;
    if (key === "class") node.className = value;
    else if (key === "on") for (const [on, call] of Object.entries(value)) node.addEventListener(on, call);
    else if (key === "aria") for (const [name, told] of Object.entries(value)) node.setAttribute(`aria-${name}`, String(told));
    else if (key === "data") for (const [name, told] of Object.entries(value)) node.dataset[name] = String(told);
    else if (key in node && key !== "list" && key !== "form") /** @type {any} */ (node)[key] = value;
    else node.setAttribute(key, String(value));
  }
  node.append(...children.filter((one) => one !== null && one !== undefined && one !== false));
  return node;
}

/** Sets a node's text if it is another. @param {Element} node @param {string} text */
export function say(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/**
 * Keeps the children of a parent in step with a list of keys: made once, kept, moved, taken away.
 * @param {Element} parent
 * @param {string[]} keys
 * @param {(key: string) => HTMLElement} make
 */
export function keyed(parent, keys, make) {
  const old = new Map([...parent.children].map((one) => [/** @type {HTMLElement} */ (one).dataset.key, one]));
  let before = parent.firstElementChild;
  for (const key of keys) {
    let node = old.get(key);
    old.delete(key);
    if (!node) {
      node = make(key);
      /** @type {HTMLElement} */ (node).dataset.key = key;
    }
    if (node === before) before = before.nextElementSibling;
    else parent.insertBefore(node, before);
  }
  for (const gone of old.values()) gone.remove();
}
