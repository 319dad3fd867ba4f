// Changes worth trying on a job; each makes a variant, by an edit of the engine where the text changes.

/** @typedef {{ name: string, make: () => unknown }} Try */

/** @param {import("./app.js").App} app @returns {{ title: string, tried: Try[], note?: string }[]} */
export function tries(app) {
  const groups = /** @type {any[]} */ (app.form ?? []), has = (/** @type {string} */ key) => groups.some((group) => group.key === key && group.present);
  const edit = (/** @type {string} */ name, /** @type {object} */ change) => ({ name, make: () => app.variants.tryEdit(name, change) });
  const clamps = app.look?.job?.clamps ?? 0;
  return [
    { title: "Order", tried: [{ name: "file order", make: () => app.variants.keep("file order", { order: [] }) }, { name: "planned order", make: () => app.variants.tryPlanned() }] },
    { title: "Clamps", tried: [...(has("frame") ? [edit("corners clamped", { edit: "clamp_corners" })] : []), ...(clamps ? [edit("no clamps", { edit: "no_clamps" })] : [])],
      note: has("frame") ? "" : "Tap a member of the drawing to clamp it at a place, then keep the job as a variant." },
    { title: "Pre-camber", tried: [{ name: "pre-camber what bows most", make: () => app.variants.keep("pre-camber", { preCamber: true }) }] },
    { title: "Sides welded", ...sides(app, has, edit) },
    { title: "Intermittent", ...intermittent(app, edit) },
  ];
}

/** @param {import("./app.js").App} app @param {(key: string) => boolean} has @param {(name: string, change: object) => Try} edit */
function sides(app, has, edit) {
  const set = (/** @type {string} */ group, /** @type {string} */ value) => ({ edit: "set", path: [...group.split("."), "welded"], value });
  const words = /** @type {[string, string][]} */ ([["front only", "front"], ["front and back", "front, back"], ["all round", "all"]]);
  const bars = /** @type {[string, string][]} */ ([["frame.bars", "bars"], ["frame.mid_rails", "mid rails"]]).filter(([key]) => has(key));
  const tried = bars.flatMap(([key, title]) => words.map(([name, value]) => edit(`${title}: ${name}`, set(key, value))));
  const corner = (app.look?.job?.joints ?? []).find((/** @type {any} */ joint) => joint.name.endsWith(" corner") && joint.sides.length > 1);
  if (has("frame") && corner) {
    const all = corner.sides.map((/** @type {any} */ side) => side.name);
    const only = (/** @type {string[]} */ names) => ({ edit: "weld_sides", joint: corner.name, sides: names.filter((name) => all.includes(name)), alike: true });
    tried.push(edit("corners: front only", only(["front"])), edit("corners: front and back", only(["front", "back"])));
  }
  return { tried, note: tried.length ? "" : "Tap a weld of the drawing to choose the sides of its joint, then keep the job as a variant." };
}

/** @param {import("./app.js").App} app @param {(name: string, change: object) => Try} edit */
function intermittent(app, edit) {
  const long = /^\s*(\[\[weld\]\]|weld\s*=)/m.test(app.store.state.text);
  const [weld, gap] = app.look?.job?.unit === "in" ? [2, 4] : [50, 100];
  return { tried: long ? [edit(`long welds intermittent, ${weld} on ${weld + gap}`, { edit: "intermittent", weld, gap })] : [],
    note: long ? "" : "This job has no long weld with a table of its own." };
}
