// At the bench: one big step at a time, to be read at arm's length and pressed with gloves on.

import { FrameView } from "../../engine/src/page/scripts/frame.js";
import { announce, button, h } from "./dom.js";

/** @param {import("./app.js").App} app */
export function benchTab(app) {
  const step = h("section", { class: "panel now", id: "now", "aria-live": "polite", "aria-label": "This step" });
  const host = h("div", { class: "frame", id: "bench-frame" });
  const element = h("div", { class: "at-the-bench" }, step, h("section", { class: "panel", "aria-label": "Where" }, host), h("section", { class: "panel", id: "bench-more", "aria-label": "Other steps" }));
  const more = /** @type {HTMLElement} */ (element.lastElementChild);
  /** @type {any} */ let timer = 0;
  /** @type {any} */ let wakeLock = null;
  /** @type {AbortController | null} */ let living = null;
  /** @type {any} */ let view = null;
  /** @type {any} */ let data = null;
  /** @type {unknown} */ let shown = null;

  /** The screen stays on where the browser lets it. */
  async function stayOn() {
    try {
      wakeLock ??= await /** @type {any} */ (navigator).wakeLock?.request("screen");
      wakeLock?.addEventListener("release", () => { wakeLock = null; });
    } catch {
      wakeLock = null;
    }
  }

  // The lock is lost when the page is out of sight.
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && element.isConnected) void stayOn();
  });

  /** @param {number} here */
  function draw(here) {
    const now = data.steps[here];
    const { ticked } = app.bench();
    data.marks.forEach((/** @type {any} */ mark, /** @type {number} */ k) => {
      const steps = data.steps.map((/** @type {any} */ one, /** @type {number} */ at) => [one, at]).filter(([one]) => one.weld === k);
      mark.class = now?.weld === k ? "next" : steps.length && steps.every(([, at]) => ticked[at]) ? "done" : "later";
      mark.half = now?.weld === k ? [21, 16] : [15, 15];
      mark.arrow = now?.weld === k;
    });
    data.scene.weld_lines.forEach((/** @type {number[]} */ weld, /** @type {number} */ k) => view.line(k, now?.weld === k && now.line ? now.line : [weld.slice(0, 3), weld.slice(3, 6)]));
    if (now) view.look(now.up);
    view.show(now?.tacks ?? []);
    view.choose(now?.weld ?? -1);
  }

  /** Counts down the wait before a step. @param {any} now @param {HTMLElement} clock @param {HTMLButtonElement} done */
  function countDown(now, clock, done) {
    clearInterval(timer);
    const ends = app.bench().since + now.wait * 1000;
    const tell = () => {
      const left = Math.ceil((ends - Date.now()) / 1000);
      clock.hidden = left <= 0;
      done.classList.toggle("waiting", left > 0);
      clock.textContent = left > 0 ? `Wait ${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}` : "";
      if (left > 0) return;
      clearInterval(timer);
      if (now.wait > 0) announce("The wait is over: weld.");
    };
    tell();
    if (ends > Date.now()) timer = setInterval(tell, 250);
  }

  /** @param {number} here */
  function showStep(here) {
    const now = data.steps[here];
    const count = data.steps.length, bench = app.bench(), doneCount = bench.ticked.filter(Boolean).length;
    if (!now) {
      step.replaceChildren(h("h2", {}, "All steps are done"), h("p", { class: "why" }, "Let it cool, release the clamps, measure."), button("Note the readings", () => app.show("after"), { class: "main-button" }));
      clearInterval(timer);
      return;
    }
    const clock = h("p", { class: "countdown", role: "timer", hidden: true });
    const done = button("✓ Done", () => app.tick(here), { id: "step-done", class: "main-button" });
    const big = h("div", { class: "now-sign", "aria-hidden": "true" }, now.sign);
    step.replaceChildren(
      h("p", { class: "progress-words" }, `Step ${now.number} · ${doneCount} of ${count} done`),
      h("div", { class: "now-head" }, big, h("div", {}, h("h2", {}, now.title), h("p", { class: "now-name", dir: "auto" }, now.name))),
      h("p", { class: "now-how" }, now.how), clock, h("p", { class: "why" }, now.why),
      h("div", { class: "bench-buttons" }, done,
        button("Skip for now", () => app.skip(here), { id: "step-skip" }),
        button("Back", () => app.untick(), { id: "step-back", disabled: doneCount === 0 })));
    countDown(now, clock, done);
  }

  /** Skipped steps, and welding something else than was planned. @param {number} here */
  function showMore(here) {
    const bench = app.bench();
    const left = data.steps.map((/** @type {any} */ one, /** @type {number} */ k) => ({ one, k })).filter((/** @type {any} */ { one, k }) => one.weld !== null && one.weld !== undefined && !bench.ticked[k]);
    const numbers = [...new Set(left.map((/** @type {any} */ { one }) => one.weld + 1))];
    const other = h("select", { id: "other-weld", "aria-labelledby": "differently" }, h("option", { value: "" }, "weld number"), ...numbers.map((number) => h("option", { value: number }, `${number}: ${data.steps.find((/** @type {any} */ one) => one.weld === Number(number) - 1).name}`)));
    const skipped = bench.skipped.filter((k) => !bench.ticked[k] && k !== here);
    const next = data.steps.slice(here + 1).filter((/** @type {any} */ _, /** @type {number} */ k) => !bench.ticked[here + 1 + k]).slice(0, 3);
    const parts = (/** @type {number} */ weld) => data.steps.map((/** @type {any} */ one, /** @type {number} */ k) => ({ one, k })).filter((/** @type {any} */ { one }) => one.weld === weld);
    const begun = numbers.filter((number) => parts(number - 1).some((/** @type {any} */ { k }) => bench.ticked[k]));
    more.replaceChildren(
      h("h2", {}, "Then"), h("ol", { class: "then" }, ...next.map((/** @type {any} */ one) => h("li", {}, `${one.title}: ${one.name.slice(0, 90)}`))),
      ...(skipped.length ? [h("h3", {}, "Skipped"), h("div", { class: "seams" }, ...skipped.map((k) => button(data.steps[k].title, () => app.goTo(k))))] : []),
      h("h3", { id: "differently" }, "Done differently?"),
      h("p", { class: "how" }, "Say which weld you made instead. The rest is planned anew from there."),
      ...begun.map((number) => h("p", { class: "how begun" }, `Weld ${number} is begun: ${parts(number - 1).filter((/** @type {any} */ { k }) => bench.ticked[k]).length} of its ${parts(number - 1).length} parts are welded. A new plan goes on with it first, where it stopped.`)),
      h("div", { class: "seams" }, other, button("I welded this one", () => other.value && app.doneDifferently(Number(other.value)), { id: "other-done" })),
      h("p", { id: "bench-state", role: "status" }, app.planning.now?.words ?? ""),
      h("div", { class: "seams" }, button("Start over", () => app.startBench(), { id: "bench-restart" })));
  }

  return {
    element,
    refresh() {
      const { plan, text } = app.store.state;
      if (!plan || plan.text !== text) {
        living?.abort();
        shown = null;
        clearInterval(timer);
        step.replaceChildren(h("h2", {}, plan ? "The job has changed since it was planned" : "No order planned yet"), h("p", { class: "why" }, "The bench shows the plan one step at a time."), button("Plan the order", () => app.planning.plan(), { class: "main-button", id: "bench-plan" }), h("p", { role: "status" }, app.planning.now?.words ?? ""));
        host.replaceChildren();
        more.replaceChildren();
        return;
      }
      void stayOn();
      if (plan !== shown) {
        shown = plan;
        living?.abort();
        living = new AbortController();
        data = JSON.parse(plan.part.data);
        view = new FrameView(host, { scene: data.scene, marks: data.marks, shapes: data.shapes, signal: living.signal, pick: () => {}, pickMember: undefined, symbols: undefined });
      }
      const here = app.here(data);
      showStep(here);
      draw(here);
      showMore(here);
    },
    left() {
      clearInterval(timer);
      void wakeLock?.release?.();
    },
  };
}
