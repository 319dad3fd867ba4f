// The sheets that go to the bench: the frame as checked, the saw's list, the fixture, the traveller.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { launch, looksRight, open, pagesOfText, tabTo } from "./browser.js";

let browser;
before(async () => { browser = await launch(); });
after(() => browser.close());

// What each sheet must say on paper.
const SHEETS = {
  "check.html": ["Alcove rack", "left upright", "bar 4"],
  "saw.html": ["1813.0 mm", "ear protection"],
  "fixture.html": ["Loosen", "Packing"],
  "traveller.html": ["Measure the opening", "Hang", "Caution"],
};

for (const [name, words] of Object.entries(SHEETS)) {
  looksRight((what, run) => test(`${name}, ${what}`, run), () => browser, name);

  test(`${name} says everything without a script, and its tables are within reach of the keyboard`, async () => {
    const still = await open(browser, name, { javaScriptEnabled: false });
    const text = await still.page.locator("body").innerText();
    for (const word of words) assert.ok(text.toLowerCase().includes(word.toLowerCase()), word);
    await still.close();
    const { page, close } = await open(browser, name);
    if (await page.locator(".scroll").count() > 0) await tabTo(page, ".scroll");
    await close();
  });

  for (const format of ["A4", "Letter"]) {
    test(`${name} is whole on ${format}, and every sheet has the name of the job`, async () => {
      const { page, close } = await open(browser, name);
      const sheets = await pagesOfText(page, format);
      const all = sheets.join(" ");
      for (const word of words) assert.ok(all.includes(word), `${word}: ${all.slice(0, 400)}`);
      sheets.forEach((text, k) => assert.ok(text.includes("Alcove rack"), `sheet ${k + 1}`));
      const cut = await page.evaluate(() => {
        // A4 less its margins at 96 px an inch: a table wider than that is cut off on paper.
        const tables = [...document.querySelectorAll("table, svg")];
        return tables.filter((one) => one.getBoundingClientRect().width > 1400).map((one) => one.outerHTML.slice(0, 80));
      });
      assert.deepEqual(cut, []);
      await close();
    });
  }
}
