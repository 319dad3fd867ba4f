// A logger on the cable: what it measures now, which weld is next, its log.

import { Cable, hasSerial } from "./cable.js";
import { button, h, panel } from "./dom.js";

/** The memory is asked about once in so many turns of a quarter of a second. */
const MEMORY_TURNS = 8;

/** @param {import("./app.js").App} app */
export function loggerTab(app) {
  const state = h("p", { id: "logger-state", role: "status" });
  const values = h("div", { class: "live-values", id: "live-values" });
  const memory = h("p", { id: "logger-memory", class: "failed", role: "alert", hidden: true });
  const advice = h("p", { class: "why", id: "live-advice", "aria-live": "polite" });
  const can = hasSerial();
  const connect = button("Connect the logger", () => connected(), { id: "connect", class: "main-button", disabled: !can });
  const fetchLog = button("Fetch its log and map it", () => fetched(), { id: "fetch-log", disabled: true });
  const leave = button("Disconnect", () => left(), { id: "disconnect", disabled: true });
  const element = h("div", {}, panel("logger", "The logger",
    h("p", { class: "how" }, can ? "Plug it in by USB. The values come over the cable; nothing leaves this device." : "This browser cannot talk to a serial port. Chrome and Edge on a computer can. On a phone, open the log as a file under After."),
    h("div", { class: "seams" }, connect, fetchLog, leave), state, memory), panel("now-measured", "Now", values, advice));
  /** @type {Cable | null} */ let cable = null;
  let pulling = false;

  /** @param {unknown} error */
  const say = (error) => { state.textContent = error instanceof Error ? error.message : String(error); };

  async function connected() {
    try {
      cable = await Cable.connect(app.engine);
      const who = await cable.ask("identify");
      state.textContent = `${who.device} on ${who.board}, firmware ${who.firmware}, ${who.log_bytes} bytes of log${who.planned ? `, ${who.planned} welds planned` : ""}.`;
      [connect.disabled, fetchLog.disabled, leave.disabled] = [true, false, false];
      void watch();
    } catch (error) {
      say(error);
      await left();
    }
  }

  async function watch() {
    const mine = cable;
    for (let turn = 0; mine && cable === mine && mine.open; turn += 1) {
      try {
        if (!pulling && turn % MEMORY_TURNS === 0) showMemory(await mine.ask("memory"));
        if (!pulling) showLive(await mine.ask("live"));
      } catch (error) {
        say(error);
        await left();
      }
      await new Promise((resolve) => setTimeout(resolve, 250));
    }
  }

  /** What is wrong with its memory; a logger with older firmware refuses to say. @param {any} said */
  function showMemory(said) {
    const trouble = said.is === "memory" ? said.trouble : null;
    const words = trouble ? `${said.stores ? "Its memory" : "Nothing is stored"}: ${trouble}.` : "";
    memory.hidden = !words;
    if (memory.textContent !== words) memory.textContent = words;
  }

  /** @param {any} live */
  function showLive(live) {
    if (live.is !== "live") return;
    const value = (/** @type {string} */ name, /** @type {string} */ shown, /** @type {string} */ unit) => h("div", {}, h("span", { class: "quiet-text" }, name), h("b", {}, shown), h("span", {}, unit));
    values.replaceChildren(value("arc", live.arc ? "on" : "out", ""), value("volts", live.volts.toFixed(1), "V"), value("amps", live.amps.toFixed(0), "A"), value("power", live.kilowatts.toFixed(2), "kW"), value("bead", String(live.beads), `${live.bead_kilojoules.toFixed(1)} kJ`), value("weld", live.weld === null ? "–" : String(live.weld), `${live.left} left`));
    const words = live.next === null ? live.advice : `${live.advice} ${live.next}${live.wait_seconds ? ` in ${live.wait_seconds} s` : ""}`;
    if (advice.textContent !== words) advice.textContent = words;
  }

  async function fetched() {
    if (!cable) return;
    pulling = true;
    fetchLog.disabled = true;
    try {
      await cable.pull((bytes) => { state.textContent = `${bytes} bytes fetched`; });
      const name = "logger.log";
      const { bytes } = await app.engine.ask({ ask: "link", message: "keep", name });
      state.textContent = `The whole log: ${bytes} bytes.`;
      await app.useLog(name);
    } catch (error) {
      say(error);
    }
    pulling = false;
    fetchLog.disabled = !cable;
  }

  async function left() {
    const mine = cable;
    cable = null;
    [connect.disabled, fetchLog.disabled, leave.disabled] = [!can, true, true];
    memory.hidden = true;
    await mine?.close();
  }

  return { element, refresh() {}, left() {} };
}
