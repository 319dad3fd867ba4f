// What the tests of the tool in one page share: the page from the disk, ready; jobs to open; what must hold everywhere.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { LOOKS as PAGE_LOOKS, launch } from "../browser.js";

export { launch };
// Wide, dark, on a phone; and everything at once that a person may have asked the browser for.
export const LOOKS = [...PAGE_LOOKS, { name: "dark phone, reduced motion", options: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, colorScheme: "dark", reducedMotion: "reduce" } }];
export const ADDRESS = pathToFileURL(process.env.COLDSQUARE_TOOL).href;
export const COMMAND = process.env.COLDSQUARE_COMMAND;

// Opens the page and fails the test when it complains, or asks for anything but itself.
export async function openTool(browser, options = {}, begin = async () => {}) {
  const context = await browser.newContext({ viewport: { width: 1400, height: 1000 }, ...options });
  const page = await context.newPage();
  const wrong = [];
  page.on("console", (message) => ["error", "warning"].includes(message.type()) && wrong.push(message.text()));
  page.on("pageerror", (error) => wrong.push(String(error)));
  page.on("request", (request) => request.url() !== ADDRESS && !request.url().startsWith("blob:") && wrong.push(`asked for ${request.url()}`));
  await begin(page, context);
  await page.goto(ADDRESS);
  await ready(page);
  return { page, context, close: async () => {
    await context.close();
    assert.deepEqual(wrong, [], "no complaint, no request");
  } };
}

export const ready = (page) => page.locator("html[data-ready=yes]").waitFor({ timeout: 60_000 });

// Begins with a shape and sizes in place of the usual ones, or goes on with an earlier job of this name.
const SHAPES = {
  "Plain frame": ["frame", { width: "1000", height: "800" }], Gate: ["frame", { bars: "9" }], "Stiffened flat": ["tee", {}], Shelf: ["shelf", {}],
};
export async function begin(page, name) {
  const [shape, sizes] = SHAPES[name] ?? [];
  if (!shape) {
    await page.locator(".point", { hasText: name }).first().click();
    await settled(page);
    return;
  }
  await page.locator(`[data-shape=${shape}]`).click();
  for (const [key, value] of Object.entries(sizes)) await page.locator(`#begin-${key}`).fill(value);
  await page.locator("#begin-it").click();
  await settled(page);
}

// The whole answer is there, uncertainty and all.
export async function settled(page) {
  await page.locator("#worst").waitFor();
  await page.locator("#answer:not(.waiting)").waitFor();
}

export async function openJob(page, text) {
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.locator("#open-job-first:visible, #open-job:visible").first().click()]);
  await chooser.setFiles({ name: "own.toml", mimeType: "text/plain", buffer: Buffer.from(text) });
  await settled(page);
}

export const tab = (page, name) => page.locator(`nav [data-tab=${name}]`).click();
export const frame = (name) => readFileSync(new URL(`../../frames/${name}.toml`, import.meta.url), "utf8");

// Plans and waits until the whole search is over.
export async function plan(page) {
  await tab(page, "plan");
  await page.locator("#plan-it").click();
  await page.locator("#plan-state", { hasText: /^Planned\.$/ }).waitFor({ timeout: 240_000 });
}

// Whatever can be pressed is at least 44 px high and wide.
export async function largeEnough(page) {
  const small = await page.evaluate(() => [...document.querySelectorAll("button, select, input, summary, textarea")]
    .filter((one) => one.checkVisibility({ visibilityProperty: true }) && !one.closest("svg"))
    .map((one) => ({ one, box: (one.matches("[type=checkbox]") ? one.closest("label") : one).getBoundingClientRect() }))
    .filter(({ box }) => box.height < 43.5 || box.width < 43.5)
    .map(({ one, box }) => `${one.outerHTML.slice(0, 90)} ${box.width}x${box.height}`));
  assert.deepEqual(small, []);
  // A mark of the drawing is smaller, but what can be pressed around it is not.
  const targets = await page.evaluate(() => [...document.querySelectorAll(".frame:not(.small) .live")].filter((one) => one.checkVisibility()).map((live) => {
    const { width } = live.viewBox.baseVal, scale = live.getBoundingClientRect().width / width;
    const marks = [...live.querySelectorAll(".marks [role=button]")].filter((mark) => mark.getAttribute("display") !== "none").length;
    return { marks, targets: [...live.querySelectorAll(".targets circle")].map((circle) => 2 * scale * circle.r.baseVal.value) };
  }));
  for (const one of targets) {
    assert.equal(one.targets.length, one.marks);
    assert.ok(one.targets.every((wide) => wide >= 43.5), `${one.targets}`);
  }
}

// Opens a file as one drops or picks it.
export async function openFile(page, name, text) {
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.locator("#open-job").click()]);
  await chooser.setFiles({ name, mimeType: "text/plain", buffer: Buffer.from(text) });
}

// As far as two numbers may be apart, in their own unit.
const MOST = 1e-9;

// Every number of one is in the other, at the same place; gives how many, and the greatest difference.
export function compared(ours, theirs, path = "") {
  if (typeof theirs === "number") {
    assert.equal(typeof ours, "number", path);
    const difference = Math.abs(ours - theirs);
    assert.ok(difference <= MOST, `${path}: ${ours} on the page, ${theirs} by the command`);
    return [1, difference];
  }
  if (theirs === null || typeof theirs !== "object") {
    assert.equal(ours, theirs, path);
    return [0, 0];
  }
  assert.deepEqual(Object.keys(ours), Object.keys(theirs), path);
  return Object.keys(theirs).map((key) => compared(ours[key], theirs[key], `${path}.${key}`))
    .reduce(([n, most], [m, more]) => [n + m, Math.max(most, more)], [0, 0]);
}
