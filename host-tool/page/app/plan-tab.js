// The plan: searched in a worker of its own, then stepped through as on the command's page.

import { startPlan } from "../../engine/src/page/scripts/plan.js";
import { button, fromEngine, h, panel } from "./dom.js";
import { WHOLE } from "./planning.js";

/** @param {import("./store.js").Plan | null} plan @param {boolean} old */
function stateWords(plan, old) {
  if (!plan) return "No order planned yet.";
  if (old) return "The job has changed since this order was planned: plan it again.";
  if (plan.tried) return "Stopped: this is the best order so far.";
  return plan.effort < WHOLE ? "A quick plan: a longer search may find a better order." : "Planned.";
}

/** @param {import("./app.js").App} app */
export function planTab(app) {
  const state = h("p", { id: "plan-state", role: "status" });
  const progress = h("progress", { id: "plan-progress", max: "1", "aria-label": "Orders tried", hidden: true });
  const start = button("Plan the order", () => app.planning.plan(), { id: "plan-it", class: "main-button" });
  const stop = button("Stop and keep the best", () => app.planning.stop(), { id: "plan-stop", hidden: true });
  const print = button("Print the bench card", () => {
    document.documentElement.classList.add("card-only");
    window.print();
  }, { id: "print-plan", hidden: true });
  const bench = button("Go to the bench", () => app.show("bench"), { id: "to-bench", hidden: true });
  const part = h("div", { id: "plan-part", class: "part" });
  const element = h("div", {}, panel("planning", "Welding order", state, progress, h("div", { class: "seams" }, start, stop, print, bench)), part);
  /** @type {AbortController | null} */
  let living = null;
  /** @type {import("./store.js").Plan | null} */
  let shown = null;

  return {
    element,
    refresh() {
      const { plan, text } = app.store.state, { planning: { now: planning } } = app;
      const old = plan && plan.text !== text;
      state.textContent = planning ? planning.words : stateWords(plan, Boolean(old));
      state.classList.toggle("stale-words", Boolean(old));
      progress.hidden = !planning;
      if (planning) progress.value = planning.share;
      start.hidden = Boolean(planning);
      start.textContent = plan ? "Plan again" : "Plan the order";
      stop.hidden = !planning;
      print.hidden = bench.hidden = !plan || Boolean(old);
      if (plan === shown) return;
      shown = plan;
      living?.abort();
      living = new AbortController();
      if (!plan) {
        part.replaceChildren();
        return;
      }
      part.replaceChildren(h("div", { class: "lead" }, fromEngine(plan.part.lead)), fromEngine(plan.part.main));
      startPlan(JSON.parse(plan.part.data), living.signal);
    },
    left() {},
  };
}
