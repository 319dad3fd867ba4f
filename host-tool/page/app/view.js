// The frame to look at and to point at: drawing, buttons that turn it, the movement magnified.

import { FrameView } from "../../engine/src/page/scripts/frame.js";
import { listenToButtons } from "../../engine/src/page/scripts/input.js";
import { movedBy } from "../../engine/src/page/scripts/moved.js";
import { button, h } from "./dom.js";

const BUTTONS = /** @type {[string, string, string, string][]} */ ([
  ["turn", "-15,0", "↶", "turn left"], ["turn", "15,0", "↷", "turn right"], ["turn", "0,15", "⤒", "tip forward"],
  ["turn", "0,-15", "⤓", "tip back"], ["zoom", "1.4", "+", "larger"], ["zoom", "0.714", "−", "smaller"],
]);

/** Buttons that turn the drawing, as on the pages of the command. */
export function controls() {
  return h("div", { class: "controls", role: "group", "aria-label": "View" },
    ...["front", "back", "top", "side", "corner"].map((look) => h("button", { type: "button", "data-look": look, "aria-pressed": String(look === "front") }, look)),
    ...BUTTONS.map(([kind, value, text, name]) => h("button", { type: "button", class: "sign-only", [`data-${kind}`]: value, "aria-label": name, title: name }, text)));
}

export class Drawing {
  /** @param {{ pickWeld(k: number): void, pickMember(k: number): void }} picks */
  constructor(picks) {
    this.picks = picks;
    this.host = h("div", { class: "frame", id: "frame" });
    this.controls = controls();
    this.times = h("input", { type: "range", id: "times", min: "0", max: "500", step: "5", on: { input: () => this.move() } });
    this.shown = h("output", { for: "times" });
    this.element = h("div", {}, this.host, this.controls,
      h("div", { class: "slider-head" }, h("label", { for: "times" }, "Movement exaggerated ", this.shown, " times")), this.times);
    /** @type {any} */
    this.view = null;
    /** @type {string | null} the view that the user chose; null for the one that shows most */
    this.chosen = null;
    this.host.addEventListener("turned", () => { this.chosen = "own"; });
    this.controls.addEventListener("click", ({ target }) => {
      const { look } = /** @type {HTMLElement} */ (target).dataset;
      if (look) this.chosen = look;
    });
    /** @type {AbortController | null} */
    this.living = null;
  }

  /** Draws a frame of the engine; the view stays as the user turned it. @param {any} data */
  show(data) {
    const before = this.view && { turned: this.view.turned, zoom: this.view.zoom, shift: this.view.shift };
    this.living?.abort();
    this.living = new AbortController();
    this.data = data;
    this.view = new FrameView(this.host, { scene: data.scene, marks: data.marks, shapes: data.shapes, pick: this.picks.pickWeld, pickMember: this.picks.pickMember, symbols: undefined, signal: this.living.signal });
    if (!this.wired) listenToButtons(this.controls, { host: this.host, look: (/** @type {string} */ name) => this.view.look(name), turn: (/** @type {number[]} */ ...by) => this.view.turn(...by), magnify: (/** @type {number} */ by) => this.view.magnify(by) });
    this.wired = true;
    if (before && this.chosen) Object.assign(this.view, before);
    else this.look(data.look);
    if (this.times.dataset.own === undefined) this.times.value = String(data.times);
    this.move();
  }

  /** Looks at it from where it moves most. @param {string} name */
  look(name) {
    this.view.look(name);
    this.chosen = null;
    for (const one of this.controls.querySelectorAll("[data-look]")) one.setAttribute("aria-pressed", String(/** @type {HTMLElement} */ (one).dataset.look === name));
  }

  move() {
    const { data } = this, times = Number(this.times.value);
    this.shown.textContent = String(times);
    if (document.activeElement === this.times) this.times.dataset.own = "";
    this.view.move(data.movement ? movedBy(data.members, data.movement, 0, times) : null, times);
    this.view.refresh();
  }

  /** Marks welds, and a member, or -1 for none. @param {number[]} welds @param {number} member */
  pickOut(welds, member) {
    this.data.marks.forEach((/** @type {any} */ mark, /** @type {number} */ k) => {
      mark.class = welds.includes(k) ? "next" : "later";
      mark.half = welds.includes(k) ? [21, 16] : [15, 15];
    });
    this.view.member = member;
    this.view.choose(welds.length === 1 ? welds[0] : -1);
  }
}

/** Back and forth in the history. @param {{ past: string[], future: string[] }} state @param {() => void} undo @param {() => void} redo */
export const historyButtons = ({ past, future }, undo, redo) => [
  button("↶ Undo", undo, { id: "undo", disabled: past.length === 0 }),
  button("↷ Redo", redo, { id: "redo", disabled: future.length === 0 }),
];
