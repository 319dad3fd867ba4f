// Making and changing a frame: form, drawing and text in step, the answer on top, nothing lost.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible, fits, marksApart, tabTo } from "../browser.js";
import { LOOKS, begin, frame, largeEnough, launch, openFile, openJob, openTool, ready, settled, tab } from "./tool.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

const text = (page) => page.locator("#job-text").inputValue();
const worst = (page) => page.locator("#worst").innerText();

for (const { name, options } of LOOKS) {
  test(`${name}: from an empty page to a frame; nothing sticks out, everything is large enough, axe finds nothing`, async () => {
    const { page, close } = await openTool(browser, options);
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await begin(page, "Gate");
    for (const check of [fits, largeEnough, accessible]) await check(page);
    for (const summary of await page.locator("summary").all()) await summary.evaluate((one) => { one.parentElement.open = true; });
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await close();
  });
}

test("a size typed into the form changes the text, the drawing and the answer, and undo takes it back", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Gate");
  const [before, beforeText] = [await worst(page), await text(page)];
  const drawn = await page.locator("#frame .metal").innerHTML();
  await page.locator("#field-frame-height").fill("1400");
  await page.waitForFunction((old) => document.querySelector("#worst").innerText !== old, before);
  await settled(page);
  assert.match(await text(page), /^height = 1400/m);
  assert.notEqual(await page.locator("#frame .metal").innerHTML(), drawn);
  await page.locator("#undo").click();
  await page.waitForFunction((old) => document.querySelector("#worst").innerText === old, before);
  assert.equal(await text(page), beforeText);
  await page.locator("#redo").click();
  await page.waitForFunction(() => /^height = 1400/m.test(document.querySelector("#job-text").value));
  await close();
});

test("the text typed changes the form, and an error says its line and keeps the drawing", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Plain frame");
  const typed = (await text(page)).replace("width = 1000", "width = 1250");
  await page.locator("#job-text").fill(typed);
  await page.waitForFunction(() => document.querySelector("#field-frame-width").value === "1250");
  await page.locator("#job-text").fill(typed.replace("width = 1250", "width = -3"));
  await page.locator("#errors li").first().waitFor();
  assert.match(await page.locator("#errors li").first().innerText(), /^Line 7: /);
  assert.ok(await page.locator("#frame .metal path").count() >= 4);
  await close();
});

test("a tapped weld offers the sides of its joint, one alone or all alike", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Gate");
  const welds = () => page.locator("#facts").innerText().then((words) => Number(words.match(/(\d+) welds/)[1]));
  assert.equal(await welds(), 52);
  await page.locator("[data-look=front]").click();
  const mark = page.locator("#frame .mark[aria-label*='bar 5 top, front']");
  await mark.click();
  assert.equal(await page.locator("#picked-name").innerText(), "bar 5 top");
  await page.locator("#alike").uncheck();
  await page.locator("#seam-back").click();
  await page.waitForFunction(() => document.querySelector("#facts").innerText.includes("51 welds"));
  assert.match(await text(page), /\[joint\."bar 5 top"\]/);
  await page.locator("#alike").check();
  await page.locator("#seam-left").click();
  await page.waitForFunction(() => document.querySelector("#facts").innerText.includes("52 welds"));
  assert.match(await text(page), /welded = \["front", "left"\]/);
  await close();
});

test("a tapped member turns a quarter turn", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Shelf");
  await page.locator("#pick-member").selectOption({ label: "bar 2" });
  await page.locator("#turn-member").click();
  await page.waitForFunction(() => /front_face = "width"/.test(document.querySelector("#job-text").value));
  assert.equal(await page.locator("#errors li").count(), 0);
  // By the drawing too: the face of a member is where it can be tapped.
  await page.locator("[data-look=front]").click();
  const face = page.locator("#frame .metal [data-member='0']").last();
  await face.dispatchEvent("click");
  assert.equal(await page.locator("#picked-name").innerText(), "bottom rail");
  await close();
});

test("the movement is called exaggerated, with the frame as drawn behind it, seen from where it moves most", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Stiffened flat");
  assert.match(await page.locator(".exaggerated").innerText(), /^Movement exaggerated \d+ times\./);
  assert.ok((await page.locator("#frame .as-drawn").first().getAttribute("d")).length > 100);
  assert.equal(await page.locator("[data-look=corner]").getAttribute("aria-pressed"), "true", "it bows out of its plane");
  await close();
});

test("after a reload everything is as it was, offline too", async () => {
  const { page, context, close } = await openTool(browser);
  await begin(page, "Gate");
  await page.locator("#field-frame-height").fill("1234");
  await page.waitForFunction(() => /^height = 1234/m.test(document.querySelector("#job-text").value));
  await page.locator("#keep-variant").click();
  await context.setOffline(true);
  await page.reload();
  await ready(page);
  assert.match(await text(page), /^height = 1234/m);
  await page.locator("#undo").click();
  await page.waitForFunction(() => /^height = 900/m.test(document.querySelector("#job-text").value));
  await tab(page, "what-if");
  await page.locator("#side-by-side").waitFor();
  await close();
});

test("names with markup stay text", async () => {
  const hostile = frame("trolley").replaceAll("leg 1", "<img src=x onerror=alert(1)>").replace("Trolley", "<script>alert(2)</script>&lt;b>");
  const { page, close } = await openTool(browser);
  await openJob(page, hostile);
  assert.equal(await page.locator("h1").innerText(), "<script>alert(2)</script>&lt;b>");
  assert.equal(await page.locator("main img, main script").count(), 0);
  await tab(page, "plan");
  await page.locator("#plan-it").click();
  await page.locator("#steps").waitFor({ timeout: 120_000 });
  await page.locator("#plan-stop").click();
  assert.equal(await page.locator("main img, main script").count(), 0);
  assert.ok((await page.locator("#steps").innerText()).includes("<img src=x onerror=alert(1)>"));
  await close();
});

test("the keyboard alone makes a frame, changes it, picks a joint and undoes", async () => {
  const { page, close } = await openTool(browser);
  await tabTo(page, ".point");
  await page.keyboard.press("Enter");
  await tabTo(page, "#begin-it");
  await page.keyboard.press("Enter");
  await page.locator("#worst").waitFor();
  await tabTo(page, "#field-frame-width");
  await page.keyboard.press("Control+A");
  await page.keyboard.type("1100");
  await page.waitForFunction(() => /^width = 1100/m.test(document.querySelector("#job-text").value));
  assert.equal(await page.evaluate(() => document.activeElement.id), "field-frame-width", "the focus stays where one types");
  await page.locator("#frame [role=button][tabindex='0']").focus();
  await page.keyboard.press("ArrowRight");
  await page.locator("#picked-name").waitFor();
  await page.locator("body").press("Control+z");
  await page.waitForFunction(() => /^width = 1200/m.test(document.querySelector("#job-text").value));
  await close();
});

test("variants stand side by side and one is taken up again", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Shelf");
  await page.locator("#keep-variant").click();
  await tab(page, "what-if");
  await page.locator("#tries button", { hasText: "bars: all round" }).click();
  await page.locator("#side-by-side thead th").nth(1).waitFor();
  assert.equal(await page.locator("#side-by-side thead th").count(), 2);
  const row = page.locator("#side-by-side tbody tr").first().locator("td");
  assert.notEqual(await row.nth(0).innerText(), await row.nth(1).innerText());
  await page.locator("button[aria-label='Use it: bars: all round']").click();
  await page.waitForFunction(() => /welded = "?\[?"?(all|front)/.test(document.querySelector("#job-text")?.value ?? ""));
  await close();
});

// What can be tried on a frame, and a row of the table that then says so.
const TRIED = [
  ["Shelf", "planned order", "Order", /planned/],
  ["Shelf", "corners clamped", "Clamps", /^4$/],
  ["Shelf", "Try this heat", "Heat input", /^80 %$/],
  ["Shelf", "bars: front and back", "Welds", /^(?!24)/],
  ["Stiffened flat", "pre-camber what bows most", "Pre-camber", /^bow (rib|flat) .* (upwards|downwards|towards the back|towards the front) before welding/],
  ["Stiffened flat", "long welds intermittent", "Welds", /^(?![12],)/],
];

for (const [start, name, row, says] of TRIED) {
  test(`${name} can be tried: it stands beside the job as it is, with the movement of both`, async () => {
    const { page, close } = await openTool(browser);
    await begin(page, start);
    await tab(page, "what-if");
    await page.locator("#tries button", { hasText: name }).click();
    await page.locator("#side-by-side thead th").nth(1).waitFor({ timeout: 120_000 });
    assert.equal(await page.locator("#side-by-side thead input").first().inputValue(), "As it is");
    const cells = (head) => page.locator("#side-by-side tbody tr", { has: page.locator("th", { hasText: head }) }).first().locator("td");
    assert.match(await cells(row).nth(1).innerText(), says);
    assert.notEqual(await cells("Worst movement").nth(0).innerText(), await cells("Worst movement").nth(1).innerText());
    for (const k of [0, 1]) {
      const picture = cells("Movement, exaggerated").nth(k);
      await picture.locator(".metal path").first().waitFor();
      assert.match(await picture.locator("svg").getAttribute("aria-label"), /movement exaggerated \d+ times$/);
      assert.ok((await picture.locator(".as-drawn").first().getAttribute("d")).length > 50);
    }
    await close();
  });
}

test("a bow bent in before welding ends straight, and what it may be off by stays", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Stiffened flat");
  const bow = async (pre_camber) => page.evaluate(async (camber) => {
    const text = document.querySelector("#job-text").value;
    const { prediction } = await globalThis.coldsquare.ask({ ask: "look", text, pre_camber: camber });
    return prediction.measures.filter((one) => one.kind === "bow").map((one) => one.change_mm).sort((a, b) => Math.abs(b.value) - Math.abs(a.value))[0];
  }, pre_camber);
  const [before, after] = [await bow(false), await bow(true)];
  assert.ok(Math.abs(after.value) < 0.5 * Math.abs(before.value), `${after.value} of ${before.value}`);
  // Used, it is the answer on top, and the first thing to do.
  await tab(page, "what-if");
  await page.locator("#tries button", { hasText: "pre-camber what bows most" }).click();
  await page.locator("button[aria-label='Use it: pre-camber']").click();
  await settled(page);
  assert.match(await page.locator(".do-first").innerText(), /^Do first: Pre-camber: bow /);
  assert.match(await page.locator("#facts").innerText(), /bent before welding/);
  await close();
});

for (const { name, options } of LOOKS) {
  test(`${name}: what if and logger fit, are large enough and accessible`, async () => {
    const { page, close } = await openTool(browser, options);
    await begin(page, "Shelf");
    await tab(page, "what-if");
    await page.locator("#tries button", { hasText: "corners clamped" }).click();
    await page.locator("#side-by-side .metal path").first().waitFor();
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await tab(page, "logger");
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await close();
  });
}

test("every number is joined to its weld by a line that can be seen, turned any way", async () => {
  const { page, close } = await openTool(browser);
  await openJob(page, frame("trolley"));
  for (const look of ["front", "corner", "side"]) {
    await page.locator(`[data-look=${look}]`).click();
    const [numbers, lines] = await page.evaluate(() => {
      const shown = [...document.querySelectorAll("#frame .marks [role=button]")].filter((mark) => mark.getAttribute("display") !== "none");
      const leaders = [...document.querySelectorAll("#frame .leaders .leader")].filter((one) => getComputedStyle(one).stroke !== "none" && one.getTotalLength() > 15);
      return [shown.length, leaders.length];
    });
    assert.ok(numbers > 3);
    assert.equal(lines, numbers, look);
  }
  await close();
});

test("the far side of a frame with depth is faint; a flat frame has none", async () => {
  const { page, close } = await openTool(browser);
  await openJob(page, frame("trolley"));
  await page.locator("[data-look=corner]").click();
  const fill = (distance) => page.locator(`#frame .metal .${distance} path`).first().evaluate((one) => getComputedStyle(one).fill);
  assert.notEqual(await fill("near"), await fill("farthest"));
  await openFile(page, "gate.toml", frame("gate"));
  await settled(page);
  await page.locator("[data-look=corner]").click();
  assert.equal(await page.locator("#frame .metal .farthest").count(), 0);
  await close();
});

test("after an edit the frame is drawn first, and its numbers are apart when it is quiet", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Gate");
  await page.locator("[data-look=front]").click();
  await page.locator("#field-frame-height").fill("1250");
  await page.waitForFunction(() => /^height = 1250/m.test(document.querySelector("#job-text").value));
  await settled(page);
  await page.waitForTimeout(400);
  await marksApart(page);
  await close();
});
