// After the build: map a log, note readings, straighten, print the record.

import { startMap } from "../../engine/src/page/scripts/map.js";
import { button, fromEngine, h, panel } from "./dom.js";
import { save, stem } from "./files.js";

/** @param {import("./app.js").App} app */
export function afterTab(app) {
  const logState = h("p", { id: "log-state", role: "status" });
  const columns = /** @type {HTMLInputElement[]} */ (["time", "volts", "amps"].map((name) => h("input", { type: "text", id: `column-${name}`, autocomplete: "off" })));
  const pickColumns = h("details", {}, h("summary", {}, "Columns of a recording, if they are not found"),
    h("div", { class: "fields" }, ...columns.map((input, k) => h("div", { class: "field" }, h("label", { for: input.id }, ["Time", "Volts", "Amps"][k]), input))),
    button("Read it again", () => app.readLog(), { id: "read-again" }));
  const by = h("input", { type: "text", id: "record-by", autocomplete: "off" }), welder = h("input", { type: "text", id: "record-welder", autocomplete: "off" });
  const show = (/** @type {"map" | "record" | "correction"} */ what) => app.showPart(what);
  const buttons = h("div", { class: "seams" },
    button("Open a log or recording", () => app.openLog(), { id: "open-log", class: "main-button" }),
    button("Weld map", () => show("map"), { id: "show-map", disabled: true }), button("Build record", () => show("record"), { id: "show-record", disabled: true }));
  const signed = h("details", {}, h("summary", {}, "Names on the record"), h("div", { class: "fields" }, h("div", { class: "field" }, h("label", { for: by.id }, "Made by"), by), h("div", { class: "field" }, h("label", { for: welder.id }, "Welder"), welder)));
  const readings = h("div", { id: "readings" });
  const wrong = h("div", { id: "readings-wrong", role: "alert" });
  const noted = h("p", { id: "readings-state", role: "status" });
  const part = h("div", { id: "after-part", class: "part" });
  const press = h("input", { type: "text", id: "press-force", placeholder: "10 kN", autocomplete: "off" });
  const ticks = /** @type {[string, HTMLInputElement][]} */ ([["coated", "galvanised, painted or otherwise coated"], ["near_combustibles", "something near it burns"], ["structural", "people or a code depend on it"]]
    .map(([key, words]) => [words, h("input", { type: "checkbox", id: `tick-${key}`, value: key })]));
  const element = h("div", {},
    panel("log", "The log", h("p", { class: "how" }, "Of the logger, or any CSV of time, volts and amps. You can drop it here."), logState, buttons, pickColumns, signed),
    panel("measured", "What you measured", h("p", { class: "how" }, "With the clamps off and the frame cold. Widths, heights and diagonals: the whole distance between outer edges. Everything else: the movement to the side that is named, negative to the other side."), readings, wrong,
      h("div", { class: "seams" }, button("Note the readings", () => app.noteReadings(typed(), false), { id: "note-readings", class: "main-button" }), button("Save the measurements", () => save(`${stem(app.store.state.file)}-measured.toml`, app.store.state.measured), { id: "save-measured" })), noted),
    panel("straighten", "Straightening", h("details", {}, h("summary", {}, "What you have, and what rules out heat or force"), h("div", { class: "field" }, h("label", { for: press.id }, "Greatest force of your clamp, screw or jack"), press), ...ticks.map(([words, box]) => h("label", { class: "tick" }, box, words))),
      h("div", { class: "seams" }, button("How to straighten it", () => show("correction"), { id: "show-correction", class: "main-button" }))),
    part);
  /** @type {AbortController | null} */ let living = null;
  /** @type {unknown} */ let shown = null;
  let names = "";

  const typed = () => [...readings.querySelectorAll("input")].filter((input) => input.value.trim()).map((input) => /** @type {[string, string]} */ ([input.dataset.of ?? "", input.value]));

  /** A line for each measure of the prediction, in its words. */
  function showReadings() {
    const measures = app.look?.prediction?.measures ?? [], now = measures.map((/** @type {any} */ one) => one.name).join("\n");
    if (now === names) return;
    names = now;
    const unit = app.look?.job?.unit ?? "mm";
    const of = (/** @type {any} */ one, /** @type {number} */ k) => h("div", { class: "field reading" }, h("label", { for: `reading-${k}`, dir: "auto" }, one.name, h("span", { class: "quiet-text" }, one.before_mm ? ` (drawn ${inUnits(one.before_mm, unit)})` : "")),
      h("input", { type: "text", id: `reading-${k}`, "data-of": one.name, inputmode: "text", autocomplete: "off", placeholder: unit }));
    const bows = measures.filter((/** @type {any} */ one) => one.kind === "bow"), rest = measures.filter((/** @type {any} */ one) => one.kind !== "bow");
    readings.replaceChildren(h("div", { class: "fields" }, ...rest.map(of)), ...(bows.length ? [h("details", {}, h("summary", {}, `Bows of ${new Set(bows.map((/** @type {any} */ one) => one.member)).size} members`), h("div", { class: "fields" }, ...bows.map((/** @type {any} */ one, /** @type {number} */ k) => of(one, rest.length + k))))] : []));
  }

  return {
    element,
    options: () => ({
      columns: columns.map((input) => input.value), by: by.value, welder: welder.value, press_force: press.value,
      ...Object.fromEntries(ticks.map(([, box]) => [box.value, box.checked])),
    }),
    refresh() {
      const { after, store } = app;
      logState.textContent = after.words;
      for (const id of ["show-map", "show-record"]) /** @type {HTMLButtonElement} */ (buttons.querySelector(`#${id}`)).disabled = !after.log;
      showReadings();
      const entries = (store.state.measured.match(/\[\[measurement\]\]/g) ?? []).length;
      noted.textContent = entries ? `${entries} ${entries === 1 ? "measurement" : "measurements"} noted.` : "";
      wrong.replaceChildren(...(after.wrong.length ? [h("ul", { class: "wrong" }, ...after.wrong.map((/** @type {any} */ one) => h("li", {}, one.what))), after.wrong.every((/** @type {any} */ one) => !one.impossible) && button("Keep them anyway", () => app.noteReadings(typed(), true), { id: "keep-anyway" })].filter((one) => one instanceof Node) : []));
      if (after.part === shown) return;
      shown = after.part;
      living?.abort();
      living = new AbortController();
      if (!after.part) {
        part.replaceChildren();
        return;
      }
      const { lead, main, data } = after.part;
      const print = button("Print", () => window.print(), { id: "print-part" });
      const keep = after.saves ? button(after.saves.words, () => after.saves && save(after.saves.name, after.saves.text), { id: "save-part" }) : null;
      part.replaceChildren(h("div", { class: "lead" }, fromEngine(lead)), h("div", { class: "seams" }, print, ...(keep ? [keep] : [])), fromEngine(main));
      if (data) startMap(JSON.parse(data), living.signal);
    },
    cleared() {
      for (const input of readings.querySelectorAll("input")) input.value = "";
    },
    left() {},
  };
}

/** A length as drawn, for a hint. @param {number} mm @param {string} unit */
const inUnits = (mm, unit) => (unit === "in" ? `${(mm / 25.4).toFixed(3)} in` : `${mm.toFixed(1)} mm`);
