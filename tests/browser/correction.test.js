// The correction on the screen, on a phone and on paper.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LOOKS, launch, looksRight, open, pagesOfText, printed } from "./browser.js";

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
  const press = options.filter({ hasText: "Bend it back cold" }).first();
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

test("every option says its effort and risk in words, or why it is ruled out", async () => {
  const { page, close } = await open(browser, PAGE);
  const cards = await page.locator(".option.keep").all();
  assert.ok(cards.length >= 3);
  for (const card of cards) assert.match(await card.locator(".degrees").innerText(), /^Effort (low|medium|high), risk (low|medium|high)$/);
  for (const line of await page.locator(".ruled-out li").allInnerTexts()) assert.match(line, /\. No\. ./);
  await close();
});

test("on a phone an option begins with its sketch, drawn large enough to read", async () => {
  const { page, close } = await open(browser, PAGE, LOOKS[2].options);
  const card = page.locator(".option:has(svg)").first();
  const [sketch, steps] = [await card.locator("svg").first().boundingBox(), await card.locator("ol").boundingBox()];
  assert.ok(sketch.y < steps.y);
  const size = await card.locator("svg text").first().evaluate((text) => text.getBoundingClientRect().height);
  assert.ok(size >= 9, `${size} px`);
  await close();
});

for (const format of ["A4", "Letter"]) {
  test(`on ${format} every option is whole on one sheet`, async () => {
    const { page, close } = await open(browser, PAGE);
    const count = await printed(page, format);
    assert.ok(count >= 1 && count <= 8, `${count} sheets`);
    const sheets = await pagesOfText(page, format);
    for (const option of await page.locator(".keep:has(ol)").all()) {
      const steps = await option.locator("li").allInnerTexts();
      const words = steps.map((step) => step.replace(/\s+/g, " ").slice(0, 40));
      assert.ok(sheets.some((sheet) => words.every((start) => sheet.includes(start))), words[0]);
    }
    await close();
  });
}
