// The plan, used with a mouse, with the keyboard alone, on a phone and on paper.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { launch, looksRight, marksApart, open, printed } from "./browser.js";

const PAGE = "plan.html";
let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

const place = (page) => page.locator("#step").inputValue().then(Number);

test("buttons, slider and bench card go to a step and say why it comes now", async () => {
  const { page, close } = await open(browser, PAGE);
  const start = await place(page);
  await page.locator("#next").click();
  assert.equal(await place(page), start + 1);
  await page.locator("#back").click();
  assert.equal(await place(page), start);
  await page.locator("#steps tbody tr").nth(1).locator("button").click();
  assert.equal(await place(page), 2);
  const why = await page.locator("#steps tbody tr").nth(1).locator("td").last().innerText();
  assert.equal(await page.locator("#step-text .why").innerText(), why);
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

looksRight(test, () => browser, PAGE, marksApart);

test("the text gives the direction that the arrow in the drawing shows, whichever face is up", async () => {
  const { page, close } = await open(browser, PAGE);
  const seen = { front: new Set(), back: new Set() };
  for (const row of await page.locator("#steps tr.weld").all()) {
    const how = await row.locator("td").nth(3).innerText();
    const side = how.match(/right|left/)?.[0];
    if (!side) continue;
    await row.locator("button").click();
    const up = await page.locator("[data-look][aria-pressed=true]").getAttribute("data-look");
    // Tip first, then the two corners of the base.
    const [tip, base] = (await page.locator("#frame .live .direction").getAttribute("d")).match(/-?[\d.]+(?=,)/g).map(Number);
    assert.equal(tip > base ? "right" : "left", side, `${how}, ${up} up`);
    seen[up].add(side);
  }
  assert.deepEqual([...seen.back].sort(), ["left", "right"], "some are welded with the back up");
  assert.deepEqual([...seen.front].sort(), ["left", "right"]);
  await close();
});

const MM = 96 / 25.4;
for (const [format, width, height] of [["A4", 210, 297], ["Letter", 215.9, 279.4]]) {
  test(`the bench card has every step once, about a hundred on a sheet of ${format}`, async () => {
    const { page, close } = await open(browser, PAGE, { viewport: { width: Math.floor((width - 24) * MM), height: 900 } });
    // The tacks are one step on the screen, and each has its box on the card.
    const steps = Number((await page.locator("#steps th button").last().innerText()).split("–").at(-1));
    assert.ok(steps > 40, "the demo is a long list");
    await page.emulateMedia({ media: "print" });
    assert.equal(await page.locator("#steps:visible").count(), 0, "the list of the screen stays there");
    const sheets = page.locator(".sheet:visible");
    const count = await sheets.count();
    assert.ok(count <= Math.ceil(steps / 90), `${count} sheets for ${steps} steps`);
    assert.equal(await sheets.locator("li .box").count(), steps);
    const places = await sheets.locator("li .place").allInnerTexts();
    assert.deepEqual(places.map(Number), Array.from({ length: steps }, (_, k) => k + 1));
    const cut = await sheets.locator(".text").evaluateAll((texts) =>
      texts.filter((text) => text.scrollWidth > text.clientWidth + 1).map((text) => text.innerText));
    assert.deepEqual(cut, [], "nothing runs into the next column or off the paper");
    for (const sheet of await sheets.all()) {
      const box = await sheet.boundingBox();
      assert.ok(box.height <= (height - 30) * MM, `${box.height / MM} mm high`);
    }
    // Two drawings, the card, what stands after it.
    assert.equal(await printed(page, format), 3 + count);
    await close();
  });
}

test("the card is printed alone when that is asked for", async () => {
  const { page, close } = await open(browser, PAGE);
  await page.evaluate(() => { globalThis.print = () => {}; });
  await page.locator("#print-card").click();
  assert.equal(await printed(page, "A4"), await page.locator(".sheet").count());
  await page.evaluate(() => globalThis.dispatchEvent(new Event("afterprint")));
  assert.ok(await printed(page, "A4") >= 3 + await page.locator(".sheet").count());
  await close();
});
