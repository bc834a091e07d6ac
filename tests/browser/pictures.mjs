// The pictures of the README, of an invented car: node tests/browser/pictures.mjs FOLDER, with the program in CROSSHATCH. Run by test_pictures.mjs too, so
// that they can always be made again.
import { mkdirSync } from "node:fs";
import path from "node:path";
import { PHONE, browser, fill, fillSeason, planWinter, sendRun, serve } from "./kit.mjs";

// A four whose third cylinder reads low, with a wet test and a leak-down test on it.
const ROUNDS = [[1, 180], [2, 176], [3, 132], [4, 178], [1, 182], [2, 175], [3, 130], [4, 177]];

async function enterLeakdown(page, base, sheet) {
  await page.goto(`${base}${sheet}/measure?kind=leakdown&cylinder=3`);
  await page.fill("[name=supply]", "100");
  await page.fill("[name=loss]", "72");
  await page.check("[name=heard][value=exhaust]");
  await Promise.all([page.waitForEvent("load"), page.click("button:has-text('Enter cylinder')")]);
}

async function takeOff(page, base, sheet) {
  await page.goto(`${base}${sheet}/do/open_up?step=pump_fuse&cylinder=0`);
  for (const [name, words] of [["origin", "slot 14, engine bay"], ["lies", "tray on the bench"]])
    if ((await page.$(`[name=${name}]`)) !== null) await page.fill(`[name=${name}]`, words);
  await Promise.all([page.waitForEvent("load"), page.click("button[value=done]")]);
}

// Makes all of them; returns their names.
export async function pictures(folder) {
  mkdirSync(folder, { recursive: true });
  const server = await serve({ garage: path.join(folder, "pictures.db") });
  const made = [];
  const shoot = async (name, url, options = {}) => {
    const context = await browser.newContext({ viewport: PHONE, deviceScaleFactor: 1, colorScheme: options.dark ? "dark" : "light" });
    const page = await context.newPage();
    await page.goto(server.base + url);
    if (options.at) await page.locator(options.at).first().scrollIntoViewIfNeeded();
    await page.screenshot({ path: path.join(folder, `${name}.png`), ...(options.clip ? { clip: options.clip, fullPage: true } : {}) });
    made.push(name);
    await context.close();
  };
  const context = await browser.newContext({ viewport: PHONE });
  const page = await context.newPage();
  const sheet = await fill(page, server.base, ROUNDS);
  await enterLeakdown(page, server.base, sheet);
  await takeOff(page, server.base, sheet);
  await fillSeason(page, server.base);
  await planWinter(page, server.base);
  const run = await sendRun(page, server.base);
  await context.close();
  await shoot("start", "/");
  await shoot("step", `${sheet}/do/open_up`);
  await shoot("measure", `${sheet}/measure?kind=dry&cylinder=3`, { at: "#enter" });
  await shoot("findings", `${sheet}/findings`);
  await shoot("findings-dark", `${sheet}/findings`, { dark: true, clip: { x: 0, y: 700, width: PHONE.width, height: PHONE.height } });
  await shoot("ready", "/car/1/ready");
  await shoot("driveline", run);
  await shoot("winter", "/car/1/winter");
  await shoot("whatif", "/whatif?throttle=shut");
  await server.end();
  return made;
}

if (process.argv[1].endsWith("pictures.mjs") && !process.argv[1].endsWith("test_pictures.mjs")) {
  console.log(`# ${(await pictures(process.argv[2])).join(" ")}`);
  await browser.close();
}
