// Everything that can be done on the pages, done three times: with a mouse, with the keyboard alone, with a finger on a phone.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LOOKS, fits, launch, open, tabTo } from "./browser.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

const PHONE = LOOKS.find(({ name }) => name === "phone").options;
const middle = { x: 0.5, y: 0.5 };
const at = async (locator, share) => {
  const box = await locator.boundingBox();
  return { x: box.width * share.x, y: box.height * share.y };
};

// press: a button or a row. read: a point of a trace. slide: a slider to the middle. mark: the mark of another weld.
const MEANS = {
  mouse: {
    options: {},
    press: (page, what) => page.locator(what).first().click(),
    read: async (page, what) => { const trace = page.locator(what).first(); await trace.hover({ position: await at(trace, middle) }); },
    slide: async (page, what) => { const slider = page.locator(what); await slider.click({ position: await at(slider, middle) }); },
    mark: (page) => page.locator("#frame .mark:not([display=none])[aria-pressed=false] path").first().click(),
  },
  keyboard: {
    options: {},
    press: async (page, what) => { await tabTo(page, `${what}, ${what} button`); await page.keyboard.press("Enter"); },
    read: async (page, what) => { await tabTo(page, what); for (let k = 0; k < 5; k += 1) await page.keyboard.press("ArrowRight"); },
    slide: async (page, what) => { await tabTo(page, what); await page.keyboard.press("Home"); for (let k = 0; k < 3; k += 1) await page.keyboard.press("PageUp"); },
    mark: async (page) => { await tabTo(page, "#frame [role=button]"); await page.keyboard.press("ArrowRight"); },
  },
  phone: {
    options: PHONE,
    press: (page, what) => page.locator(what).first().tap(),
    read: async (page, what) => { const trace = page.locator(what).first(); await trace.tap({ position: await at(trace, middle) }); },
    slide: async (page, what) => { const slider = page.locator(what); await slider.tap({ position: await at(slider, middle) }); },
    mark: (page) => page.locator("#frame .mark:not([display=none])[aria-pressed=false] path").first().tap(),
  },
};

for (const [name, { options, press, read, slide, mark }] of Object.entries(MEANS)) {
  test(`weld map, ${name}: filter, turn, pick in table and drawing, read a trace`, async () => {
    const { page, close } = await open(browser, "weld-map.html", options);
    const rows = () => page.locator("#welds tbody tr:visible").count();
    const all = await rows();
    const out = Number(await page.locator("[data-verdict=out-of-limits] b").innerText());
    await press(page, "[data-verdict=out-of-limits]");
    assert.equal(await rows(), out);
    await press(page, "[data-verdict=marginal]");
    assert.equal(await rows(), out + Number(await page.locator("[data-verdict=marginal] b").innerText()), "two verdicts at once");
    await page.reload();
    await press(page, "[data-look=back]");
    assert.equal(await page.locator("[data-look=back]").getAttribute("aria-pressed"), "true");
    await press(page, "#welds tr[data-weld='7']");
    assert.equal(await page.locator("#detail-title").innerText(), "Weld 7");
    assert.equal(await rows(), all);
    await mark(page);
    const title = await page.locator("#detail-title").innerText();
    assert.notEqual(title, "Weld 7");
    await press(page, "#welds tr[data-weld='12']");
    await read(page, "#detail [role=slider]");
    assert.match(await page.locator("#detail figcaption").first().innerText(), /^\d+\.\d s: \d+\.\d V, \d+ A, \d+\.\d+ kW, \d+\.\d+ kJ\/mm$/);
    await fits(page);
    await close();
  });

  test(`plan, ${name}: step, slide, pick in list and drawing, magnify, print the card`, async () => {
    const { page, close } = await open(browser, "plan.html", options);
    const place = () => page.locator("#step").inputValue().then(Number);
    const start = await place();
    await press(page, "#next");
    assert.equal(await place(), start + 1);
    await press(page, "#back");
    assert.equal(await place(), start);
    await press(page, "#steps tr:nth-child(30)");
    assert.equal(await place(), 30);
    await page.reload();
    await slide(page, "#step");
    const slid = await place();
    assert.ok(slid > 10 && slid < 90, `step ${slid}`);
    await page.reload();
    // At the first step nothing has moved.
    await press(page, "#steps tr:nth-child(30)");
    const drawn = () => page.evaluate(() => document.querySelector("#frame .metal").innerHTML);
    const before = await drawn();
    const times = await page.locator("#times-shown").innerText();
    await slide(page, "#times");
    assert.notEqual(await page.locator("#times-shown").innerText(), times);
    assert.notEqual(await drawn(), before, "the frame moves otherwise");
    await page.reload();
    await mark(page);
    assert.match(await page.locator("#step-text h2").innerText(), /^Weld \d+/);
    await page.evaluate(() => { globalThis.print = () => { globalThis.printed = document.documentElement.className; }; });
    await press(page, "#print-card");
    assert.match(await page.evaluate(() => globalThis.printed), /card-only/);
    await fits(page);
    await close();
  });
}

for (const PAGE of ["weld-map.html", "plan.html", "weld-record.html"]) {
  test(`${PAGE}: the first key leads past the drawing to the list`, async () => {
    const { page, close } = await open(browser, PAGE);
    await page.keyboard.press("Tab");
    assert.equal(await page.evaluate(() => document.activeElement.className), "skip");
    await page.keyboard.press("Enter");
    assert.match(new URL(page.url()).hash, /^#(welds|steps)$/);
    await close();
  });
}
