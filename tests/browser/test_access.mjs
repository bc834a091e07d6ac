// Every page by axe-core (WCAG 2.2 AA) on a phone, its colours in the dark too, what depends on places at a desk; nothing wider than the screen or the paper,
// nothing cut off; everything big enough for a thumb, and nothing to press on paper.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { DESK, PHONE, ROUNDS, browser, fill, fillSeason, kept, planWinter, promise, same, sendRun, serve } from "./kit.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
// What depends on the colours.
const COLOURS = { type: "rule", values: ["color-contrast", "link-in-text-block"] };
// What depends on where things stand. No page has anything at a desk that it has not on a phone, so all else was asked there.
const PLACES = { type: "rule", values: ["color-contrast", "scrollable-region-focusable", "target-size"] };
const LEAST_TARGET = 48;

const server = await serve();
const first = await (await browser.newContext()).newPage();
// As much as there may be: sixteen cylinders, names of sixty characters, readings of 0 and 10000.
const LONG = "Hill climb saloon of the second owner, rebuilt twice, in red";
const sheet = await fill(first, server.base, [...ROUNDS, [5, 0], [16, 10000], [16, 10000]], { name: LONG, cylinders: 16 });
// Press what leads to another page, and wait for it.
const press = (what) => Promise.all([first.waitForEvent("load"), first.click(what)]);
await first.goto(`${server.base}/cars`);
await first.fill("[name=gauge_name]", LONG);
await press("text=Enter the gauge");
// A leak-down with all that its row can say.
await first.goto(`${server.base}${sheet}/measure?kind=leakdown&cylinder=3`);
for (const [name, text] of [["supply", "6.5 bar"], ["loss", "72,5 %"]]) await first.fill(`[name=${name}]`, text);
for (const where of ["exhaust", "oil_filler"]) await first.check(`[name=heard][value=${where}]`);
await press("button:has-text('Enter cylinder')");
// Something is off the car, so that the ledger has an entry to show.
await first.goto(`${server.base}${sheet}/do/open_up?step=pump_fuse&cylinder=0`);
for (const name of ["origin", "lies"])
  if ((await first.$(`[name=${name}]`)) !== null) await first.fill(`[name=${name}]`, "slot 12, in the tray");
await press("button[value=done]");
await planWinter(first, server.base);
// A run of the driveline, and the choice of its columns.
await first.goto(`${server.base}/cars/new`);
await first.fill("[name=name]", "Without a run");
await press("text=Enter the car");
const drive = await sendRun(first, server.base);
const columns = await first.getAttribute("a[href*='/columns?']", "href");

// A job in hand: one thing off, hours spent, a torque held against the strength class; and one that is done.
const job = `${server.base}/car/1/winter/job/brake_pads`;
for (let i = 0; i < 3; i++) {
  await first.goto(job);
  await press("button[value=done]");
}
await first.goto(job);
for (const [name, text] of [["hours", "1.5"], ["money", "64"], ["note", "pads"]]) await first.fill(`[name=${name}] >> nth=0`, text);
await press("button[value=spent]");
for (const one of await first.$$("details")) await one.evaluate((box) => { box.open = true; });
for (const [name, text] of [["figure", "30 Nm"], ["thread", "M8"], ["class", "8.8"]]) await first.fill(`[name=${name}] >> nth=0`, text);
await press("button[value=torque] >> nth=0");
await first.waitForSelector("text=Cross-check");
await first.goto(`${server.base}/car/1/winter/job/clutch_kit`);
await press("button[value=finish]");

await fillSeason(first, server.base);
await first.goto(`${server.base}/car/1/ready`);
for (const one of await first.$$("details")) await one.evaluate((box) => { box.open = true; });
await first.check("[value='home.brake_pads']");
await press("button:has-text('Keep the ticks')");

const PAGES = ["/", "/cars", "/cars/new", "/car/1", "/car/1/engine", "/gauge/1", "/car/1/winter", `/car/1/winter?sheet=${sheet.split("/").pop()}`, "/car/1/winter/job/brake_pads", "/car/1/winter/job/clutch_kit", "/task/1", "/task/2", "/task/3", "/sheets", "/sheets/new?car=1", sheet, `${sheet}/do/open_up`,
  `${sheet}/do/compression_dry`, `${sheet}/measure`, `${sheet}/measure?kind=wet`, `${sheet}/measure?kind=leakdown`,
  `${sheet}/ledger`, `${sheet}/findings`, `${sheet}/findings?why=3`, `/row/1?sheet=${sheet.split("/").pop()}`, "/car/1/season",
  "/car/1/season?horizon=three_years", "/car/1/events", "/event/1", "/car/1/parts", "/part/1", "/car/1/ready", "/car/1/ready/check.html", `${sheet}/report.html`, "/settings", "/help", "/export", "/import", "/whatif?throttle=shut", drive, columns, "/car/2/driveline", "/whatif?strokes=0",
  "/no-such-page"];

async function violations(page, which) {
  if (await page.evaluate(() => typeof window.axe === "undefined")) await page.evaluate(axe);
  const result = await page.evaluate((only) => axe.run(document, { runOnly: only, resultTypes: ["violations"] }), which);
  return result.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`);
}

// Links inside a sentence are exempt (WCAG 2.2, 2.5.8, inline).
const small = (page) => page.evaluate((least) => [...document.querySelectorAll("button, summary, input:not([type=hidden]), select, textarea, a.button, a.cover, a.press, .tabs a, a.bore")]
  .filter((one) => one.checkVisibility())
  .map((one) => [one, (one.type === "radio" || one.type === "checkbox" ? one.closest("label") ?? one : one).getBoundingClientRect()])
  .filter(([, box]) => box.height < least - 0.5 || box.width < least - 0.5)
  .map(([one, box]) => `${one.tagName} "${one.textContent.trim().slice(0, 30)}" ${box.width} x ${box.height}`), LEAST_TARGET);

// Text that its own box cuts off. What scrolls, as a field to type in does, or is for screen readers alone is meant so.
const cut = (page) => page.evaluate(() => [...document.querySelectorAll("body *")]
  .filter((one) => one.checkVisibility() && !one.closest("svg, input, .visually-hidden"))
  .filter((one) => /hidden|clip/.test(getComputedStyle(one).overflowX) && one.scrollWidth > one.clientWidth + 1)
  .map((one) => `${one.tagName} "${one.textContent.trim().slice(0, 30)}"`));

// On A4 between margins of 12 mm: nothing wider than the paper, and nothing to press.
const PAPER = { width: 703, height: 1000 };
const onPaper = (page) => page.evaluate(() => [
  ...(document.scrollingElement.scrollWidth > innerWidth ? [`${document.scrollingElement.scrollWidth} px wide`] : []),
  ...[...document.querySelectorAll("button, .button, .tabs, .top")].filter((one) => one.checkVisibility()).map((one) => one.textContent.trim().slice(0, 30))]);

// Each page is loaded once, on the phone: what is where at a desk and on paper is the stylesheet's doing.
const context = await browser.newContext({ viewport: PHONE, colorScheme: "light" });
const page = await context.newPage();
const fits = async () => {
  same(await page.evaluate(() => document.scrollingElement.scrollWidth - innerWidth > 0), false, "wider than the screen");
  same(await small(page), [], `smaller than ${LEAST_TARGET} px`);
  same(await cut(page), [], "cut off");
};
for (const path of PAGES) {
  await promise(`${path} on a phone, light`, async () => {
    // A printed document is shown without scripts, and axe-core is one: it is looked at as a file.
    // An empty page first: a text put into another keeps that one's policy.
    const file = path.endsWith(".html");
    await page.setViewportSize(PHONE);
    await page.emulateMedia({ media: "screen", colorScheme: "light" });
    await page.goto(file ? "about:blank" : server.base + path);
    if (file) await page.setContent(await (await context.request.get(server.base + path)).text());
    for (const one of await page.$$("details")) await one.evaluate((box) => { box.open = true; });
    same(await violations(page, TAGS), [], "axe-core");
    await fits();
  });
  // What is where does not depend on the colours: the dark ones are looked at on the phone.
  await promise(`${path} on a phone, dark`, async () => {
    await page.emulateMedia({ colorScheme: "dark" });
    same(await violations(page, COLOURS), [], "axe-core");
  });
  await promise(`${path} on a desk, light`, async () => {
    await page.emulateMedia({ colorScheme: "light" });
    await page.setViewportSize(DESK);
    same(await violations(page, PLACES), [], "axe-core");
    await fits();
    await page.emulateMedia({ media: "print" });
    await page.setViewportSize(PAPER);
    same(await onPaper(page), [], "on paper");
  });
}
await context.close();
await server.end();
await kept();
