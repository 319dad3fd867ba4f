// The traces of a run: volts, amps, power and heat so far, its beads one after the other, to be read with a pointer or keys.

import { el, f, number } from "./geometry.js";

const LEFT = 66, RIGHT = 8, TALL = 88, STRIP = 72, PLOT = 64;

// What the beads of a run recorded, with times from its start.
export function pointsOf(data, weld, run) {
  /** @type {any} */
  const points = { at: [], from: [], arc_on: [], volts: [[], [], []], amps: [[], [], []], power: [[], [], []], heat: [], time: 0 };
  let energy = 0;
  for (const bead of run.beads) {
    const trace = data.beads[bead - 1]?.trace;
    if (!trace) continue;
    let last = 0;
    trace.until.forEach((until, k) => {
      points.from.push(points.time + last);
      points.at.push(points.time + until);
      points.arc_on.push(trace.arc_on[k]);
      for (let i = 0; i < 3; i += 1) {
        points.volts[i].push(trace.volts[i][k] / 10);
        points.amps[i].push(trace.amps[i][k]);
        points.power[i].push(trace.power[i][k] / 100);
      }
      points.heat.push(((energy + trace.energy[k]) * weld.efficiency * data.heat_unit) / weld.length_mm);
      last = until;
    });
    points.time += last;
    energy += trace.energy[trace.energy.length - 1] || 0;
  }
  return points;
}

// The traces in a figure of their own, or nothing for a run without any.
export function traces(data, weld, run, { caption, width }) {
  const points = pointsOf(data, weld, run);
  if (!points.at.length) return [];
  const [heat, volts, amps] = run.quantities || weld.quantities;
  const strips = [
    { name: "volts", unit: "V", decimals: 1, series: points.volts, limits: volts },
    { name: "amps", unit: "A", decimals: 0, series: points.amps, limits: amps },
    { name: "power", unit: "kW", decimals: 2, series: points.power },
    { name: "heat", unit: heat.unit, decimals: heat.decimals, series: [points.heat, points.heat, points.heat], limits: heat, rising: true },
  ];
  const box = el("figure", { class: "traces" });
  if (caption) box.append(el("h3", {}, caption));
  for (const bead of run.beads) {
    const { number: of, at: began, flags } = data.beads[bead - 1] || {};
    if (of) box.append(el("p", { class: "event" }, [`bead ${of} of the log, from ${began}`, ...flags].join("; ")));
  }
  const read = el("figcaption", {}, "Thick line: mean. Shade: lowest to highest. Band: limits. Point, touch or use the arrow keys to read values.");
  const svg = plot(points, strips, caption, width);
  listenToReader(svg, points, strips, read, width);
  box.append(svg, read);
  return [box];
}

const across = (time, width) => (t) => f(LEFT + (t / time) * (width - LEFT - RIGHT));

function plot(points, strips, caption, width) {
  const { time } = points, height = strips.length * TALL + 26;
  const label = `${caption ? `${caption}. ` : ""}Volts, amps, power and heat over ${number(time, 1)} seconds`;
  const svg = el("svg", { class: "figure trace", viewBox: `0 0 ${width} ${height}`, tabindex: "0", role: "slider", "aria-label": label, "aria-valuemin": "0", "aria-valuemax": number(time, 1), "aria-valuenow": "0", "aria-valuetext": "use the arrow keys to read values" });
  const x = across(time, width);
  strips.forEach((strip, k) => svg.append(drawStrip(strip, k * TALL, { points, x, right: width - RIGHT })));
  svg.append(el("text", { class: "scale", x: LEFT, y: height - 6 }, "0 s"), el("text", { class: "scale", x: width - RIGHT, y: height - 6, "text-anchor": "end" }, `${number(time, 1)} s`));
  svg.append(el("path", { class: "hair", d: "" }));
  return svg;
}

// A hair line and the values at it follow pointer and keys.
function listenToReader(svg, points, strips, read, width) {
  const { time } = points, x = across(time, width), hair = svg.lastChild;
  let here = -1;
  const readAt = (k) => {
    here = Math.min(points.at.length - 1, Math.max(0, k));
    const middle = (points.from[here] + points.at[here]) / 2;
    hair.setAttribute("d", `M${x(middle)},0V${strips.length * TALL + 2}`);
    const values = points.arc_on[here] ? strips.map((s) => `${number(s.series[1][here], s.decimals)} ${s.unit}`).join(", ") : "arc out";
    read.textContent = `${number(middle, 1)} s: ${values}`;
    svg.setAttribute("aria-valuenow", number(middle, 1));
    svg.setAttribute("aria-valuetext", read.textContent);
  };
  const point = (event) => {
    const frame = svg.getBoundingClientRect();
    const t = (((event.clientX - frame.left) / frame.width) * width - LEFT) / (width - LEFT - RIGHT) * time;
    readAt(points.at.findIndex((until) => until >= t));
  };
  svg.addEventListener("pointermove", point);
  svg.addEventListener("pointerdown", point);
  svg.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
    const ends = { Home: 0, End: points.at.length - 1 }[event.key];
    if (step === undefined && ends === undefined) return;
    event.preventDefault();
    readAt(ends ?? here + step);
  });
}

function drawStrip({ name, unit, decimals, series, limits, rising }, top, { points, x, right }) {
  const [lowest, , highest] = series, bottom = top + STRIP;
  const g = el("g", { class: `strip ${name}` });
  const burning = points.arc_on.map((on, k) => (on ? k : -1)).filter((k) => k >= 0);
  const known = [limits?.low, limits?.high].filter((v) => v !== null && v !== undefined);
  const high = Math.max(...burning.map((k) => highest[k]), ...known) * 1.06 || 1;
  const low = Math.min(0, ...burning.map((k) => lowest[k]));
  const y = (v) => f(bottom - ((v - low) / (high - low)) * PLOT);
  // Heat is judged when the run is finished, so its band is at the end.
  const from = rising ? right - 14 : LEFT;
  if (known.length) g.append(el("path", { class: "band", d: `M${from},${y(limits.high ?? high)}H${right}V${y(limits.low ?? low)}H${from}Z` }));
  g.append(el("path", { class: "axis", d: `M${LEFT},${bottom}H${right}` }));
  g.append(el("text", { class: "scale name", x: 0, y: top + 16 }, name));
  for (const [at, text, quiet] of [[bottom + 3, number(low, low === 0 ? 0 : decimals), ""], [top + 34, number(high / 1.06, decimals), ""], [top + 52, unit, " quiet"]]) {
    g.append(el("text", { class: `scale${quiet}`, x: LEFT - 6, y: at, "text-anchor": "end" }, text));
  }
  g.append(...curves(series, rising, { points, x, y }, top, bottom));
  for (const limit of known) g.append(el("path", { class: "limit", d: `M${from},${y(limit)}H${right}` }));
  return g;
}

// A piece of curve for each time the arc burned, and a grey gap where it was out.
function curves([lowest, mean, highest], rising, { points, x, y }, top, bottom) {
  const drawn = [];
  let lit = [];
  const flush = () => {
    if (!lit.length) return;
    const edge = (values) => lit.map((k) => `L${x(points.from[k])},${y(values[k])}L${x(points.at[k])},${y(values[k])}`).join("");
    const back = [...lit].reverse().map((k) => `L${x(points.at[k])},${y(lowest[k])}L${x(points.from[k])},${y(lowest[k])}`).join("");
    if (!rising) drawn.push(el("path", { class: "spread", d: `M${edge(highest).slice(1)}${back}Z` }));
    const start = lit[0] > 0 ? mean[lit[0] - 1] : 0;
    const d = rising
      ? `M${x(points.from[lit[0]])},${y(start)}${lit.map((k) => `L${x(points.at[k])},${y(mean[k])}`).join("")}`
      : `M${edge(mean).slice(1)}`;
    drawn.push(el("path", { class: "mean", d }));
    lit = [];
  };
  points.arc_on.forEach((on, k) => {
    if (on) {
      lit.push(k);
      return;
    }
    flush();
    drawn.push(el("path", { class: "gap", d: `M${x(points.from[k])},${top + 6}H${Math.max(x(points.at[k]), x(points.from[k]) + 2)}V${bottom}H${x(points.from[k])}Z` }));
  });
  flush();
  return drawn;
}
