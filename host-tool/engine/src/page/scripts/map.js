// The weld map: a weld selected in drawing, table or timeline is shown with its numbers and its traces.

import { showWeld } from "./detail.js";
import { FrameView } from "./frame.js";
import { byId } from "./geometry.js";
import { listenToButtons } from "./input.js";

// Brings the weld map in the document to life. `signal` ends it.
export function startMap(data, signal) {
  // What all welds share is in the data once.
  const whole = (quantities) => quantities?.map((q, i) => ({ ...q, ...data.quantities[i], words: data.words[q.class] }));
  for (const weld of data.welds) {
    weld.quantities = whole(weld.quantities);
    for (const run of weld.runs) run.quantities = whole(run.quantities);
  }
  const host = byId("frame"), detail = byId("detail");
  const table = byId("welds"), controls = byId("controls");
  const rows = [...table.tBodies[0].rows];
  const shown = new Set();

  const view = new FrameView(host, { scene: data.scene, marks: data.marks, shapes: data.shapes, pick: (k) => choose(k), signal, symbols: data.welds.map((weld) => weld.symbol) });
  listenToButtons(controls, view);
  document.documentElement.classList.add("live");

  function choose(k) {
    rows.forEach((row, i) => {
      row.classList.toggle("chosen", i === k);
      row.querySelector("button").setAttribute("aria-pressed", String(i === k));
    });
    document.querySelectorAll(".time [data-weld]").forEach((/** @type {any} */ arc) => arc.classList.toggle("chosen", Number(arc.dataset.weld) === k + 1));
    view.choose(k);
    showWeld(detail, data, data.welds[k]);
  }

  table.addEventListener("click", (/** @type {any} */ { target }) => {
    const row = target.closest("tr[data-weld]");
    if (row) choose(rows.indexOf(row));
  });
  table.addEventListener("keydown", (/** @type {any} */ event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const row = event.target.closest("tr[data-weld]");
    if (!step || !row) return;
    event.preventDefault();
    const open = rows.filter((one) => !one.hidden);
    const next = open[open.indexOf(row) + step];
    if (next) {
      next.querySelector("button").focus();
      choose(rows.indexOf(next));
    }
  });
  document.querySelectorAll(".time").forEach((time) => time.addEventListener("click", (/** @type {any} */ { target }) => {
    if (target.dataset.weld) choose(Number(target.dataset.weld) - 1);
  }));
  for (const button of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-verdict]"))) {
    button.addEventListener("click", () => {
      const { verdict } = button.dataset;
      const on = !shown.has(verdict);
      on ? shown.add(verdict) : shown.delete(verdict);
      button.setAttribute("aria-pressed", String(on));
      const out = (k) => shown.size > 0 && !shown.has(data.welds[k].class);
      rows.forEach((row, k) => { row.hidden = out(k); });
      view.filter(out);
    });
  }

  const first = ["out-of-limits", "marginal", "within-limits"].map((name) => data.welds.findIndex((weld) => weld.class === name)).find((k) => k >= 0);
  if (first === undefined) view.refresh();
  else choose(first);
}
