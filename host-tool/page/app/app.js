// The page as a whole: what is known, what the engine said of it, and which tab shows it.

import { afterTab } from "./after-tab.js";
import { benchTab } from "./bench-tab.js";
import { announce } from "./dom.js";
import { Engine, Refused } from "./engine.js";
import { pick, save, stem } from "./files.js";
import { frameTab } from "./frame-tab.js";
import { loggerTab } from "./logger-tab.js";
import { planTab } from "./plan-tab.js";
import { Planning, first } from "./planning.js";
import { NOTHING_MADE, benchOf, madeInstead } from "./progress.js";
import { startTab } from "./start-tab.js";
import { Store } from "./store.js";
import { Variants } from "./variants.js";
import { variantsTab } from "./variants-tab.js";

export const TABS = /** @type {const} */ ([["frame", "Frame"], ["what-if", "What if"], ["plan", "Plan"], ["bench", "Bench"], ["after", "After"], ["logger", "Logger"]]);

/** A movement that comes this soon after its frame is drawn with it. */
const AT_ONCE_MS = 60;

/** @typedef {{ element: HTMLElement, refresh(): void | Promise<void>, left(): void }} Tab */

export class App {
  /** @param {WebAssembly.Module} module @param {{ shown(tab: Tab, name: string): void, changed(app: App): void, failed(words: string): void }} shell */
  constructor(module, shell) {
    this.shell = shell;
    this.module = module;
    this.store = new Store();
    /** Files that the job names, for every worker. @type {Map<string, Uint8Array>} */
    this.files = new Map();
    this.engine = new Engine(module, this.files);
    /** Works out the whole answer, so that the quick ones need not wait for it. */
    this.judge = new Engine(module, this.files);
    this.judging = false;
    /** @type {Promise<unknown> | null} */ this.looking = null;
    /** How long the movement came after its frame, last time. */
    this.movementMs = Infinity;
    this.planning = new Planning(this);
    this.variants = new Variants(this);
    /** @type {any} what the engine said of the last job without errors */
    this.look = null;
    /** @type {any} */ this.form = null;
    /** @type {any[]} */ this.errors = [];
    /** @type {any[]} */ this.startingPoints = [];
    this.after = { words: "No log opened yet.", log: "", part: /** @type {any} */ (null), wrong: /** @type {any[]} */ ([]), saves: /** @type {{ name: string, words: string, text: string } | null} */ (null) };
    this.asked = 0;
    /** @type {Tab | null} */ this.tab = null;
    this.tabs = /** @type {{ [name: string]: Tab }} */ ({ start: startTab(this), frame: frameTab(this), "what-if": variantsTab(this), plan: planTab(this), bench: benchTab(this), after: afterTab(this), logger: loggerTab(this) });
  }

  async begin0() {
    await this.engine.ready;
    this.startingPoints = await this.engine.ask({ ask: "starting_points" });
    this.putBeside();
    this.show(this.store.state.text ? this.store.state.tab : "start");
    if (this.store.state.text) void this.guarded(() => this.refresh());
  }

  /** @param {string} name */
  show(name) {
    const known = this.tabs[name] ? name : "frame", next = this.store.state.text ? known : "start";
    if (next !== "start") this.store.set({ tab: next });
    if (this.tab !== this.tabs[next]) this.tab?.left();
    this.tab = this.tabs[next];
    this.shell.shown(this.tab, next);
    void this.tab.refresh();
  }

  /** Whether the tab that is shown tells how far a search is. */
  get showsProgress() {
    return this.tab === this.tabs.plan || this.tab === this.tabs.bench;
  }

  changed() {
    this.shell.changed(this);
    void this.tab?.refresh();
  }

  /** @param {() => Promise<void>} work */
  async guarded(work) {
    try {
      await work();
    } catch (error) {
      this.shell.failed(error instanceof Refused ? error.message : `Something went wrong in the page: ${error instanceof Error ? error.message : error}`);
    }
  }

  // The job.

  /** Asks the engine about the job: first for the frame, then where it moves to, then how sure that is. Of several
   * questions in quick succession only the last one's answer is worked out. */
  async refresh() {
    this.asked += 1;
    const mine = this.asked;
    await this.looking;
    if (mine !== this.asked) return;
    const { text, heat, preCamber } = this.store.state, asked = { ask: "look", text, heat, order: this.order(), pre_camber: preCamber };
    const part = (/** @type {string} */ name) => this.engine.ask({ ...asked, parts: [name] });
    // What is bent in before welding follows from the whole answer.
    const frame = part("frame"), movement = preCamber ? Promise.resolve({}) : part("movement");
    this.looking = Promise.allSettled([frame, movement]);
    movement.catch(() => {});
    const look = await frame, began = performance.now();
    if (mine !== this.asked) return;
    this.form = look.form;
    this.errors = look.errors;
    if (look.errors.length) {
      this.changed();
      return;
    }
    // The last movement and answer stay, marked as waiting, until the new ones are there.
    const { moved, answer, prediction } = this.look ?? {};
    this.look = { moved, answer, prediction, ...look, waiting: true };
    // Where the movement is as quick to have as the frame is to draw, both are drawn at once.
    if (this.movementMs > AT_ONCE_MS) this.changed();
    const where = await movement;
    this.movementMs = performance.now() - began;
    if (mine !== this.asked) return;
    this.look = { ...this.look, ...where };
    this.changed();
    await this.judged({ ...asked, parts: ["answer"] }, mine);
  }

  /** The whole answer, with its uncertainties. @param {object} asked @param {number} mine */
  async judged(asked, mine) {
    if (this.judging) this.judge.stop();
    this.judging = true;
    try {
      const answer = await this.judge.ask(asked);
      if (mine !== this.asked) return;
      // The movement that is drawn is the same, unless something was bent in.
      if (!(/** @type {any} */ (asked).pre_camber)) delete answer.moved;
      this.look = { ...this.look, ...answer, waiting: false };
      this.changed();
    } catch (error) {
      if (!(error instanceof Refused && error.message === "stopped")) throw error;
    } finally {
      if (mine === this.asked) this.judging = false;
    }
  }

  /** @param {string} text @param {string} key */
  write(text, key) {
    this.store.write(text, key);
    return this.guarded(() => this.refresh());
  }

  /** @param {object} edit @param {string} key */
  edit(edit, key) {
    return this.guarded(async () => {
      const { text } = await this.engine.ask({ ask: "edit", text: this.store.state.text, edit });
      this.store.write(text, key);
      await this.refresh();
    });
  }

  undo() {
    this.store.undo();
    return this.guarded(() => this.refresh());
  }

  redo() {
    this.store.redo();
    return this.guarded(() => this.refresh());
  }

  /** @param {string} text @param {string} file */
  begin(text, file) {
    this.store.begin(text, file);
    this.after = { ...this.after, words: "No log opened yet.", log: "", part: null, wrong: [], saves: null };
    this.putBeside();
    return this.guarded(async () => {
      await this.refresh();
      this.show("frame");
    });
  }

  /** @param {number} k a job that was put aside */
  takeUp(k) {
    this.store.takeUp(k);
    this.putBeside();
    this.look = null;
    return this.guarded(async () => {
      await this.refresh();
      this.show("frame");
    });
  }

  openJob() {
    pick(".toml,text/plain", (file) => this.take(file));
  }

  saveJob() {
    save(this.store.state.file, this.store.state.text);
  }

  /** Whether the job names a file: a text in quotes that ends like it. @param {string} name */
  names(name) {
    const { text, file } = this.store.state;
    return name !== file && name.toLowerCase().endsWith(".toml") && [`${name}"`, `${name}'`].some((quoted) => text.includes(quoted));
  }

  /** Gives the engine the files beside the job: shop factors, procedures. */
  putBeside() {
    this.files.clear();
    for (const [name, text] of Object.entries(this.store.state.beside)) {
      const bytes = new TextEncoder().encode(text);
      this.files.set(name, bytes);
      for (const engine of [this.engine, this.judge, this.planning.planner]) void engine?.put(name, bytes).catch(() => {});
    }
  }

  /** A file that was picked or dropped: a job, a file that the job names, or a log. @param {File} file */
  take(file) {
    return this.guarded(async () => {
      if (this.names(file.name)) {
        this.store.set({ beside: { ...this.store.state.beside, [file.name]: await file.text() } });
        this.putBeside();
        this.variants.looks.clear();
        await this.refresh();
        announce(`${file.name} is read with the job`);
      } else if (file.name.toLowerCase().endsWith("-measured.toml")) this.store.set({ measured: await file.text() });
      else if (file.name.toLowerCase().endsWith(".toml")) await this.begin(await file.text(), file.name);
      else {
        await this.engine.put(file.name, new Uint8Array(await file.arrayBuffer()));
        await this.useLog(file.name);
      }
      this.changed();
    });
  }

  // How it is welded.

  order() {
    const { plan, text } = this.store.state;
    return plan && plan.text === text ? plan.order.filter(first) : [];
  }

  /** How it is welded, for a sentence. */
  howWelded() {
    const { heat, preCamber } = this.store.state;
    const order = this.order().length ? "the planned order" : "file order";
    return `${order}${heat === 1 ? "" : ` with ${Math.round(heat * 100)} % of the planned heat`}${preCamber ? ", bent before welding" : ""}`;
  }

  // At the bench.

  bench() {
    return this.store.state.bench ?? { ticked: [], welded: [], skipped: [], since: 0 };
  }

  startBench() {
    const { plan } = this.store.state;
    if (plan) this.store.set({ bench: benchOf(plan.part, NOTHING_MADE) });
    this.changed();
  }

  /** The step to do: the first that is neither done nor skipped, then the skipped ones. @param {any} data */
  here(data) {
    const { ticked, skipped } = this.bench();
    const open = data.steps.map((/** @type {any} */ _, /** @type {number} */ k) => k).filter((/** @type {number} */ k) => !ticked[k]);
    return open.find((/** @type {number} */ k) => !skipped.includes(k)) ?? open[0] ?? data.steps.length;
  }

  steps() {
    const { plan } = this.store.state;
    return plan ? JSON.parse(plan.part.data).steps : [];
  }

  /** @param {number} k */
  tick(k) {
    const bench = this.bench(), step = this.steps()[k];
    const ticked = [...bench.ticked];
    ticked[k] = true;
    const weld = step?.weld ?? -1;
    const whole = weld >= 0 && this.steps().every((/** @type {any} */ one, /** @type {number} */ at) => one.weld !== weld || ticked[at]);
    this.store.set({ bench: { ...bench, ticked, skipped: bench.skipped.filter((one) => one !== k), welded: whole && !bench.welded.includes(weld + 1) ? [...bench.welded, weld + 1] : bench.welded, since: Date.now() } });
    this.changed();
  }

  untick() {
    const bench = this.bench(), k = bench.ticked.lastIndexOf(true);
    if (k < 0) return;
    const weld = (this.steps()[k]?.weld ?? -1) + 1;
    this.store.set({ bench: { ...bench, ticked: bench.ticked.map((one, at) => one && at !== k), welded: bench.welded.filter((one) => one !== weld), since: Date.now() } });
    this.changed();
  }

  /** @param {number} k */
  skip(k) {
    const bench = this.bench();
    this.store.set({ bench: { ...bench, skipped: [...bench.skipped.filter((one) => one !== k), k], since: Date.now() } });
    this.changed();
  }

  /** @param {number} k */
  goTo(k) {
    const bench = this.bench();
    const before = this.steps().map((/** @type {any} */ _, /** @type {number} */ at) => at).filter((/** @type {number} */ at) => at < k && !bench.ticked[at]);
    this.store.set({ bench: { ...bench, skipped: [...new Set([...bench.skipped, ...before])].filter((one) => one !== k), since: Date.now() } });
    this.changed();
  }

  /** Another weld was made than the one that was next: the rest is planned anew. @param {number} number */
  doneDifferently(number) {
    return this.planning.plan(madeInstead(this.steps(), this.bench(), number));
  }

  // After the build.

  openLog() {
    pick("", (file) => this.take(file));
  }

  /** @param {string} name of a log that the engine has */
  async useLog(name) {
    this.after.log = name;
    this.show("after");
    await this.readLog();
  }

  readLog() {
    return this.showPart("map");
  }

  /** @param {"map" | "record" | "correction"} what */
  showPart(what) {
    return this.guarded(async () => {
      const { text, file, measured } = this.store.state, { after } = this;
      const options = /** @type {any} */ (this.tabs.after).options();
      try {
        const asked = what === "correction" ? { ask: what.replace("ion", ""), text, measured, ...options }
          : { ask: what, text, file, log: after.log, measured, order: this.order(), at_unix_s: Math.floor(Date.now() / 1000), ...options };
        const answer = await this.engine.ask(asked);
        const json = what === "record" ? answer.json : JSON.stringify(answer[what], null, 2);
        const name = `${stem(what === "correction" ? file : after.log)}-${what}.json`;
        Object.assign(after, { part: answer.part, saves: { name, words: "Save as JSON", text: json } });
        if (what !== "correction") after.words = `${after.log}, ${what === "map" ? "mapped" : "its record"} below.`;
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        after.words = error.message;
        after.part = null;
        if (what === "correction") this.shell.failed(error.message);
      }
      this.changed();
      if (after.part) document.getElementById("after-part")?.scrollIntoView({ block: "start" });
    });
  }

  /** @param {[string, string][]} readings @param {boolean} anyway */
  noteReadings(readings, anyway) {
    return this.guarded(async () => {
      const { text, measured } = this.store.state;
      const today = new Date(), two = (/** @type {number} */ n) => String(n).padStart(2, "0");
      const on = `${today.getFullYear()}-${two(today.getMonth() + 1)}-${two(today.getDate())}`;
      const answer = await this.engine.ask({ ask: "measure", text, measured, readings, on, anyway });
      this.after.wrong = answer.wrong ?? [];
      if (answer.measured !== undefined) {
        this.store.set({ measured: answer.measured });
        /** @type {any} */ (this.tabs.after).cleared();
        await this.showPart("correction");
      }
      this.changed();
    });
  }
}
