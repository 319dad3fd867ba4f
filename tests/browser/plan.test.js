// The plan, used with a mouse, with the keyboard alone, on a phone and on paper.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LOOKS, accessible, fits, launch, marksApart, open, printed } from "./browser.js";

const PAGE = "plan.html";
let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

const place = (page) => page.locator("#place").innerText().then(Number);

test("buttons, slider and bench card go to a step and say why it comes now", async () => {
  const { page, close } = await open(browser, PAGE);
  const start = await place(page);
  await page.locator("#on").click();
  assert.equal(await place(page), start + 1);
  await page.locator("#back").click();
  assert.equal(await place(page), start);
  await page.locator('#steps [data-step="2"] button').click();
  assert.equal(await place(page), 2);
  const why = await page.locator('#steps [data-step="2"] td').last().innerText();
  assert.equal(await page.locator("#told .why").innerText(), why);
  await close();
});

test("the keyboard alone steps through the order", async () => {
  const { page, close } = await open(browser, PAGE);
  for (let k = 0; k < 100 && !(await page.evaluate(() => document.activeElement.id === "step")); k += 1) await page.keyboard.press("Tab");
  const start = await place(page);
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("ArrowRight");
  assert.equal(await place(page), start + 2);
  await page.keyboard.press("Home");
  assert.equal(await place(page), 1);
  await page.keyboard.press("End");
  assert.equal(await place(page), await page.locator("#steps [data-step]").count());
  await close();
});

test("at every step one weld at most is next, and at the end all others are done", async () => {
  const { page, close } = await open(browser, PAGE);
  const steps = await page.locator("#steps [data-step]").count();
  await page.locator("#step").focus();
  await page.keyboard.press("End");
  assert.equal(await place(page), steps);
  assert.ok(await page.locator("#frame .live .mark.next:not([display=none])").count() <= 1);
  assert.equal(await page.locator("#frame .live .mark.later:not([display=none])").count(), 0);
  await marksApart(page);
  await close();
});

for (const { name, options } of LOOKS) {
  test(`${name}: nothing sticks out, and the accessibility checker finds nothing`, async () => {
    const { page, close } = await open(browser, PAGE, options);
    await fits(page);
    await marksApart(page);
    await accessible(page);
    await close();
  });
}

test("it prints on A4 and Letter", async () => {
  const { page, close } = await open(browser, PAGE);
  assert.ok(await printed(page, "A4") >= 2);
  assert.ok(await printed(page, "Letter") >= 2);
  await close();
});
