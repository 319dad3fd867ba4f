// What the weld map shows of the selected weld: verdict, heat input, gauges, runs, traces, weld symbol, facts.

import { el, f, number } from "./geometry.js";
import { symbolLength, weldSymbol } from "./labels.js";
import { traces } from "./traces.js";

export const withUncertainty = (q) => `${number(q.value, q.decimals)} ± ${number(q.uncertainty, q.decimals)} ${q.unit}`;

// Fills the box of the selected weld. `data` is the data of the page.
export function showWeld(box, data, weld) {
  box.hidden = false;
  box.textContent = "";
  box.append(headOf(weld, data.shapes), el("p", { class: `verdict ${weld.class}` }, weld.verdict), heatOf(weld));
  for (const flag of weld.flags) box.append(el("p", { class: "flag" }, flag));
  const gauges = el("div", { class: "gauges" });
  gauges.append(...weld.quantities.map(gauge));
  box.append(gauges);
  if (weld.runs.length > 1) box.append(runTable(weld));
  const width = Math.max(300, Math.round(box.clientWidth - 44));
  weld.runs.forEach((run, i) => {
    const caption = weld.runs.length > 1 ? `Run ${i + 1}` : "";
    box.append(...traces(data, weld, run, { caption, width }));
  });
  box.append(symbolOf(weld), factsOf(weld));
}

function headOf(weld, shapes) {
  const sign = el("svg", { class: "figure sign large", viewBox: "-22 -18 44 36", "aria-hidden": "true" });
  const g = el("g", { class: `mark ${weld.class}${weld.number > 99 ? " three" : ""}` });
  g.append(el("path", { d: shapes[weld.class] }), el("text", {}, String(weld.number)));
  sign.append(g);
  const words = el("div"), head = el("div", { class: "detail-head" });
  words.append(el("h2", { id: "detail-title" }, `Weld ${weld.number}`), el("p", { class: "name", dir: "auto" }, weld.name));
  head.append(sign, words);
  return head;
}

function heatOf({ quantities: [heat] }) {
  const big = el("p", { class: `big ${heat.class}`, id: "heat-input" });
  if (heat.value === null) big.append("not measured");
  else big.append(el("b", {}, number(heat.value, heat.decimals)), ` ± ${number(heat.uncertainty, heat.decimals)} ${heat.unit}`);
  return big;
}

function factsOf(weld) {
  const facts = el("dl", { class: "facts" });
  for (const [term, value] of weld.facts) {
    const pair = el("div");
    pair.append(el("dt", {}, term), el("dd", { dir: "auto" }, value));
    facts.append(pair);
  }
  return facts;
}

// A quantity in words, and its gauge: the limits as a band, the value as a stroke, its uncertainty as a bracket.
function gauge(q) {
  const box = el("div", { class: `quantity ${q.class}` });
  const text = el("p");
  text.append(el("span", {}, q.name), " ");
  text.append(el("b", {}, q.value === null ? "–" : withUncertainty(q)), ` ${q.words}`);
  box.append(text);
  const numbers = [q.low, q.high].filter((x) => x !== null);
  if (q.value !== null) numbers.push(q.value - q.uncertainty, q.value + q.uncertainty);
  if (!numbers.length) return box;
  let [low, high] = [Math.min(...numbers), Math.max(...numbers)];
  const room = Math.max((high - low) * 0.22, 1e-9);
  [low, high] = [low - room, high + room];
  const width = 400, x = (value) => f(((value - low) / (high - low)) * width);
  const svg = el("svg", { class: `gauge ${q.class}`, viewBox: `0 0 ${width} 46`, "aria-hidden": "true" });
  const from = q.low === null ? 0 : x(q.low), to = q.high === null ? width : x(q.high);
  svg.append(el("path", { class: "axis", d: `M0,14H${width}` }));
  if (q.low !== null || q.high !== null) svg.append(el("path", { class: "band", d: `M${from},5H${to}V23H${from}Z` }));
  for (const [limit, at] of [[q.low, from], [q.high, to]]) {
    if (limit === null) continue;
    svg.append(el("path", { class: "limit", d: `M${at},2V27` }));
    svg.append(el("text", { x: at, y: 43, "text-anchor": "middle" }, number(limit, q.decimals)));
  }
  if (q.value !== null) {
    const [a, b] = [x(q.value - q.uncertainty), x(q.value + q.uncertainty)];
    svg.append(el("path", { class: "uncertainty", d: `M${a},14H${b}M${a},9V19M${b},9V19` }), el("path", { class: "value", d: `M${x(q.value)},0V28` }));
  }
  box.append(svg);
  return box;
}

function runTable(weld) {
  const box = el("div", { class: "scroll" }), inner = el("table", { class: "runs" });
  const line = (cells, tag) => {
    const row = el("tr");
    cells.forEach((cell) => row.append(el(tag, {}, cell)));
    return row;
  };
  inner.append(line(["run", ...weld.quantities.map((q) => `${q.name}, ${q.unit}`)], "th"));
  weld.runs.forEach((run, i) => inner.append(line([String(i + 1), ...run.quantities.map((q) => (q.value === null ? "–" : number(q.value, q.decimals)))], "td")));
  box.append(inner);
  return box;
}

function symbolOf({ symbol }) {
  const long = symbolLength(symbol) + 60;
  const spoken = `Weld symbol after ${symbol.system}: ${symbol.kind} ${symbol.size}, length ${symbol.length}, ${symbol.tail}`;
  const svg = el("svg", { class: "figure callout", viewBox: `0 0 ${long} 60`, width: long, height: 60, role: "img", "aria-label": spoken });
  svg.append(el("path", { class: "ink", d: "M8,54L50,28" }), el("path", { class: "tip", d: "M8,54L18,43L22,50Z" }), weldSymbol(symbol, 50, 28, false));
  return svg;
}
