// Before and after: an earlier step of the scene's history under a divider that is dragged, with
// the present picture on its other side.

/**
 * @param {HTMLElement} root gets the controls
 * @param {object} app
 * @param {HTMLElement} frame the picture's box, which the earlier picture is laid over
 * @returns {() => void} takes it down
 */
export function mount(root, app, frame) {
  const before = new Before(root, app, frame);
  const stops = [
    app.watchSteps(() => before.listSteps()),
    app.look.watch((state) => state.setup, () => before.fetch()),
    app.look.watch(
      ({ map, light, alone, unseen }) =>
        !map && (light ?? "all") === "all" && !alone && !unseen?.length,
      (whole) => before.hide(!whole),
    ),
  ];
  return () => {
    stops.forEach((stop) => stop?.());
    before.takeDown();
  };
}

class Before {
  constructor(root, app, frame) {
    this._app = app;
    this._frame = frame;
    this._wanted = 0;
    this._job = null;
    this._chosen = "";
    this._build(root);
  }

  _build(root) {
    this._select = element("select", "compare-steps");
    this._range = element("input", "compare-range");
    Object.assign(this._range, { type: "range", min: "0", max: "100", step: "0.5", value: "50" });
    this._state = element("span", "compare-state");
    this._state.setAttribute("role", "status");
    const choose = labelled("Before", this._select);
    this._slide = labelled("Divider", this._range);
    this._slide.classList.add("compare-slide");
    this._slide.hidden = true;
    root.append(choose, this._slide, this._state);
    this._root = root;

    this._image = element("img", "compare-before");
    this._image.alt = "";
    this._divider = element("div", "compare-divider");
    this._left = element("span", "compare-label compare-label-before");
    this._right = element("span", "compare-label compare-label-now");
    this._right.textContent = "now";
    this._layer = element("div", "compare-layer");
    this._layer.append(this._image, this._left, this._right, this._divider);
    this._layer.hidden = true;
    this._frame.append(this._layer);

    this._select.addEventListener("change", () => this.fetch());
    this._range.addEventListener("input", () => this._place());
    this._divider.addEventListener("pointerdown", (event) => this._drag(event));
    this._place();
  }

  listSteps() {
    const labels = this._app.steps();
    const chosen = this._select.value;
    const none = new Option("nothing", "");
    const options = labels.map((label, step) => new Option(`${step + 1}. ${label}`, String(step)));
    // The latest first: what was just left is what one looks back to.
    this._select.replaceChildren(none, ...options.reverse());
    // Undo and a new change put another state at the same number.
    this._select.value = chosen !== "" && labels[Number(chosen)] === this._chosen ? chosen : "";
    if (this._select.value !== chosen) this.fetch();
  }

  async fetch() {
    this._job?.cancel();
    this._job = null;
    this._wanted += 1;
    const mine = this._wanted;
    const step = this._select.value;
    this._show(null);
    this._state.textContent = "";
    if (step === "") return;
    const label = this._app.steps()[Number(step)];
    this._chosen = label;
    this._state.textContent = "Tracing what it was …";
    const { setup } = this._app.look.state;
    this._job = this._app.job("earlier", { setup, step: Number(step) }, (share) => {
      if (mine !== this._wanted) return;
      this._state.textContent = `Tracing what it was … ${Math.round(100 * share)} %`;
    });
    try {
      const { key } = await this._job.done;
      if (mine !== this._wanted) return;
      this._state.textContent = "";
      this._show(key, label);
    } catch (fault) {
      if (mine !== this._wanted) return;
      this._state.textContent = `No picture of before: ${fault?.message ?? fault}`;
    }
  }

  /** In the stops map, or with part of the light, there is nothing to compare: it waits. */
  hide(hidden) {
    this._hidden = hidden;
    const there = this._image.hasAttribute("src");
    this._layer.hidden = hidden || !there;
    this._slide.hidden = this._layer.hidden;
    if (there) this._state.textContent = hidden ? "shown beside the picture with all light" : "";
  }

  _show(key, label = "") {
    if (key === null) this._image.removeAttribute("src");
    else this._image.src = `/blob/${key}`;
    this._left.textContent = `before: ${label}`;
    this._image.alt = key === null ? "" : `The picture before: ${label}`;
    this.hide(Boolean(this._hidden));
  }

  _place() {
    const share = Number(this._range.value);
    this._layer.style.setProperty("--divider", `${share}%`);
    this._range.setAttribute("aria-valuetext", `${Math.round(share)} per cent of it is before`);
    this._left.hidden = share < 15;
    this._right.hidden = share > 90;
  }

  _drag(event) {
    event.preventDefault();
    this._divider.setPointerCapture(event.pointerId);
    const move = ({ clientX }) => {
      const box = this._frame.getBoundingClientRect();
      this._range.value = String((100 * (clientX - box.left)) / box.width);
      this._place();
    };
    this._divider.addEventListener("pointermove", move);
    const drop = () => this._divider.removeEventListener("pointermove", move);
    this._divider.addEventListener("lostpointercapture", drop, { once: true });
  }

  takeDown() {
    this._wanted += 1;
    this._job?.cancel();
    this._layer.remove();
    this._root.replaceChildren();
  }
}

function element(name, className) {
  const made = document.createElement(name);
  made.className = className;
  return made;
}

function labelled(words, input) {
  const label = element("label", "picture-field");
  const text = element("span", "picture-field-name");
  text.textContent = words;
  label.append(text, input);
  return label;
}
