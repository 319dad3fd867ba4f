// The plan: the order step by step, with slider, buttons and keys; what is done, what is next, what comes later.

import { FrameView } from "./frame.js";
import { byId, el } from "./geometry.js";
import { listenToButtons } from "./input.js";
import { movedBy } from "./moved.js";

// Brings the plan in the document to life. `signal` ends it; gives go(step), from 0.
export function startPlan(data, signal) {
  const host = byId("frame"), text = byId("step-text");
  const slider = byId("step"), place = byId("place");
  const times = byId("times"), controls = byId("controls");
  const rows = [...document.querySelectorAll("#steps [data-step]")];
  if (!data.steps.length) return null;
  const parts = data.marks.map((_, k) => data.steps.filter((step) => step.weld === k).length);
  let here = 0, seen = "front";

  const view = new FrameView(host, {
    scene: data.scene,
    marks: data.marks,
    shapes: data.shapes,
    signal,
    pick: (k) => {
      const step = data.steps.findIndex((one) => one.weld === k);
      if (step >= 0) go(step);
    },
  });
  listenToButtons(controls, view);
  document.documentElement.classList.add("live");
  byId("stepper").hidden = false;
  const plot = chart(byId("gauge"), data.steps);

  function go(step) {
    here = Math.min(data.steps.length - 1, Math.max(0, step));
    const now = data.steps[here];
    slider.value = String(here + 1);
    slider.setAttribute("aria-valuetext", `step ${now.number}: ${now.title}, ${now.name}`);
    place.textContent = now.number;
    markWelds(view, data, parts, here);
    // The line of travel of this step may be reversed, or only a part of the weld.
    data.scene.weld_lines.forEach((weld, k) => view.line(k, now.weld === k && now.line ? now.line : [weld.slice(0, 3), weld.slice(3, 6)]));
    if (now.up !== seen) {
      view.look(now.up);
      view.announce(now.up);
      seen = now.up;
    }
    view.show(now.tacks);
    move();
    view.choose(now.weld ?? -1);
    describeStep(text, data, here);
    rows.forEach((row, k) => {
      row.classList.toggle("chosen", k === here);
      row.classList.toggle("past", k < here);
      row.querySelector("button")?.setAttribute("aria-pressed", String(k === here));
    });
    plot(here);
  }

  // The frame as predicted after this step.
  function move() {
    if (!data.movement || !times) return;
    byId("times-shown").textContent = times.value;
    view.move(movedBy(data.members, data.movement, data.movement.of[here], Number(times.value)), Number(times.value));
  }

  slider.addEventListener("input", () => go(Number(slider.value) - 1));
  times?.addEventListener("input", move);
  byId("back").addEventListener("click", () => go(here - 1));
  byId("next").addEventListener("click", () => go(here + 1));
  byId("steps").addEventListener("click", (/** @type {any} */ { target }) => {
    const row = target.closest("[data-step]");
    if (row) go(rows.indexOf(row));
  });
  document.addEventListener("keydown", (/** @type {any} */ event) => {
    if (!host.isConnected || event.target.closest("input, select, textarea, button, [role=button], [tabindex='0']") || event.ctrlKey || event.altKey || event.metaKey) return;
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (step) go(here + step);
  }, { signal });
  const printCard = byId("print-card");
  printCard.hidden = false;
  printCard.addEventListener("click", () => {
    document.documentElement.classList.add("card-only");
    window.print();
  });
  window.addEventListener("afterprint", () => document.documentElement.classList.remove("card-only"), { signal });
  // The first step shows the frame as it is drawn: nothing has moved yet.
  go(0);
  return go;
}

// What is done, next and later, as marks of the welds.
export function markWelds(view, data, parts, here) {
  const now = data.steps[here];
  data.marks.forEach((mark, k) => {
    const done = data.steps.slice(0, here).filter((one) => one.weld === k).length;
    const next = now?.weld === k;
    mark.class = next ? "next" : done === parts[k] && done > 0 ? "done" : "later";
    mark.half = next ? [21, 16] : [15, 15];
    mark.arrow = next;
  });
}

// A step in words, with the number of its weld as large as a hand.
export function describeStep(box, data, here) {
  const now = data.steps[here], next = data.steps[here + 1];
  box.textContent = "";
  const sign = el("svg", { class: "figure sign huge", viewBox: "-22 -18 44 36", "aria-hidden": "true" });
  const g = el("g", { class: `mark ${now.kind === "weld" ? "next" : "later"}${now.sign.length > 2 ? " three" : ""}` });
  g.append(el("path", { d: data.shapes[now.kind === "weld" ? "next" : "later"] }), el("text", {}, now.sign));
  sign.append(g);
  const words = el("div");
  words.append(el("h2", {}, now.title), el("p", { class: "name", dir: "auto" }, now.name), el("p", { class: "how-to" }, now.how));
  const head = el("div", { class: "detail-head" });
  head.append(sign, words);
  box.append(head, el("p", { class: "why" }, now.why));
  box.append(el("p", { class: "after" }, next ? `Then: ${next.title.toLowerCase()}, ${next.name}` : "Then: let it cool, release the clamps, measure."));
}

// The gauge over the steps, with a stroke at this one: gives plot(step).
function chart(box, steps) {
  const width = Math.max(280, box.clientWidth || 400), height = 96, left = 44, bottom = 76;
  const most = Math.max(...steps.map((step) => step.gauge), 1e-9);
  const x = (k) => left + ((k + 1) / steps.length) * (width - left - 4);
  const y = (v) => bottom - (v / most) * 60;
  const svg = el("svg", { class: "figure trace", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-labelledby": "gauge-title" });
  const d = steps.map((step, k) => `${k ? "H" : `M${left},${bottom}H`}${x(k).toFixed(1)}V${y(step.gauge).toFixed(1)}`).join("");
  const hair = el("path", { class: "hair", d: "" });
  svg.append(
    el("path", { class: "axis", d: `M${left},${bottom}H${width - 4}` }),
    el("path", { class: "steps-line", d }),
    el("text", { class: "scale", x: left - 6, y: 20, "text-anchor": "end" }, most.toFixed(most < 1 ? 2 : 1)),
    el("text", { class: "scale", x: left - 6, y: bottom + 4, "text-anchor": "end" }, "0"),
    el("text", { class: "scale", x: left, y: height - 3 }, "first step"),
    el("text", { class: "scale", x: width - 4, y: height - 3, "text-anchor": "end" }, "last"),
    hair,
  );
  box.append(svg);
  return (k) => hair.setAttribute("d", `M${x(k).toFixed(1)},8V${bottom + 4}`);
}
