// What if: variants kept side by side, each with the engine's answer and its movement.

import { FrameView } from "../../engine/src/page/scripts/frame.js";
import { movedBy } from "../../engine/src/page/scripts/moved.js";
import { button, h, panel } from "./dom.js";
import { tries } from "./tries.js";

/** @typedef {import("./store.js").Variant} Variant */

/** @param {import("./app.js").App} app */
export function variantsTab(app) {
  const table = h("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Variants side by side" });
  const heatShown = h("output", { for: "heat" }, "80");
  const heat = h("input", { type: "range", id: "heat", min: "50", max: "150", step: "5", value: "80", on: { input: () => { heatShown.textContent = heat.value; } } });
  const tryHeat = button("Try this heat", () => app.variants.keep(`heat ${heat.value} %`, { heat: Number(heat.value) / 100 }), { id: "try-heat" });
  const groups = h("div", { class: "tries" });
  const element = h("div", {},
    panel("tries", "Try on this job", h("p", { class: "how" }, "Each makes a variant beside the job as it is; the job itself stays until you use one."),
      h("div", { class: "seams" }, button("Keep the job as it is", () => app.variants.keep(), { id: "keep" })), groups,
      h("div", { class: "try" }, h("h3", {}, "Heat"), h("div", { class: "slider-head" }, h("label", { for: "heat" }, "Heat input ", heatShown, " % of planned"), tryHeat), heat)),
    panel("variants", "Side by side", table));
  /** @type {AbortController | null} */ let living = null;

  /** @param {Variant} variant @param {number} k @param {any} look */
  function column(variant, k, look) {
    const answer = look?.answer, worst = answer?.worst;
    const use = h("span", { class: "seams" }, button("Use it", () => app.variants.use(k), { "aria-label": `Use it: ${variant.name}` }), button("Drop", () => app.variants.drop(k), { "aria-label": `Drop: ${variant.name}` }));
    const bent = !variant.preCamber ? "none" : look?.pre_camber?.join("; ") || "no bow is larger than its uncertainty";
    return {
      head: h("th", { scope: "col" }, h("input", { type: "text", "aria-label": `Name of variant ${k + 1}`, value: variant.name, on: { change: (/** @type {Event} */ event) => app.variants.rename(k, /** @type {HTMLInputElement} */ (event.target).value) } })),
      picture: h("div", { class: "frame small" }),
      cells: new Map([
        ["Worst movement", worst ? h("span", { class: `verdict ${worst.standing}` }, `${worst.text} `, h("br"), h("span", { class: "quiet-text" }, worst.name)) : look?.cannot_predict ?? "–"],
        ["Tolerance", worst?.words ?? "–"],
        ["Fits", answer?.fits.map((/** @type {any} */ fit) => fit.text).join("; ") || "–"],
        ["Welds", look?.job ? `${look.job.welds.length}, ${look.job.weld_length}` : "has errors"],
        ["Order", variant.order.length ? "planned" : "file order"],
        ["Clamps", look?.job ? String(look.job.clamps) : "–"],
        ["Pre-camber", bent],
        ["Heat input", `${Math.round(variant.heat * 100)} %`],
      ]),
      use,
      lines: new Map((answer?.lines ?? []).map((/** @type {any} */ line) => [line.name, line])),
    };
  }

  /** Every variant seen from the same side, its movement exaggerated by as much as the others'. @param {HTMLElement[]} hosts @param {any[]} looks @param {Variant[]} variants @param {number} times */
  function draw(hosts, looks, variants, times) {
    living?.abort();
    living = new AbortController();
    const { signal } = living, side = looks.find((look) => look?.moved)?.moved.look ?? "front";
    looks.forEach((look, k) => {
      if (!look?.frame) return;
      const { scene, members, shapes } = look.frame;
      const view = new FrameView(hosts[k], { scene: { ...scene, weld_lines: [] }, marks: [], shapes, signal, pick: () => {}, pickMember: undefined, symbols: undefined });
      view.svg.setAttribute("role", "img");
      view.svg.setAttribute("aria-label", `${variants[k].name}: the frame with its movement exaggerated ${times} times`);
      view.update(() => {
        view.look(side);
        view.move(look.moved ? movedBy(members, look.moved.movement, 0, times) : null, times);
      });
    });
  }

  return {
    element,
    async refresh() {
      const { variants } = app.store.state;
      groups.replaceChildren(...tries(app).map(({ title, tried, note }) => h("div", { class: "try" }, h("h3", {}, title), h("div", { class: "seams" }, ...tried.map(({ name, make }) => button(name, make)), note && h("p", { class: "how" }, note)))));
      if (!variants.length) {
        table.replaceChildren(h("p", { class: "how" }, "Nothing kept yet. Try something above: it stands here beside the job as it is."));
        return;
      }
      const looks = await Promise.all(variants.map((variant) => app.variants.lookAt(variant).catch(() => null)));
      if (variants !== app.store.state.variants) return;
      const columns = variants.map((variant, k) => column(variant, k, looks[k]));
      // The measures that are among the worst of any variant, for all of them.
      const measures = [...new Set(columns.flatMap(({ lines }) => [...lines.keys()].slice(0, 6)))];
      const measure = (/** @type {any} */ line) => (line ? h("span", { class: `verdict ${line.standing}` }, line.text) : "–");
      const row = (/** @type {import("./dom.js").Child} */ head, /** @type {import("./dom.js").Child[]} */ cells) => h("tr", {}, h("th", { scope: "row", dir: "auto" }, head), ...cells.map((cell) => h("td", {}, cell)));
      const times = Math.min(...looks.filter((look) => look?.moved).map((look) => look.moved.times), 500);
      const names = [...columns[0].cells.keys()];
      const rows = [
        row("Worst movement", columns.map(({ cells }) => cells.get("Worst movement"))),
        row(`Movement, exaggerated ${times} times`, columns.map(({ picture }) => picture)),
        ...names.slice(1).map((name) => row(name, columns.map(({ cells }) => cells.get(name)))),
        ...measures.map((name) => row(/** @type {string} */ (name), columns.map(({ lines }) => measure(lines.get(name))))),
        row(h("span", { class: "unseen" }, "What to do with it"), columns.map(({ use }) => use)),
      ];
      table.replaceChildren(h("table", { id: "side-by-side" }, h("thead", {}, h("tr", {}, h("td", {}), ...columns.map(({ head }) => head))), h("tbody", {}, ...rows)));
      draw(columns.map(({ picture }) => picture), looks, variants, times);
    },
    left() {
      living?.abort();
    },
  };
}
