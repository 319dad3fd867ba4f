// The frame on the page: turned and zoomed, hidden parts hidden, no mark over another.
// Draws the scene that the program calculated (data.scene); knows nothing of verdicts or plans.

import { VIEWS, arrowHead, axes, bounds, dot, el, f, line, minus, plus, triples } from "./geometry.js";
import { listenToKeys, listenToPointers } from "./input.js";
import { placeLabels, symbolLength, weldSymbol } from "./labels.js";
import { DISTANCES, backToFront, distances, drawBead, drawGhost, drawSolid, moveSolid, sees, solidOf } from "./metal.js";

const JAWS = "M-13,-9H-7M-13,-9V9H-7M13,-9H7M13,-9V9H7", DIAMOND = "M-11,0L0,-11L11,0L0,11Z";
// Half of what a finger needs, px.
const TARGET = 22;
// Numbers find their places when nothing has changed for so long.
const SETTLE_MS = 150;
// An attribute, touched only if it changes: each touch costs the browser a new look at the element.
const set = (node, name, value) => {
  if (value === null) {
    if (node.hasAttribute(name)) node.removeAttribute(name);
  } else if (node.getAttribute(name) !== String(value)) node.setAttribute(name, value);
};
export const limited = (low, value, high) => Math.min(high, Math.max(low, value));

export class FrameView {
  /** @type {any} */ host; /** @type {any} */ scene; /** @type {any} */ marks; /** @type {any} */ shapes; /** @type {any} */ symbols;
  /** @type {any} */ solids; /** @type {any} */ welds; /** @type {any} */ clamps; /** @type {any} */ bounds; /** @type {any} */ middle;
  /** @type {any} */ pick; /** @type {any} */ pickMember; /** @type {any} */ signal; /** @type {any} */ svg; /** @type {any} */ layers;
  /** @type {any} */ moved; /** @type {any} */ buttons; /** @type {any} */ note; /** @type {any} */ exaggerated; /** @type {any} */ dim;
  /** @type {any[]} */ inSight = []; wide = 0; drawnWide = -1; /** @type {any} */ settling; /** @type {Map<number, any>} */ besides = new Map();
  member = -1; held = false; hasty = false; seenFrom = "";

  // scene, marks [{label, class, title, half, arrow}], shapes {class: path}, pick(k), symbols [weld symbol] or none;
  // pickMember(k) if members can be picked; signal ends it.
  /** @param {any} host @param {any} options */
  constructor(host, { scene, marks, shapes, pick, symbols, pickMember, signal }) {
    Object.assign(this, { host, scene, marks, shapes, pick, symbols, pickMember, signal });
    this.take(scene);
    [this.turned, this.zoom, this.shift] = [VIEWS.front, 1, [0, 0]];
    [this.chosen, this.member, this.dim, this.moved, this.points] = [-1, -1, () => false, null, []];
    this.build();
    listenToKeys(this);
    listenToPointers(this);
    // The width is heard of, not asked for: asking makes the browser lay out everything that was just drawn.
    const observer = new ResizeObserver(([{ contentRect: { width } }]) => {
      this.wide = Math.round(width);
      if (this.wide !== this.drawnWide) this.schedule();
    });
    observer.observe(host);
    signal?.addEventListener("abort", () => observer.disconnect());
    // Drawn when the page chooses a weld; if it chooses none, the observer draws.
  }

  // Another frame with the same marks.
  take(scene) {
    this.scene = scene;
    this.solids = scene.solids.map(solidOf);
    this.welds = scene.weld_lines.map(triples);
    this.clamps = triples(scene.clamps);
    this.bounds = bounds(this.solids.flatMap((solid) => solid.vertices).concat(this.welds.flatMap(([from, to]) => [from, to])));
    this.middle = plus(this.bounds.low, minus(this.bounds.high, this.bounds.low), 0.5);
    this.seenFrom = "";
  }

  // Makes several changes and draws them once. In haste every number stays where it was beside its weld, and finds its
  // place when no other change follows.
  update(change, hasty = false) {
    this.held = true;
    change();
    this.held = false;
    this.hasty = hasty;
    this.refresh();
    this.hasty = false;
    clearTimeout(this.settling);
    if (hasty) this.settling = setTimeout(() => this.draw(), SETTLE_MS);
  }

  build() {
    this.host.textContent = "";
    this.svg = el("svg", { class: "figure live", role: "group", "aria-label": "Drawing of the frame: arrow keys go from weld to weld, with Shift they turn it; plus and minus zoom" });
    this.layers = Object.fromEntries(["ghost", "metal", "points", "weld-lines", "leaders", "targets", "marks", "called"].map((name) => {
      const layer = el("g", { class: name });
      this.svg.append(layer);
      return [name, layer];
    }));
    this.note = el("p", { class: "how", hidden: "" });
    this.exaggerated = el("p", { class: "exaggerated", hidden: "" });
    this.host.append(this.exaggerated, this.svg, this.note);
    this.layers.metal.addEventListener("click", ({ target }) => {
      const { member } = target.dataset;
      if (member !== undefined) this.pickMember?.(Number(member));
    });
    // A mark is smaller than a finger: around it too it can be pressed.
    this.layers.targets.addEventListener("click", ({ target }) => this.pick(Number(target.dataset.weld) - 1));
    this.buttons = this.marks.map((mark, k) => {
      const g = el("g", { role: "button", tabindex: "-1", "aria-pressed": "false", "data-weld": k + 1, "aria-label": mark.title });
      g.append(el("path"), el("text", { "aria-hidden": "true" }));
      g.addEventListener("click", () => this.pick(k));
      this.layers.marks.append(g);
      return g;
    });
  }

  // What the page asks for.

  look(name) {
    [this.turned, this.zoom, this.shift] = [VIEWS[name], 1, [0, 0]];
    this.refresh();
  }

  turn(by, over) {
    this.turnBy(by, over);
    this.refresh();
  }

  magnify(factor) {
    this.zoomBy(factor);
    this.refresh();
  }

  // Chooses a weld, and turns the frame if the weld is hidden from here.
  choose(k) {
    this.chosen = k;
    if (k >= 0 && !sees(this.solids, this.welds[k], axes(this.turned).toward)) {
      const side = ["front", "back", "corner", "side", "top"].find((name) => sees(this.solids, this.welds[k], axes(VIEWS[name]).toward));
      if (side) {
        this.turned = VIEWS[side];
        this.announce(side);
      }
    }
    this.refresh();
  }

  filter(test) {
    this.dim = test;
    this.draw();
  }

  // by(member, point) gives where a point of a member goes, `times` as far as it does; null puts everything back.
  move(by, times = 1) {
    this.moved = by;
    this.exaggerated.hidden = !by;
    this.exaggerated.textContent = times > 1 ? `Movement exaggerated ${times} times. The thin outline is the frame as drawn.` : "";
    this.solids.forEach((solid) => moveSolid(solid, by));
    this.draw();
  }

  // Draws a weld along another line than its own.
  line(k, [from, to]) {
    this.welds[k][0] = from;
    this.welds[k][1] = to;
    this.seenFrom = "";
  }

  // Points to show beside the welds.
  show(points) {
    this.points = points;
  }

  refresh() {
    if (this.held) return;
    const roving = this.chosen >= 0 ? this.chosen : 0;
    this.buttons.forEach((button, k) => {
      set(button, "tabindex", k === roving ? "0" : "-1");
      set(button, "aria-pressed", String(k === this.chosen));
      set(button, "aria-label", this.marks[k].title);
    });
    this.draw();
    // A mark that is not shown cannot be reached by Tab: the first one that is shown takes its place.
    if (this.buttons[roving]?.getAttribute("display") === "none") {
      this.buttons.find((button) => button.getAttribute("display") !== "none")?.setAttribute("tabindex", "0");
    }
  }

  // What keys and pointers change.

  turnBy(by, over) {
    const [yaw, pitch] = this.turned;
    this.turned = [yaw + by, limited(-1.5, pitch + over, 1.5)];
  }

  zoomBy(factor) {
    this.zoom = limited(0.5, this.zoom * factor, 12);
  }

  shiftBy([x, y]) {
    this.shift = [this.shift[0] + x, this.shift[1] + y];
  }

  // Tells the buttons which view this is: a name, or "" for none of them.
  announce(name) {
    this.host.dispatchEvent(new CustomEvent("turned", { detail: name }));
  }

  schedule() {
    if (this.due) return;
    this.due = true;
    requestAnimationFrame(() => {
      this.due = false;
      this.draw();
    });
  }

  // Drawing.

  // A point of a weld after its member has moved.
  carried(k, p) {
    return this.moved ? this.moved(this.scene.on[k], p) : p;
  }

  mid(k) {
    const [from, to] = this.welds[k];
    return this.carried(k, plus(from, minus(to, from), 0.5));
  }

  // The directions of the view, its scale, and at(point): where a point is on the page.
  view() {
    const { right, up, toward } = axes(this.turned);
    this.wide ||= this.host.clientWidth;
    const width = this.wide || 900;
    const size = minus(this.bounds.high, this.bounds.low);
    const spread = (axis) => [0, 1, 2].reduce((sum, i) => sum + Math.abs(axis[i]) * size[i], 0) || 1;
    const small = width < 300, margin = small ? 12 : width < 600 ? 44 : 62;
    const most = limited(320, window.innerHeight * 0.72, 640);
    // The height fits the front, so that the page does not jump when the frame is turned.
    const height = Math.min(most, Math.max(small ? 160 : 300, (width - 2 * margin) * (size[1] / (size[0] || 1)) + 2 * margin));
    const scale = this.zoom * Math.min((width - 2 * margin) / spread(right), (height - 2 * margin) / spread(up));
    const { middle, shift, chosen, zoom } = this;
    const focus = zoom > 1 && chosen >= 0 ? plus(middle, minus(this.mid(chosen), middle), 1 - 1 / zoom) : middle;
    const at = (p) => {
      const d = minus(p, focus);
      return [width / 2 + shift[0] + scale * dot(d, right), height / 2 + shift[1] - scale * dot(d, up)];
    };
    return { right, up, toward, at, scale, size: [width, height] };
  }

  draw() {
    if (this.held) return;
    const view = this.view(), [width, height] = view.size;
    this.drawnWide = this.wide;
    set(this.svg, "viewBox", `0 0 ${width} ${height}`);
    set(this.svg, "height", height);
    const far = distances(this.solids, view);
    this.layers.metal.innerHTML = backToFront(this.solids, this.scene, view).map((k) => `<g class="${far[k]}">${drawSolid(this.solids[k], view, this.solids[k].member === this.member)}</g>`).join("");
    const ghost = (distance) => `<path class="as-drawn ${distance}" d="${this.solids.filter((_, k) => far[k] === distance).map((solid) => drawGhost(solid, view)).join("")}"/>`;
    this.layers.ghost.innerHTML = this.moved ? DISTANCES.map(ghost).join("") : "";
    const shown = (name, shape) => (p) => {
      const [x, y] = view.at(p);
      return `<path class="${name}" d="${shape}" transform="translate(${f(x)} ${f(y)})"/>`;
    };
    this.layers.points.innerHTML = [...this.clamps.map(shown("clamp", JAWS)), ...this.points.map(shown("spot", DIAMOND))].join("");
    const seen = this.seen(view.toward);
    this.layers["weld-lines"].innerHTML = this.welds.map((_, k) => (seen[k] || k === this.chosen ? this.weld(k, seen[k], view) : "")).join("");
    this.label(seen, view);
  }

  // Which welds can be seen from there; kept while the frame is not turned.
  seen(toward) {
    const from = `${toward}`;
    // In haste what could be seen of the frame before it was changed is near enough.
    if (this.hasty && this.inSight.length === this.welds.length) return this.inSight;
    if (from !== this.seenFrom) this.inSight = this.welds.map((weld) => sees(this.solids, weld, toward));
    this.seenFrom = from;
    return this.inSight;
  }

  weld(k, seen, { at, scale }) {
    const mark = this.marks[k], chosen = k === this.chosen;
    const name = `${mark.class}${seen ? "" : " hidden"}${this.dim(k) ? " dim" : ""}${chosen ? " chosen" : ""}`;
    const [a, b] = this.welds[k].slice(0, 2).map((p) => at(this.carried(k, p)));
    const halo = chosen ? `<path class="halo" d="${line([a, b])}"/>` : "";
    const direction = mark.arrow ? `<path class="direction" d="${arrowHead(a, b)}"/>` : "";
    const wide = this.scene.widths[k] * scale;
    return halo + (wide > 8 && seen ? drawBead(a, b, wide, name) : `<path class="weld-line ${name}" d="${line([a, b])}"/>`) + direction;
  }

  // Where there is room for a label: away from the metal, or from the middle of the frame if the weld faces the reader.
  anchor(k, { at, right, up }) {
    const flat = (d) => [dot(d, right), -dot(d, up)];
    const outward = flat(this.welds[k][2]);
    const towards = Math.hypot(...outward) < 0.2 ? flat(minus(this.mid(k), this.middle)) : outward;
    return { at: at(this.mid(k)), towards, half: this.marks[k].half };
  }

  label(seen, view) {
    const inPage = ([x, y]) => x > 0 && y > 0 && x < view.size[0] && y < view.size[1];
    const wanted = this.welds.map((_, k) => k).filter((k) => (seen[k] || k === this.chosen) && inPage(view.at(this.mid(k))));
    const anchors = wanted.map((k) => this.anchor(k, view)), taken = [];
    const kept = this.hasty && wanted.every((k) => this.besides.has(k));
    const places = kept ? wanted.map((k, i) => this.beside(k, anchors[i].at)) : placeLabels(anchors, view.size, taken);
    if (!kept) this.besides = new Map(wanted.map((k, i) => [k, places[i] && [places[i][0] - anchors[i].at[0], places[i][1] - anchors[i].at[1]]]));
    this.callOut(wanted.includes(this.chosen) ? this.chosen : -1, view, taken);
    const without = places.filter((place) => !place).length;
    this.note.hidden = without === 0;
    this.note.textContent = without === 1 ? "1 number has no room here: zoom in." : `${without} numbers have no room here: zoom in.`;
    const marked = new Set(wanted.filter((_, i) => places[i]));
    this.buttons.forEach((button, k) => set(button, "display", marked.has(k) ? null : "none"));
    const drawn = wanted.flatMap((k, i) => (places[i] ? [this.mark(k, anchors[i].at, places[i])] : []));
    this.layers.leaders.innerHTML = drawn.map(({ leader }) => leader).join("");
    this.layers.targets.innerHTML = drawn.map(({ target }) => target).join("");
  }

  // Where the number of a weld was, seen from its weld.
  beside(k, at) {
    const by = this.besides.get(k);
    return by && [at[0] + by[0], at[1] + by[1]];
  }

  mark(k, at, place) {
    const [x, y] = place.map(f), mark = this.marks[k], button = this.buttons[k];
    const dim = this.dim(k) ? " dim" : "";
    set(button, "class", `mark ${mark.class}${mark.label.length > 2 ? " three" : ""}${dim}${k === this.chosen ? " chosen" : ""}`);
    set(button, "transform", `translate(${x} ${y})`);
    set(button.firstChild, "d", this.shapes[mark.class] || this.shapes["within-limits"]);
    if (button.lastChild.textContent !== mark.label) button.lastChild.textContent = mark.label;
    return {
      leader: `<path class="leader${dim}" d="${line([at, place])}"/><circle class="leader-end${dim}" cx="${f(at[0])}" cy="${f(at[1])}" r="2.5"/>`,
      target: `<circle data-weld="${k + 1}" cx="${x}" cy="${y}" r="${TARGET}"/>`,
    };
  }

  // The weld symbol of the selected weld, its arrow on the weld.
  callOut(k, view, taken) {
    this.layers.called.textContent = "";
    const symbol = this.symbols?.[k];
    if (!symbol || view.size[0] < 560) return;
    const at = view.at(this.mid(k)), d = minus(this.mid(k), this.middle);
    const long = symbolLength(symbol), half = [long / 2 + 3, 24];
    const towards = [dot(d, view.right), -dot(d, view.up)];
    const [place] = placeLabels([{ at, towards, half, reach: half[0], beside: true }], view.size, taken);
    if (!place) return;
    const mirrored = place[0] < at[0];
    const [left, y] = [place[0] - long / 2, place[1]];
    const end = [mirrored ? left + long : left, y];
    const g = el("g", { class: "callout" });
    g.append(el("rect", { class: "under", x: f(left - 3), y: f(y - 24), width: f(long + 6), height: 48 }));
    g.append(el("path", { class: "ink", d: line([at, end]) }), el("path", { class: "tip", d: arrowHead(end, at) }));
    g.append(weldSymbol(symbol, left, y, mirrored));
    this.layers.called.append(g);
  }
}
