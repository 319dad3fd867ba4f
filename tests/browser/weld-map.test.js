// The weld map, used with a mouse, with the keyboard alone, on a phone and on paper.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { launch, looksRight, marksApart, open, printed, tabTo } from "./browser.js";

const PAGE = "weld-map.html";
let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

// "0.212 ± 0.008" of the table, for comparing with what picking shows.
const heatInTable = (page, number) => page.locator(`#welds tr[data-weld="${number}"] td`).nth(2).innerText();
const shown = async (page) => (await page.locator("#heat-input").innerText()).replace(/\s+/g, " ");

async function first(page) {
  const row = page.locator("#welds tbody tr.within-limits").first();
  return row.getAttribute("data-weld");
}

test("a weld clicked in the drawing shows its heat input, and so does one clicked in the table", async () => {
  const { page, close } = await open(browser, PAGE);
  const marks = page.locator("#frame .live .mark:not([display=none])");
  const number = await marks.nth(3).getAttribute("data-weld");
  await marks.nth(3).click();
  assert.equal(await page.locator("#detail-title").innerText(), `Weld ${number}`);
  const wanted = await heatInTable(page, number);
  assert.ok(wanted === "–" ? (await shown(page)) === "not measured" : (await shown(page)).startsWith(wanted), `${wanted} in the table, ${await shown(page)} shown`);
  const other = await first(page);
  await page.locator(`#welds tr[data-weld="${other}"] td`).nth(1).click();
  assert.equal(await page.locator("#detail-title").innerText(), `Weld ${other}`);
  assert.ok((await shown(page)).startsWith(await heatInTable(page, other)));
  assert.ok(await page.locator("#detail .trace .mean").count() >= 4, "volts, amps, power and heat are drawn");
  await close();
});

test("the keyboard alone gets to a weld, walks from weld to weld, reads a trace and turns the frame", async () => {
  const { page, close } = await open(browser, PAGE);
  await tabTo(page, "[data-look=corner]");
  await page.keyboard.press("Enter");
  assert.equal(await page.locator("[data-look=corner]").getAttribute("aria-pressed"), "true");
  await tabTo(page, "#frame [role=button]");
  const before = await page.locator("#detail-title").innerText();
  await page.keyboard.press("ArrowRight");
  const next = await page.locator("#detail-title").innerText();
  assert.notEqual(next, before);
  await page.keyboard.press("ArrowLeft");
  assert.equal(await page.locator("#detail-title").innerText(), before);
  await tabTo(page, "#detail [role=slider]");
  await page.keyboard.press("ArrowRight");
  assert.match(await page.locator("#detail figcaption").first().innerText(), / s: .*V, .*A, .*kW/);
  await tabTo(page, "#welds tbody button");
  await page.keyboard.press("ArrowDown");
  assert.equal(await page.locator("#detail-title").innerText(), "Weld 2");
  await close();
});

test("a verdict filters the table, and asked again gives it back", async () => {
  const { page, close } = await open(browser, PAGE);
  const all = await page.locator("#welds tbody tr:visible").count();
  const button = page.locator("[data-verdict=within-limits]");
  const count = Number(await button.locator("b").innerText());
  await button.click();
  assert.equal(await page.locator("#welds tbody tr:visible").count(), count);
  await button.click();
  assert.equal(await page.locator("#welds tbody tr:visible").count(), all);
  await close();
});

test("the weld picked carries its weld symbol, in the drawing and beside it", async () => {
  const { page, close } = await open(browser, PAGE);
  await page.locator('#welds tr[data-weld="4"] button').click();
  const beside = page.locator("#detail svg.callout");
  assert.match(await beside.getAttribute("aria-label"), /ISO 2553: fillet z3, length 40, 135/);
  const inDrawing = await page.locator("#frame .called text").allTextContents();
  assert.deepEqual(inDrawing, ["z3", "40", "135"]);
  await close();
});

test("what was measured stands beside what was predicted, with a gauge whose stroke and band are theirs", async () => {
  const { page, close } = await open(browser, PAGE);
  const rows = page.locator("#moved tbody tr");
  assert.ok(await rows.count() >= 3);
  for (let k = 0; k < await rows.count(); k += 1) {
    const cells = (await rows.nth(k).locator("td").allInnerTexts()).map((text) => text.trim());
    const [verdict, ...numbers] = cells.slice(0, 4);
    const [measured, predicted, residual] = numbers.map((text) => text.split("±").map(Number));
    assert.ok(Math.abs(measured[0] - predicted[0] - residual[0]) < 0.16, cells.join(" | "));
    const off = Math.abs(residual[0]) - residual[1];
    if (Math.abs(off) > 0.1) assert.equal(verdict, off > 0 ? "differs" : "agrees", cells.join(" | "));
    assert.equal(await rows.nth(k).locator("svg.gauge .band").count(), 1);
    assert.ok(await rows.nth(k).locator("svg.sign").count() === 1, "a shape, not colour alone");
  }
  await close();
});

test("the keyboard alone gets to the table of what was measured", async () => {
  const { page, close } = await open(browser, PAGE);
  await tabTo(page, "[aria-labelledby=moved-title][tabindex]");
  assert.ok(await page.evaluate(() => document.activeElement.querySelector("#moved") !== null));
  await close();
});

test("the planned order is above the order done, and welds not done are named", async () => {
  const { page, close } = await open(browser, PAGE);
  const cells = await page.locator(".order li").count();
  assert.equal(cells, await page.locator("#welds tbody tr").count());
  const missing = await page.locator(".order .missing .unseen").allInnerTexts();
  const inTable = await page.locator("#welds tr.not-measured").evaluateAll((rows) => rows.map((row) => `weld ${row.dataset.weld}: planned here, not done`));
  assert.ok(missing.length > 0);
  assert.deepEqual(missing, inTable);
  await close();
});

test("a weld picked in time is the weld picked, with when it began and how long was waited before", async () => {
  const { page, close } = await open(browser, PAGE);
  const arc = page.locator(".time .arc[data-weld]").nth(5);
  const number = await arc.getAttribute("data-weld");
  await arc.click();
  assert.equal(await page.locator("#detail-title").innerText(), `Weld ${number}`);
  assert.match(await page.locator("#detail .facts").innerText(), /began\s+\d+:\d\d, after \d+ s without arc/);
  await close();
});

looksRight(test, () => browser, PAGE, marksApart);

test("it prints on A4 and Letter, with every weld numbered once whatever is looked at", async () => {
  const { page, close } = await open(browser, PAGE);
  await page.locator("[data-look=top]").click();
  const welds = await page.locator("#welds tbody tr").count();
  await page.emulateMedia({ media: "print" });
  assert.equal(await page.locator("#frame:visible").count(), 0);
  assert.equal(await page.locator(".still .mark:visible").count(), welds);
  assert.ok(await printed(page, "A4") >= 2);
  assert.ok(await printed(page, "Letter") >= 2);
  await close();
});

test("without its script the drawing and the table are there", async () => {
  const { page, close } = await open(browser, PAGE, { javaScriptEnabled: false });
  const welds = await page.locator("#welds tbody tr").count();
  assert.equal(await page.locator(".still .mark:visible").count(), welds, "every weld is numbered once");
  assert.ok(await page.locator("#welds tbody tr").count() > 0);
  await close();
});
