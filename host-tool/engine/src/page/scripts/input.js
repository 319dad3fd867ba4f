// Turning, zooming and moving the frame with keys, pointers and buttons.

export const TURN = Math.PI / 12, ZOOM = 1.4;

// Arrow keys go from weld to weld, with Shift they turn the frame; plus and minus zoom; Enter selects.
export function listenToKeys(view) {
  const turns = { ArrowLeft: [-TURN, 0], ArrowRight: [TURN, 0], ArrowUp: [0, -TURN], ArrowDown: [0, TURN] };
  const zooms = { "+": ZOOM, "=": ZOOM, "-": 1 / ZOOM };
  const steps = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
  const act = (here, event) => {
    const turn = event.shiftKey && turns[event.key], zoom = zooms[event.key], step = steps[event.key];
    if (turn || zoom) {
      if (turn) view.turn(...turn);
      else view.magnify(zoom);
      view.announce("");
      if (event.target.getAttribute("display") === "none") view.svg.querySelector("[role=button][tabindex='0']")?.focus({ preventScroll: true });
    } else if (event.key === "Enter" || event.key === " ") {
      view.pick(here);
    } else if (step) {
      const next = (here + step + view.marks.length) % view.marks.length;
      view.pick(next);
      view.buttons[next].focus({ preventScroll: true });
    } else return;
    event.preventDefault();
  };
  view.svg.addEventListener("keydown", (event) => {
    const here = Number(event.target.dataset?.weld) - 1;
    if (!Number.isNaN(here) && !event.ctrlKey && !event.altKey && !event.metaKey) act(here, event);
  });
}

// One pointer turns, with Shift it moves; two zoom and move; the wheel with Ctrl zooms.
export function listenToPointers(view) {
  const pointers = new Map();
  let apart = 0, dragged = false;
  /** @type {any} */
  let between = null;
  const pinch = ([a, b]) => {
    const now = Math.hypot(a[0] - b[0], a[1] - b[1]);
    const centre = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    if (apart) view.zoomBy(now / apart);
    if (between) view.shiftBy([centre[0] - between[0], centre[1] - between[1]]);
    [apart, between] = [now, centre];
  };
  view.svg.addEventListener("pointerdown", (event) => {
    pointers.set(event.pointerId, [event.clientX, event.clientY]);
    [apart, between, dragged] = [0, null, false];
  });
  const listen = { signal: view.signal };
  window.addEventListener("pointermove", (event) => {
    const last = pointers.get(event.pointerId);
    if (!last) return;
    const by = [event.clientX - last[0], event.clientY - last[1]];
    if (!dragged && Math.hypot(...by) < 4) return;
    dragged = true;
    pointers.set(event.pointerId, [event.clientX, event.clientY]);
    if (pointers.size === 2) pinch(/** @type {any} */ ([...pointers.values()]));
    else if (event.shiftKey) view.shiftBy(by);
    else {
      view.turnBy(-by[0] * 0.008, by[1] * 0.008);
      view.announce("");
    }
    view.schedule();
  }, listen);
  for (const end of /** @type {const} */ (["pointerup", "pointercancel"])) {
    window.addEventListener(end, (event) => pointers.delete(event.pointerId), listen);
  }
  // A drag that ends on a member or a mark turns the frame; it is not meant as a tap.
  view.svg.addEventListener("click", (event) => {
    if (dragged) event.stopPropagation();
  }, { capture: true });
  view.svg.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    view.zoomBy(Math.exp(-event.deltaY * 0.002));
    view.schedule();
  }, { passive: false });
}

// Buttons that turn and zoom: <button data-look="front">, data-turn="-15,0", data-zoom="1.25".
export function listenToButtons(box, view) {
  const looks = [...box.querySelectorAll("[data-look]")];
  const press = (name) => looks.forEach((button) => button.setAttribute("aria-pressed", String(button.dataset.look === name)));
  box.addEventListener("click", ({ target }) => {
    const { look, turn, zoom } = target.closest("button")?.dataset || {};
    if (look) {
      view.look(look);
      press(look);
    }
    if (turn) {
      view.turn(...turn.split(",").map((degrees) => (Number(degrees) * Math.PI) / 180));
      press("");
    }
    if (zoom) view.magnify(Number(zoom));
  });
  view.host.addEventListener("turned", ({ detail }) => press(detail));
  box.hidden = false;
}
