// A job to begin with: a starting point, or a file of one's own.

import { button, h, panel } from "./dom.js";

/** @param {import("./app.js").App} app */
export function startTab(app) {
  const points = h("div", { class: "points" });
  const element = h("div", {}, panel("start", "Begin with", points),
    panel("own", "Or open your own", h("p", { class: "how" }, "A job file (.toml), or drop one anywhere on this page. Everything is computed here; nothing is sent anywhere."),
      button("Open a job file", () => app.openJob(), { id: "open-job-first" })));
  return {
    element,
    refresh() {
      points.replaceChildren(...app.startingPoints.map((/** @type {any} */ point) =>
        h("button", { type: "button", class: "point", on: { click: () => app.begin(point.text, `${point.name.toLowerCase().replace(/ /g, "-")}.toml`) } }, h("b", {}, point.name), h("span", {}, point.about))));
    },
    stop() {},
  };
}
