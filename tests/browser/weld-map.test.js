// The weld map, used with a mouse, with the keyboard alone, on a phone and on paper.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LOOKS, accessible, fits, launch, marksApart, open, printed } from "./browser.js";

const PAGE = "weld-map.html";
let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

// "0.212 ± 0.008" of the table, for comparing with what picking shows.
const heatInTable = (page, number) => page.locator(`#welds tr[data-weld="${number}"] td`).nth(2).innerText();
const shown = async (page) => (await page.locator("#heat-input").innerText()).replace(/\s+/g, " ");

async function first(page) {
  const row = page.locator("#welds tbody tr.inside").first();
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
  const focus = () => page.evaluate(() => document.activeElement.closest("[data-weld],[data-look],[role=slider]")?.outerHTML.slice(0, 200) ?? "");
  const tabTo = async (what) => {
    for (let k = 0; k < 200; k += 1) {
      await page.keyboard.press("Tab");
      if ((await page.evaluate((test) => document.activeElement.matches(test), what))) return;
    }
    assert.fail(`no way to ${what}, stuck at ${await focus()}`);
  };
  await tabTo("[data-look=corner]");
  await page.keyboard.press("Enter");
  assert.equal(await page.locator("[data-look=corner]").getAttribute("aria-pressed"), "true");
  await tabTo("#frame [role=button]");
  const before = await page.locator("#detail-title").innerText();
  await page.keyboard.press("ArrowRight");
  const next = await page.locator("#detail-title").innerText();
  assert.notEqual(next, before);
  await page.keyboard.press("ArrowLeft");
  assert.equal(await page.locator("#detail-title").innerText(), before);
  await tabTo("#detail [role=slider]");
  await page.keyboard.press("ArrowRight");
  assert.match(await page.locator("#detail figcaption").first().innerText(), / s: .*V, .*A, .*kW/);
  await tabTo("#welds tbody button");
  await page.keyboard.press("ArrowDown");
  assert.equal(await page.locator("#detail-title").innerText(), "Weld 2");
  await close();
});

test("a verdict filters the table, and asked again gives it back", async () => {
  const { page, close } = await open(browser, PAGE);
  const all = await page.locator("#welds tbody tr:visible").count();
  const button = page.locator("[data-verdict=inside]");
  const count = Number(await button.locator("b").innerText());
  await button.click();
  assert.equal(await page.locator("#welds tbody tr:visible").count(), count);
  await button.click();
  assert.equal(await page.locator("#welds tbody tr:visible").count(), all);
  await close();
});

test("from every side the marks of the welds lie apart", async () => {
  const { page, close } = await open(browser, PAGE);
  for (const side of ["front", "back", "top", "corner"]) {
    await page.locator(`[data-look=${side}]`).click();
    await marksApart(page);
  }
  await page.mouse.move(400, 500);
  await page.mouse.down();
  await page.mouse.move(520, 560, { steps: 5 });
  await page.mouse.up();
  await page.waitForTimeout(100);
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
