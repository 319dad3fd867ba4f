// The plan and the bench: from a shelf with rails on one side to a printed card, ticked off step by step.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible, fits, marksApart, pagesOfText, tabTo } from "../browser.js";
import { LOOKS, begin, largeEnough, launch, openTool, plan, ready, tab } from "./tool.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

test("a shelf is planned, stepped through and printed", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Shelf");
  await plan(page);
  assert.match(await page.locator("#step-text h2").innerText(), /^Tack \d+ joints$/);
  assert.ok(await page.locator("#steps tr.tack").count() <= 2, "the tacks of a face are one step");
  const title = () => page.locator("#step-text h2").innerText();
  for (let k = 0; k < 4 && !(await title()).startsWith("Weld"); k += 1) await page.locator("#next").click();
  assert.match(await title(), /^Weld \d+/);
  await page.locator("#step").focus();
  await page.keyboard.press("End");
  assert.match(await page.locator(".exaggerated").innerText(), /exaggerated/);
  await marksApart(page);
  await page.evaluate(() => document.documentElement.classList.add("card-only"));
  const [sheet] = await pagesOfText(page, "A4");
  assert.match(sheet, /Bench card: Shelf/);
  await close();
});

for (const { name, options } of LOOKS) {
  test(`${name}: plan and bench fit, are large enough and accessible`, async () => {
    const { page, close } = await openTool(browser, { ...options, reducedMotion: "reduce" });
    await begin(page, "Plain frame");
    await plan(page);
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await tab(page, "bench");
    for (const check of [fits, largeEnough, accessible]) await check(page);
    const done = await page.locator("#step-done").boundingBox();
    assert.ok(done.height >= 88, `a button for gloves: ${done.height} px`);
    await close();
  });
}

test("a search that is stopped keeps the best order so far and says so", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Gate");
  await tab(page, "plan");
  await page.locator("#plan-it").click();
  await page.locator("#plan-state", { hasText: "Searching for a better order" }).waitFor({ timeout: 120_000 });
  const peak = async () => (await page.waitForFunction(() => JSON.parse(localStorage.getItem("coldsquare")).plan?.peak)).jsonValue();
  const quick = await peak();
  await page.locator("#plan-state", { hasText: /better order… [\d,]+ orders tried/ }).waitFor();
  await page.locator("#plan-stop").click();
  await page.locator("#plan-state", { hasText: "Stopped: this is the best order so far." }).waitFor({ timeout: 10_000 });
  assert.ok(await peak() <= quick, `${await peak()} after ${quick}`);
  assert.ok(await page.locator("#steps tbody tr").count() > 40);
  await tab(page, "frame");
  assert.match(await page.locator("#facts").innerText(), /planned order/);
  await page.locator("#field-frame-height").fill("1300");
  await page.waitForFunction(() => document.querySelector("#facts").innerText.includes("file order"));
  await tab(page, "plan");
  assert.match(await page.locator("#plan-state").innerText(), /has changed/);
  await close();
});

test("the screen is kept on at the bench, let go elsewhere, and asked for again when the page comes back", async () => {
  const { page, close } = await openTool(browser, {}, (page) => page.addInitScript(() => {
    globalThis.locks = [];
    const request = async (kind) => {
      const lock = new EventTarget();
      lock.release = async () => { lock.released = true; lock.dispatchEvent(new Event("release")); };
      globalThis.locks.push({ kind, lock });
      return lock;
    };
    Object.defineProperty(navigator, "wakeLock", { value: { request }, configurable: true });
  }));
  const locks = () => page.evaluate(() => globalThis.locks.map(({ kind, lock }) => [kind, Boolean(lock.released)]));
  await begin(page, "Plain frame");
  await plan(page);
  assert.deepEqual(await locks(), []);
  await tab(page, "bench");
  await page.locator("#step-done").click();
  assert.deepEqual(await locks(), [["screen", false]], "once, however many steps");
  // A page that goes out of sight loses the lock.
  await page.evaluate(() => {
    globalThis.locks[0].lock.release();
    document.dispatchEvent(new Event("visibilitychange"));
  });
  await page.waitForFunction(() => globalThis.locks.length === 2);
  await tab(page, "frame");
  await page.waitForFunction(() => globalThis.locks.every(({ lock }) => lock.released));
  await close();
});

test("a long weld that is begun is gone on with where it stopped when another is made instead", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Stiffened flat");
  await plan(page);
  await tab(page, "bench");
  // What the page keeps, it keeps a moment after it has answered.
  const part = () => page.waitForTimeout(150).then(() => page.evaluate(() => {
    const { plan, bench } = JSON.parse(localStorage.getItem("coldsquare"));
    const { steps } = JSON.parse(plan.part.data);
    return steps.map((step, k) => ({ weld: step.weld, line: JSON.stringify(step.line), ticked: bench.ticked[k] }));
  }));
  const inParts = (steps) => steps.find((step, k) => step.weld !== null && steps.some((other, m) => m > k && other.weld === step.weld));
  assert.ok(inParts(await part()), "a weld is welded in parts");
  const { weld } = inParts(await part());
  // Tick everything up to the first part of it.
  for (let k = 0; k < 200; k += 1) {
    await page.locator("#step-done").click();
    if ((await part()).some((step) => step.weld === weld && step.ticked)) break;
  }
  const made = (await part()).filter((step) => step.weld === weld && step.ticked).map((step) => step.line);
  assert.match(await page.locator(".begun").innerText(), new RegExp(`^Weld ${weld + 1} is begun: ${made.length} of its \\d parts are welded\\.`));
  const other = await page.locator("#other-weld option").evaluateAll((all, mine) => all.map((one) => one.value).filter((value) => value && Number(value) !== mine).at(-1), weld + 1);
  await page.locator("#other-weld").selectOption(other);
  await page.locator("#other-done").click();
  await page.waitForFunction((number) => JSON.parse(localStorage.getItem("coldsquare")).plan.done.includes(Number(number)), other, { timeout: 120_000 });
  const steps = await part();
  const ends = (line) => JSON.parse(line).map(String).sort().join();
  const ticked = steps.filter((step) => step.weld === weld && step.ticked).map((step) => ends(step.line));
  assert.deepEqual(ticked, made.map(ends), "what is welded of it stays welded");
  const next = steps.find((step) => !step.ticked && step.weld !== null);
  assert.equal(next.weld, weld, "its other parts come first");
  await close();
});

test("at the bench steps are ticked, skipped, and survive a reload; a weld done differently plans the rest anew", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Plain frame");
  await plan(page);
  await tab(page, "bench");
  assert.match(await page.locator("#now h2").innerText(), /^Tack/);
  await page.locator("#step-done").click();
  const first = await page.locator("#now h2").innerText();
  assert.match(first, /^Weld/);
  await page.locator("#step-skip").click();
  const second = await page.locator("#now h2").innerText();
  assert.notEqual(second, first);
  await page.locator("#step-done").click();
  const third = await page.locator("#now .progress-words").innerText();
  await page.reload();
  await ready(page);
  assert.equal(await page.locator("#now .progress-words").innerText(), third);
  const offered = await page.locator("#other-weld option").evaluateAll((all) => all.map((one) => one.value).filter(Boolean));
  const other = offered.at(-1);
  await page.locator("#other-weld").selectOption(other);
  await page.locator("#other-done").click();
  await page.waitForFunction((number) => JSON.parse(localStorage.getItem("coldsquare")).plan.done.at(-1) === Number(number), other, { timeout: 120_000 });
  const state = await page.evaluate(() => JSON.parse(localStorage.getItem("coldsquare")));
  assert.deepEqual(state.plan.order.slice(0, state.plan.done.length), state.plan.done, "the new plan begins with what is done");
  assert.ok(state.bench.ticked.filter(Boolean).length >= 3);
  await close();
});

test("the keyboard alone plans and ticks off", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Plain frame");
  await tabTo(page, "[data-tab=plan]");
  await page.keyboard.press("Enter");
  await tabTo(page, "#plan-it");
  await page.keyboard.press("Enter");
  await page.locator("#plan-state", { hasText: /^Planned\.$/ }).waitFor({ timeout: 240_000 });
  await tabTo(page, "#to-bench");
  await page.keyboard.press("Enter");
  await tabTo(page, "#step-done");
  await page.keyboard.press("Enter");
  assert.match(await page.locator("#now h2").innerText(), /^Weld/);
  await close();
});
