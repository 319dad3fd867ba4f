// The job as a form: the groups and fields that the engine lists, each change an edit of the text.

import { button, h } from "./dom.js";

/**
 * @typedef {{ path: string[], label: string, kind: string, value: string | null, usual: string, choices: string[] }} Field
 * @typedef {{ key: string, title: string, present: boolean, optional: boolean, fields: Field[] }} Group
 * @typedef {(edit: object, key: string) => void} Change
 */

const LISTS = ["sides", "words"];

/** Fills `host` with the form; keeps the focus and what is being typed. @param {HTMLElement} host @param {Group[]} groups @param {string} unit @param {Change} change */
export function showForm(host, groups, unit, change) {
  const shape = JSON.stringify([unit, groups.map(({ key, title, present, fields }) => [key, title, present, fields.map(({ path }) => path)])]);
  if (host.dataset.shape === shape) {
    groups.forEach((group) => group.fields.forEach((field) => fill(host, field)));
    return;
  }
  host.dataset.shape = shape;
  const open = new Set([...host.querySelectorAll("details[open]")].map((one) => /** @type {HTMLElement} */ (one).dataset.group));
  const first = host.childElementCount === 0;
  const focused = document.activeElement?.id, typed = host.contains(document.activeElement) && document.activeElement instanceof HTMLInputElement ? document.activeElement : null;
  const [value, from, to] = [typed?.value, typed?.selectionStart, typed?.selectionEnd];
  host.replaceChildren(...groups.map((group, k) => showGroup(group, unit, change, first ? k === 1 : open.has(group.key))));
  const again = focused ? document.getElementById(focused) : null;
  again?.focus({ preventScroll: true });
  if (again instanceof HTMLInputElement && value !== undefined && again.type === "text") {
    again.value = value;
    again.setSelectionRange(from ?? null, to ?? null);
  }
}

const idOf = (/** @type {Field} */ { path }) => `field-${path.join("-").replace(/[^A-Za-z0-9]+/g, "-")}`;

/** The value of a field that is shown already; what is being typed stays. @param {HTMLElement} host @param {Field} field */
function fill(host, field) {
  const id = idOf(field), now = field.value ?? field.usual;
  if (LISTS.includes(field.kind)) {
    for (const one of field.choices) /** @type {HTMLInputElement} */ (host.querySelector(`#${id}-${one}`)).checked = isOn(now, one);
    return;
  }
  const shown = host.querySelector(`#${id}`);
  if (shown instanceof HTMLSelectElement) {
    if (![...shown.options].some((option) => option.value === now)) shown.prepend(h("option", { value: now }, now));
    shown.value = now;
  } else if (shown instanceof HTMLInputElement && shown !== document.activeElement) shown.value = field.value ?? "";
}

/** @param {string} value @param {string} one */
const isOn = (value, one) => value.split(",").map((each) => each.trim()).some((each) => each === one || each === "all");

/** @param {Group} group @param {string} unit @param {Change} change @param {boolean} open */
function showGroup(group, unit, change, open) {
  if (!group.present) {
    return h("div", { class: "add-group" }, button(`+ ${group.title}`, () => change({ edit: "add", group: group.key }, "")));
  }
  const fields = group.fields.map((field) => showField(field, unit, change));
  const remove = group.optional && button(`Take out ${group.title.toLowerCase()}`, () => change({ edit: "remove", group: group.key }, ""));
  return h("details", { "data-group": group.key, open }, h("summary", {}, group.title), h("div", { class: "fields" }, ...fields), remove);
}

/** @param {Field} field @param {string} unit @param {Change} change */
function showField(field, unit, change) {
  const id = idOf(field);
  const write = (/** @type {string} */ value) => change({ edit: "set", path: field.path, value }, id);
  if (LISTS.includes(field.kind)) return showTicks(field, id, write);
  const label = h("label", { for: id }, field.kind.startsWith("length") ? `${field.label}, ${unit}` : field.label);
  if (field.kind === "choice") {
    const now = field.value ?? field.usual;
    const choices = field.choices.includes(now) ? field.choices : [now, ...field.choices];
    const select = h("select", { id, on: { change: () => write(select.value) } }, ...choices.map((one) => h("option", { value: one, selected: one === now }, one)));
    return h("div", { class: "field" }, label, select);
  }
  const mode = field.kind === "count" ? "numeric" : "text";
  const input = h("input", { id, type: "text", inputmode: mode, autocomplete: "off", spellcheck: "false", value: field.value ?? "", placeholder: field.usual, on: { input: () => write(input.value) } });
  return h("div", { class: "field" }, label, input);
}

/** Any of several choices. @param {Field} field @param {string} id @param {(value: string) => void} write */
function showTicks(field, id, write) {
  const on = (/** @type {string} */ one) => isOn(field.value ?? field.usual, one);
  const boxes = field.choices.map((one) => h("input", { type: "checkbox", id: `${id}-${one}`, value: one, checked: on(one), on: { change: () => write(boxes.filter((box) => box.checked).map((box) => box.value).join(", ") || "none") } }));
  return h("fieldset", { class: "field ticks" }, h("legend", {}, field.label), ...boxes.map((box) => h("label", { class: "tick" }, box, box.value)));
}
