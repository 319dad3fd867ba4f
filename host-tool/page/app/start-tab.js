// A job to begin with: a starting point, or a file of one's own.

import { button, h, panel } from "./dom.js";

/** @param {import("./app.js").App} app */
export function startTab(app) {
  const points = h("div", { class: "points" }), earlier = h("div", { class: "points" });
  const before = panel("earlier", "Go on with", earlier);
  const element = h("div", {}, before, panel("start", "Begin with", points),
    panel("own", "Or open your own", h("p", { class: "how" }, "A job file (.toml), or drop one anywhere on this page. Everything is computed here; nothing is sent anywhere."),
      button("Open a job file", () => app.openJob(), { id: "open-job-first" })));
  return {
    element,
    refresh() {
      const { state } = app.store, jobs = app.store.earlier();
      const named = (/** @type {string} */ text) => /^\s*name\s*=\s*["'](.*)["']/m.exec(text)?.[1];
      const one = (/** @type {import("./store.js").State} */ job, /** @type {() => void} */ take) => h("button", { type: "button", class: "point", on: { click: take } }, h("b", { dir: "auto" }, named(job.text) ?? job.file), h("span", {}, `${job.file}${job.measured ? ", measured" : ""}`));
      const all = [...(state.text ? [one(state, () => app.show(state.tab))] : []), ...jobs.flatMap((job, k) => (job.text === state.text ? [] : [one(job, () => app.takeUp(k))]))];
      before.hidden = all.length === 0;
      earlier.replaceChildren(...all);
      points.replaceChildren(...app.startingPoints.map((/** @type {any} */ point) =>
        h("button", { type: "button", class: "point", on: { click: () => app.begin(point.text, `${point.name.toLowerCase().replace(/ /g, "-")}.toml`) } }, h("b", {}, point.name), h("span", {}, point.about))));
    },
    left() {},
  };
}
