"use strict";
// The frame on the page: turned and zoomed, hidden parts hidden, no mark over another.
// Draws the scene that the program calculated (data.scene); knows nothing of verdicts or plans.

const SVG = "http://www.w3.org/2000/svg";
const el = (name, attributes = {}, text) => {
  const svg = ["svg", "g", "path", "text", "line", "rect", "title", "circle"].includes(name);
  const node = svg ? document.createElementNS(SVG, name) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (text !== undefined) node.textContent = text;
  return node;
};
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const plus = (a, b, k = 1) => [a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2]];
const minus = (a, b) => plus(a, b, -1);
const triples = (flat) => Array.from({ length: flat.length / 3 }, (_, k) => flat.slice(3 * k, 3 * k + 3));
const VIEWS = { front: [0, 0], back: [Math.PI, 0], top: [0, Math.PI / 2], side: [Math.PI / 2, 0], corner: [-0.6, 0.45] };
const TURN = Math.PI / 12, ZOOM = 1.4;

// options: scene, marks [{label, class, title, half, arrow}], shapes {class: path}, pick(k), symbols [weld symbol] or none
function frameView(host, { scene, marks, shapes, pick, symbols }) {
  const solids = scene.solids.map((solid) => {
    const vertices = triples(solid.vertices);
    const openings = solid.openings.map(([on, flat]) => [on, triples(flat)]);
    // Face planes as they are when nothing has moved: outward normal, and how far out.
    const planes = solid.faces.map(({ normal, corners }) => [normal, dot(vertices[corners[0]], normal)]);
    return { ...solid, vertices, rest: vertices, openings, still: openings, planes };
  });
  const welds = scene.weld_lines.map((flat) => triples(flat));
  const clamps = triples(scene.clamps);
  let [yaw, pitch] = VIEWS.front;
  let zoom = 1, shift = [0, 0], chosen = -1, dim = () => false, moved = null, spots = [], drawnWide = -1;

  host.textContent = "";
  const svg = el("svg", { class: "figure live", role: "group", "aria-label": "Drawing of the frame: arrow keys go from weld to weld, with Shift they turn it; plus and minus zoom" });
  const layers = Object.fromEntries(["metal", "clamps", "weld-lines", "leaders", "marks", "called"].map((name) => {
    const layer = el("g", { class: name });
    svg.append(layer);
    return [name, layer];
  }));
  const note = el("p", { class: "how", hidden: "" });
  host.append(svg, note);

  const buttons = marks.map((mark, k) => {
    const g = el("g", { role: "button", tabindex: "-1", "aria-pressed": "false", "data-weld": k + 1, "aria-label": mark.title });
    g.append(el("path"), el("text", { "aria-hidden": "true" }));
    g.addEventListener("click", () => pick(k));
    layers.marks.append(g);
    return g;
  });

  const axes = () => {
    const right = [Math.cos(yaw), 0, -Math.sin(yaw)];
    const toward = [Math.sin(yaw) * Math.cos(pitch), Math.sin(pitch), Math.cos(yaw) * Math.cos(pitch)];
    return { right, toward, up: cross(toward, right) };
  };
  const bounds = (() => {
    const all = solids.flatMap((solid) => solid.vertices).concat(welds.flatMap(([from, to]) => [from, to]));
    const low = [0, 1, 2].map((i) => all.reduce((m, p) => Math.min(m, p[i]), Infinity));
    const high = [0, 1, 2].map((i) => all.reduce((m, p) => Math.max(m, p[i]), -Infinity));
    return all.length ? { low, high } : { low: [0, 0, 0], high: [1, 1, 1] };
  })();
  const middle = plus(bounds.low, minus(bounds.high, bounds.low), 0.5);

  function draw() {
    const { right, up, toward } = axes();
    const width = host.clientWidth || 900;
    drawnWide = host.clientWidth;
    const size = minus(bounds.high, bounds.low);
    const spread = (axis) => [0, 1, 2].reduce((sum, i) => sum + Math.abs(axis[i]) * size[i], 0) || 1;
    const margin = width < 600 ? 44 : 62;
    const most = Math.min(640, Math.max(320, window.innerHeight * 0.72));
    // The height fits the front, so that the page does not jump when the frame is turned.
    const height = Math.min(most, Math.max(300, (width - 2 * margin) * (size[1] / (size[0] || 1)) + 2 * margin));
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.setAttribute("height", height);
    const scale = zoom * Math.min((width - 2 * margin) / spread(right), (height - 2 * margin) / spread(up));
    const focus = zoom > 1 && chosen >= 0 ? plus(middle, minus(mid(chosen), middle), 1 - 1 / zoom) : middle;
    const at = (p) => {
      const d = minus(p, focus);
      return [width / 2 + shift[0] + scale * dot(d, right), height / 2 + shift[1] - scale * dot(d, up)];
    };
    const view = { right, up, toward, at, scale };
    layers.metal.innerHTML = order(view).map((k) => metal(solids[k], view)).join("");
    layers.clamps.innerHTML = clamps.map((p) => {
      const [x, y] = at(p);
      return `<path class="clamp" d="M-13,-9H-7M-13,-9V9H-7M13,-9H7M13,-9V9H7" transform="translate(${f(x)} ${f(y)})"/>`;
    }).join("");
    layers.clamps.innerHTML += spots.map((p) => {
      const [x, y] = at(p);
      return `<path class="spot" d="M-11,0L0,-11L11,0L0,11Z" transform="translate(${f(x)} ${f(y)})"/>`;
    }).join("");
    const seen = welds.map((_, k) => sees(k, toward));
    layers["weld-lines"].innerHTML = welds.map(([from, to], k) => {
      if (!seen[k] && k !== chosen) return "";
      const name = `${marks[k].class}${seen[k] ? "" : " hidden"}${dim(k) ? " dim" : ""}${k === chosen ? " chosen" : ""}`;
      const [a, b] = [at(carried(k, from)), at(carried(k, to))];
      const halo = k === chosen ? `<path class="halo" d="${line([a, b])}"/>` : "";
      const direction = marks[k].arrow ? `<path class="direction" d="${line(head(a, b))}Z"/>` : "";
      const wide = scene.widths[k] * scale;
      return halo + (wide > 8 && seen[k] ? bead(a, b, wide, name) : `<path class="weld-line ${name}" d="${line([a, b])}"/>`) + direction;
    }).join("");
    label(seen, view, [width, height]);
  }

  const f = (x) => Math.round(x * 10) / 10;
  const line = (points) => points.map(([x, y], k) => `${k ? "L" : "M"}${f(x)},${f(y)}`).join("");
  // A point of a weld after its member has moved.
  const carried = (k, p) => (moved ? moved(scene.on[k], p) : p);
  const mid = (k) => carried(k, plus(welds[k][0], minus(welds[k][1], welds[k][0]), 0.5));
  // A weld large enough to be drawn in its true width: a bead with its ripples.
  const bead = (a, b, wide, name) => {
    const long = Math.hypot(b[0] - a[0], b[1] - a[1]), half = wide / 2;
    if (long < 1) return "";
    const [u, v] = [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
    const on = (along, across) => `${f(a[0] + u * along - v * across)},${f(a[1] + v * along + u * across)}`;
    let ripples = "";
    for (let along = half * 0.8; along < long; along += Math.max(3, wide * 0.3)) {
      ripples += `M${on(along - half * 0.5, half)}Q${on(along + half * 0.5, 0)} ${on(along - half * 0.5, -half)}`;
    }
    return `<path class="bead ${name}" d="M${on(0, half)}L${on(long, half)}A${f(half)},${f(half)} 0 0 0 ${on(long, -half)}L${on(0, -half)}A${f(half)},${f(half)} 0 0 0 ${on(0, half)}Z"/><path class="ripple" d="${ripples}"/>`;
  };
  const head = (a, b) => {
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1e-9;
    const [u, v] = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
    const base = [b[0] - 5 * u, b[1] - 5 * v];
    return [[b[0] + 9 * u, b[1] + 9 * v], [base[0] - 8 * v, base[1] + 8 * u], [base[0] + 8 * v, base[1] - 8 * u]];
  };

  function normal(solid, face) {
    const [a, b, c] = face.corners.map((k) => solid.vertices[k]);
    const n = cross(minus(b, a), minus(c, a));
    const length = Math.hypot(...n) || 1;
    // The program knows which side is outside.
    const sign = dot(n, face.normal) < 0 ? -1 : 1;
    return n.map((x) => (sign * x) / length);
  }

  function metal(solid, { at, right, up, toward }) {
    const light = plus(plus(right.map((x) => -0.4 * x), up, 0.6), toward, 0.7);
    const bright = Math.hypot(...light);
    const normals = solid.faces.map((face) => normal(solid, face));
    const seen = solid.faces.map((face, k) => face.drawn && dot(normals[k], toward) > 1e-6);
    let text = "";
    solid.faces.forEach((face, k) => {
      if (!seen[k]) return;
      const shade = Math.round(Math.min(4, Math.max(0, (1 - dot(normals[k], light) / bright) * 4))) + 1;
      text += `<path class="m${shade}" d="${line(face.corners.map((c) => at(solid.vertices[c])))}Z"/>`;
      for (const [on, corners] of solid.openings) {
        if (on === k) text += `<path class="hollow" d="${line(corners.map(at))}Z"/>`;
      }
    });
    const edges = solid.edges.filter(([, , a, b, smooth]) => (smooth ? seen[a] !== seen[b] : seen[a] || seen[b]));
    const d = edges.map(([from, to]) => line([at(solid.vertices[from]), at(solid.vertices[to])])).join("");
    return `${text}<path class="outline" d="${d}"/>`;
  }

  // Solids from the farthest to the nearest, by the planes between them.
  function order({ right, up, toward }) {
    const boxes = solids.map((solid) => {
      const x = solid.vertices.map((v) => dot(v, right)), y = solid.vertices.map((v) => dot(v, up));
      return [Math.min(...x), Math.min(...y), Math.max(...x), Math.max(...y)];
    });
    const behind = solids.map(() => 0), nearer = solids.map(() => []);
    for (const [first, second, plane] of scene.between) {
      const side = dot(scene.planes[plane], toward);
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

  function sees(k, toward) {
    const [from, to, outward] = welds[k];
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
    }
    return leave - enter > 0.5;
  }

  function label(seen, view, [width, height]) {
    const inPage = ([x, y]) => x > 0 && y > 0 && x < width && y < height;
    const wanted = welds.map((_, k) => k).filter((k) => (seen[k] || k === chosen) && inPage(view.at(mid(k))));
    const anchors = wanted.map((k) => {
      let towards = [dot(welds[k][2], view.right), -dot(welds[k][2], view.up)];
      if (Math.hypot(...towards) < 0.2) {
        const d = minus(mid(k), middle);
        towards = [dot(d, view.right), -dot(d, view.up)];
      }
      return { at: view.at(mid(k)), towards, half: marks[k].half };
    });
    const taken = [];
    const places = placeLabels(anchors, [width, height], taken);
    callOut(wanted.includes(chosen) ? chosen : -1, view, [width, height], taken);
    const without = places.filter((place) => !place).length;
    note.hidden = without === 0;
    note.textContent = without === 1 ? "1 number has no room here: zoom in." : `${without} numbers have no room here: zoom in.`;
    buttons.forEach((button) => button.setAttribute("display", "none"));
    layers.leaders.textContent = "";
    wanted.forEach((k, i) => {
      if (!places[i]) return;
      const [x, y] = places[i].map(f), mark = marks[k], button = buttons[k];
      button.removeAttribute("display");
      const three = mark.label.length > 2 ? " three" : "";
      button.setAttribute("class", `mark ${mark.class}${three}${dim(k) ? " dim" : ""}${k === chosen ? " chosen" : ""}`);
      button.setAttribute("transform", `translate(${x} ${y})`);
      button.firstChild.setAttribute("d", shapes[mark.class] || shapes["within-limits"]);
      button.lastChild.textContent = mark.label;
      layers.leaders.append(el("path", { class: `leader${dim(k) ? " dim" : ""}`, d: line([anchors[i].at, places[i]]) }));
    });
  }

  // The weld symbol of the weld picked, its arrow on the weld.
  function callOut(k, view, [width, height], taken) {
    layers.called.textContent = "";
    if (k < 0 || !symbols?.[k] || width < 560) return;
    const at = view.at(mid(k));
    const long = symbolLength(symbols[k]), half = [long / 2 + 3, 24];
    const towards = [dot(minus(mid(k), middle), view.right), -dot(minus(mid(k), middle), view.up)];
    const [place] = placeLabels([{ at, towards, half, reach: half[0], beside: true }], [width, height], taken);
    if (!place) return;
    const mirrored = place[0] < at[0];
    const [left, y] = [place[0] - long / 2, place[1]];
    const end = mirrored ? left + long : left;
    const g = el("g", { class: "callout" });
    g.append(el("rect", { class: "under", x: f(left - 3), y: f(y - 24), width: f(long + 6), height: 48 }));
    g.append(el("path", { class: "ink", d: line([at, [end, y]]) }), el("path", { class: "tip", d: `${line(head([end, y], at))}Z` }));
    g.append(weldSymbol(symbols[k], left, y, mirrored));
    layers.called.append(g);
  }

  function refresh() {
    const roving = chosen >= 0 ? chosen : 0;
    buttons.forEach((button, k) => {
      button.setAttribute("tabindex", k === roving ? "0" : "-1");
      button.setAttribute("aria-pressed", String(k === chosen));
      button.setAttribute("aria-label", marks[k].title);
    });
    draw();
    // A mark that is not shown cannot be reached by Tab: the first one that is shown takes its place.
    if (buttons[roving]?.getAttribute("display") === "none") {
      buttons.find((button) => button.getAttribute("display") !== "none")?.setAttribute("tabindex", "0");
    }
  }

  svg.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    const here = Number(event.target.dataset?.weld) - 1;
    if (Number.isNaN(here) || event.ctrlKey || event.altKey || event.metaKey) return;
    const turn = event.shiftKey && { ArrowLeft: [-TURN, 0], ArrowRight: [TURN, 0], ArrowUp: [0, -TURN], ArrowDown: [0, TURN] }[event.key];
    const zoomBy = { "+": ZOOM, "=": ZOOM, "-": 1 / ZOOM }[event.key];
    if (turn || zoomBy) {
      event.preventDefault();
      if (turn) api.turn(...turn);
      else api.magnify(zoomBy);
      host.dispatchEvent(new CustomEvent("turned", { detail: "" }));
      if (event.target.getAttribute("display") === "none") svg.querySelector("[role=button][tabindex='0']")?.focus({ preventScroll: true });
    } else if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      pick(here);
    } else if (step) {
      event.preventDefault();
      const next = (here + step + marks.length) % marks.length;
      pick(next);
      buttons[next].focus({ preventScroll: true });
    }
  });

  // One pointer turns, with shift it moves; two zoom and move.
  const pointers = new Map();
  let apart = 0, between = null, dragged = false;
  svg.addEventListener("pointerdown", (event) => {
    pointers.set(event.pointerId, [event.clientX, event.clientY]);
    dragged = false;
    apart = 0;
    between = null;
  });
  window.addEventListener("pointermove", (event) => {
    const last = pointers.get(event.pointerId);
    if (!last) return;
    const by = [event.clientX - last[0], event.clientY - last[1]];
    if (!dragged && Math.hypot(...by) < 4) return;
    dragged = true;
    pointers.set(event.pointerId, [event.clientX, event.clientY]);
    if (pointers.size === 2) {
      const [a, b] = [...pointers.values()];
      const now = Math.hypot(a[0] - b[0], a[1] - b[1]);
      const centre = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
      if (apart) zoom = Math.min(12, Math.max(0.5, zoom * (now / apart)));
      if (between) shift = [shift[0] + centre[0] - between[0], shift[1] + centre[1] - between[1]];
      [apart, between] = [now, centre];
    } else if (event.shiftKey) {
      shift = [shift[0] + by[0], shift[1] + by[1]];
    } else {
      yaw -= by[0] * 0.008;
      pitch = Math.max(-1.5, Math.min(1.5, pitch + by[1] * 0.008));
      host.dispatchEvent(new CustomEvent("turned", { detail: "" }));
    }
    schedule();
  });
  for (const end of ["pointerup", "pointercancel"]) {
    window.addEventListener(end, (event) => pointers.delete(event.pointerId));
  }
  svg.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    zoom = Math.min(12, Math.max(0.5, zoom * Math.exp(-event.deltaY * 0.002)));
    schedule();
  }, { passive: false });

  let due = false;
  function schedule() {
    if (due) return;
    due = true;
    requestAnimationFrame(() => {
      due = false;
      draw();
    });
  }
  new ResizeObserver(() => {
    if (host.clientWidth !== drawnWide) schedule();
  }).observe(host);

  const api = {
    look(name) {
      [yaw, pitch] = VIEWS[name];
      shift = [0, 0];
      zoom = 1;
      refresh();
    },
    turn(by, over) {
      yaw += by;
      pitch = Math.max(-1.5, Math.min(1.5, pitch + over));
      refresh();
    },
    magnify(factor) {
      zoom = Math.min(12, Math.max(0.5, zoom * factor));
      refresh();
    },
    // Chooses a weld, and turns the frame if the weld is hidden from here.
    choose(k) {
      chosen = k;
      if (k >= 0 && !sees(k, axes().toward)) {
        const side = ["front", "back", "corner", "side", "top"].find((name) => {
          const [y, p] = VIEWS[name];
          return sees(k, [Math.sin(y) * Math.cos(p), Math.sin(p), Math.cos(y) * Math.cos(p)]);
        });
        if (side) {
          [yaw, pitch] = VIEWS[side];
          host.dispatchEvent(new CustomEvent("turned", { detail: side }));
        }
      }
      refresh();
    },
    filter(test) {
      dim = test;
      draw();
    },
    // Moves the corners: by(member, point) gives where a point of a member goes; null puts them back.
    move(by) {
      moved = by;
      solids.forEach((solid) => {
        solid.vertices = by ? solid.rest.map((v) => by(solid.member, v)) : solid.rest;
        solid.openings = by ? solid.still.map(([on, corners]) => [on, corners.map((v) => by(solid.member, v))]) : solid.still;
      });
      draw();
    },
    // Draws a weld along another line than its own.
    line(k, [from, to]) {
      welds[k][0] = from;
      welds[k][1] = to;
    },
    // Points to show beside the welds.
    spots(points) {
      spots = points;
    },
    draw: refresh,
  };
  // Drawn when the page chooses a weld; if it chooses none, the observer draws.
  return api;
}

// Buttons that turn and zoom: <button data-look="front">, data-turn="-15,0", data-zoom="1.25".
function wireControls(box, host, view) {
  const looks = [...box.querySelectorAll("[data-look]")];
  const press = (name) => looks.forEach((button) => button.setAttribute("aria-pressed", String(button.dataset.look === name)));
  box.addEventListener("click", ({ target }) => {
    const { look, turn, zoom } = target.closest("button")?.dataset || {};
    if (look) {
      view.look(look);
      press(look);
    }
    if (turn) {
      const [by, over] = turn.split(",").map((degrees) => (Number(degrees) * Math.PI) / 180);
      view.turn(by, over);
      press("");
    }
    if (zoom) view.magnify(Number(zoom));
  });
  host.addEventListener("turned", ({ detail }) => press(detail));
  box.hidden = false;
}
