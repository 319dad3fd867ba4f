// The answer on top: what moves worst, whether the frame fits, what to do first.

import { h, list, sign } from "./dom.js";

/**
 * @typedef {{ name: string, change_mm: number, plus_minus_mm: number, tolerance_mm: number, standing: string, text: string, words: string }} Line
 * @typedef {{ worst: Line | null, lines: Line[], fits: { standing: string, text: string }[], advice: string[] }} Answer
 */

/**
 * The number of the worst movement while its uncertainty is still being worked out.
 * @param {HTMLElement} host @param {Answer | undefined} answer @param {{ [name: string]: string } | undefined} values none
 * until the movement is there
 */
export function showQuickly(host, answer, values) {
  const number = host.querySelector("#worst b"), now = values?.[answer?.worst?.name ?? ""];
  host.classList.add("waiting");
  number?.classList.toggle("old", now === undefined);
  if (number && now !== undefined) number.textContent = `${now} ± …`;
}

/** @param {Answer} answer @param {{ [name: string]: string }} shapes @param {string[]=} bent before welding
 * @param {boolean=} open whether all measures are shown */
export function showAnswer({ worst, lines, fits, advice }, shapes, bent = [], open = false) {
  const head = worst
    ? h("div", { class: "answer-head" }, sign(worst.standing, shapes),
        h("div", {}, h("p", { class: "worst-name", dir: "auto" }, worst.name),
          h("p", { class: `big ${worst.standing}`, id: "worst" }, h("b", {}, worst.text)),
          h("p", { class: `verdict ${worst.standing}` }, worst.words)))
    : h("p", { class: "verdict" }, "This frame has no size, diagonal or bow to predict.");
  const fit = fits.map((one) => h("p", { class: `fit ${one.standing}` }, one.text));
  const [first, ...more] = [...bent.map((words) => `Pre-camber: ${words}.`), ...advice];
  return h("div", { class: "answer" }, head,
    h("div", { class: "answer-rest" }, ...fit, h("p", { class: "do-first" }, h("b", {}, "Do first: "), first ?? ""),
      more.length > 0 && h("details", {}, h("summary", {}, `${more.length} more to do`), list(more))),
    all(lines, open));
}

/** All measures, written when they are asked for: there may be hundreds. @param {Line[]} lines @param {boolean} open */
function all(lines, open) {
  const details = h("details", { class: "all-lines", open, on: { toggle: () => details.open && details.children.length === 1 && details.append(table(lines)) } }, h("summary", {}, `All ${lines.length} measures`));
  if (open) details.append(table(lines));
  return details;
}

/** The worst measure first. @param {Line[]} lines */
function table(lines) {
  const row = (/** @type {Line} */ line) => h("tr", { class: line.standing }, h("th", { scope: "row", dir: "auto" }, line.name), h("td", { class: "num" }, line.text), h("td", { class: "verdict" }, line.words));
  return h("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "All measures" },
    h("table", { id: "measures" }, h("thead", {}, h("tr", {}, ...["Measure", "Movement", "Tolerance"].map((name) => h("th", { scope: "col" }, name)))),
      h("tbody", {}, ...lines.map(row))));
}
