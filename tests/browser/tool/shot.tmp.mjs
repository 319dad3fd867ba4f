import { begin, launch, openTool, plan, tab } from "/tmp/hm/w17/tests/browser/tool/tool.js";
const [,, what, look="wide", start="Shelf"] = process.argv;
const looks = { wide: { viewport: { width: 1280, height: 920 } }, dark: { viewport: { width: 1280, height: 920 }, colorScheme: "dark" }, phone: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true } , phonedark: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, colorScheme:"dark" }};
const b = await launch();
try {
const { page } = await openTool(b, looks[look]);
page.on("console", m => console.log("C", m.text()));
page.on("pageerror", m => console.log("E", m));
const shot = (n, full=false) => page.screenshot({ path: `/tmp/hm/w17-${n}-${look}.png`, fullPage: full });
if (what === "start") await shot("start");
else {
  await begin(page, start);
  await page.waitForTimeout(300);
  if (what === "frame") await shot("frame", true);
  if (what === "frame1") await shot("frame1");
  if (what === "plan") { await plan(page); await page.waitForTimeout(300); await shot("plan", true); }
  if (what === "bench") { await plan(page); await tab(page, "bench"); await page.locator("#step-done").click(); await page.waitForTimeout(200); await page.locator("#step-done").click();  await page.waitForTimeout(300); await shot("bench", true); }
  if (what === "after") { await tab(page, "after"); for (const s of await page.locator("#readings summary").all()) await s.click(); await page.locator("input[data-of^='bow of left upright']").first().fill("-4.5 mm"); await page.locator("#note-readings").click(); await page.locator("#after-part .option, #keep-anyway").first().waitFor(); if (await page.locator("#keep-anyway").isVisible()) await page.locator("#keep-anyway").click(); await page.locator("#after-part .option").first().waitFor(); await page.waitForTimeout(300); await shot("after", true); }
  if (what === "whatif") { await page.locator("#keep-variant").click(); await tab(page, "what-if"); await page.locator("#tries button", { hasText: "front and back" }).click(); await page.waitForTimeout(1500); await shot("whatif", true); }
  if (what === "logger") { await tab(page, "logger"); await shot("logger"); }
}
} finally { await b.close(); }
