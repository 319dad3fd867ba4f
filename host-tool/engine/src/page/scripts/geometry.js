// Elements, vectors and directions of view that the other scripts use.

export const SVG = "http://www.w3.org/2000/svg";
// An element that the page has, by its id.
/** @returns {any} */
export const byId = (id) => document.getElementById(id);
/** @returns {any} */
export const el = (name, attributes = {}, text) => {
  const svg = ["svg", "g", "path", "text", "line", "rect", "title", "circle"].includes(name);
  const node = svg ? document.createElementNS(SVG, name) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (text !== undefined) node.textContent = text;
  return node;
};

export const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
export const plus = (a, b, k = 1) => [a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2]];
export const minus = (a, b) => plus(a, b, -1);
export const triples = (flat) => Array.from({ length: flat.length / 3 }, (_, k) => flat.slice(3 * k, 3 * k + 3));
export const bounds = (points) => {
  if (!points.length) return { low: [0, 0, 0], high: [1, 1, 1] };
  const fold = (of, start) => [0, 1, 2].map((i) => points.reduce((m, p) => of(m, p[i]), start));
  return { low: fold(Math.min, Infinity), high: fold(Math.max, -Infinity) };
};

// Yaw and pitch of the views; the first five have a button. The corners are those of page/frame.rs.
export const VIEWS = {
  front: [0, 0], back: [Math.PI, 0], top: [0, Math.PI / 2], side: [Math.PI / 2, 0], corner: [-0.6, 0.45],
  "right corner": [0.6, 0.45], "back corner": [Math.PI + 0.6, 0.45], "right back corner": [Math.PI - 0.6, 0.45],
};
// Directions that are to the right, up and towards the reader.
export const axes = ([yaw, pitch]) => {
  const right = [Math.cos(yaw), 0, -Math.sin(yaw)];
  const toward = [Math.sin(yaw) * Math.cos(pitch), Math.sin(pitch), Math.cos(yaw) * Math.cos(pitch)];
  return { right, toward, up: cross(toward, right) };
};

export const number = (value, decimals) => value.toFixed(decimals);
// Numbers and lines of a path, in units of the page.
export const f = (x) => Math.round(x * 10) / 10;
export const line = (points) => points.map(([x, y], k) => `${k ? "L" : "M"}${f(x)},${f(y)}`).join("");
// A head at the end of a line of travel: tip first, then the two corners of the base.
export const arrowHead = (a, b) => {
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1e-9;
  const [u, v] = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
  const base = [b[0] - 5 * u, b[1] - 5 * v];
  return `${line([[b[0] + 9 * u, b[1] + 9 * v], [base[0] - 8 * v, base[1] + 8 * u], [base[0] + 8 * v, base[1] - 8 * u]])}Z`;
};
