// The frame in the drawing, on every page that has it: turned, zoomed and moved by mouse, by touch and by keys.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LOOKS, launch, marksApart, open, tabTo } from "./browser.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

// A page with a weld picked: a plan begins with its tacks, and no weld is seen from its edge.
async function opened(name, options) {
  const both = await open(browser, name, options);
  await both.page.evaluate(() => document.querySelector("#steps tr.weld button")?.click());
  return both;
}

const PHONE = LOOKS.find(({ name }) => name === "phone").options;
const drawn = (page) => page.evaluate(() => document.querySelector("#frame .live .metal").innerHTML);
const metal = (page) => page.evaluate(() => {
  const { x, y, width, height } = document.querySelector("#frame .live .metal").getBBox();
  return { x, y, width, height };
});
const settled = (page) => page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
const middle = async (page) => {
  const box = await page.locator("#frame .live").boundingBox();
  return [box.x + box.width / 2, box.y + box.height / 2];
};

for (const PAGE of ["weld-map.html", "plan.html"]) {
  test(`${PAGE}: every button changes the view, and marks stay apart`, async () => {
    const { page, close } = await opened(PAGE);
    let last = await drawn(page);
    for (const look of ["corner", "side", "top", "back", "front"]) {
      await page.locator(`[data-look=${look}]`).click();
      if (await drawn(page) === last) assert.fail(`${look} changes nothing`);
      last = await drawn(page);
      assert.equal(await page.locator("[data-look][aria-pressed=true]").getAttribute("data-look"), look);
      await marksApart(page);
    }
    for (const button of await page.locator("[data-turn],[data-zoom]").all()) {
      await button.click();
      const now = await drawn(page);
      assert.notEqual(now, last, await button.getAttribute("aria-label"));
      last = now;
      await marksApart(page);
    }
    await close();
  });

  test(`${PAGE}: a mouse turns, zooms and moves the frame`, async () => {
    const { page, close } = await opened(PAGE);
    const [x, y] = await middle(page);
    const drag = async (by) => {
      await page.mouse.move(x, y);
      await page.mouse.down();
      await page.mouse.move(x + by[0], y + by[1], { steps: 4 });
      await page.mouse.up();
      await settled(page);
    };
    const flat = await metal(page);
    await drag([120, 40]);
    const turned = await metal(page);
    assert.ok(Math.abs(turned.width - flat.width) > 10, "it turned");
    assert.equal(await page.locator("[data-look][aria-pressed=true]").count(), 0, "no view is pressed any more");
    await marksApart(page);
    await page.keyboard.down("Control");
    await page.mouse.wheel(0, -300);
    await page.keyboard.up("Control");
    await settled(page);
    const larger = await metal(page);
    assert.ok(larger.width > 1.3 * turned.width, "it is larger");
    await page.keyboard.down("Shift");
    await drag([50, 20]);
    await page.keyboard.up("Shift");
    const moved = await metal(page);
    assert.ok(Math.abs(moved.x - larger.x - 50) < 8 && Math.abs(moved.width - larger.width) < 1, "it moved and did not turn");
    await close();
  });

  test(`${PAGE}: one finger turns, two zoom, on a phone`, async () => {
    const { page, close } = await opened(PAGE, PHONE);
    await page.locator("#frame").scrollIntoViewIfNeeded();
    const [x, y] = await middle(page);
    const client = await page.context().newCDPSession(page);
    const touch = async (frames) => {
      await client.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: frames[0] });
      for (const touchPoints of frames.slice(1)) await client.send("Input.dispatchTouchEvent", { type: "touchMove", touchPoints });
      await client.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
      await settled(page);
    };
    const flat = await metal(page);
    await touch([0, 20, 40, 60, 80].map((by) => [{ x: x - 40 + by, y }]));
    const turned = await metal(page);
    assert.ok(flat.width - turned.width > 5, `it turned: ${flat.width} ${turned.width}`);
    await touch([30, 45, 60, 75].map((by) => [{ x: x - by, y, id: 0 }, { x: x + by, y, id: 1 }]));
    const larger = await metal(page);
    assert.ok(larger.height > 1.3 * turned.height, `it is larger: ${turned.height} ${larger.height}`);
    await marksApart(page);
    await close();
  });

  test(`${PAGE}: keys on the drawing turn, zoom and go from weld to weld`, async () => {
    const { page, close } = await opened(PAGE);
    await tabTo(page, "#frame [role=button]");
    const flat = await metal(page);
    await page.keyboard.press("Shift+ArrowRight");
    await page.keyboard.press("Shift+ArrowUp");
    assert.ok(Math.abs((await metal(page)).width - flat.width) > 5, "it turned");
    const before = await metal(page);
    await page.keyboard.press("+");
    assert.ok((await metal(page)).width > 1.3 * before.width, "it is larger");
    await page.keyboard.press("-");
    assert.ok(Math.abs((await metal(page)).width - before.width) < 1, "and as it was");
    const chosen = () => page.locator("#frame .mark[aria-pressed=true]").getAttribute("data-weld");
    const first = await chosen();
    await page.keyboard.press("ArrowRight");
    assert.notEqual(await chosen(), first);
    assert.equal(await page.evaluate(() => document.activeElement.dataset.weld), await chosen(), "the focus goes with it");
    await close();
  });

  test(`${PAGE}: zoomed in, welds are beads as wide as they are and lie on the metal`, async () => {
    const { page, close } = await opened(PAGE);
    assert.equal(await page.locator("#frame .live .bead").count(), 0);
    for (let k = 0; k < 5; k += 1) await page.locator("[data-zoom='1.4']").click();
    assert.ok(await page.locator("#frame .live .bead").count() > 0);
    await close();
  });
}

test("the welds of the plan move with the metal", async () => {
  const { page, close } = await open(browser, "plan.html");
  await page.locator("#steps [data-step] button").last().click();
  const lines = () => page.locator("#frame .live .weld-line").evaluateAll((all) => all.map((line) => line.getAttribute("d")));
  await page.locator("#times").fill("200");
  const moved = await lines();
  await page.locator("#times").fill("0");
  const still = await lines();
  assert.equal(still.length, moved.length);
  const changed = still.filter((line, k) => line !== moved[k]).length;
  assert.ok(changed > still.length / 2, `${changed} of ${still.length} welds moved`);
  await close();
});
