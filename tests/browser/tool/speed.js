// How fast the page is on a slow device: prints a table for docs/pages.md.
//
//   tests/browser/tool/measure PAGE COMMAND speed
//
// The browser's own brake slows only what draws. The engine works beside it, so its time is measured alone and counted
// as often as the device is slower.

import { statSync } from "node:fs";
import { launch, openJob, openTool } from "./tool.js";

const SLOWER = 4, TRIES = 12;

const PROCEDURE = "[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n";

// A frame with about so many welds.
function job(welds) {
  if (welds === 5) {
    return `name = "5"\n[frame]\nwidth = 600\nheight = 400\nsection = "SQ 12"\ncorners = "open"\n[frame.bars]\ncount = 1\nsection = "SQ 12"\ndirection = "horizontal"\nwelded = ["front", "back"]\n[[member]]\nname = "stay"\nsection = "SQ 10"\nfrom = "left upright at 100"\nto = [300, 100, 0]\nwelded = ["front"]\n${PROCEDURE}`;
  }
  const bars = Math.round((welds - 16) / 4);
  return `name = "${welds}"\n[frame]\nwidth = ${400 + bars * 90}\nheight = 900\nsection = "SHS 40x40x3"\n[frame.bars]\ncount = ${bars}\nsection = "SHS 20x20x2"\n${PROCEDURE}`;
}

// The fastest of several: what the machine does besides only adds to it.
const fastest = (all) => Math.min(...all);

// The engine by itself, not slowed: each part of a look, and the edit before it.
async function engineTimes(page) {
  return page.evaluate(async (tries) => {
    const text = document.querySelector("#job-text").value, { ask } = globalThis.coldsquare;
    const quickest = async (request, count) => {
      const times = [];
      for (let k = 0; k < count; k += 1) {
        const began = performance.now();
        await ask(request);
        times.push(performance.now() - began);
      }
      return Math.min(...times);
    };
    const look = (part, count) => quickest({ ask: "look", text, parts: [part] }, count);
    const edit = await quickest({ ask: "edit", text, edit: { edit: "set", path: ["frame", "height"], value: "905" } }, tries);
    return { frame: edit + await look("frame", tries), movement: await look("movement", tries), answer: await look("answer", 2) };
  }, TRIES);
}

// From a key to the frame and to its movement, the page slowed.
async function pageTimes(page) {
  const all = [];
  for (let k = 0; k < TRIES; k += 1) all.push(await page.evaluate((n) => globalThis.coldsquare.timed(String(880 + n)), k));
  return { frame: fastest(all.map((one) => one.frame)), movement: fastest(all.map((one) => one.movement)) };
}

// Lets the page say when a new frame and a new movement are on the screen after an edit.
async function watch(page) {
  await page.evaluate(() => {
    const host = document.querySelector("#frame"), field = document.querySelector("#field-frame-height");
    let last = { frame: null, moved: null };
    host.addEventListener("drawn", ({ detail }) => { last = detail; });
    globalThis.coldsquare.timed = (value) => new Promise((resolve) => {
      const before = last, began = performance.now(), times = {};
      const heard = ({ detail }) => {
        // The picture is painted before the next task.
        setTimeout(() => {
          if (detail.frame !== before.frame) times.frame ??= performance.now() - began;
          if (detail.moved === before.moved || times.movement) return;
          times.movement = performance.now() - began;
          host.removeEventListener("drawn", heard);
          const quiet = () => (document.querySelector("#answer.waiting") ? setTimeout(quiet, 20) : setTimeout(() => resolve(times), 300));
          quiet();
        });
      };
      host.addEventListener("drawn", heard);
      field.value = value;
      field.dispatchEvent(new Event("input", { bubbles: true }));
    });
  });
  // Once for nothing, so that what was drawn last is known.
  await page.evaluate(() => globalThis.coldsquare.timed("879"));
}

const browser = await launch();
const rows = [];
for (const welds of [5, 60, 200]) {
  const { page, context, close } = await openTool(browser);
  await openJob(page, job(welds));
  const session = await context.newCDPSession(page);
  const slow = (rate) => session.send("Emulation.setCPUThrottlingRate", { rate });
  await slow(SLOWER);
  const first = [];
  for (let k = 0; k < 3; k += 1) {
    const began = Date.now();
    await page.reload();
    await page.locator("html[data-ready=yes]").waitFor({ timeout: 120_000 });
    await page.locator("#frame .metal path").first().waitFor({ timeout: 120_000 });
    first.push(Date.now() - began);
  }
  await page.locator("#answer:not(.waiting) #worst").waitFor({ timeout: 120_000 });
  await watch(page);
  const drawn = await pageTimes(page);
  await slow(1);
  const engine = await engineTimes(page);
  const plan = await page.evaluate(async (whole) => {
    const text = document.querySelector("#job-text").value, times = [];
    for (const effort of whole ? [1, 10] : [1]) {
      const began = performance.now();
      await globalThis.coldsquare.ask({ ask: "plan", text, effort, seed: 1 });
      times.push(performance.now() - began);
    }
    return times;
  }, welds < 200);
  const memory = await page.evaluate(() => globalThis.coldsquare.memory());
  const { usedSize } = await session.send("Runtime.getHeapUsage");
  // The engine's share, as often as the device is slower: the browser slowed the page, but not the engine.
  const slowed = { frame: drawn.frame + (SLOWER - 1) * engine.frame, movement: drawn.movement + (SLOWER - 1) * (engine.frame + engine.movement) };
  rows.push([welds, Math.min(...first), drawn.frame, drawn.movement, slowed.frame, slowed.movement, SLOWER * engine.answer, plan, (memory + usedSize) / 1e6]);
  await close();
}
console.log(`page ${(statSync(process.env.COLDSQUARE_TOOL).size / 1e6).toFixed(2)} MB`);
console.log("| Welds | First view | Frame after an edit | its movement | Frame, engine slowed too | its movement | Uncertainty, slowed | Quick plan | Whole plan | Memory |");
console.log("|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|");
const ms = (one) => `${one.toFixed(0)} ms`;
for (const [welds, first, frame, movement, frameSlow, movementSlow, answer, [quick, whole], memory] of rows) {
  const seconds = (one) => (one === undefined ? "" : `${(one / 1000).toFixed(1)} s`);
  console.log(`| ${[welds, ms(first), ms(frame), ms(movement), ms(frameSlow), ms(movementSlow), ms(answer), seconds(quick), seconds(whole), `${memory.toFixed(0)} MB`].join(" | ")} |`);
}
await browser.close();
