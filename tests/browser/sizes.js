// Pages of 5, 60, 200 and 500 welds: how large, how soon to be seen, do labels overlap? Prints the table of docs/pages.md.
// node sizes.js PROGRAM        (tests/browser/sizes builds the program and calls it)

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { launch, marksApart, open } from "./browser.js";

const [, , program] = process.argv;
assert.ok(program, "usage: node sizes.js PROGRAM");
const folder = mkdtempSync(join(tmpdir(), "pages-"));
process.env.COLDSQUARE_PAGES = folder;
const run = (...words) => execFileSync(program, words, { cwd: folder, encoding: "utf8", maxBuffer: 1 << 28 });

const procedure = "[procedure]\nprocess = 135\nvolts = [17, 20]\namps = [95, 135]\ntravel_speed = [6, 9]\nheat_input = [0.15, 0.35]\n";
const panel = (width, bars) => `name = "Panel"\nmaterial = "steel"\n[frame]\nwidth = ${width}\nheight = 900\nsection = "SHS 40x40x3"\n`
  + `corners = "mitred"\n[frame.bars]\ncount = ${bars}\nsection = "SHS 20x20x2"\nwelded = ["front", "back"]\n${procedure}`;
const member = (name, from, to, more) => `[[member]]\nname = "${name}"\nsection = "SHS 40x40x3"\nfrom = ${from}\nto = ${to}\n${more}`;
const bracket = `name = "Bracket"\nmaterial = "steel"\n${member("base", "[0, 0, 0]", "[500, 0, 0]", "")}`
  + member("post", '"base at 120"', "[120, 300, 0]", 'welded = ["front", "back", "left"]\n')
  + member("stay", '"base at 380"', "[380, 200, 0]", 'welded = ["front", "back"]\n') + procedure;
const JOBS = [[5, bracket], [60, panel(1200, 11)], [200, panel(3000, 46)], [500, panel(6000, 121)]];

// A recording of every weld in file order, 200 samples a second, never two alike.
function recording(welds) {
  let time = 0, seed = 1;
  const rows = ["time s,voltage V,current A"];
  const noise = () => { seed = (seed * 48271) % 2147483647; return seed / 2147483647 - 0.5; };
  const row = (volts, amps) => rows.push(`${(time += 0.005).toFixed(3)},${volts.toFixed(2)},${amps.toFixed(1)}`);
  for (const { planned_arc_time_s: arc } of welds) {
    for (let k = 0; k < 600; k += 1) row(0, 0);
    for (let k = 0; k < arc * 200; k += 1) row(18.3 + 4 * noise(), 115 + 60 * noise());
  }
  for (let k = 0; k < 400; k += 1) row(0, 0);
  return `${rows.join("\n")}\n`;
}

// Milliseconds from asking for the page to the first picture with the frame that can be turned; least of three. The
// processor is slowed down so many times.
async function firstView(browser, name, slower) {
  const times = [];
  for (let k = 0; k < 3; k += 1) {
    const { page, close } = await open(browser, name);
    const client = await page.context().newCDPSession(page);
    await client.send("Emulation.setCPUThrottlingRate", { rate: slower });
    await page.reload();
    times.push(await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now()))))));
    await close();
  }
  return Math.min(...times);
}

async function marks(browser, name, views) {
  const { page, close } = await open(browser, name);
  let most = 0, without = 0;
  for (const look of views) {
    await page.locator(`[data-look=${look}]`).click();
    const shown = await marksApart(page);
    const welds = await page.locator("#frame .weld-lines .weld-line:not(.hidden), #frame .weld-lines .bead:not(.hidden)").count();
    most = Math.max(most, shown);
    without = Math.max(without, welds - shown);
  }
  await close();
  return [most, without];
}

const browser = await launch();
console.log("| Welds | Page | Size | First view | 4 times slower | Numbers at once | No room for | Overlaps in 5 views |\n|--:|---|--:|--:|--:|--:|--:|--:|");
for (const [count, job] of JOBS) {
  writeFileSync(join(folder, "job.toml"), job);
  const { welds } = JSON.parse(run("check", "job.toml", "--json"));
  assert.equal(welds.length, count);
  writeFileSync(join(folder, "build.csv"), recording(welds));
  run("map", "job.toml", "build.csv", "--out", "map.html", "--force");
  run("plan", "job.toml", "--effort", "1", "--out", "plan.html", "--force");
  const pages = ["map.html", "plan.html"];
  const measured = readFileSync(join(folder, "map.html"), "utf8").match(/<tr class="(within-limits|marginal|out-of-limits)"/g)?.length;
  assert.equal(measured, count, "every weld is found in the recording");
  for (const page of pages) {
    const size = statSync(join(folder, page)).size;
    const [time, slow] = [await firstView(browser, page, 1), await firstView(browser, page, 4)];
    // Fails when two overlap.
    const [shown, without] = await marks(browser, page, ["front", "back", "top", "side", "corner"]);
    console.log(`| ${count} | ${page === "map.html" ? "weld map" : "plan"} | ${(size / 1000).toFixed(0)} kB | ${time.toFixed(0)} ms | ${slow.toFixed(0)} ms | ${shown} | ${without} | none |`);
  }
}
await browser.close();
rmSync(folder, { recursive: true });
