// What stands beside a weld: its number, where it covers no other, and its weld symbol.

import { el } from "./geometry.js";

// As in the program (drawing/label.rs): from the outside in, each label at its cheapest free place.
// `taken` collects the boxes of the labels.
export function placeLabels(anchors, [width, height], taken = []) {
  const places = anchors.map(() => null);
  const overlap = (a, ha, b, hb, gap) => Math.abs(a[0] - b[0]) < ha[0] + hb[0] + gap && Math.abs(a[1] - b[1]) < ha[1] + hb[1] + gap;
  const centre = [0, 1].map((i) => anchors.reduce((sum, a) => sum + a.at[i], 0) / (anchors.length || 1));
  const far = (a) => Math.hypot(a.at[0] - centre[0], a.at[1] - centre[1]);
  const sorted = anchors.map((_, k) => k).sort((a, b) => far(anchors[b]) - far(anchors[a]));
  for (const k of sorted) {
    const { at, towards, half, beside } = anchors[k];
    const reach = anchors[k].reach ?? Math.max(...half), direction = Math.atan2(towards[1], towards[0]);
    /** @type {any} */
    let best = null;
    for (let ring = 0; ring < 60; ring += 1) {
      const radius = reach + 8 + 9 * ring;
      if (best && best.cost <= radius) break;
      for (let step = 0; step < 24; step += 1) {
        const turn = (2 * Math.PI * step) / 24;
        const place = [at[0] + radius * Math.cos(direction + turn), at[1] + radius * Math.sin(direction + turn)];
        if (place[0] < half[0] || place[1] < half[1] || place[0] > width - half[0] || place[1] > height - half[1]) continue;
        if (beside && Math.abs(place[0] - at[0]) < half[0] + 8) continue;
        if (taken.some(([other, size]) => overlap(place, half, other, size, 3))) continue;
        const covered = anchors.filter((other) => overlap(place, half, other.at, [2, 2], 0)).length;
        const cost = radius + 6 * Math.min(turn, 2 * Math.PI - turn) + 40 * covered;
        if (!best || cost < best.cost) best = { cost, place };
      }
    }
    if (best) {
      taken.push([best.place, half]);
      places[k] = best.place;
    }
  }
  return places;
}

// A weld symbol is { system, size, kind, length, tail }: after ISO 2553, system A, on the solid line with a dashed one
// beside it, or after AWS A2.4 below the line, both for the arrow side.
export const wide = (text) => [...text].reduce((sum, c) => sum + (/[A-Z]/.test(c) ? 13 : 9.2), 0);
export const symbolLength = ({ size, length, tail }) => 62 + wide(size) + wide(length) + wide(tail);

// Drawn from x to the right on a reference line at y; the tail is at the end away from the arrow.
export function weldSymbol({ system, size, kind, length, tail }, x, y, mirrored) {
  const g = el("g", {});
  const tailLong = wide(tail) + 20;
  const from = mirrored ? x + tailLong : x, to = mirrored ? x + symbolLength({ size, length, tail }) : x + symbolLength({ size, length, tail }) - tailLong;
  const fork = mirrored ? `M${from - 12},${y - 11}L${from},${y}L${from - 12},${y + 11}` : `M${to + 12},${y - 11}L${to},${y}L${to + 12},${y + 11}`;
  g.append(el("path", { class: "ink", d: `M${from},${y}H${to}${fork}` }));
  const above = system === "ISO 2553";
  if (above) g.append(el("path", { class: "ink thin", d: `M${from},${y + 6}H${to}` }));
  const middle = from + 8 + wide(size) + 6, up = above ? -1 : 1, base = above ? y - 5 : y + 17;
  g.append(el("path", { class: "ink", d: kind === "fillet" ? `M${middle},${y}V${y + 18 * up}L${middle + 18},${y}` : `M${middle + 3},${y}V${y + 18 * up}M${middle + 13},${y}V${y + 18 * up}` }));
  g.append(el("text", { x: middle - 5, y: base, "text-anchor": "end" }, size), el("text", { x: middle + 22, y: base }, length));
  g.append(mirrored ? el("text", { x: x + 2, y: y + 5 }, tail) : el("text", { x: to + 16, y: y + 5 }, tail));
  return g;
}
