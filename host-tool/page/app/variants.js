// Variants of the job: kept, tried, looked at, taken up again.

import { announce } from "./dom.js";
import { QUICK, first } from "./planning.js";

/** @typedef {import("./store.js").Variant} Variant */

const MOST_VARIANTS = 6;

export class Variants {
  /** @param {import("./app.js").App} app */
  constructor(app) {
    this.app = app;
    /** What the engine said of each. @type {Map<string, Promise<any>>} */
    this.looks = new Map();
  }

  /** What the engine says of a variant; said once. @param {Variant} variant */
  lookAt({ text, order, heat, preCamber }) {
    const asked = { ask: "look", text, order, heat, pre_camber: Boolean(preCamber) }, key = JSON.stringify(asked);
    const known = this.looks.get(key) ?? this.app.judge.ask(asked);
    this.looks.set(key, known);
    known.catch(() => this.looks.delete(key));
    return known;
  }

  /** The job as it is, as a variant. */
  asItIs() {
    const { text, heat, preCamber } = this.app.store.state;
    return { text, heat, preCamber, order: this.app.order() };
  }

  /** @param {string=} name @param {Partial<Variant>} other than the job as it is */
  keep(name, other = {}) {
    const { variants } = this.app.store.state;
    // A variant alone cannot be compared: the job as it is stands beside it.
    const beside = name !== undefined && variants.length === 0 ? [{ name: "As it is", ...this.asItIs() }] : variants;
    const kept = { name: name ?? `Variant ${variants.length + 1}`, ...this.asItIs(), ...other };
    this.app.store.set({ variants: [...beside, kept].slice(-MOST_VARIANTS) });
    announce(`${kept.name} kept under What if`);
    this.app.changed();
  }

  /** A variant whose text is an edit of the engine's. @param {string} name @param {object} edit */
  tryEdit(name, edit) {
    return this.app.guarded(async () => {
      const { text } = await this.app.engine.ask({ ask: "edit", text: this.app.store.state.text, edit });
      this.keep(name, { text, order: [] });
    });
  }

  /** A variant welded in the order that a plan advises: the plan that is there, or a quick one. */
  tryPlanned() {
    return this.app.guarded(async () => {
      const { text } = this.app.store.state;
      const planned = this.app.order();
      const { order } = planned.length ? { order: planned } : await this.app.planning.searcher().ask({ ask: "plan", text, effort: QUICK, seed: 1 });
      this.keep("planned order", { text, order: order.filter(first) });
    });
  }

  /** @param {number} k @param {string} name */
  rename(k, name) {
    this.app.store.set({ variants: this.app.store.state.variants.map((one, at) => (at === k ? { ...one, name } : one)) });
  }

  /** @param {number} k */
  drop(k) {
    this.app.store.set({ variants: this.app.store.state.variants.filter((_, at) => at !== k) });
    this.app.changed();
  }

  /** @param {number} k */
  use(k) {
    const { text, heat, preCamber, order } = this.app.store.state.variants[k];
    this.app.store.set({ heat, preCamber: Boolean(preCamber) });
    const planned = () => order.length > 0 && this.app.order().length === 0;
    void this.app.write(text, "").then(() => {
      this.app.show(planned() ? "plan" : "frame");
      if (planned()) void this.app.planning.plan();
    });
  }
}
