// Elements made from names, attributes and children. Text is only ever text.

/**
 * @typedef {string | number | Node | null | undefined | false} Child
 * @typedef {{ [name: string]: any }} Properties
 */

/**
 * An element. `on` holds listeners; an attribute that is false, null or undefined is left out.
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag @param {Properties=} properties @param {...Child} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function h(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name === "on") for (const [event, listener] of Object.entries(value)) node.addEventListener(event, listener);
    else if (name === "value" && "value" in node) node.value = value;
    else if (name === "checked" && "checked" in node) node.checked = value;
    else if (value === true) node.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) node.setAttribute(name, String(value));
  }
  node.append(...children.filter((child) => child !== null && child !== undefined && child !== false).map((child) => (child instanceof Node ? child : String(child))));
  return node;
}

/** A button. @param {string} text @param {() => void} press @param {Properties=} properties */
export const button = (text, press, properties = {}) => h("button", { type: "button", ...properties, on: { click: press } }, text);

/** A sheet with a heading. @param {string} id @param {string} title @param {...Child} children */
export const panel = (id, title, ...children) => h("section", { class: "panel", id, "aria-labelledby": `${id}-title` }, h("h2", { id: `${id}-title` }, title), ...children);

/** Sentences as a list. @param {string[]} sentences */
export const list = (sentences) => h("ul", {}, ...sentences.map((sentence) => h("li", {}, sentence)));

/** Markup that the engine wrote; every name in it is text already. @param {string} markup */
export function fromEngine(markup) {
  const template = document.createElement("template");
  template.innerHTML = markup;
  return template.content;
}

/** The shape of a verdict, as on the weld map. @param {string} name @param {{ [name: string]: string }} shapes @param {string} label */
export function sign(name, shapes, label = "") {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg"), g = document.createElementNS(space, "g"), path = document.createElementNS(space, "path"), text = document.createElementNS(space, "text");
  svg.setAttribute("class", "figure sign large");
  svg.setAttribute("viewBox", "-22 -18 44 36");
  svg.setAttribute("aria-hidden", "true");
  g.setAttribute("class", `mark ${name}`);
  path.setAttribute("d", shapes[name] ?? "");
  text.textContent = label;
  g.append(path, text);
  svg.append(g);
  return svg;
}

/** Says something to those who cannot see the page change. @param {string} text */
export function announce(text) {
  const live = document.getElementById("announcements");
  if (live) live.textContent = text;
}
