// The frame as drawn: a weld chosen in the drawing is shown in the table, and the other way round.

import { FrameView } from "./frame.js";
import { byId } from "./geometry.js";
import { listenToButtons } from "./input.js";

// Brings the page in the document to life.
export function startCheck(data) {
  const rows = [...byId("welds").tBodies[0].rows];
  const view = new FrameView(byId("frame"), { scene: data.scene, marks: data.marks, shapes: data.shapes, pick: (k) => choose(k) });
  listenToButtons(byId("controls"), view);
  document.documentElement.classList.add("live");

  function choose(k) {
    rows.forEach((row, i) => {
      row.classList.toggle("chosen", i === k);
      row.querySelector("button").setAttribute("aria-pressed", String(i === k));
    });
    view.choose(k);
  }

  byId("welds").addEventListener("click", (/** @type {any} */ { target }) => {
    const row = target.closest("tr[data-weld]");
    if (row) choose(rows.indexOf(row));
  });
  choose(-1);
}
