// The pictures of the documentation, from the pages of a demo: every page in light, in dark, on a phone and on paper.

import { execFileSync } from "node:child_process";
import { rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { launch, open } from "./browser.js";

const [, , to] = process.argv;
// A little smaller than life: they show what there is, and the pages themselves show it sharp.
const WIDE = { viewport: { width: 1280, height: 920 }, deviceScaleFactor: 0.75 };
const LOOKS = [
  ["", WIDE],
  ["dark", { ...WIDE, colorScheme: "dark" }],
  ["phone", { viewport: { width: 390, height: 844 }, deviceScaleFactor: 0.9, hasTouch: true, isMobile: true }],
];
const PAGES = [
  // name, what to do before the picture, sheet of the print
  ["weld-map", async () => {}, 1],
  ["plan", async (page) => page.locator("#steps tr.weld:nth-child(30) button").evaluate((button) => button.click()), 3],
  ["weld-record", async () => {}, 4],
  ["correction", async () => {}, 1],
];

const browser = await launch();
for (const [name, prepare, sheet] of PAGES) {
  for (const [look, options] of LOOKS) {
    const { page, close } = await open(browser, `${name}.html`, options);
    await prepare(page);
    await page.waitForTimeout(150);
    await page.screenshot({ path: join(to, `${name}${look && `-${look}`}.png`) });
    await close();
  }
  const { page, close } = await open(browser, `${name}.html`);
  const pdf = join(to, `${name}.pdf`);
  writeFileSync(pdf, await page.pdf({ format: "A4", printBackground: true }));
  execFileSync("pdftoppm", ["-png", "-r", "72", "-f", String(sheet), "-l", String(sheet), "-singlefile", pdf, join(to, `${name}-print`)]);
  rmSync(pdf);
  await close();
}
// The frame turned and near, and a weld called out.
const { page, close } = await open(browser, "weld-map.html", WIDE);
await page.locator("[data-look=corner]").click();
for (let k = 0; k < 6; k += 1) await page.locator("[data-zoom='1.4']").click();
await page.locator("#frame").screenshot({ path: join(to, "frame-near.png") });
await close();
await browser.close();
