// What must survive a reload or a sleeping phone: the job, its history, variants, plan, bench and readings.

/**
 * @typedef {{ name: string, text: string, order: number[], heat: number, preCamber?: boolean }} Variant
 * @typedef {{ lead: string, main: string, data: string }} Part
 * @typedef {{ text: string, order: number[], part: Part, effort: number, done: number[], peak: number, tried: number }} Plan
 * @typedef {{ ticked: boolean[], welded: number[], skipped: number[], since: number }} Bench
 * @typedef {{ text: string, file: string, past: string[], future: string[], variants: Variant[], heat: number, preCamber: boolean,
 *   beside: { [name: string]: string }, plan: Plan | null, bench: Bench | null, measured: string, tab: string }} State
 */

const KEY = "coldsquare", EARLIER = "coldsquare-earlier", MOST_EARLIER = 8, MOST_STEPS_BACK = 60, SAME_EDIT_MS = 1200, SAVE_AFTER_MS = 60;

/** @returns {State} */
const empty = () => ({ text: "", file: "job.toml", past: [], future: [], variants: [], heat: 1, preCamber: false, beside: {}, plan: null, bench: null, measured: "", tab: "frame" });

export class Store {
  constructor() {
    /** @type {State} */
    this.state = empty();
    /** Whether the browser keeps it. */
    this.kept = true;
    this.lastKey = "";
    this.lastAt = 0;
    /** @type {any} */ this.due = 0;
    const atOnce = () => this.due && this.save();
    window.addEventListener("pagehide", atOnce);
    document.addEventListener("visibilitychange", () => document.hidden && atOnce());
    try {
      const kept = localStorage.getItem(KEY);
      if (kept) this.state = { ...empty(), ...JSON.parse(kept) };
    } catch {
      this.kept = false;
    }
  }

  /** Keeps everything; what does not fit goes in this order: the steps back, the plan. */
  save() {
    clearTimeout(this.due);
    this.due = 0;
    const { state } = this;
    const smaller = [state, { ...state, past: state.past.slice(-5), future: [] }, { ...state, past: [], future: [], plan: null }];
    for (const attempt of smaller) {
      try {
        localStorage.setItem(KEY, JSON.stringify(attempt));
        this.kept = true;
        return;
      } catch {
        this.kept = false;
      }
    }
  }

  /** @param {Partial<State>} change */
  set(change) {
    Object.assign(this.state, change);
    // Kept when the change has been answered, or at once when the page goes.
    clearTimeout(this.due);
    this.due = setTimeout(() => this.save(), SAVE_AFTER_MS);
  }

  /** A new text of the job; changes of the same thing in quick succession are one step back. @param {string} text @param {string} key */
  write(text, key) {
    const { state } = this;
    if (text === state.text) return;
    const now = Date.now(), same = key !== "" && key === this.lastKey && now - this.lastAt < SAME_EDIT_MS;
    const past = same ? state.past : [...state.past, state.text].slice(-MOST_STEPS_BACK);
    [this.lastKey, this.lastAt] = [key, now];
    this.set({ text, past, future: [] });
  }

  /** Another job altogether; the one before it is put aside. @param {string} text @param {string} file */
  begin(text, file) {
    this.putAside();
    this.lastKey = "";
    this.set({ ...empty(), text, file });
  }

  /** Jobs that were put aside, the latest first. @returns {State[]} */
  earlier() {
    try {
      return JSON.parse(localStorage.getItem(EARLIER) ?? "[]");
    } catch {
      return [];
    }
  }

  putAside() {
    const { state } = this;
    if (!state.text) return;
    const others = this.earlier().filter((one) => one.text !== state.text);
    try {
      localStorage.setItem(EARLIER, JSON.stringify([{ ...state, past: state.past.slice(-5), future: [], plan: null, bench: null }, ...others].slice(0, MOST_EARLIER)));
    } catch {
      this.kept = false;
    }
  }

  /** Takes up a job that was put aside. @param {number} k */
  takeUp(k) {
    const wanted = this.earlier()[k];
    if (!wanted) return;
    this.putAside();
    this.lastKey = "";
    this.set({ ...empty(), ...wanted });
  }

  undo() {
    const { past, future, text } = this.state;
    const before = past.at(-1);
    if (before === undefined) return;
    this.lastKey = "";
    this.set({ text: before, past: past.slice(0, -1), future: [text, ...future] });
  }

  redo() {
    const { past, future, text } = this.state;
    const [next, ...rest] = future;
    if (next === undefined) return;
    this.lastKey = "";
    this.set({ text: next, past: [...past, text], future: rest });
  }
}
