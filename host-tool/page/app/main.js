// Begins: unpacks the engine, builds the head of the page, shows the first tab.

import { App, TABS } from "./app.js";
import { button, h } from "./dom.js";
import { unpacked } from "./engine.js";
import { listenToDrops } from "./files.js";

const heading = h("h1", { dir: "auto" }, "Coldsquare");
const kind = h("p", { class: "kind" }, "Coldsquare");
const failed = h("p", { class: "failed", role: "alert", hidden: true });
const nav = h("nav", { "aria-label": "Parts of the tool", hidden: true });
const main = h("main", { id: "main" }, h("p", { class: "how" }, "Unpacking…"));
const tools = h("div", { class: "file-buttons", hidden: true });
document.body.append(
  h("a", { class: "skip", href: "#main" }, "To the content"),
  h("header", {}, kind, heading, tools),
  nav, failed, main, h("p", { id: "announcements", class: "unseen", "aria-live": "polite" }));

/** @param {App} app @param {string} name */
function showNav(app, name) {
  nav.hidden = tools.hidden = name === "start";
  nav.replaceChildren(...TABS.map(([key, title]) => button(title, () => app.show(key), { "aria-current": key === name ? "page" : null, "data-tab": key })));
  tools.replaceChildren(
    button("New", () => { app.shell.shown(app.tabs.start, "start"); void app.tabs.start.refresh(); }, { id: "new-job" }),
    button("Open", () => app.openJob(), { id: "open-job" }),
    button("Save", () => app.saveJob(), { id: "save-job" }));
}

const shell = {
  /** @param {import("./app.js").Tab} tab @param {string} name */
  shown(tab, name) {
    main.replaceChildren(tab.element);
    document.body.dataset.tab = main.dataset.tab = name;
    if (name === "start") [heading.textContent, kind.textContent] = ["Coldsquare", "Square when cold"];
    else shell.changed(app);
    showNav(app, name);
    window.scrollTo(0, 0);
  },
  /** @param {App} now */
  changed(now) {
    failed.hidden = true;
    if (main.dataset.tab === "start") return;
    const name = now.look?.job?.name ?? "Coldsquare";
    heading.textContent = name;
    heading.classList.toggle("long", name.length >= 50);
    document.title = `${name}: Coldsquare`;
    kind.textContent = now.store.kept ? "Coldsquare" : "Coldsquare · this browser keeps nothing: save the job file";
  },
  /** @param {string} words */
  failed(words) {
    if (words === "stopped") return;
    failed.textContent = words;
    failed.hidden = false;
  },
};

/** @type {App} */
let app;
async function begin() {
  if (!("DecompressionStream" in window) || !("WebAssembly" in window)) {
    main.replaceChildren(h("p", { class: "why" }, "This browser is too old for this page. Any browser from 2023 on can show it."));
    return;
  }
  app = new App(await unpacked(), shell);
  await app.begin0();
  listenToDrops((file) => app.take(file));
  document.addEventListener("keydown", (event) => {
    const inText = event.target instanceof HTMLElement && event.target.closest("input, textarea");
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || inText) return;
    event.preventDefault();
    void (event.shiftKey ? app.redo() : app.undo());
  });
  // For the console: the engine's own answers, as in host-tool/page/src/request.rs.
  Object.assign(globalThis, { coldsquare: { ask: (/** @type {object} */ request) => app.engine.ask(request), get: (/** @type {string} */ name) => app.engine.get(name), memory: () => app.engine.memory } });
  document.documentElement.dataset.ready = "yes";
}
void begin();
