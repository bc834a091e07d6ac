// The page that takes a table of old readings, with a real file, on a phone and at a desk, light and dark, with and without scripts.
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { DESK, PHONE, browser, check, kept, own, promise, same, serve } from "./kit.mjs";

const require = createRequire(import.meta.url);
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
const LONG = "A header of sixty characters, which nobody should ever need";
const table = own("old.csv");
writeFileSync(table, `Datum;Zyl 1 [bar];Zyl 2 [bar];Zyl 3;Zyl 4 [bar];km;${LONG}\n3.4.2019;12,3;12,1;11,9;12,4;120000;kalt\n` +
  `13.10.2020;12,0;;11,8 bar;12,2;128500;${"a remark ".repeat(20)}\n14.10.2020;12,0;11,7;11,8 bar;1,2;128500;\n`);
const server = await serve();

async function looked(page) {
  await page.goto(`${server.base}/import`);
  await page.setInputFiles("#f-table", table);
  await page.selectOption("#f-unit", "bar");
  await Promise.all([page.waitForEvent("load"), page.click("button[value=look]")]);
}

for (const [size, viewport] of [["phone", PHONE], ["desk", DESK]])
  for (const colorScheme of ["light", "dark"])
    await promise(`a table is looked at on a ${size}, ${colorScheme}`, async () => {
      const context = await browser.newContext({ viewport, colorScheme });
      const page = await context.newPage();
      await looked(page);
      check((await page.textContent("main")).includes("3 sheets with 11 readings"), await page.textContent("main"));
      check((await page.textContent("main")).includes("is the unit right?"), "no doubt about 1.2 bar");
      await page.evaluate(axe);
      const found = await page.evaluate((tags) => axe.run(document, { runOnly: tags, resultTypes: ["violations"] }), TAGS);
      same(found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`), [], "axe-core");
      same(await page.evaluate(() => document.scrollingElement.scrollWidth - innerWidth > 0), false, "wider than the screen");
      same(await page.evaluate(() => [...document.querySelectorAll("button, select, input:not([type=hidden]), a.button")]
        .filter((one) => one.checkVisibility()).filter((one) => one.getBoundingClientRect().height < 47.5).map((one) => one.outerHTML.slice(0, 80))), [],
      "smaller than 48 px");
      if (process.env.PICTURES) await page.screenshot({ path: `${process.env.PICTURES}/import-${size}-${colorScheme}.png`, fullPage: true });
      await page.goto(`${server.base}/export`);
      if (process.env.PICTURES) await page.screenshot({ path: `${process.env.PICTURES}/export-${size}-${colorScheme}.png`, fullPage: true });
      await context.close();
    });

await promise("without scripts and by keyboard the table is stored, after it was looked at", async () => {
  const context = await browser.newContext({ viewport: PHONE, javaScriptEnabled: false });
  const page = await context.newPage();
  await looked(page);
  await page.selectOption("select[name=use_5]", "odometer");
  await page.selectOption("select[name=unit_5]", "km");
  await page.click("button[value=look]");
  await page.focus("button[value=look]");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.waitForURL(/stored=3/);
  check((await page.textContent("main")).includes("Stored: 3 new sheets"), await page.textContent("main"));
  await page.goto(`${server.base}/sheets`);
  same(await page.locator("a[href^='/sheet/']").count() >= 3, true, "sheets");
  await context.close();
});

await promise("the whole garage is saved as a file", async () => {
  const page = await browser.newPage();
  await page.goto(`${server.base}/export`);
  const [download] = await Promise.all([page.waitForEvent("download"), page.click("a[href='/export/garage.zip']")]);
  same(download.suggestedFilename(), "garage.zip", "name");
  same(readFileSync(await download.path()).subarray(0, 4).toString("latin1"), "PK\x03\x04", "first bytes");
  await page.close();
});

await server.end();
await kept();
