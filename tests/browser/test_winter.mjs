// From what was found to a printed plan, and through a job of it: on a phone by taps, with scripts and without, at a desk by keyboard alone.
import { copyFileSync, readFileSync } from "node:fs";
import { DESK, PHONE, browser, check, fill, kept, newGarage, promise, same, serve } from "./kit.mjs";

const day = (offset) => new Date(Date.now() + offset * 86400e3).toISOString().slice(0, 10);

// The element that has the focus, by its field's name or its words.
const focused = (page) => page.evaluate(() => {
  const here = document.activeElement;
  return here === null ? "" : (here.tagName !== "BUTTON" && here.name) || here.textContent.trim();
});

async function tabTo(page, words, most = 200) {
  for (let i = 0; i < most; i++) {
    if ((await focused(page)).startsWith(words)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the Tab key does not get to "${words}" on ${page.url()}`);
}

// Two ways of doing the same: with a thumb, and with the Tab and Enter keys.
const taps = {
  press: async (page, words) => Promise.all([page.waitForEvent("load"), page.click(`main :is(a, button):has-text("${words}") >> nth=0`)]),
  type: async (page, name, text) => page.fill(`[name="${name}"] >> nth=0`, text),
  take: async (page, words) => page.click(`main a:has-text("${words}") >> nth=0`),
};
const keys = {
  press: async (page, words) => {
    await tabTo(page, words);
    await Promise.all([page.waitForEvent("load"), page.keyboard.press("Enter")]);
  },
  // Dates are typed by their parts in the order of the browser's language, so a date goes in as it is.
  type: async (page, name, text) => {
    await tabTo(page, name);
    if (/^\d{4}-\d\d-\d\d$/.test(text)) await page.fill(`[name="${name}"] >> nth=0`, text);
    else {
      await page.keyboard.press("Control+A");
      await page.keyboard.type(text);
    }
  },
  take: async (page, words) => {
    await tabTo(page, words);
    await page.keyboard.press("Enter");
  },
};

async function fits(page) {
  same(await page.evaluate(() => document.scrollingElement.scrollWidth - innerWidth > 0), false, `${page.url()} is wider than the screen`);
  same(await page.evaluate(() => [...document.querySelectorAll("time")].filter((one) => one.getClientRects().length > 1).length), 0, `dates on two lines of ${page.url()}`);
}

async function printed(page, how, words, file) {
  const [download] = await Promise.all([page.waitForEvent("download"), how.take(page, words)]);
  same(download.suggestedFilename(), file, "the file's name");
  same(readFileSync(await download.path()).subarray(0, 5).toString(), "%PDF-", "what was downloaded");
}

async function fromFindingsToPrint(page, how, sheet) {
  await page.goto(`${sheet}/findings`);
  await how.press(page, "Plan the work");
  check((await page.textContent("main")).includes("Suggested by what was found"), "nothing is suggested");
  await fits(page);
  await how.type(page, "until", day(150));
  await how.type(page, "w5", "8");
  await how.type(page, "w6", "8");
  await how.press(page, "Plan the work");
  await page.waitForSelector("text=of parts");
  const says = await page.textContent("main");
  check(says.includes("Ready in time with a chance of"), "no chance is told");
  check(says.includes("Calendar"), "no calendar");
  check(await page.evaluate(() => document.querySelector("main time") !== null), "no date is marked as one");
  same(await page.evaluate(() => {
    const text = document.querySelector(".verdict").getBoundingClientRect().right;
    return [...document.querySelectorAll("main table")].filter((one) => one.getBoundingClientRect().right > text + 1).length;
  }), 0, "tables wider than the text");
  await fits(page);
  await printed(page, how, "Print (PDF)", "plan.pdf");
}

async function throughAJob(page, how) {
  await page.reload();
  const title = await page.textContent(".scroll a[href*='/winter/job/'] >> nth=0");
  await how.press(page, title);
  check((await page.textContent("main")).includes("Job: not begun"), "the page does not say how far the job is");
  await fits(page);
  // The caution stands before the step that it belongs to.
  check(await page.evaluate(() => {
    const step = document.querySelector("section.step"), first = step.querySelector(".danger, .warning, .caution, .notice");
    return first !== null && (first.compareDocumentPosition(step.querySelector("h2")) & Node.DOCUMENT_POSITION_FOLLOWING) !== 0;
  }), "the step stands before its caution");
  await how.press(page, "Done");
  check((await page.textContent("main")).includes("1 of "), "the step is not counted as done");
  await how.type(page, "hours", "1.5");
  await how.press(page, "Note it");
  check((await page.textContent("main")).includes("1.5 h of"), "the hours are not counted");
  await fits(page);
  await printed(page, how, "Job sheet (PDF)", `${new URL(page.url()).pathname.split("/").pop()}.pdf`);
}

// The sheet that every walk begins with, entered once.
const entering = await serve({ garage: newGarage("entered.db") });
const first = await browser.newContext();
const sheetPath = await fill(await first.newPage(), entering.base);
await first.close();
await entering.end();

async function walk(name, viewport, javaScriptEnabled, how) {
  const garage = newGarage(`${name}.db`);
  copyFileSync(entering.garage, garage);
  const server = await serve({ garage });
  const context = await browser.newContext({ viewport, javaScriptEnabled });
  const page = await context.newPage();
  const errors = [];
  page.on("pageerror", (error) => errors.push(error.message));
  try {
    const sheet = server.base + sheetPath;
    await promise(`from_findings_to_a_printed_plan_${name}`, async () => fromFindingsToPrint(page, how, sheet));
    await promise(`through_a_job_of_it_${name}`, async () => {
      await throughAJob(page, how);
      same(errors, [], "errors of scripts");
    });
  } finally {
    await context.close();
    await server.end();
  }
}

await promise("of_two_ways_to_one_job_it_is_said_at_once_when_both_are_ticked", async () => {
  const server = await serve({ garage: entering.garage });
  const page = await (await browser.newContext({ viewport: PHONE })).newPage();
  await page.goto(`${server.base}/car/1/winter`);
  for (const one of await page.$$("details")) await one.evaluate((box) => { box.open = true; });
  const tick = (job, on) => page.setChecked(`[name=in][value=${job}]`, on);
  const said = async () => (await page.$$eval("[data-both]", (all) => all.filter((one) => one.checkVisibility()).map((one) => one.dataset.both))).sort();
  for (const job of await page.$$eval("[name=in]", (all) => all.map((one) => one.value))) await tick(job, false);
  same(await said(), [], "said before anything is ticked");
  await tick("head_gasket", true);
  same(await said(), [], "said of one alone");
  await tick("head_rebuild", true);
  same(await said(), ["head_gasket head_rebuild", "head_rebuild head_gasket"], "said of both");
  await tick("head_gasket", false);
  same(await said(), [], "said after one is unticked");
  await tick("clutch_cable", true);
  await tick("clutch_hydraulics", true);
  same(await said(), ["clutch_cable clutch_hydraulics", "clutch_hydraulics clutch_cable"], "said of what no car has both of");
  check((await page.textContent("[data-both='clutch_cable clutch_hydraulics']")).includes("no car has both: untick one"), "the words");
  await page.locator("[data-both='clutch_cable clutch_hydraulics']").scrollIntoViewIfNeeded();
  await fits(page);
  await page.context().close();
  await server.end();
});

await walk("on_a_phone", PHONE, true, taps);
await walk("on_a_phone_without_scripts", PHONE, false, taps);
await walk("at_a_desk_by_keyboard_alone", DESK, true, keys);
await kept();
