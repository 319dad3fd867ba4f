// What if: variants kept side by side, each with the engine's answer.

import { button, h, panel } from "./dom.js";

/** @typedef {import("./store.js").Variant} Variant */

/** @param {import("./app.js").App} app */
export function variantsTab(app) {
  const table = h("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Variants side by side" });
  const heat = h("input", { type: "range", id: "heat", min: "50", max: "150", step: "5", on: { change: () => app.setHeat(Number(heat.value) / 100) } });
  const heatShown = h("output", { for: "heat" });
  const tries = h("div", { class: "seams" });
  const element = h("div", {},
    panel("tries", "Try on this job", h("p", { class: "how" }, "Each makes a variant beside the job as it is; the job itself stays."), tries,
      h("div", { class: "slider-head" }, h("label", { for: "heat" }, "Heat input ", heatShown, " % of planned")), heat),
    panel("variants", "Side by side", table));

  /** @param {Variant} variant @param {number} k @param {any} look */
  function column(variant, k, look) {
    const answer = look?.answer, worst = answer?.worst;
    return {
      head: h("th", { scope: "col" }, h("input", { type: "text", "aria-label": `Name of variant ${k + 1}`, value: variant.name, on: { change: (/** @type {Event} */ event) => app.nameVariant(k, /** @type {HTMLInputElement} */ (event.target).value) } })),
      cells: new Map([
        ["Worst movement", worst ? h("span", { class: `verdict ${worst.standing}` }, `${worst.text} `, h("br"), h("span", { class: "quiet-text" }, worst.name)) : "–"],
        ["Tolerance", worst?.words ?? "–"],
        ["Fits", answer?.fits.map((/** @type {any} */ fit) => fit.text).join("; ") || "–"],
        ["Welds", look?.job ? `${look.job.welds.length}, ${look.job.weld_length}` : "has errors"],
        ["Clamps", look?.job ? String(look.job.clamps) : "–"],
        ["Order", variant.order.length ? "planned" : "file order"],
        ["Heat input", `${Math.round(variant.heat * 100)} %`],
        ["", h("span", { class: "seams" }, button("Use it", () => app.useVariant(k), { "aria-label": `Use ${variant.name}` }), button("Drop", () => app.dropVariant(k), { "aria-label": `Drop ${variant.name}` }))],
      ]),
      lines: new Map((answer?.lines ?? []).map((/** @type {any} */ line) => [line.name, line])),
    };
  }

  return {
    element,
    async refresh() {
      const { variants, heat: now } = app.store.state;
      heat.value = String(Math.round(now * 100));
      heatShown.textContent = heat.value;
      tries.replaceChildren(
        button("Keep the job as it is", () => app.keepVariant(), { id: "keep" }),
        ...app.tries().map(({ name, make }) => button(name, make)));
      if (!variants.length) {
        table.replaceChildren(h("p", { class: "how" }, "Nothing kept yet. Keep the job as it is, change something, keep it again: they stand here side by side."));
        return;
      }
      const looks = await Promise.all(variants.map((variant) => app.lookAt(variant).catch(() => null)));
      const columns = variants.map((variant, k) => column(variant, k, looks[k]));
      const names = [...columns[0].cells.keys()].filter((name) => name !== "");
      // The measures that are among the worst of any variant, for all of them.
      const measures = [...new Set(columns.flatMap(({ lines }) => [...lines.keys()].slice(0, 6)))];
      const measure = (/** @type {any} */ line) => (line ? h("span", { class: `verdict ${line.standing}` }, line.text) : "–");
      const row = (/** @type {import("./dom.js").Child} */ head, /** @type {import("./dom.js").Child[]} */ cells) => h("tr", {}, h("th", { scope: "row", dir: "auto" }, head), ...cells.map((cell) => h("td", {}, cell)));
      const rows = [
        ...names.map((name) => row(name, columns.map(({ cells }) => cells.get(name)))),
        ...measures.map((name) => row(/** @type {string} */ (name), columns.map(({ lines }) => measure(lines.get(name))))),
        row(h("span", { class: "unseen" }, "What to do with it"), columns.map(({ cells }) => cells.get(""))),
      ];
      table.replaceChildren(h("table", { id: "side-by-side" }, h("thead", {}, h("tr", {}, h("td", {}), ...columns.map(({ head }) => head))), h("tbody", {}, ...rows)));
    },
    left() {},
  };
}
