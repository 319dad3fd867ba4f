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
    for (const check of [fits, accessible]) await check(page);
    await tab(page, "bench");
    for (const check of [fits, largeEnough, accessible]) await check(page);
    const done = await page.locator("#step-done").boundingBox();
    assert.ok(done.height >= 88, `a button for gloves: ${done.height} px`);
    await close();
  });
}

test("a search can be stopped and leaves the quick plan; the frame can be changed meanwhile", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Gate");
  await tab(page, "plan");
  await page.locator("#plan-it").click();
  await page.locator("#steps").waitFor({ timeout: 120_000 });
  await page.locator("#plan-stop").click();
  assert.match(await page.locator("#plan-state").innerText(), /quick plan/);
  await tab(page, "frame");
  assert.match(await page.locator("#facts").innerText(), /planned order/);
  await page.locator("#field-frame-height").fill("1300");
  await page.waitForFunction(() => document.querySelector("#facts").innerText.includes("file order"));
  await tab(page, "plan");
  assert.match(await page.locator("#plan-state").innerText(), /has changed/);
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
