// A photo of what came off, through the page as a phone has it: chosen, sent, shown, looked at large, taken away.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { PHONE, browser, check, fill, kept, promise, same, serve } from "./kit.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const PHOTO = path.join(path.dirname(fileURLToPath(import.meta.url)), "../fuzz/corpus/photo/baseline-exif"); // 24 x 16, held on its side
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

const server = await serve();
const context = await browser.newContext({ viewport: PHONE });
const page = await context.newPage();
const sheet = await fill(page, server.base, [[1, 178]]);
await page.goto(`${server.base}${sheet}/do/open_up?step=pump_fuse&cylinder=0`);
await Promise.all([page.waitForEvent("load"), page.click("button[value=done]")]);

async function send() {
  await page.click("summary:has-text('photo')");
  await page.setInputFiles("input[type=file]", { name: "IMG_0001.jpg", mimeType: "image/jpeg", buffer: readFileSync(PHOTO) });
  await page.click("button:has-text('Keep the photo')");
  await page.waitForSelector(".photos img");
}

for (const where of ["/ledger", ""]) {
  const name = where === "" ? "the sheet" : "the ledger";
  await promise(`a photo on ${name} is sent, and stands there upright`, async () => {
    await page.goto(`${server.base}${sheet}${where}`);
    await send();
    const picture = page.locator(".photos img");
    await picture.scrollIntoViewIfNeeded();
    await page.waitForFunction(() => document.querySelector(".photos img").complete);
    same(await picture.evaluate((one) => [one.naturalWidth, one.naturalHeight]), [16, 24], "size of the picture");
    check((await picture.getAttribute("alt")).startsWith("Photo 1 of "), "it says what it shows");
  });
  await promise(`${name} with a photo is as accessible as without, light and dark`, async () => {
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      for (const one of await page.$$("details")) await one.evaluate((box) => { box.open = true; });
      await page.evaluate(axe);
      const result = await page.evaluate((tags) => axe.run(document, { runOnly: tags, resultTypes: ["violations"] }), TAGS);
      same(result.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`), [], colorScheme);
      same(await page.evaluate(() => document.scrollingElement.scrollWidth - innerWidth > 0), false, "wider than the screen");
    }
    const file = await page.locator("input[type=file]").first().boundingBox();
    check(file.height >= 48, `the file's field is ${file.height} px high`);
  });
  await promise(`a photo on ${name} opens large, and goes when it is taken away`, async () => {
    await page.click(".photos a");
    await page.waitForURL(/\/photo\/\d+$/);
    await page.goBack();
    await page.click("button:has-text('Take this photo away')");
    await page.waitForSelector(".photos", { state: "detached" });
  });
}
await server.end();
await kept();
