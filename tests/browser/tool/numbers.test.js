// The numbers of the page beside those of the command: twelve frames, given orders, and the plan that each finds.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { COMMAND, compared, frame, launch, openFile, openJob, openTool } from "./tool.js";

const FRAMES = ["gate", "rack", "trolley", "ring", "table-base", "ladder", "stair-stringer", "shelf", "bench", "stand"];
let browser, folder, jobs;
before(async () => {
  browser = await launch();
  folder = mkdtempSync(join(tmpdir(), "coldsquare-"));
  jobs = FRAMES.map((name) => [name, frame(name)]);
  const gate = readFileSync(new URL("../../../host-tool/engine/src/garden-gate.toml", import.meta.url), "utf8");
  jobs.push(["garden gate", gate], ["gate, clamped", `${gate}\n[[clamp]]\nat = "top rail at 600"\nrelease_after = [9]\n`]);
});
after(async () => {
  await browser.close();
  rmSync(folder, { recursive: true });
});

const asked = (page, request) => page.evaluate(async (one) => globalThis.coldsquare.ask(one), request);
const byCommand = (...words) => JSON.parse(execFileSync(COMMAND, words, { maxBuffer: 1 << 28, encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] }));

test("for twelve frames, in file order and backwards, each number is the command's", async () => {
  const { page, close } = await openTool(browser);
  let [numbers, most] = [0, 0];
  for (const [name, text] of jobs) {
    const path = join(folder, "job.toml");
    writeFileSync(path, text);
    const backwards = [...(await asked(page, { ask: "look", text })).order].reverse();
    const possible = !/release_after/.test(text);
    for (const order of possible ? [[], backwards] : [[]]) {
      const { prediction } = await asked(page, { ask: "look", text, order });
      const theirs = byCommand("predict", path, "--json", ...(order.length ? ["--order", order.join(",")] : []));
      // The page draws the final shape; the shapes on the way are the plan's.
      theirs.shapes.steps = [];
      for (const one of [prediction, theirs]) delete one.order_from;
      for (const one of [prediction, theirs]) delete one.shapes.magnification;
      const [n, difference] = compared(prediction, theirs, name);
      [numbers, most] = [numbers + n, Math.max(most, difference)];
    }
  }
  console.log(`${numbers} numbers of ${jobs.length} frames; greatest difference ${most} mm`);
  await close();
});

test("the plan found on the page moves the frame by no more than 1 % more than the command's", async () => {
  const { page, close } = await openTool(browser);
  for (const [name, text] of jobs) {
    const path = join(folder, "job.toml");
    writeFileSync(path, text);
    const effort = name === "shelf" || name === "garden gate" ? 10 : 1;
    const { plan } = await asked(page, { ask: "plan", text, effort, seed: 1 });
    const theirs = byCommand("plan", path, "--json", "--effort", String(effort));
    assert.ok(plan.score.peak <= theirs.score.peak * 1.01, `${name}: ${plan.score.peak} and ${theirs.score.peak}`);
    const order = ({ steps }) => JSON.stringify(steps.map(({ what }) => [what.kind, what.weld, what.part]));
    const same = order(plan) === order(theirs);
    console.log(`${name}: ${plan.score.peak.toFixed(4)} on the page, ${theirs.score.peak.toFixed(4)} by the command; ${same ? "the same order" : "another order"}`);
  }
  await close();
});

test("a shop factors file that the job names is asked for, read, and gives the numbers of the command", async () => {
  const at = (name) => join(folder, name);
  const gate = readFileSync(new URL("../../../host-tool/engine/src/garden-gate.toml", import.meta.url), "utf8");
  const text = `shop_factors = "our-shop.toml"\n${gate}`;
  writeFileSync(at("gate.toml"), text);
  const run = (...words) => execFileSync(COMMAND, words, { stdio: "ignore" });
  run("pull", "sim:", at("gate.log"));
  for (const build of ["1", "2"]) {
    run("measure", at("gate.toml"), "--width", "top = 1198.6", "--width", "bottom = 1198.6", "--height", "left = 898.9", "--log", at("gate.log"), "--build", build, "--on", "2026-05-01", "--anyway");
  }
  run("learn", at("gate.toml"), "--keep");
  const { page, close } = await openTool(browser);
  await openJob(page, text);
  assert.match(await page.locator("#notes").innerText(), /our-shop\.toml: open that file too/);
  await openFile(page, "our-shop.toml", readFileSync(at("our-shop.toml"), "utf8"));
  await page.waitForFunction(() => !document.querySelector("#notes").innerText.includes("our-shop.toml"));
  for (const time of ["at once", "after a reload"]) {
    const { prediction } = await asked(page, { ask: "look", text });
    const theirs = byCommand("predict", at("gate.toml"), "--json");
    assert.match(prediction.factors, /our-shop\.toml/);
    const [numbers] = compared(prediction.measures, theirs.measures, time);
    assert.ok(numbers > 20);
    await page.reload();
    await page.locator("html[data-ready=yes]").waitFor();
  }
  await close();
});
