// The metal of the frame: solids from the farthest to the nearest, welds as beads, and what hides what.

import { cross, dot, f, line, minus, plus, triples } from "./geometry.js";

// A solid of the scene with its corners as points. `rest` and `still` keep where they are when nothing has moved.
export function solidOf(solid) {
  const vertices = triples(solid.vertices);
  const openings = solid.openings.map(([on, flat]) => [on, triples(flat)]);
  // Face planes when nothing has moved: outward normal, and how far out.
  const planes = solid.faces.map(({ normal, corners }) => [normal, dot(vertices[corners[0]], normal)]);
  return { ...solid, vertices, rest: vertices, openings, still: openings, planes };
}

// Moves the corners of a solid: by(member, point) gives where a point of a member goes; null puts them back.
export function moveSolid(solid, by) {
  solid.vertices = by ? solid.rest.map((v) => by(solid.member, v)) : solid.rest;
  solid.openings = by ? solid.still.map(([on, corners]) => [on, corners.map((v) => by(solid.member, v))]) : solid.still;
}

// The edges of a solid where nothing has moved, as one path.
export function drawGhost(solid, { at, toward }) {
  const seen = solid.faces.map((face) => face.drawn && dot(face.normal, toward) > 1e-6);
  const edges = solid.edges.filter(([, , a, b, smooth]) => (smooth ? seen[a] !== seen[b] : seen[a] || seen[b]));
  return edges.map(([from, to]) => line([at(solid.rest[from]), at(solid.rest[to])])).join("");
}

function outwardNormal(solid, face) {
  const [a, b, c] = face.corners.map((k) => solid.vertices[k]);
  const n = cross(minus(b, a), minus(c, a));
  const length = Math.hypot(...n) || 1;
  // The program knows which side is outside.
  const sign = dot(n, face.normal) < 0 ? -1 : 1;
  return n.map((x) => (sign * x) / length);
}

export function drawSolid(solid, { at, right, up, toward }, picked = false) {
  const light = plus(plus(right.map((x) => -0.4 * x), up, 0.6), toward, 0.7);
  const bright = Math.hypot(...light);
  const normals = solid.faces.map((face) => outwardNormal(solid, face));
  const seen = solid.faces.map((face, k) => face.drawn && dot(normals[k], toward) > 1e-6);
  let text = "";
  solid.faces.forEach((face, k) => {
    if (!seen[k]) return;
    const shade = Math.round(Math.min(4, Math.max(0, (1 - dot(normals[k], light) / bright) * 4))) + 1;
    text += `<path class="m${shade}" data-member="${solid.member}" d="${line(face.corners.map((c) => at(solid.vertices[c])))}Z"/>`;
    for (const [on, corners] of solid.openings) {
      if (on === k) text += `<path class="hollow" d="${line(corners.map(at))}Z"/>`;
    }
  });
  const edges = solid.edges.filter(([, , a, b, smooth]) => (smooth ? seen[a] !== seen[b] : seen[a] || seen[b]));
  const d = edges.map(([from, to]) => line([at(solid.vertices[from]), at(solid.vertices[to])])).join("");
  return `${text}<path class="outline${picked ? " picked" : ""}" d="${d}"/>`;
}

// A weld large enough to be drawn in its true width: a bead with its ripples.
export function drawBead(a, b, wide, name) {
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]), half = wide / 2;
  if (long < 1) return "";
  const [u, v] = [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
  const on = (along, across) => `${f(a[0] + u * along - v * across)},${f(a[1] + v * along + u * across)}`;
  let ripples = "";
  for (let along = half * 0.8; along < long; along += Math.max(3, wide * 0.3)) {
    ripples += `M${on(along - half * 0.5, half)}Q${on(along + half * 0.5, 0)} ${on(along - half * 0.5, -half)}`;
  }
  return `<path class="bead ${name}" d="M${on(0, half)}L${on(long, half)}A${f(half)},${f(half)} 0 0 0 ${on(long, -half)}L${on(0, -half)}A${f(half)},${f(half)} 0 0 0 ${on(0, half)}Z"/><path class="ripple" d="${ripples}"/>`;
}

// How far away each solid is, as a class of its drawing. A flat frame has no far side.
export const DISTANCES = ["near", "farther", "farthest"];
const FLAT = 0.2;
export function distances(solids, { toward }) {
  const middles = solids.map(({ rest }) => rest.reduce((sum, v) => plus(sum, v, 1 / rest.length), [0, 0, 0]));
  const spread = (values) => Math.max(...values) - Math.min(...values);
  const sides = [0, 1, 2].map((axis) => spread(middles.map((middle) => middle[axis])));
  if (!solids.length || Math.min(...sides) <= FLAT * Math.max(...sides)) return solids.map(() => DISTANCES[0]);
  const depths = middles.map((middle) => dot(middle, toward)), nearest = Math.max(...depths), deep = spread(depths) || 1;
  return depths.map((depth) => DISTANCES[Math.min(2, Math.floor((3 * (nearest - depth)) / deep))]);
}

// Indices of the solids from the farthest to the nearest, by the planes between them.
export function backToFront(solids, { planes, between }, { right, up, toward }) {
  const boxes = solids.map((solid) => {
    const x = solid.vertices.map((v) => dot(v, right)), y = solid.vertices.map((v) => dot(v, up));
    return [Math.min(...x), Math.min(...y), Math.max(...x), Math.max(...y)];
  });
  const behind = solids.map(() => 0), nearer = solids.map(() => []);
  for (const [first, second, plane] of between) {
    const side = dot(planes[plane], toward);
    const [a, b] = [boxes[first], boxes[second]];
    if (Math.abs(side) < 1e-6 || a[0] >= b[2] || b[0] >= a[2] || a[1] >= b[3] || b[1] >= a[3]) continue;
    const [far, near] = side > 0 ? [first, second] : [second, first];
    nearer[far].push(near);
    behind[near] += 1;
  }
  const depth = solids.map((solid) => solid.vertices.reduce((sum, v) => sum + dot(v, toward), 0) / solid.vertices.length);
  const left = solids.map((_, k) => k).sort((a, b) => depth[a] - depth[b]);
  const sorted = [];
  while (left.length) {
    const place = Math.max(0, left.findIndex((k) => behind[k] === 0));
    const [solid] = left.splice(place, 1);
    for (const near of nearer[solid]) behind[near] -= 1;
    sorted.push(solid);
  }
  return sorted;
}

// Whether some part of a weld has no metal between itself and the reader.
export function sees(solids, [from, to, outward], toward) {
  return [0.5, 0.2, 0.8].some((share) => {
    const above = plus(plus(from, minus(to, from), share), outward, 1.5);
    return !solids.some((solid) => hides(solid, above, toward));
  });
}

function hides(solid, point, toward) {
  let enter = 0, leave = Infinity;
  for (const [normal, far] of solid.planes) {
    const room = far - dot(point, normal);
    const speed = dot(toward, normal);
    if (Math.abs(speed) < 1e-4) {
      // A line of sight in the plane where two members meet is hidden by both, not by neither.
      if (room < -0.1) return false;
    } else if (speed > 0) leave = Math.min(leave, room / speed);
    else enter = Math.max(enter, room / speed);
    if (leave - enter <= 0.5) return false;
  }
  return leave - enter > 0.5;
}
