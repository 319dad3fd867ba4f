// The page as a whole: what is known, what the engine said of it, and which tab shows it.

import { afterTab } from "./after-tab.js";
import { benchTab } from "./bench-tab.js";
import { announce } from "./dom.js";
import { Engine, Refused } from "./engine.js";
import { pick, save, stem } from "./files.js";
import { frameTab } from "./frame-tab.js";
import { loggerTab } from "./logger-tab.js";
import { planTab } from "./plan-tab.js";
import { startTab } from "./start-tab.js";
import { Store } from "./store.js";
import { variantsTab } from "./variants-tab.js";

/** Search effort of a first quick plan and of a whole one: the usual effort of the command. */
const QUICK = 1, WHOLE = 10;

export const TABS = /** @type {const} */ ([["frame", "Frame"], ["what-if", "What if"], ["plan", "Plan"], ["bench", "Bench"], ["after", "After"], ["logger", "Logger"]]);

/** @typedef {{ element: HTMLElement, refresh(): void | Promise<void>, left(): void }} Tab */

export class App {
  /** @param {Uint8Array} module @param {{ shown(tab: Tab, name: string): void, changed(app: App): void, failed(words: string): void }} shell */
  constructor(module, shell) {
    this.shell = shell;
    this.module = module;
    this.engine = new Engine(module);
    /** Works out the whole answer, so that the quick ones need not wait for it. */
    this.judge = new Engine(module);
    this.judging = false;
    /** Plans begun or stopped so far: a search whose number is not the last one is over. */
    this.plans = 0;
    /** @type {Promise<void> | null} */ this.looking = null;
    this.store = new Store();
    this.effort = WHOLE;
    /** @type {any} what the engine said of the last job without errors */
    this.look = null;
    /** @type {any} */ this.form = null;
    /** @type {any[]} */ this.errors = [];
    /** @type {any[]} */ this.startingPoints = [];
    /** @type {{ words: string, share: number } | null} */ this.planning = null;
    /** @type {Engine | null} */ this.planner = null;
    this.after = { words: "No log opened yet.", log: "", part: /** @type {any} */ (null), wrong: /** @type {any[]} */ ([]), saves: /** @type {{ name: string, words: string, text: string } | null} */ (null) };
    this.asked = 0;
    /** @type {Tab | null} */ this.tab = null;
    this.tabs = /** @type {{ [name: string]: Tab }} */ ({ start: startTab(this), frame: frameTab(this), "what-if": variantsTab(this), plan: planTab(this), bench: benchTab(this), after: afterTab(this), logger: loggerTab(this) });
  }

  async begin0() {
    await this.engine.ready;
    this.startingPoints = await this.engine.ask({ ask: "starting_points" });
    if (this.store.state.text) await this.refresh();
    this.show(this.store.state.text ? this.store.state.tab : "start");
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

  /** Asks the engine about the job: first where the frame moves to, then how sure that is. Of several questions in
   * quick succession only the last one's answer is worked out. */
  async refresh() {
    this.asked += 1;
    const mine = this.asked;
    await this.looking;
    if (mine !== this.asked) return;
    const { text, heat } = this.store.state, asked = { ask: "look", text, heat, order: this.order() };
    const quick = this.engine.ask({ ...asked, quick: true });
    this.looking = quick.then(() => {}, () => {});
    const look = await quick;
    if (mine !== this.asked) return;
    this.form = look.form;
    this.errors = look.errors;
    if (look.errors.length) {
      this.changed();
      return;
    }
    const { answer, prediction } = this.look ?? {};
    this.look = { ...look, answer, prediction, waiting: true };
    this.changed();
    await this.judged(asked, mine);
  }

  /** The whole answer, with its uncertainties. @param {object} asked @param {number} mine */
  async judged(asked, mine) {
    if (this.judging) this.judge.stop();
    this.judging = true;
    try {
      const look = await this.judge.ask(asked);
      if (mine !== this.asked) return;
      this.look = look;
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
    return this.guarded(async () => {
      await this.refresh();
      this.show("frame");
    });
  }

  /** @param {number} k a job that was put aside */
  takeUp(k) {
    this.store.takeUp(k);
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

  /** A file that was picked or dropped: a job or a log. @param {File} file */
  take(file) {
    return this.guarded(async () => {
      if (file.name.toLowerCase().endsWith("-measured.toml")) this.store.set({ measured: await file.text() });
      else if (file.name.toLowerCase().endsWith(".toml")) await this.begin(await file.text(), file.name);
      else {
        await this.engine.put(file.name, new Uint8Array(await file.arrayBuffer()));
        await this.useLog(file.name);
      }
      this.changed();
    });
  }

  // Variants.

  order() {
    const { plan, text } = this.store.state;
    return plan && plan.text === text ? plan.order.filter((one, k, all) => all.indexOf(one) === k) : [];
  }

  orderWords() {
    return this.order().length ? "the planned order" : "file order";
  }

  /** @param {import("./store.js").Variant} variant */
  lookAt(variant) {
    return this.judge.ask({ ask: "look", text: variant.text, order: variant.order, heat: variant.heat });
  }

  /** @param {string=} name @param {string=} text @param {number[]=} order */
  keepVariant(name, text = this.store.state.text, order = this.order()) {
    const { variants, heat } = this.store.state;
    const kept = { name: name ?? `Variant ${variants.length + 1}`, text, order, heat };
    this.store.set({ variants: [...variants, kept].slice(-6) });
    announce(`${kept.name} kept under What if`);
    this.changed();
  }

  /** Changes worth trying on this job, each an edit of the engine. */
  tries() {
    const groups = /** @type {any[]} */ (this.form ?? []), has = (/** @type {string} */ key) => groups.some((group) => group.key === key && group.present);
    const tried = (/** @type {string} */ name, /** @type {object} */ edit) => ({
      name,
      make: () => this.guarded(async () => {
        const { text } = await this.engine.ask({ ask: "edit", text: this.store.state.text, edit });
        this.keepVariant(name, text, []);
      }),
    });
    const sides = (/** @type {string} */ group, /** @type {string} */ value) => ({ edit: "set", path: [...group.split("."), "welded"], value });
    const welded = ["frame.bars", "frame.mid_rails"].filter(has).flatMap((group) => {
      const title = group === "frame.bars" ? "bars" : "mid rails";
      return [tried(`${title}: front only`, sides(group, "front")), tried(`${title}: front and back`, sides(group, "front, back")), tried(`${title}: all round`, sides(group, "all"))];
    });
    const long = /^\s*\[\[weld\]\]/m.test(this.store.state.text);
    const inches = this.look?.job?.unit === "in";
    const [weld, gap] = inches ? [2, 4] : [50, 100];
    if (long) welded.push(tried(`long welds intermittent, ${weld} on ${weld + gap}`, { edit: "intermittent", weld, gap }));
    return [...welded, ...(has("frame") ? [tried("corners clamped", { edit: "clamp_corners" })] : []), tried("no clamps", { edit: "no_clamps" })];
  }

  /** @param {number} k @param {string} name */
  nameVariant(k, name) {
    this.store.set({ variants: this.store.state.variants.map((one, at) => (at === k ? { ...one, name } : one)) });
  }

  /** @param {number} k */
  dropVariant(k) {
    this.store.set({ variants: this.store.state.variants.filter((_, at) => at !== k) });
    this.changed();
  }

  /** @param {number} k */
  useVariant(k) {
    const { text, heat } = this.store.state.variants[k];
    this.store.set({ heat });
    void this.write(text, "").then(() => this.show("frame"));
  }

  /** @param {number} heat */
  setHeat(heat) {
    this.store.set({ heat });
    return this.guarded(() => this.refresh());
  }

  // The plan.

  /** @param {number[]} done numbers of the welds that are done */
  plan(done = []) {
    return this.guarded(async () => {
      const { text } = this.store.state;
      this.planner?.stop();
      const planner = this.planner ?? new Engine(this.module);
      this.planner = planner;
      this.plans += 1;
      const mine = this.plans;
      try {
        // A quick plan first: it is there in a moment, and it is what stays when the search is stopped.
        for (const effort of [QUICK, WHOLE]) if (mine === this.plans) await this.planned(planner, { text, effort, done });
      } finally {
        if (mine === this.plans) this.planning = null;
        this.changed();
      }
    });
  }

  /** @param {Engine} planner @param {{ text: string, effort: number, done: number[] }} what */
  async planned(planner, { text, effort, done }) {
    const words = effort === QUICK ? "A quick plan…" : "Searching for a better order…";
    const most = Math.max(1, this.look?.job?.welds.length ?? 1);
    this.planning = { words, share: 0 };
    this.changed();
    const heard = (/** @type {number} */ trials) => {
      this.planning = { words: `${words} ${trials.toLocaleString("en")} orders tried`, share: 1 - 1 / (1 + trials / (effort * 400 * most)) };
      if (this.tab === this.tabs.plan || this.tab === this.tabs.bench) void this.tab.refresh();
    };
    const { part, order } = await planner.ask({ ask: "plan", text, effort, seed: 1, done, further: effort === WHOLE }, heard);
    if (this.store.state.text !== text) throw new Refused("The job was changed while its order was searched: plan it again.");
    const { plan, bench } = this.store.state;
    // Whoever has begun to weld by the quick plan keeps to it.
    const begun = effort === WHOLE && plan && bench && bench.ticked.join() !== this.benchOf(plan.part, done).ticked.join();
    if (begun) return;
    this.store.set({ plan: { text, order, part, effort, done }, bench: this.benchOf(part, done) });
    await this.refresh();
  }

  stopPlan() {
    this.plans += 1;
    this.planner?.stop();
    this.planning = null;
    this.changed();
  }

  // At the bench.

  bench() {
    return this.store.state.bench ?? { ticked: [], welded: [], skipped: [], since: 0 };
  }

  /** Everything up to the last weld that is done counts as done. @param {{ data: string }} part @param {number[]} done */
  benchOf(part, done) {
    const { steps } = JSON.parse(part.data);
    const last = done.length ? steps.findLastIndex((/** @type {any} */ step) => done.includes((step.weld ?? -2) + 1)) : -1;
    return { ticked: steps.map((/** @type {any} */ _, /** @type {number} */ k) => k <= last), welded: done, skipped: [], since: Date.now() };
  }

  startBench() {
    const { plan } = this.store.state;
    if (plan) this.store.set({ bench: this.benchOf(plan.part, []) });
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
    return this.plan([...this.bench().welded, number]);
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
