// What can be done with the joint or the member that was tapped.

import { button, h } from "./dom.js";

/**
 * @typedef {{ name: string, sides: { name: string, welded: boolean }[], alike: number, alike_words: string }} Joint
 * @typedef {{ job: { joints: Joint[], members: { name: string, section: string }[], welds: { joint: number, name: string, number: number }[], unit: string } }} Look
 * @typedef {{ kind: "joint" | "member", index: number } | null} Picked
 */

/**
 * Fills the sheet of what is picked.
 * @param {HTMLElement} host @param {Look} look @param {Picked} picked @param {(edit: object, key: string) => void} change
 * @param {(picked: Picked) => void} pick @param {{ alike: boolean }} memory
 */
export function showPicked(host, look, picked, change, pick, memory) {
  const { joints, members } = look.job;
  const shown = JSON.stringify([picked, memory.alike, joints, members]);
  if (host.dataset.shown === shown) return;
  host.dataset.shown = shown;
  const choose = (/** @type {"joint" | "member"} */ kind, /** @type {{ name: string }[]} */ all, /** @type {string} */ label) => {
    const select = h("select", { id: `pick-${kind}`, on: { change: () => pick(select.value === "" ? null : { kind, index: Number(select.value) }) } },
      h("option", { value: "" }, "tap the drawing, or choose"),
      ...all.map(({ name }, k) => h("option", { value: k, selected: picked?.kind === kind && picked.index === k }, name)));
    return h("div", { class: "field" }, h("label", { for: `pick-${kind}` }, label), select);
  };
  const body = picked?.kind === "joint" && joints[picked.index] ? ofJoint(joints[picked.index], change, memory)
    : picked?.kind === "member" && members[picked.index] ? ofMember(members[picked.index], look.job.unit, change) : [];
  const focused = document.activeElement?.id;
  host.replaceChildren(h("div", { class: "fields" }, choose("joint", joints, "Joint"), choose("member", members, "Member")), ...body);
  if (focused && focused !== document.activeElement?.id) document.getElementById(focused)?.focus({ preventScroll: true });
}

/** @param {Joint} joint @param {(edit: object, key: string) => void} change @param {{ alike: boolean }} memory */
function ofJoint(joint, change, memory) {
  if (joint.sides.length === 0) return [h("p", { class: "how" }, `Each weld of ${joint.name} has a table of its own in the job text: change it there.`)];
  const write = (/** @type {string[]} */ sides) => change({ edit: "weld_sides", joint: joint.name, sides, alike: memory.alike }, "");
  const on = joint.sides.filter((side) => side.welded).map((side) => side.name);
  const seams = joint.sides.map(({ name, welded }) =>
    button(name, () => write(welded ? on.filter((one) => one !== name) : [...on, name]), { id: `seam-${name}`, "aria-pressed": String(welded), class: "seam" }));
  const alike = h("input", { type: "checkbox", id: "alike", checked: memory.alike && joint.alike > 1, disabled: joint.alike < 2, on: { change: () => { memory.alike = alike.checked; } } });
  return [
    h("h3", { id: "picked-name", dir: "auto" }, joint.name),
    h("p", { class: "how" }, "Which sides are welded:"),
    h("div", { class: "seams", role: "group", "aria-label": "Sides that are welded" }, ...seams),
    joint.alike > 1 && h("label", { class: "tick" }, alike, `the same for ${joint.alike_words} (${joint.alike})`),
  ].filter((one) => one !== false);
}

/** @param {{ name: string, section: string }} member @param {string} unit @param {(edit: object, key: string) => void} change */
function ofMember(member, unit, change) {
  const at = h("input", { type: "text", id: "clamp-at", inputmode: "decimal", autocomplete: "off", placeholder: "300" });
  return [
    h("h3", { id: "picked-name", dir: "auto" }, member.name),
    h("p", { class: "how" }, member.section),
    h("div", { class: "seams" }, button("Turn a quarter turn", () => change({ edit: "turn", member: member.name }, ""), { id: "turn-member" })),
    h("div", { class: "field" }, h("label", { for: "clamp-at" }, `Clamp it at, ${unit}`), at),
    button("Add the clamp", () => at.value.trim() && change({ edit: "clamp", member: member.name, at: at.value }, ""), { id: "add-clamp" }),
  ];
}
