// Making and changing a frame: form, drawing and text in step, the answer on top, nothing lost.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible, fits, tabTo } from "../browser.js";
import { LOOKS, begin, frame, largeEnough, launch, openJob, openTool, ready, settled, tab } from "./tool.js";

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
  assert.match(await page.locator("#errors li").first().innerText(), /^Line 6: /);
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
  assert.ok((await page.locator("#frame .as-drawn").getAttribute("d")).length > 100);
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
  await page.waitForFunction(() => /^width = 1000/m.test(document.querySelector("#job-text").value));
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
  await page.locator("button[aria-label='Use bars: all round']").click();
  await page.waitForFunction(() => /welded = "?\[?"?(all|front)/.test(document.querySelector("#job-text")?.value ?? ""));
  await close();
});
