"use strict";
// The plan: the order step by step, with slider, buttons and keys; what is done, what is next, what comes later.

(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const host = document.getElementById("frame"), text = document.getElementById("step-text");
  const slider = document.getElementById("step"), place = document.getElementById("place");
  const times = document.getElementById("times"), controls = document.getElementById("controls");
  const rows = [...document.querySelectorAll("#steps [data-step]")];
  if (!data.steps.length) return;
  const parts = data.marks.map((_, k) => data.steps.filter((step) => step.weld === k).length);
  let here = 0;

  const view = new FrameView(host, {
    scene: data.scene,
    marks: data.marks,
    shapes: data.shapes,
    pick: (k) => {
      const step = data.steps.findIndex((one) => one.weld === k);
      if (step >= 0) go(step);
    },
  });
  listenToButtons(controls, view);
  document.documentElement.classList.add("live");
  document.getElementById("stepper").hidden = false;
  const plot = gauge();

  function go(step) {
    here = Math.min(data.steps.length - 1, Math.max(0, step));
    const now = data.steps[here];
    slider.value = String(here + 1);
    slider.setAttribute("aria-valuetext", `step ${here + 1}: ${now.title}, ${now.name}`);
    place.textContent = String(here + 1);
    data.marks.forEach((mark, k) => {
      const done = data.steps.slice(0, here).filter((one) => one.weld === k).length;
      const next = now.weld === k;
      mark.class = next ? "next" : done === parts[k] && done > 0 ? "done" : "later";
      mark.half = next ? [21, 16] : [15, 15];
      mark.arrow = next;
    });
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
    describe(now);
    rows.forEach((row, k) => {
      row.classList.toggle("chosen", k === here);
      row.classList.toggle("past", k < here);
      row.querySelector("button").setAttribute("aria-pressed", String(k === here));
    });
    plot(here);
  }
  let seen = "front";

  function describe(now) {
    text.textContent = "";
    const sign = el("svg", { class: "figure sign huge", viewBox: "-22 -18 44 36", "aria-hidden": "true" });
    const g = el("g", { class: `mark ${now.kind === "weld" ? "next" : "later"}${now.sign.length > 2 ? " three" : ""}` });
    g.append(el("path", { d: data.shapes[now.kind === "weld" ? "next" : "later"] }), el("text", {}, now.sign));
    sign.append(g);
    const words = el("div");
    words.append(el("h2", {}, now.title), el("p", { class: "name", dir: "auto" }, now.name), el("p", { class: "how-to" }, now.how));
    const head = el("div", { class: "detail-head" });
    head.append(sign, words);
    text.append(head, el("p", { class: "why" }, now.why));
    const next = data.steps[here + 1];
    text.append(el("p", { class: "after" }, next ? `Then: ${next.title.toLowerCase()}, ${next.name}` : "Then: let it cool, release the clamps, measure."));
  }

  // The frame as predicted after this step.
  function move() {
    if (!data.movement || !times) return;
    const factor = Number(times.value);
    document.getElementById("times-shown").textContent = times.value;
    const { points, most, shapes, of } = data.movement;
    const shape = of[here];
    if (!factor || !most[shape]) {
      view.move(null);
      return;
    }
    const bytes = Int8Array.from(atob(shapes[shape]), (c) => c.charCodeAt(0));
    const mm = (factor * most[shape]) / 127;
    const moved = (member, k) => [0, 1, 2].map((axis) => mm * bytes[3 * (member * points + k) + axis]);
    view.move((member, p) => {
      const [from, to] = data.members[member];
      const along = minus(to, from);
      const share = Math.min(1, Math.max(0, dot(minus(p, from), along) / (dot(along, along) || 1)));
      const at = share * (points - 1), k = Math.min(points - 2, Math.floor(at)), rest = at - k;
      return plus(plus(p, moved(member, k), 1 - rest), moved(member, k + 1), rest);
    });
  }

  // The gauge over the steps, with a stroke at this one.
  function gauge() {
    const box = document.getElementById("gauge");
    const width = Math.max(280, box.clientWidth || 400), height = 96, left = 44, bottom = 76;
    const most = Math.max(...data.steps.map((step) => step.gauge), 1e-9);
    const x = (k) => left + ((k + 1) / data.steps.length) * (width - left - 4);
    const y = (v) => bottom - (v / most) * 60;
    const svg = el("svg", { class: "figure trace", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-labelledby": "gauge-title" });
    const d = data.steps.map((step, k) => `${k ? "H" : `M${left},${bottom}H`}${x(k).toFixed(1)}V${y(step.gauge).toFixed(1)}`).join("");
    const hair = el("path", { class: "hair", d: "" });
    svg.append(
      el("path", { class: "axis", d: `M${left},${bottom}H${width - 4}` }),
      el("path", { class: "steps-line", d }),
      el("text", { class: "scale", x: left - 6, y: 20, "text-anchor": "end" }, most.toFixed(1)),
      el("text", { class: "scale", x: left - 6, y: bottom + 4, "text-anchor": "end" }, "0"),
      el("text", { class: "scale", x: left, y: height - 3 }, "first step"),
      el("text", { class: "scale", x: width - 4, y: height - 3, "text-anchor": "end" }, "last"),
      hair,
    );
    box.append(svg);
    return (k) => hair.setAttribute("d", `M${x(k).toFixed(1)},8V${bottom + 4}`);
  }

  slider.addEventListener("input", () => go(Number(slider.value) - 1));
  times?.addEventListener("input", move);
  document.getElementById("back").addEventListener("click", () => go(here - 1));
  document.getElementById("next").addEventListener("click", () => go(here + 1));
  document.getElementById("steps").addEventListener("click", ({ target }) => {
    const row = target.closest("[data-step]");
    if (row) go(Number(row.dataset.step) - 1);
  });
  document.addEventListener("keydown", (event) => {
    if (event.target.closest("input, button, [role=button], [tabindex='0']") || event.ctrlKey || event.altKey || event.metaKey) return;
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (step) go(here + step);
  });
  const printCard = document.getElementById("print-card");
  printCard.hidden = false;
  printCard.addEventListener("click", () => {
    document.documentElement.classList.add("card-only");
    window.print();
  });
  window.addEventListener("afterprint", () => document.documentElement.classList.remove("card-only"));
  go(Math.max(0, data.steps.findIndex((step) => step.kind === "weld")));
})();
