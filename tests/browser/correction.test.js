// The correction on the screen, on a phone and on paper.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LOOKS, launch, looksRight, open, pagesOfText, printed, tabTo } from "./browser.js";

const PAGE = "correction.html";
let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

looksRight(test, () => browser, PAGE);

test("it runs nothing, and every drawing shows the places that the text names", async () => {
  const { page, close } = await open(browser, PAGE, { javaScriptEnabled: false });
  assert.equal(await page.locator("script").count(), 0);
  const options = page.locator(".keep:has(svg)");
  assert.ok(await options.count() >= 2, "pressing and heat");
  const press = options.filter({ hasText: "Bend it back cold" });
  assert.equal(await press.locator("svg path.tip").count(), 4, "two blocks, two places to press");
  // Words of a drawing do not run into each other.
  for (const option of await options.all()) {
    const boxes = await option.locator("svg text").evaluateAll((texts) => texts.map((text) => text.getBoundingClientRect().toJSON()));
    boxes.forEach((a, k) => boxes.slice(k + 1).forEach((b) => assert.ok(
      a.right <= b.left || b.right <= a.left || a.bottom <= b.top + 1 || b.bottom <= a.top + 1, JSON.stringify([a, b]))));
  }
  await close();
});

test("the caution stands before the first step of what can hurt", async () => {
  const { page, close } = await open(browser, PAGE);
  for (const [title, caution] of [["Bend it back cold", /stand aside/], ["Heat the long side in lines", /Hot work/]]) {
    const words = await page.locator(".keep").filter({ hasText: title }).first().innerText();
    const [at, step] = [words.search(caution), words.search(/Lay it|Heat one/)];
    assert.ok(at >= 0 && step >= 0 && at < step, `${title}: caution at ${at}, step at ${step}`);
  }
  await close();
});

test("words, not colour alone, tell what is possible and what is not", async () => {
  const { page, close } = await open(browser, PAGE);
  const rows = await page.locator("main tbody tr").filter({ has: page.locator("td:nth-child(4)") }).all();
  assert.ok(rows.length >= 4);
  for (const row of rows) {
    const [effort, risk, short] = await row.locator("td").allInnerTexts();
    assert.equal(short.startsWith("No. "), effort === "" && risk === "", short);
  }
  await close();
});

test("the keyboard alone reads a table that is wider than a phone", async () => {
  const { page, close } = await open(browser, PAGE, LOOKS[2].options);
  const wide = await page.locator(".scroll").evaluateAll((boxes) => boxes.some((box) => box.scrollWidth > box.clientWidth));
  if (wide) {
    await tabTo(page, ".scroll");
    await page.keyboard.press("ArrowRight");
    await page.waitForTimeout(300);
    assert.ok(await page.evaluate(() => document.activeElement.scrollLeft > 0));
  }
  await close();
});

for (const format of ["A4", "Letter"]) {
  test(`on ${format} every option is whole on one sheet`, async () => {
    const { page, close } = await open(browser, PAGE);
    const count = await printed(page, format);
    assert.ok(count >= 1 && count <= 6, `${count} sheets`);
    const sheets = await pagesOfText(page, format);
    for (const option of await page.locator(".keep:has(ol)").all()) {
      const steps = await option.locator("li").allInnerTexts();
      const words = steps.map((step) => step.replace(/\s+/g, " ").slice(0, 40));
      assert.ok(sheets.some((sheet) => words.every((start) => sheet.includes(start))), words[0]);
    }
    await close();
  });
}
