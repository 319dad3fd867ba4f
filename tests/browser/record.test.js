// The build record on the screen, on a phone and on paper.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { launch, looksRight, open, pagesOfText, printed } from "./browser.js";

const PAGE = "weld-record.html";
let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

looksRight(test, () => browser, PAGE);

test("it runs nothing, and every weld stands in the drawing and in the table", async () => {
  const { page, close } = await open(browser, PAGE, { javaScriptEnabled: false });
  const welds = await page.locator("#welds tbody tr").count();
  assert.ok(welds > 0);
  assert.equal(await page.locator(".still .mark:visible").count(), welds);
  assert.equal(await page.locator("script").count(), 0);
  await close();
});

test("what was predicted, measured and left stands in a table that is printed whole", async () => {
  const { page, close } = await open(browser, PAGE);
  const rows = await page.locator("#moved tbody tr").count();
  assert.ok(rows >= 3, `${rows} quantities`);
  const name = await page.locator("#moved tbody th").first().innerText();
  const sheets = await pagesOfText(page, "A4");
  const with_it = sheets.filter((text) => text.includes("Predicted and measured"));
  assert.equal(with_it.length, 1);
  assert.ok(with_it[0].includes(name) && with_it[0].includes("Residual"), with_it[0]);
  await close();
});

for (const format of ["A4", "Letter"]) {
  test(`on ${format} every sheet has its number and the job's name, and the head of the table comes again`, async () => {
    const { page, close } = await open(browser, PAGE);
    const count = await printed(page, format);
    assert.ok(count >= 4 && count <= 8, `${count} sheets`);
    const sheets = await pagesOfText(page, format);
    assert.equal(sheets.length, count);
    const name = await page.locator("h1").innerText();
    sheets.forEach((text, k) => {
      assert.match(text, new RegExp(`\\b${k + 1} ?/ ?${count}\\b`), `sheet ${k + 1}`);
      assert.ok(text.includes(`Build record: ${name}`), `sheet ${k + 1}`);
    });
    const tables = sheets.filter((text) => /not inspected|accepted|rejected|repaired/.test(text));
    assert.ok(tables.length >= 2);
    tables.forEach((text) => assert.match(text, /Inspection/, "the head of the table"));
    await close();
  });
}
