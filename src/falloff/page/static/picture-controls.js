// The row of choices over the picture: picture or stops map, which light, one source alone.

const VIEWS = [
  [false, "Picture"],
  [true, "Stops map"],
];
const LIGHTS = [
  ["all", "All light"],
  ["direct", "Direct"],
  ["bounced", "Bounced"],
];

/**
 * Fill `root` with the choices and keep them true.
 * @param {HTMLElement} root @param {object} app @returns {() => void} takes them down
 */
export function mountControls(root, app) {
  const view = group(root, "Shown as", "picture-view", VIEWS, (map) => app.look.set({ map }));
  const light = group(root, "Light", "picture-light", LIGHTS, (kind) => {
    app.look.set({ light: kind });
  });

  const alone = document.createElement("select");
  alone.addEventListener("change", () => app.look.set({ alone: alone.value || null }));
  root.append(field("Source", alone));

  const waveform = document.createElement("input");
  waveform.type = "checkbox";
  waveform.addEventListener("change", () => app.look.set({ waveform: waveform.checked }));
  const check = document.createElement("label");
  check.className = "picture-check";
  check.append(waveform, "Waveform");
  root.append(check);

  const list = (names) => {
    alone.replaceChildren(
      new Option("All sources", ""),
      ...names.map((name) => new Option(`${name} alone`, name)),
    );
    alone.value = app.look.state.alone ?? "";
  };
  const stops = [
    app.store.watch((tree) => tree.source_order, list),
    app.look.watch((state) => state.map, (map) => view(Boolean(map))),
    app.look.watch((state) => state.light, (value) => light(value ?? "all")),
    app.look.watch((state) => state.alone, (name) => (alone.value = name ?? "")),
    app.look.watch((state) => state.waveform, (on) => (waveform.checked = Boolean(on))),
  ];
  return () => {
    stops.forEach((stop) => stop?.());
    root.replaceChildren();
  };
}

/** One of a few, as radio buttons in a row; returns what ticks one. */
function group(root, legend, name, choices, act) {
  const set = document.createElement("fieldset");
  set.className = "picture-choices";
  const title = document.createElement("legend");
  title.textContent = legend;
  set.append(title);
  const inputs = choices.map(([value, words]) => {
    const label = document.createElement("label");
    const input = document.createElement("input");
    Object.assign(input, { type: "radio", name });
    input.addEventListener("change", () => act(value));
    const text = document.createElement("span");
    text.textContent = words;
    label.append(input, text);
    set.append(label);
    return input;
  });
  root.append(set);
  return (value) => {
    inputs.forEach((input, k) => {
      input.checked = choices[k][0] === value;
    });
  };
}

function field(words, input) {
  const label = document.createElement("label");
  label.className = "picture-field";
  const name = document.createElement("span");
  name.className = "picture-field-name";
  name.textContent = words;
  label.append(name, input);
  return label;
}
