// Full size: the picture traced anew, as large as it is wanted, in a box with a way to save it.

const WIDTHS_PX = [1280, 1920];

/**
 * @param {HTMLElement} root gets the button
 * @param {object} app
 * @returns {() => void} takes it down
 */
export function mount(root, app) {
  const full = new FullSize(root, app);
  return () => full.takeDown();
}

class FullSize {
  constructor(root, app) {
    this._app = app;
    this._root = root;
    this._job = null;
    this._turn = 0;
    const open = button("Full size", () => this.open());
    this._dialog = make("dialog", "fullsize");
    this._dialog.setAttribute("aria-label", "Full size");
    this._dialog.addEventListener("close", () => this._stop());
    this._widths = make("fieldset", "fullsize-widths");
    const legend = make("legend", "", "Width");
    this._widths.append(legend, ...WIDTHS_PX.map((width, k) => choice(width, k === 0)));
    this._start = button("Trace it", () => this._run());
    this._cancel = button("Cancel", () => this._stop("Cancelled."));
    this._progress = make("progress", "fullsize-progress");
    this._progress.setAttribute("aria-label", "How much is traced");
    this._words = make("p", "fullsize-words");
    this._words.setAttribute("role", "status");
    this._image = make("img", "fullsize-image");
    this._save = make("a", "button fullsize-save", "Save the picture");
    this._close = button("Close", () => this._dialog.close());
    const bar = make("div", "fullsize-bar");
    bar.append(this._widths, this._start, this._cancel, this._progress, this._save, this._close);
    this._dialog.append(bar, this._words, this._image);
    root.append(open, this._dialog);
    this._set("idle");
  }

  open() {
    this._set("idle");
    this._words.textContent = "Every ray is traced anew: this takes from seconds to a few minutes.";
    this._dialog.showModal();
  }

  async _run() {
    const { setup } = this._app.look.state;
    const chosen = this._widths.querySelector("input:checked");
    const width = Number(chosen.value);
    this._turn += 1;
    const mine = this._turn;
    this._set("running");
    this._words.textContent = `Tracing ${setup}, ${width} pixels wide.`;
    this._job = this._app.job("full", { setup, width }, (share) => {
      if (mine === this._turn) this._progress.value = share;
    });
    try {
      const { key } = await this._job.done;
      if (mine !== this._turn) return;
      this._image.src = `/blob/${key}`;
      this._image.alt = `${setup}, ${width} pixels wide`;
      this._save.href = this._image.src;
      this._save.download = `${setup.replaceAll(/[^\p{L}\p{N}]+/gu, "-")}-${width}.png`;
      this._words.textContent = `${setup}, ${width} pixels wide.`;
      this._set("done");
    } catch (fault) {
      if (mine !== this._turn) return;
      this._words.textContent = `No picture: ${fault?.message ?? fault}`;
      this._set("idle");
    }
  }

  _stop(words = "") {
    this._turn += 1;
    this._job?.cancel();
    this._job = null;
    if (words) this._words.textContent = words;
    this._set("idle");
  }

  /** @param {"idle" | "running" | "done"} state which parts are there */
  _set(state) {
    if (state !== "running") this._job = null;
    this._widths.disabled = state === "running";
    this._start.hidden = state === "running";
    this._cancel.hidden = this._progress.hidden = state !== "running";
    this._progress.removeAttribute("value");
    this._save.hidden = this._image.hidden = state !== "done";
  }

  takeDown() {
    this._stop();
    this._root.replaceChildren();
  }
}

function make(name, className, words = "") {
  const made = document.createElement(name);
  if (className) made.className = className;
  if (words) made.textContent = words;
  return made;
}

function button(words, act) {
  const made = make("button", "", words);
  made.type = "button";
  made.addEventListener("click", act);
  return made;
}

function choice(width, checked) {
  const label = make("label", "fullsize-width");
  const input = make("input", "");
  Object.assign(input, { type: "radio", name: "fullsize-width", value: String(width), checked });
  label.append(input, `${width} pixels`);
  return label;
}
