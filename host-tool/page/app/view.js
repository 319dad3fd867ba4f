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
    /** @type {any} */ this.view = null;
    /** @type {any} */ this.frame = null;
    /** @type {any} */ this.moved = null;
    /** @type {{ welds: number[], member: number }} */ this.picked = { welds: [], member: -1 };
    this.due = false;
    /** @type {string | null} the view that the engine advised */ this.looked = null;
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

  /**
   * Draws a frame of the engine, its movement, and what is picked, all at once; the view stays as the user turned it.
   * @param {any} frame @param {any} moved @param {{ welds: number[], member: number }} picked
   */
  show(frame, moved, picked) {
    const again = this.view !== null;
    if (frame !== this.frame) this.take(frame);
    this.moved = moved;
    this.picked = picked;
    if (again) this.soon();
    else this.draw(false);
  }

  /** Draws with the browser's next picture: what comes before that is drawn with it. */
  soon() {
    if (this.due) return;
    this.due = true;
    requestAnimationFrame(() => this.draw(true));
  }

  /** @param {boolean} hasty */
  draw(hasty) {
    const { moved } = this;
    this.due = false;
    this.view.update(() => {
      if (!this.chosen && moved && moved.look !== this.looked) this.look(moved.look);
      if (moved && this.times.dataset.own === undefined) this.times.value = String(moved.times);
      this.move();
      this.pickOut(this.picked);
    }, hasty);
    this.host.dispatchEvent(new CustomEvent("drawn", { detail: { frame: this.frame, moved } }));
  }

  /** @param {any} frame */
  take(frame) {
    const titles = (/** @type {any} */ { marks }) => marks.map((/** @type {any} */ mark) => mark.title).join("\n");
    const same = this.frame && titles(this.frame) === titles(frame);
    this.frame = frame;
    if (same) {
      this.view.take(frame.scene);
      return;
    }
    const before = this.view && { turned: this.view.turned, zoom: this.view.zoom, shift: this.view.shift };
    this.living?.abort();
    this.living = new AbortController();
    this.view = new FrameView(this.host, { scene: frame.scene, marks: frame.marks, shapes: frame.shapes, pick: this.picks.pickWeld, pickMember: this.picks.pickMember, symbols: undefined, signal: this.living.signal });
    if (before) Object.assign(this.view, before);
    if (!this.wired) listenToButtons(this.controls, { host: this.host, look: (/** @type {string} */ name) => this.view.look(name), turn: (/** @type {number[]} */ ...by) => this.view.turn(...by), magnify: (/** @type {number} */ by) => this.view.magnify(by) });
    this.wired = true;
  }

  /** Looks at it from where it moves most. @param {string} name */
  look(name) {
    this.view.look(name);
    [this.chosen, this.looked] = [null, name];
    for (const one of this.controls.querySelectorAll("[data-look]")) one.setAttribute("aria-pressed", String(/** @type {HTMLElement} */ (one).dataset.look === name));
  }

  move() {
    const { moved } = this, times = Number(this.times.value), { members } = this.frame;
    this.shown.textContent = String(times);
    if (document.activeElement === this.times) this.times.dataset.own = "";
    // The movement of the frame before it was changed shows until the new one is there, if it has the same members.
    const fits = moved && atob(moved.movement.shapes[0]).length === 3 * moved.movement.points * members.length;
    this.view.move(fits ? movedBy(members, moved.movement, 0, times) : null, times);
  }

  /** Marks welds, and a member, or -1 for none. @param {{ welds: number[], member: number }} picked */
  pickOut({ welds, member }) {
    this.view.marks.forEach((/** @type {any} */ mark, /** @type {number} */ k) => {
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
