// Every document that the program prints, as an HTML file opened from the disk (tests/charts/write_documents.c): it asks for nothing else, not even a
// picture, runs nothing, fits a phone, and reads well (axe-core, WCAG 2.2 AA).
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { DESK, PHONE, browser, check, kept, own, promise, same } from "./kit.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const folder = own("documents");
mkdirSync(folder);
execFileSync(process.env.WRITE_DOCUMENTS, [folder]);
const names = readdirSync(folder).filter((name) => name.endsWith(".html")).sort();

// What opening a file asks for, itself left out, and what it complains of.
async function open(page, name) {
  const asked = [], complaints = [];
  page.removeAllListeners();
  page.on("request", (request) => asked.push(request.url()));
  page.on("console", (message) => complaints.push(message.text()));
  page.on("pageerror", (error) => complaints.push(String(error)));
  const url = pathToFileURL(path.join(folder, name)).href;
  await page.goto(url, { waitUntil: "networkidle" });
  return { asked: asked.filter((one) => one !== url), complaints };
}

const page = await (await browser.newContext({ viewport: PHONE })).newPage();
await promise("a file that asks for something is found", async () => {
  writeFileSync(path.join(folder, "asking.htm"), "<!doctype html><title>asks</title><img src='http://127.0.0.1:9/picture.png' alt=''>");
  same((await open(page, "asking.htm")).asked, ["http://127.0.0.1:9/picture.png"], "asked for");
});

check(names.length === 12, `${names.length} documents`);
for (const name of names)
  for (const [size, viewport] of [["phone", PHONE], ["desk", DESK]])
    await promise(`${name} on a ${size}`, async () => {
      await page.setViewportSize(viewport);
      const seen = await open(page, name);
      same(seen, { asked: [], complaints: [] }, "asks for or complains of");
      same(await page.evaluate(() => document.scripts.length), 0, "scripts");
      same(await page.evaluate(() => document.scrollingElement.scrollWidth - innerWidth > 0), false, "wider than the screen");
      check(await page.evaluate(() => document.querySelector("h1").textContent.length > 3 && document.title.length > 3), "no title");
      // The file's own policy lets no script in; axe-core is put in behind its back, as a debugger is.
      await page.evaluate(axe);
      const found = await page.evaluate((tags) => axe.run(document, { runOnly: tags, resultTypes: ["violations"] }), TAGS);
      same(found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`), [], "axe-core");
    });
await kept();
