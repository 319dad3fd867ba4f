// Make and change a frame: the answer on top, the drawing, the form, the text; each always in step with the others.

import { showAnswer, showQuickly } from "./answer.js";
import { announce, button, h, panel } from "./dom.js";
import { showForm } from "./form.js";
import { showPicked } from "./picked.js";
import { Drawing, historyButtons } from "./view.js";

/** @typedef {import("./app.js").App} App */

/** @param {App} app */
export function frameTab(app) {
  const memory = { alike: true };
  /** @type {import("./picked.js").Picked} */
  let picked = null;
  const drawing = new Drawing({
    pickWeld: (k) => pick({ kind: "joint", index: app.look.job.welds[k].joint }),
    pickMember: (k) => pick({ kind: "member", index: k }),
  });
  const answer = h("section", { class: "panel", id: "answer", "aria-label": "Answer", "aria-live": "polite" });
  const errors = h("div", { id: "errors", role: "alert" });
  const form = h("div", { id: "form" });
  const sheet = h("div", { id: "picked" });
  const history = h("div", { class: "seams", id: "history" });
  const text = h("textarea", { id: "job-text", rows: "18", spellcheck: "false", autocomplete: "off", autocapitalize: "off", "aria-label": "The job as text", on: { input: () => app.write(text.value, "job-text") } });
  const change = (/** @type {object} */ edit, /** @type {string} */ key) => app.edit(edit, key);
  const clamps = h("div", { class: "seams" },
    button("Clamp the corners", () => change({ edit: "clamp_corners" }, ""), { id: "clamp-corners" }),
    button("No clamps", () => change({ edit: "no_clamps" }, ""), { id: "no-clamps" }),
    button("Keep as a variant", () => app.variants.keep(), { id: "keep-variant" }));
  const strip = h("p", { class: "strip-answer", "aria-hidden": "true", hidden: true });
  // While the answer is out of sight, its first line stays in sight.
  const sight = new IntersectionObserver(([seen]) => { strip.hidden = seen.isIntersecting || !strip.textContent; });
  sight.observe(answer);
  const facts = h("p", { class: "how", id: "facts" });

  /** @param {import("./picked.js").Picked} next */
  function pick(next) {
    picked = next;
    showPicked(sheet, app.look, picked, change, pick, memory);
    drawing.picked = pickedOut();
    drawing.draw(false);
    if (picked) announce(`${picked.kind} picked`);
  }

  function pickedOut() {
    const welds = picked?.kind === "joint" ? app.look.job.welds.flatMap((/** @type {any} */ weld, /** @type {number} */ k) => (weld.joint === picked?.index ? [k] : [])) : [];
    return { welds, member: picked?.kind === "member" ? picked.index : -1 };
  }

  /** What was shown last: only what has changed is shown anew. @type {{ form?: unknown, job?: unknown, frame?: unknown, moved?: unknown }} */
  let shown = {};
  const notes = h("div", { id: "notes" });
  const element = h("div", { class: "tab-frame" }, answer, errors, notes,
    h("div", { class: "bench" },
      h("section", { class: "panel", "aria-label": "Drawing" }, drawing.element, facts),
      h("div", { class: "side" },
        panel("change", "Change it", history, form),
        panel("pick", "Joint or member", sheet, clamps))),
    h("section", { class: "panel", "aria-labelledby": "text-title" }, h("h2", { id: "text-title" }, "The job file"),
      h("p", { class: "how" }, "The same job as text. Change either; both follow."), text), strip);

  return {
    element,
    /** What the engine says of the job as it is now. */
    refresh() {
      const { look, errors: wrong } = app;
      if (document.activeElement !== text) text.value = app.store.state.text;
      errors.replaceChildren(...(wrong.length ? [h("section", { class: "panel notes" }, h("h2", {}, "The job has errors"), h("p", { class: "how" }, "The drawing shows the job before them."),
        h("ul", {}, ...wrong.map((/** @type {any} */ one) => h("li", {}, h("b", {}, `Line ${one.line}: `), one.what, one.advice ? `; ${one.advice}` : "", " ", button("show", () => showLine(text, one.line))))))] : []));
      if (app.form && app.form !== shown.form) showForm(form, app.form, look?.job?.unit ?? "mm", change);
      history.replaceChildren(...historyButtons(app.store.state, () => app.undo(), () => app.redo()));
      element.classList.toggle("stale", wrong.length > 0);
      if (!look) return;
      if (look.waiting && !look.cannot_predict) showQuickly(answer, look.answer, look.values);
      else {
        answer.classList.remove("waiting");
        const open = answer.querySelector(".all-lines")?.hasAttribute("open");
        answer.replaceChildren(look.answer ? showAnswer(look.answer, look.frame.shapes, look.pre_camber, open) : h("p", { class: "verdict" }, look.cannot_predict ?? ""));
      }
      if (look.waiting && !answer.firstChild) answer.replaceChildren(h("p", { class: "verdict" }, "Working out the answer…"));
      const worst = look.answer?.worst;
      strip.replaceChildren(...(worst ? [h("span", {}, worst.name), h("b", {}, worst.text)] : []));
      const { job, frame, moved } = look;
      if (job !== shown.job) {
        notes.replaceChildren(...(look.notes ?? []).map((/** @type {string} */ note) => h("p", { class: "flag" }, note, " ", button("Open it", () => app.openJob()))));
        facts.textContent = `${job.members.length} members, ${job.welds.length} welds, ${job.weld_length} of weld, ${job.mass}${job.clamps ? `, ${job.clamps} clamps` : ""}. Welded in ${app.howWelded()}.`;
        if (picked && !(picked.kind === "joint" ? job.joints : job.members)[picked.index]) picked = null;
        showPicked(sheet, look, picked, change, pick, memory);
      }
      if (frame !== shown.frame || moved !== shown.moved) drawing.show(frame, look.cannot_predict ? null : moved, pickedOut());
      shown = { form: app.form, job, frame, moved };
    },
    left() {},
  };
}

/** @param {HTMLTextAreaElement} text @param {number} line */
function showLine(text, line) {
  const lines = text.value.split("\n"), before = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
  text.focus();
  text.setSelectionRange(before, before + (lines[line - 1]?.length ?? 0));
}
