"use strict";
// The weld map: a weld selected in drawing, table or timeline is shown with its numbers and its traces.

(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  // What all welds share is in the data once.
  const whole = (quantities) => quantities?.map((q, i) => ({ ...q, ...data.quantities[i], words: data.words[q.class] }));
  for (const weld of data.welds) {
    weld.quantities = whole(weld.quantities);
    for (const run of weld.runs) run.quantities = whole(run.quantities);
  }
  const host = document.getElementById("frame"), detail = document.getElementById("detail");
  const table = document.getElementById("welds"), controls = document.getElementById("controls");
  const rows = [...table.tBodies[0].rows];
  const shown = new Set();
  let chosen = -1;

  const view = frameView(host, { scene: data.scene, marks: data.marks, shapes: data.shapes, pick: (k) => choose(k), symbols: data.welds.map((weld) => weld.symbol) });
  wireControls(controls, host, view);
  document.documentElement.classList.add("live");

  function choose(k) {
    chosen = k;
    rows.forEach((row, i) => {
      row.classList.toggle("chosen", i === k);
      row.querySelector("button").setAttribute("aria-pressed", String(i === k));
    });
    document.querySelectorAll(".time [data-weld]").forEach((arc) => arc.classList.toggle("chosen", Number(arc.dataset.weld) === k + 1));
    view.choose(k);
    show(k);
  }

  table.addEventListener("click", ({ target }) => {
    const row = target.closest("tr[data-weld]");
    if (row) choose(rows.indexOf(row));
  });
  table.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const row = event.target.closest("tr[data-weld]");
    if (!step || !row) return;
    event.preventDefault();
    const open = rows.filter((one) => !one.hidden);
    const next = open[open.indexOf(row) + step];
    if (next) {
      next.querySelector("button").focus();
      choose(rows.indexOf(next));
    }
  });
  document.querySelectorAll(".time").forEach((time) => time.addEventListener("click", ({ target }) => {
    if (target.dataset.weld) choose(Number(target.dataset.weld) - 1);
  }));
  for (const button of document.querySelectorAll("[data-verdict]")) {
    button.addEventListener("click", () => {
      const { verdict } = button.dataset;
      const on = !shown.has(verdict);
      on ? shown.add(verdict) : shown.delete(verdict);
      button.setAttribute("aria-pressed", String(on));
      const out = (k) => shown.size > 0 && !shown.has(data.welds[k].class);
      rows.forEach((row, k) => { row.hidden = out(k); });
      view.filter(out);
    });
  }

  const number = (value, decimals) => value.toFixed(decimals);
  const f = (x) => Math.round(x * 10) / 10;

  function show(k) {
    const weld = data.welds[k];
    detail.hidden = false;
    detail.textContent = "";
    const sign = el("svg", { class: "figure sign large", viewBox: "-22 -18 44 36", "aria-hidden": "true" });
    const g = el("g", { class: `mark ${weld.class}${weld.number > 99 ? " three" : ""}` });
    g.append(el("path", { d: data.shapes[weld.class] }), el("text", {}, String(weld.number)));
    sign.append(g);
    const head = el("div", { class: "detail-head" });
    const words = el("div");
    const title = el("h2", { id: "detail-title" }, `Weld ${weld.number}`);
    const name = el("p", { class: "name", dir: "auto" }, weld.name);
    words.append(title, name);
    head.append(sign, words);
    const [heat] = weld.quantities;
    const big = el("p", { class: `big ${heat.class}`, id: "heat-input" });
    if (heat.value === null) big.append("not measured");
    else big.append(el("b", {}, number(heat.value, heat.decimals)), ` ± ${number(heat.uncertainty, heat.decimals)} ${heat.unit}`);
    detail.append(head, el("p", { class: `verdict ${weld.class}` }, weld.verdict), big);
    for (const flag of weld.flags) detail.append(el("p", { class: "flag" }, flag));
    const gauges = el("div", { class: "gauges" });
    weld.quantities.forEach((quantity) => gauges.append(gauge(quantity)));
    detail.append(gauges);
    if (weld.runs.length > 1) detail.append(runTable(weld));
    weld.runs.forEach((run, i) => {
      const box = traces(weld, run, weld.runs.length > 1 ? `Run ${i + 1}` : "");
      if (box) detail.append(box);
    });
    detail.append(callOut(weld));
    const facts = el("dl", { class: "facts" });
    for (const [term, value] of weld.facts) {
      const pair = el("div");
      pair.append(el("dt", {}, term), el("dd", { dir: "auto" }, value));
      facts.append(pair);
    }
    detail.append(facts);
  }

  function gauge(q) {
    const box = el("div", { class: `quantity ${q.class}` });
    const text = el("p");
    text.append(el("span", {}, q.name), " ");
    text.append(el("b", {}, q.value === null ? "–" : `${number(q.value, q.decimals)} ± ${number(q.uncertainty, q.decimals)} ${q.unit}`), ` ${q.words}`);
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

  function callOut({ symbol }) {
    const long = symbolLength(symbol) + 60;
    const spoken = `Weld symbol after ${symbol.system}: ${symbol.kind} ${symbol.size}, length ${symbol.length}, ${symbol.tail}`;
    const svg = el("svg", { class: "figure callout", viewBox: `0 0 ${long} 60`, width: long, height: 60, role: "img", "aria-label": spoken });
    svg.append(el("path", { class: "ink", d: "M8,54L50,28" }), el("path", { class: "tip", d: "M8,54L18,43L22,50Z" }), weldSymbol(symbol, 50, 28, false));
    return svg;
  }

  // Volts, amps, power and heat so far, of the beads of a run one after the other.
  function traces(weld, run, caption) {
    const width = Math.max(300, Math.round(detail.clientWidth - 44));
    const points = { at: [], from: [], arc_on: [], volts: [[], [], []], amps: [[], [], []], power: [[], [], []], heat: [] };
    let time = 0, energy = 0;
    for (const bead of run.beads) {
      const trace = data.beads[bead - 1]?.trace;
      if (!trace) continue;
      let last = 0;
      trace.until.forEach((until, k) => {
        points.from.push(time + last);
        points.at.push(time + until);
        points.arc_on.push(trace.arc_on[k]);
        for (let i = 0; i < 3; i += 1) {
          points.volts[i].push(trace.volts[i][k] / 10);
          points.amps[i].push(trace.amps[i][k]);
          points.power[i].push(trace.power[i][k] / 100);
        }
        points.heat.push(((energy + trace.energy[k]) * weld.efficiency * data.heat_unit) / weld.length_mm);
        last = until;
      });
      time += last;
      energy += trace.energy[trace.energy.length - 1] || 0;
    }
    if (!points.at.length) return null;
    const [heat, volts, amps] = run.quantities || weld.quantities;
    const box = el("figure", { class: "traces" });
    const read = el("figcaption", {}, "");
    const strips = [
      { name: "volts", unit: "V", decimals: 1, series: points.volts, limits: volts },
      { name: "amps", unit: "A", decimals: 0, series: points.amps, limits: amps },
      { name: "power", unit: "kW", decimals: 2, series: points.power },
      { name: "running heat", unit: heat.unit, decimals: heat.decimals, series: [points.heat, points.heat, points.heat], limits: heat, rising: true },
    ];
    const left = 66, tall = 88, height = strips.length * tall + 26;
    const spoken = `${caption ? `${caption}. ` : ""}Volts, amps, power and heat over ${number(time, 1)} seconds`;
    const svg = el("svg", { class: "figure trace", viewBox: `0 0 ${width} ${height}`, tabindex: "0", role: "slider", "aria-label": spoken, "aria-valuemin": "0", "aria-valuemax": number(time, 1), "aria-valuenow": "0", "aria-valuetext": "use the arrow keys to read values" });
    const x = (t) => f(left + (t / time) * (width - left - 8));
    strips.forEach((strip, k) => svg.append(drawStrip(strip, k * tall, { points, x, left, width })));
    svg.append(el("text", { class: "scale", x: left, y: height - 6 }, "0 s"), el("text", { class: "scale", x: width - 8, y: height - 6, "text-anchor": "end" }, `${number(time, 1)} s`));
    const hair = el("path", { class: "hair", d: "" });
    svg.append(hair);
    let here = -1;
    const at = (k) => {
      here = Math.min(points.at.length - 1, Math.max(0, k));
      const middle = (points.from[here] + points.at[here]) / 2;
      hair.setAttribute("d", `M${x(middle)},0V${height - 24}`);
      const reading = points.arc_on[here]
        ? strips.map((s) => `${number(s.series[1][here], s.decimals)} ${s.unit}`).join(", ")
        : "arc out";
      read.textContent = `${number(middle, 1)} s: ${reading}`;
      svg.setAttribute("aria-valuenow", number(middle, 1));
      svg.setAttribute("aria-valuetext", read.textContent);
    };
    const readAt = (event) => {
      const frame = svg.getBoundingClientRect();
      const t = (((event.clientX - frame.left) / frame.width) * width - left) / (width - left - 8) * time;
      at(points.at.findIndex((until) => until >= t));
    };
    svg.addEventListener("pointermove", readAt);
    svg.addEventListener("pointerdown", readAt);
    svg.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      const ends = { Home: 0, End: points.at.length - 1 }[event.key];
      if (step === undefined && ends === undefined) return;
      event.preventDefault();
      at(ends ?? here + step);
    });
    if (caption) box.append(el("h3", {}, caption));
    for (const bead of run.beads) {
      const { number: of, at: began, flags } = data.beads[bead - 1] || {};
      if (of) box.append(el("p", { class: "event" }, [`bead ${of} of the log, from ${began}`, ...flags].join("; ")));
    }
    read.textContent = "Thick line: mean. Shade: lowest to highest. Band: limits. Point, touch or use the arrow keys to read values.";
    box.append(svg, read);
    return box;
  }

  function drawStrip({ name, unit, decimals, series, limits, rising }, top, { points, x, left, width }) {
    const [least, mean, greatest] = series, bottom = top + 72;
    const g = el("g", { class: `strip ${name.split(" ").pop()}` });
    const burning = points.arc_on.map((on, k) => (on ? k : -1)).filter((k) => k >= 0);
    const known = [limits?.low, limits?.high].filter((v) => v !== null && v !== undefined);
    const high = Math.max(...burning.map((k) => greatest[k]), ...known) * 1.06 || 1;
    const low = Math.min(0, ...burning.map((k) => least[k]));
    const y = (v) => f(bottom - ((v - low) / (high - low)) * 64);
    const right = width - 8;
    if (known.length) {
      const [a, b] = [y(limits.high ?? high), y(limits.low ?? low)];
      // Heat is judged when the run is finished, so its band is at the end.
      const from = rising ? right - 14 : left;
      g.append(el("path", { class: "band", d: `M${from},${a}H${right}V${b}H${from}Z` }));
    }
    g.append(el("path", { class: "axis", d: `M${left},${bottom}H${right}` }));
    g.append(el("text", { class: "scale name", x: 0, y: top + 16 }, name === "running heat" ? "heat" : name));
    g.append(el("text", { class: "scale", x: left - 6, y: bottom + 3, "text-anchor": "end" }, number(low, low === 0 ? 0 : decimals)));
    g.append(el("text", { class: "scale", x: left - 6, y: top + 34, "text-anchor": "end" }, number(high / 1.06, decimals)));
    g.append(el("text", { class: "scale quiet", x: left - 6, y: top + 52, "text-anchor": "end" }, unit));
    // One piece of line for each time the arc burned.
    let run = [];
    const flush = () => {
      if (!run.length) return;
      const edge = (values, list) => list.map((k) => `L${x(points.from[k])},${y(values[k])}L${x(points.at[k])},${y(values[k])}`).join("");
      const back = [...run].reverse().map((k) => `L${x(points.at[k])},${y(least[k])}L${x(points.from[k])},${y(least[k])}`).join("");
      if (!rising) g.append(el("path", { class: "spread", d: `M${edge(greatest, run).slice(1)}${back}Z` }));
      const start = run[0] > 0 ? mean[run[0] - 1] : 0;
      const d = rising
        ? `M${x(points.from[run[0]])},${y(start)}${run.map((k) => `L${x(points.at[k])},${y(mean[k])}`).join("")}`
        : `M${edge(mean, run).slice(1)}`;
      g.append(el("path", { class: "mean", d }));
      run = [];
    };
    const edges = () => {
      for (const limit of known) g.append(el("path", { class: "limit", d: `M${rising ? right - 14 : left},${y(limit)}H${right}` }));
    };
    points.arc_on.forEach((on, k) => {
      if (on) run.push(k);
      else {
        flush();
        g.append(el("path", { class: "gap", d: `M${x(points.from[k])},${top + 6}H${Math.max(x(points.at[k]), x(points.from[k]) + 2)}V${bottom}H${x(points.from[k])}Z` }));
      }
    });
    flush();
    edges();
    return g;
  }

  const first = ["out-of-limits", "marginal", "within-limits"].map((name) => data.welds.findIndex((weld) => weld.class === name)).find((k) => k >= 0);
  if (first === undefined) view.draw();
  else choose(first);
})();
