// The pictures of the tool in one page for README and docs: wide, dark, and on a phone.

import { fileURLToPath } from "node:url";
import { begin, launch, openTool, plan, tab } from "./tool.js";

const TO = process.env.COLDSQUARE_PICTURES ?? fileURLToPath(new URL("../../../docs/pictures", import.meta.url));
const WIDE = { viewport: { width: 1280, height: 920 }, deviceScaleFactor: 0.75 };
const LOOKS = [
  ["", WIDE],
  ["-dark", { ...WIDE, colorScheme: "dark" }],
  ["-phone", { viewport: { width: 390, height: 844 }, deviceScaleFactor: 0.9, hasTouch: true, isMobile: true }],
];

const browser = await launch();
for (const [look, options] of LOOKS) {
  const { page, close } = await openTool(browser, { ...options, reducedMotion: "reduce" });
  const picture = async (name) => {
    await page.waitForTimeout(250);
    await page.screenshot({ path: `${TO}/${name}${look}.png` });
  };
  await begin(page, "Shelf");
  await picture("tool");
  await page.locator("#keep-variant").click();
  await tab(page, "what-if");
  for (const name of ["bars: front and back", "corners clamped"]) {
    await page.locator("#tries button", { hasText: name }).click();
    await page.waitForTimeout(300);
  }
  await page.locator("#side-by-side thead th").nth(2).waitFor();
  await page.locator("#variants").evaluate((one) => one.scrollIntoView({ behavior: "instant" }));
  await picture("tool-what-if");
  await plan(page);
  await page.locator("#step").fill("6");
  if (look !== "-phone") await page.evaluate(() => window.scrollTo(0, 0));
  await picture("tool-plan");
  await tab(page, "bench");
  for (let k = 0; k < 4; k += 1) await page.locator("#step-done").click();
  await picture("tool-bench");
  await tab(page, "after");
  for (const summary of await page.locator("#readings summary").all()) await summary.click();
  await page.locator("input[data-of^='bow of left upright']").first().fill("-4.5 mm");
  await page.locator("#note-readings").click();
  await page.locator("#after-part .option, #keep-anyway").first().waitFor();
  if (await page.locator("#keep-anyway").isVisible()) await page.locator("#keep-anyway").click();
  await page.locator("#after-part .option").first().waitFor();
  await page.locator("#after-part").scrollIntoViewIfNeeded();
  await picture("tool-straighten");
  await close();
}
await browser.close();
