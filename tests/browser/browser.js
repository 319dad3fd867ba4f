// What the tests of all pages share: one browser, pages from the disk, and what must hold on every page.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import playwright from "playwright-core";

const require = createRequire(import.meta.url);
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

export const launch = () => playwright.chromium.launch({
  executablePath: process.env.COLDSQUARE_CHROMIUM,
  args: ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});

// Opens a page and fails the test when it complains or asks for anything but itself.
export async function open(browser, name, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1400, height: 1000 }, ...options });
  const page = await context.newPage();
  const address = pathToFileURL(join(process.env.COLDSQUARE_PAGES, name)).href;
  const wrong = [];
  page.on("console", (message) => ["error", "warning"].includes(message.type()) && wrong.push(message.text()));
  page.on("pageerror", (error) => wrong.push(String(error)));
  page.on("request", (request) => request.url() !== address && wrong.push(`asked for ${request.url()}`));
  await page.goto(address);
  return { page, close: async () => {
    await context.close();
    assert.deepEqual(wrong, [], "no complaint, no request");
  } };
}

// Contrast, names, roles, order of headings: WCAG 2 A and AA and good practice, as axe-core checks them.
export async function accessible(page) {
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
  const found = violations.map(({ id, help, nodes }) => `${id}: ${help}: ${nodes.slice(0, 3).map((node) => node.html.slice(0, 160)).join(" | ")}`);
  assert.deepEqual(found, []);
}

// Nothing sticks out to the side.
export async function fits(page) {
  const [content, window] = await page.evaluate(() => [document.documentElement.scrollWidth, globalThis.innerWidth]);
  assert.ok(content <= window, `${content} wide in a window of ${window}`);
}

// The marks that are shown, as boxes; no two may overlap.
export async function marksApart(page) {
  const boxes = await page.evaluate(() => [...document.querySelectorAll("#frame .live .mark")]
    .filter((mark) => mark.getAttribute("display") !== "none")
    .map((mark) => {
      const { left, right, top, bottom } = mark.querySelector("path").getBoundingClientRect();
      return { left, right, top, bottom };
    }));
  assert.ok(boxes.length > 0, "no mark is shown");
  boxes.forEach((a, k) => boxes.slice(k + 1).forEach((b) => {
    const apart = a.right <= b.left + 1 || b.right <= a.left + 1 || a.bottom <= b.top + 1 || b.bottom <= a.top + 1;
    assert.ok(apart, `two marks overlap: ${JSON.stringify([a, b])}`);
  }));
  return boxes.length;
}

// Tab, until what has the focus is what is wanted.
export async function tabTo(page, what) {
  for (let k = 0; k < 250; k += 1) {
    await page.keyboard.press("Tab");
    if (await page.evaluate((wanted) => document.activeElement.matches(wanted), what)) return;
  }
  assert.fail(`Tab never gets to ${what}`);
}

// Prints to PDF and gives the number of its pages.
export async function printed(page, format) {
  const pdf = await page.pdf({ format, preferCSSPageSize: false, printBackground: true });
  assert.equal(pdf.subarray(0, 5).toString(), "%PDF-");
  return pdf.toString("latin1").match(/\/Type\s*\/Page\b/g).length;
}

// The text of each sheet of the print.
export async function pagesOfText(page, format) {
  const pdf = await page.pdf({ format, preferCSSPageSize: false, printBackground: true });
  const text = execFileSync("pdftotext", ["-layout", "-", "-"], { input: pdf, encoding: "utf8" });
  return text.split("\f").slice(0, -1).map((sheet) => sheet.replace(/\s+/g, " "));
}

export const LOOKS = [
  { name: "wide", options: {} },
  { name: "dark", options: { colorScheme: "dark" } },
  { name: "phone", options: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true } },
];

// In each look nothing sticks out and the accessibility checker finds nothing, nor do the further checks.
export function looksRight(test, browserNow, name, ...checks) {
  for (const { name: look, options } of LOOKS) {
    test(`${look}: nothing sticks out, and the accessibility checker finds nothing`, async () => {
      const { page, close } = await open(browserNow(), name, options);
      for (const check of [fits, ...checks, accessible]) await check(page);
      await close();
    });
  }
}
