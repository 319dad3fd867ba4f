// How far a build is, and what stays of it when the rest is planned anew.

/**
 * @typedef {import("./store.js").Bench} Bench
 * @typedef {{ weld: number | null, line: number[][] | null }} Step
 * @typedef {{ done: number[], begun: number[], parts: string[] }} Made
 * What is welded: numbers of the welds that a new plan begins with, those of them of which a part is still open, and the
 * parts that are made.
 */

/** @type {Made} */
export const NOTHING_MADE = { done: [], begun: [], parts: [] };

/** A part of a weld by where it lies: a new plan cuts a weld into the same parts. @param {Step} step */
const partOf = ({ weld, line }) => `${weld}:${(line ?? []).map((point) => point.join()).sort().join(" ")}`;

const numberOf = (/** @type {Step} */ { weld }) => (weld === null || weld === undefined ? 0 : weld + 1);

/** The steps of a new plan that are done already: everything up to the last weld that is done, but for the open parts of
 * a weld that is begun. @param {{ data: string }} plan @param {Made} made @returns {Bench} */
export function benchOf({ data }, { done, begun, parts }) {
  /** @type {Step[]} */
  const steps = JSON.parse(data).steps;
  const last = steps.findLastIndex((step) => done.includes(numberOf(step)));
  const open = (/** @type {Step} */ step) => begun.includes(numberOf(step)) && !parts.includes(partOf(step));
  return { ticked: steps.map((step, k) => k <= last && !open(step)), welded: done.filter((number) => !begun.includes(number)), skipped: [], since: Date.now() };
}

/** What is welded when a weld was made instead of the one that was next. A weld that is begun is finished before the
 * rest. @param {Step[]} steps @param {Bench} bench @param {number} number @returns {Made} */
export function madeInstead(steps, bench, number) {
  const ticked = steps.filter((step, k) => bench.ticked[k] && numberOf(step));
  const whole = [...bench.welded.filter((one) => one !== number), number];
  const begun = [...new Set(ticked.map(numberOf))].filter((one) => !whole.includes(one));
  return { done: [...whole, ...begun], begun, parts: ticked.map(partOf) };
}
