// A job to begin with: a starting point, or a file of one's own.

import { button, h, panel } from "./dom.js";

/** @param {import("./app.js").App} app */
export function startTab(app) {
  const points = h("div", { class: "points" }), earlier = h("div", { class: "points" }), form = h("form", { id: "begin-form", class: "fields", hidden: true });
  const before = panel("earlier", "Go on with", earlier);
  const element = h("div", {}, before, panel("start", "Begin with", points, form),
    panel("own", "Or open your own", h("p", { class: "how" }, "A job file (.toml), or drop one anywhere on this page. Everything is computed here; nothing is sent anywhere."),
      button("Open a job file", () => app.openJob(), { id: "open-job-first" })));
  let chosen = "", units = "mm";

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void app.guarded(async () => {
      const point = app.startingPoints.find((/** @type {any} */ one) => one.shape === chosen);
      const sizes = Object.fromEntries([...form.querySelectorAll("input")].map(({ name, value }) => [name, value]));
      const { text, file } = await app.engine.ask({ ask: "begin", shape: chosen, title: point.name, units, sizes });
      await app.begin(text, file);
    });
  });

  /** Asks for the few sizes of a shape. @param {any} point @param {boolean} move */
  const askSizes = (point, move) => {
    chosen = point.shape;
    for (const one of points.querySelectorAll("button")) one.setAttribute("aria-pressed", String(one.dataset.shape === chosen));
    const other = h("select", { id: "begin-units", on: { change: () => void inUnits(other.value) } }, h("option", { value: "mm" }, "mm"), h("option", { value: "inch" }, "inch"));
    other.value = units;
    form.hidden = false;
    form.replaceChildren(h("h3", {}, point.name),
      h("div", { class: "field" }, h("label", { for: "begin-units" }, "Units"), other),
      ...point.sizes.map((/** @type {{ key: string, label: string, usual: string }} */ { key, label, usual }) => h("div", { class: "field" }, h("label", { for: `begin-${key}` }, label), h("input", { id: `begin-${key}`, name: key, value: usual, autocomplete: "off" }))),
      h("button", { type: "submit", id: "begin-it" }, "Begin"));
    if (move) form.scrollIntoView({ block: "nearest" });
  };

  /** The usual sizes in other units. @param {string} word */
  const inUnits = async (word) => {
    units = word;
    app.startingPoints = await app.engine.ask({ ask: "starting_points", units });
    askSizes(app.startingPoints.find((/** @type {any} */ one) => one.shape === chosen), false);
    document.getElementById("begin-units")?.focus();
  };

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
        h("button", { type: "button", class: "point", "data-shape": point.shape, "aria-pressed": String(point.shape === chosen), on: { click: () => askSizes(point, true) } }, h("b", {}, point.name), h("span", {}, point.about))));
    },
    left() {},
  };
}
