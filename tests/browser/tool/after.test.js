// After the build: from a log to a map and a record, from a reading to a correction, a logger on the cable.

import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { after, before, test } from "node:test";
import { accessible, fits, pagesOfText } from "../browser.js";
import { COMMAND, LOOKS, compared, begin, largeEnough, launch, openJob, openTool, tab } from "./tool.js";

let browser, folder;
before(async () => {
  browser = await launch();
  folder = mkdtempSync(join(tmpdir(), "coldsquare-"));
  execFileSync(COMMAND, ["pull", "sim:", join(folder, "gate.log")], { stdio: "ignore" });
});
after(async () => {
  await browser.close();
  rmSync(folder, { recursive: true });
});

async function openLog(page) {
  await tab(page, "after");
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.locator("#open-log").click()]);
  await chooser.setFiles(join(folder, "gate.log"));
  await page.locator("#welds tbody tr").first().waitFor({ timeout: 60_000 });
}

test("a log becomes a map with the numbers of the command, and a record to print", async () => {
  const { page, close } = await openTool(browser);
  const job = new URL("../../../host-tool/engine/src/garden-gate.toml", import.meta.url).pathname;
  await openJob(page, readFileSync(job, "utf8"));
  await openLog(page);
  assert.equal(await page.locator("#welds tbody tr").count(), 52);
  await page.locator("#welds tbody tr button").nth(4).click();
  assert.match(await page.locator("#detail-title").innerText(), /^Weld \d+/);
  assert.match(await page.locator("#heat-input").innerText(), /±/);
  const out = join(folder, "map.json");
  execFileSync(COMMAND, ["map", job, join(folder, "gate.log"), "--out", out], { stdio: "ignore" });
  const theirs = JSON.parse(readFileSync(out, "utf8"));
  const [download] = await Promise.all([page.waitForEvent("download"), page.locator("#save-part").click()]);
  const ours = JSON.parse(readFileSync(await download.path(), "utf8"));
  const [numbers, most] = compared(ours.welds, theirs.welds);
  console.log(`${numbers} numbers of the weld map; greatest difference ${most}`);
  await page.locator("#show-record").click();
  await page.locator(".record").waitFor();
  assert.ok((await pagesOfText(page, "A4")).length >= 3);
  await close();
});

for (const { name, options } of LOOKS) {
  test(`${name}: map, record and correction fit and are accessible`, async () => {
    const { page, close } = await openTool(browser, options);
    await begin(page, "Gate");
    await tab(page, "after");
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await openLog(page);
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await page.locator("#show-record").click();
    await page.locator(".record").waitFor();
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await page.locator("#show-correction").click();
    await page.locator(".option, #after-part h2").first().waitFor();
    for (const check of [fits, largeEnough, accessible]) await check(page);
    await close();
  });
}

test("a reading in the words of the prediction becomes a correction; one that cannot be is refused", async () => {
  const { page, close } = await openTool(browser);
  await begin(page, "Shelf");
  await tab(page, "after");
  const width = page.locator("input[data-of^='width at the top']");
  await width.fill("12 mm");
  await page.locator("#note-readings").click();
  await page.locator("#readings-wrong li").first().waitFor();
  await width.fill("");
  for (const summary of await page.locator("#readings summary").all()) await summary.click();
  await page.locator("input[data-of^='bow of left upright']").first().fill("-4.5 mm");
  await page.locator("#note-readings").click();
  const keep = page.locator("#keep-anyway");
  await page.locator("#after-part .option, #keep-anyway").first().waitFor();
  if (await keep.isVisible()) await keep.click();
  await page.locator("#after-part .option").first().waitFor();
  assert.match(await page.locator("#after-part h2").first().innerText(), /^bow of left upright/);
  assert.match(await page.locator("#readings-state").innerText(), /^1 measurement noted/);
  await close();
});

// A port of Web Serial whose other end is the simulated logger in a process of its own.
async function mockedSerial(page, state) {
  const logger = spawn(process.env.COLDSQUARE_LOGGER, [state]);
  const lines = createInterface({ input: logger.stdout })[Symbol.asyncIterator]();
  await page.exposeFunction("overTheCable", async (hex) => {
    logger.stdin.write(`${hex}\n`);
    return (await lines.next()).value;
  });
  await page.addInitScript(() => {
    const port = {
      async open() {
        this.readable = new ReadableStream({ start: (controller) => { this.controller = controller; } });
        this.writable = new WritableStream({
          write: async (bytes) => {
            const hex = await globalThis.overTheCable([...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join(""));
            const came = Uint8Array.from(hex.match(/../g) ?? [], (pair) => parseInt(pair, 16));
            // In pieces, as a cable delivers them.
            for (let k = 0; k < came.length; k += 509) this.controller.enqueue(came.slice(k, k + 509));
          },
        });
      },
      async close() {},
    };
    Object.defineProperty(navigator, "serial", { value: { requestPort: async () => port }, configurable: true });
  });
  return () => logger.kill();
}

test("a logger on the cable: live values, the next weld, its log fetched and mapped", async (t) => {
  let end = () => {};
  t.after(() => end());
  const { page, close } = await openTool(browser, {}, async (page) => { end = await mockedSerial(page, "welded"); });
  await begin(page, "Gate");
  await tab(page, "logger");
  await page.locator("#connect").click();
  await page.locator("#live-values b").first().waitFor();
  assert.match(await page.locator("#logger-state").innerText(), / bytes of log/);
  assert.ok(await page.locator("#logger-memory").isHidden());
  await page.locator("#fetch-log").click();
  await page.locator("#welds tbody tr").first().waitFor({ timeout: 120_000 });
  assert.equal(await page.locator("#welds tbody tr").count(), 52);
  const pulled = readFileSync(join(folder, "gate.log"));
  const ours = await page.evaluate(async () => [...(await globalThis.coldsquare.get("logger.log"))]);
  assert.ok(Buffer.from(ours).equals(pulled), `${ours.length} bytes, the command pulled ${pulled.length}`);
  await close();
});

test("a logger without a card says that nothing is stored", async (t) => {
  let end = () => {};
  t.after(() => end());
  const { page, close } = await openTool(browser, {}, async (page) => { end = await mockedSerial(page, "no_card"); });
  await begin(page, "Gate");
  await tab(page, "logger");
  await page.locator("#connect").click();
  await page.locator("#logger-memory:visible").waitFor();
  assert.match(await page.locator("#logger-memory").innerText(), /^Nothing is stored: there is no card/);
  await page.locator("#disconnect").click();
  assert.ok(await page.locator("#logger-memory").isHidden());
  await close();
});

test("a browser without Web Serial says so", async () => {
  const { page, close } = await openTool(browser, {}, (page) => page.addInitScript(() => { delete Navigator.prototype.serial; }));
  await begin(page, "Gate");
  await tab(page, "logger");
  assert.match(await page.locator("#logger").innerText(), /cannot talk to a serial port/);
  assert.ok(await page.locator("#connect").isDisabled());
  await close();
});
