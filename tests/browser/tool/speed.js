// How fast the page is on a slow device: prints a table for docs/pages.md.
//
//   COLDSQUARE_TOOL=PAGE COLDSQUARE_COMMAND=COMMAND node speed.js

import { statSync } from "node:fs";
import { launch, openJob, openTool } from "./tool.js";

const SLOWER = 4;

// A frame with about so many welds.
function job(welds) {
  if (welds === 5) {
    return `name = "5"\n[frame]\nwidth = 600\nheight = 400\nsection = "SQ 12"\ncorners = "open"\n[frame.bars]\ncount = 1\nsection = "SQ 12"\ndirection = "horizontal"\nwelded = ["front", "back"]\n[[member]]\nname = "stay"\nsection = "SQ 10"\nfrom = "left upright at 100"\nto = [300, 100, 0]\nwelded = ["front"]\n[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n`;
  }
  const bars = Math.round((welds - 16) / 4);
  return `name = "${welds}"\n[frame]\nwidth = ${400 + bars * 90}\nheight = 900\nsection = "SHS 40x40x3"\n[frame.bars]\ncount = ${bars}\nsection = "SHS 20x20x2"\n[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n`;
}

const browser = await launch();
const rows = [];
for (const welds of [5, 60, 200]) {
  const { page, context, close } = await openTool(browser);
  await openJob(page, job(welds));
  const session = await context.newCDPSession(page);
  await session.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  const first = [];
  for (let k = 0; k < 3; k += 1) {
    const began = Date.now();
    await page.reload();
    await page.locator("html[data-ready=yes]").waitFor({ timeout: 120_000 });
    first.push(Date.now() - began);
  }
  // From a key to the drawing and the answer: the worker is not slowed by the browser, so its share is multiplied.
  const answers = [];
  for (let k = 0; k < 5; k += 1) {
    answers.push(await page.evaluate(async (n) => {
      const field = document.querySelector("#field-frame-height"), began = performance.now();
      const before = document.querySelector("#worst").innerText;
      field.value = String(700 + 10 * n);
      field.dispatchEvent(new Event("input", { bubbles: true }));
      while (document.querySelector("#worst").innerText === before && performance.now() - began < 20_000) await new Promise(requestAnimationFrame);
      return performance.now() - began;
    }, k));
  }
  // The engine by itself: a quick look, and a whole one.
  const engine = await page.evaluate(async () => {
    const text = document.querySelector("#job-text").value;
    const fastest = async (quick, tries) => {
      const times = [];
      for (let k = 0; k < tries; k += 1) {
        const began = performance.now();
        await globalThis.coldsquare.ask({ ask: "look", text, quick });
        times.push(performance.now() - began);
      }
      return Math.min(...times);
    };
    return [await fastest(true, 5), await fastest(false, 2)];
  });
  await session.send("Emulation.setCPUThrottlingRate", { rate: 1 });
  const planTime = await page.evaluate(async () => {
    const text = document.querySelector("#job-text").value, began = performance.now();
    await globalThis.coldsquare.ask({ ask: "plan", text, effort: 1, seed: 1 });
    const quick = performance.now() - began;
    if (document.querySelectorAll("#frame [role=button]").length === 60) await globalThis.coldsquare.ask({ ask: "plan", text, effort: 10, seed: 1 });
    return [quick, performance.now() - began - quick];
  });
  const memory = await page.evaluate(() => globalThis.coldsquare.memory());
  const { usedSize } = await session.send("Runtime.getHeapUsage");
  rows.push([welds, Math.min(...first), Math.min(...answers), ...engine, ...planTime, (memory + usedSize) / 1e6]);
  await close();
}
console.log(`page ${(statSync(process.env.COLDSQUARE_TOOL).size / 1e6).toFixed(2)} MB`);
console.log("| Welds | First view, 4 times slower | Drawing and value after an edit, page 4 times slower | of it the engine, not slowed | Its uncertainty, not slowed | Quick plan | Whole plan | Memory |");
console.log("|--:|--:|--:|--:|--:|--:|--:|--:|");
for (const [welds, first, answer, quick, look, short, whole, memory] of rows) {
  const plans = [short, whole].map((ms) => (ms < 1 ? "" : `${(ms / 1000).toFixed(1)} s`));
  console.log(`| ${[welds, ...[first, answer, quick, look].map((ms) => `${ms.toFixed(0)} ms`), ...plans, `${memory.toFixed(0)} MB`].join(" | ")} |`);
}
await browser.close();
