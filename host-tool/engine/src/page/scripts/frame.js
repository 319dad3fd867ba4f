// The frame on the page: turned and zoomed, hidden parts hidden, no mark over another.
// Draws the scene that the program calculated (data.scene); knows nothing of verdicts or plans.

import { VIEWS, arrowHead, axes, bounds, dot, el, f, line, minus, plus, triples } from "./geometry.js";
import { listenToKeys, listenToPointers } from "./input.js";
import { placeLabels, symbolLength, weldSymbol } from "./labels.js";
import { backToFront, drawBead, drawGhost, drawSolid, moveSolid, sees, solidOf } from "./metal.js";

const JAWS = "M-13,-9H-7M-13,-9V9H-7M13,-9H7M13,-9V9H7", DIAMOND = "M-11,0L0,-11L11,0L0,11Z";
export const limited = (low, value, high) => Math.min(high, Math.max(low, value));

export class FrameView {
  /** @type {any} */ host; /** @type {any} */ scene; /** @type {any} */ marks; /** @type {any} */ shapes; /** @type {any} */ symbols;
  /** @type {any} */ pick; /** @type {any} */ pickMember; /** @type {any} */ signal; /** @type {any} */ svg; /** @type {any} */ layers;
  /** @type {any} */ moved; /** @type {any} */ buttons; /** @type {any} */ note; /** @type {any} */ exaggerated; /** @type {any} */ dim;
  member = -1;

  // scene, marks [{label, class, title, half, arrow}], shapes {class: path}, pick(k), symbols [weld symbol] or none;
  // pickMember(k) if members can be picked; signal ends it.
  /** @param {any} host @param {any} options */
  constructor(host, { scene, marks, shapes, pick, symbols, pickMember, signal }) {
    Object.assign(this, { host, scene, marks, shapes, pick, symbols, pickMember, signal });
    this.solids = scene.solids.map(solidOf);
    this.welds = scene.weld_lines.map(triples);
    this.clamps = triples(scene.clamps);
    this.bounds = bounds(this.solids.flatMap((solid) => solid.vertices).concat(this.welds.flatMap(([from, to]) => [from, to])));
    this.middle = plus(this.bounds.low, minus(this.bounds.high, this.bounds.low), 0.5);
    [this.turned, this.zoom, this.shift] = [VIEWS.front, 1, [0, 0]];
    [this.chosen, this.member, this.dim, this.moved, this.points] = [-1, -1, () => false, null, []];
    this.build();
    listenToKeys(this);
    listenToPointers(this);
    this.drawnWide = -1;
    const observer = new ResizeObserver(() => {
      if (host.clientWidth !== this.drawnWide) this.schedule();
    });
    observer.observe(host);
    signal?.addEventListener("abort", () => observer.disconnect());
    // Drawn when the page chooses a weld; if it chooses none, the observer draws.
  }

  build() {
    this.host.textContent = "";
    this.svg = el("svg", { class: "figure live", role: "group", "aria-label": "Drawing of the frame: arrow keys go from weld to weld, with Shift they turn it; plus and minus zoom" });
    this.layers = Object.fromEntries(["ghost", "metal", "points", "weld-lines", "leaders", "marks", "called"].map((name) => {
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
  }

  // Points to show beside the welds.
  show(points) {
    this.points = points;
  }

  refresh() {
    const roving = this.chosen >= 0 ? this.chosen : 0;
    this.buttons.forEach((button, k) => {
      button.setAttribute("tabindex", k === roving ? "0" : "-1");
      button.setAttribute("aria-pressed", String(k === this.chosen));
      button.setAttribute("aria-label", this.marks[k].title);
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
    const width = this.host.clientWidth || 900;
    const size = minus(this.bounds.high, this.bounds.low);
    const spread = (axis) => [0, 1, 2].reduce((sum, i) => sum + Math.abs(axis[i]) * size[i], 0) || 1;
    const margin = width < 600 ? 44 : 62;
    const most = limited(320, window.innerHeight * 0.72, 640);
    // The height fits the front, so that the page does not jump when the frame is turned.
    const height = Math.min(most, Math.max(300, (width - 2 * margin) * (size[1] / (size[0] || 1)) + 2 * margin));
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
    const view = this.view(), [width, height] = view.size;
    this.drawnWide = this.host.clientWidth;
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.svg.setAttribute("height", height);
    this.layers.metal.innerHTML = backToFront(this.solids, this.scene, view).map((k) => drawSolid(this.solids[k], view, this.solids[k].member === this.member)).join("");
    this.layers.ghost.innerHTML = this.moved ? `<path class="as-drawn" d="${this.solids.map((solid) => drawGhost(solid, view)).join("")}"/>` : "";
    const shown = (name, shape) => (p) => {
      const [x, y] = view.at(p);
      return `<path class="${name}" d="${shape}" transform="translate(${f(x)} ${f(y)})"/>`;
    };
    this.layers.points.innerHTML = [...this.clamps.map(shown("clamp", JAWS)), ...this.points.map(shown("spot", DIAMOND))].join("");
    const seen = this.welds.map((weld) => sees(this.solids, weld, view.toward));
    this.layers["weld-lines"].innerHTML = this.welds.map((_, k) => (seen[k] || k === this.chosen ? this.weld(k, seen[k], view) : "")).join("");
    this.label(seen, view);
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
    const places = placeLabels(anchors, view.size, taken);
    this.callOut(wanted.includes(this.chosen) ? this.chosen : -1, view, taken);
    const without = places.filter((place) => !place).length;
    this.note.hidden = without === 0;
    this.note.textContent = without === 1 ? "1 number has no room here: zoom in." : `${without} numbers have no room here: zoom in.`;
    this.buttons.forEach((button) => button.setAttribute("display", "none"));
    this.layers.leaders.textContent = "";
    wanted.forEach((k, i) => places[i] && this.mark(k, anchors[i].at, places[i]));
  }

  mark(k, at, place) {
    const [x, y] = place.map(f), mark = this.marks[k], button = this.buttons[k];
    const dim = this.dim(k) ? " dim" : "";
    button.removeAttribute("display");
    button.setAttribute("class", `mark ${mark.class}${mark.label.length > 2 ? " three" : ""}${dim}${k === this.chosen ? " chosen" : ""}`);
    button.setAttribute("transform", `translate(${x} ${y})`);
    button.firstChild.setAttribute("d", this.shapes[mark.class] || this.shapes["within-limits"]);
    button.lastChild.textContent = mark.label;
    this.layers.leaders.append(el("path", { class: `leader${dim}`, d: line([at, place]) }));
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
