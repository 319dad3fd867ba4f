// The search for an order, in a worker of its own: a quick plan first, then a better one, until the user ends it.

import { Engine, Refused } from "./engine.js";
import { NOTHING_MADE, benchOf } from "./progress.js";

/** @typedef {import("./progress.js").Made} Made */

/** Search effort of a first quick plan and of a whole one: the usual effort of the command. */
export const QUICK = 1, WHOLE = 10;

/** For a filter: a weld in parts counts where its first part is. @param {number} one @param {number} k @param {number[]} all */
export const first = (one, k, all) => all.indexOf(one) === k;

export class Planning {
  /** @param {import("./app.js").App} app */
  constructor(app) {
    this.app = app;
    /** How far the search is; null when there is none. @type {{ words: string, share: number } | null} */
    this.now = null;
    /** @type {Engine | null} */
    this.planner = null;
    /** Plans begun so far: a search whose number is not the last one is over. */
    this.plans = 0;
    /** The user ended the search. */
    this.ending = false;
    /** Orders tried in this search. */
    this.tried = 0;
  }

  searcher() {
    this.planner ??= new Engine(this.app.module, this.app.files);
    return this.planner;
  }

  /** @param {Made} made what is welded already */
  plan(made = NOTHING_MADE) {
    return this.app.guarded(async () => {
      const { text } = this.app.store.state;
      if (this.now) this.planner?.stop();
      const planner = this.searcher();
      this.plans += 1;
      const mine = this.plans;
      this.ending = false;
      try {
        // A quick plan first: it is there in a moment.
        for (const effort of [QUICK, WHOLE]) if (mine === this.plans && !this.ending) await this.planned(planner, { text, effort, made });
      } catch (error) {
        if (!(this.ending && error instanceof Refused && error.message === "stopped")) throw error;
        // It did not hear in time: the plan before it is the best there is.
        const { plan } = this.app.store.state;
        if (plan) this.app.store.set({ plan: { ...plan, tried: this.tried } });
      } finally {
        if (mine === this.plans) this.now = null;
        this.app.changed();
      }
    });
  }

  /** @param {Engine} planner @param {{ text: string, effort: number, made: Made }} what */
  async planned(planner, { text, effort, made }) {
    const words = effort === QUICK ? "A quick plan…" : "Searching for a better order…";
    const most = Math.max(1, this.app.look?.job?.welds.length ?? 1);
    this.tried = 0;
    this.now = { words, share: 0 };
    this.app.changed();
    const heard = (/** @type {number} */ trials) => {
      this.tried = trials;
      this.now = { words: this.ending ? "Stopping…" : `${words} ${trials.toLocaleString("en")} orders tried`, share: 1 - 1 / (1 + trials / (effort * 400 * most)) };
      if (this.app.showsProgress) void this.app.tab?.refresh();
    };
    const { part, order, plan: { score } } = await planner.ask({ ask: "plan", text, effort, seed: 1, done: made.done, further: effort === WHOLE }, heard);
    if (this.app.store.state.text !== text) throw new Refused("The job was changed while its order was searched: plan it again.");
    const { plan, bench } = this.app.store.state;
    const quick = effort === WHOLE && plan && plan.text === text ? plan : null;
    // Whoever has begun to weld by the quick plan keeps to it.
    if (quick && bench && bench.ticked.join() !== benchOf(quick.part, made).ticked.join()) return;
    // A search that was ended early may not have come as far as the quick plan did.
    if (quick && this.ending && quick.peak <= score.peak) this.app.store.set({ plan: { ...quick, tried: this.tried } });
    else this.app.store.set({ plan: { text, order, part, effort, done: made.done, peak: score.peak, tried: this.ending ? this.tried : 0 }, bench: benchOf(part, made) });
    await this.app.refresh();
  }

  /** Ends the search; the best order so far stays. */
  stop() {
    if (!this.now) return;
    this.ending = true;
    this.now = { ...this.now, words: "Stopping…" };
    this.planner?.finish();
    this.app.changed();
  }
}
