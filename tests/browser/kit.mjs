// What the browser tests share: a server with a garage of its own, a browser, and the Test Anything Protocol.
import { execFileSync, spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";

const program = process.env.CROSSHATCH;
if (!program) throw new Error("run this by meson test");

export const PHONE = { width: 360, height: 740 };
export const DESK = { width: 1280, height: 800 };

// ---------------------------------------------------------------- TAP

let count = 0;
let broken = 0;

// One test: what it promises, and what shows it.
export async function promise(name, body) {
  count += 1;
  try {
    await body();
    console.log(`ok ${count} - ${name}`);
  } catch (failure) {
    broken += 1;
    for (const line of String(failure.stack ?? failure).split("\n")) console.log(`# ${line}`);
    console.log(`not ok ${count} - ${name}`);
  }
}

// One test that cannot be run here, and why.
export function notRun(name, reason) {
  count += 1;
  console.log(`ok ${count} - ${name} # SKIP ${reason}`);
}

export function check(holds, words) {
  if (!holds) throw new Error(words);
}

export function same(got, wanted, words) {
  const [a, b] = [JSON.stringify(got), JSON.stringify(wanted)];
  if (a !== b) throw new Error(`${words}: got ${a}, wanted ${b}`);
}

// ---------------------------------------------------------------- browser and server

// The first draws no window, and asks for half of the work. Letters are as wide in it as they are drawn in print: not rounded to whole points of a screen.
const PLACES = ["/usr/bin/chromium-headless-shell", "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];
const executablePath = PLACES.find((place) => existsSync(place));
// One with a window, for what the first cannot do; undefined where there is none.
export const windowed = PLACES.slice(1).find((place) => existsSync(place));
let playwright = null;
try {
  playwright = await import("playwright-core");
} catch {
  // said below
}
const missing = executablePath === undefined ? "no Chromium on this machine" :
  playwright === null ? "playwright-core is not installed: npm ci --prefix tests/browser" : "";
if (missing) {
  console.log(`1..0 # SKIP ${missing}`);
  process.exit(0);
}

const scratch = mkdtempSync(path.join(tmpdir(), "crosshatch-browser-"));
const running = new Set();
process.on("exit", () => {
  for (const child of running) child.kill("SIGKILL");
});
const opened = new Set();
// A browser; `env` is added to the environment, `options` to how it is started.
// All pages are one site's: a process for each, and one that stands in for a graphics card, are a tenth of the work.
const ARGUMENTS = ["--no-sandbox", "--disable-site-isolation-trials", "--renderer-process-limit=1", "--in-process-gpu", "--font-render-hinting=none"];

export async function launch(env = {}, options = {}) {
  const made = await playwright.chromium.launch({ executablePath, args: ARGUMENTS, env: { ...process.env, ...env }, ...options });
  opened.add(made);
  return made;
}
export const browser = await launch();

// A server; `port` 0 takes any free one. `again(port)` starts another on the same garage.
export async function serve({ garage = path.join(scratch, "garage.db"), port = 0, options = [] } = {}) {
  const child = spawn(program, ["serve", "--garage", garage, "--port", String(port), ...options],
    { stdio: ["ignore", "pipe", "inherit"], env: { ...process.env, XDG_STATE_HOME: path.join(scratch, "state") } });
  running.add(child);
  let said = "";
  const base = await new Promise((found, failed) => {
    child.once("exit", (code) => failed(new Error(`the server ended with ${code}`)));
    child.stdout.on("data", (bytes) => {
      said += bytes;
      const address = said.match(/https?:\/\/localhost:\d+/);
      if (address && said.includes("Ctrl-C")) found(address[0]);
    });
  });
  return {
    base, child, garage, said: () => said, port: Number(new URL(base).port),
    end: (signal = "SIGTERM") => new Promise((done) => {
      running.delete(child);
      child.once("exit", done);
      child.kill(signal);
    }),
  };
}

// A path in this test's own folder, which goes when the test ends.
export function own(name) {
  return path.join(scratch, name);
}

export function newGarage(name) {
  return path.join(scratch, name);
}

// The end of a test program: the plan, nothing left running, nothing left on the disk.
export async function kept() {
  for (const one of opened) await one.close();
  for (const child of running) child.kill("SIGKILL");
  rmSync(scratch, { recursive: true, force: true });
  console.log(`1..${count}`);
  process.exitCode = broken === 0 ? 0 : 1;
}

// ---------------------------------------------------------------- a garage with something in it

// Four cylinders, the third low, two rounds; final readings in psi.
export const ROUNDS = [[1, 178], [2, 175], [3, 131], [4, 177], [1, 179], [2, 174], [3, 130], [4, 178]];

// By forms, as a person without scripts would; leaves the page on the sheet's measuring page.
export async function fill(page, base, rounds = ROUNDS, { name = "Blue four", cylinders = 4 } = {}) {
  await page.goto(`${base}/cars/new`);
  await page.fill("[name=name]", name);
  await page.fill("[name=cylinders]", String(cylinders));
  await page.click("text=Enter the car");
  await page.click("text=Begin the sheet");
  await page.waitForURL(/\/sheet\/\d+(\?saved=1)?$/);
  const sheet = new URL(page.url()).pathname;
  for (const [cylinder, reading] of rounds) {
    await page.goto(`${base}${sheet}/measure?kind=dry&cylinder=${cylinder}`);
    await enter(page, reading);
    await page.waitForURL(/measure\?kind=dry/);
  }
  return sheet;
}

// Type a reading and send it, and wait until the page has said that it has it.
export async function enter(page, reading, first = "") {
  await page.fill("input[name=first]", String(first));
  await page.fill("input[name=reading]", String(reading));
  await Promise.all([page.waitForEvent("load"), page.click("button:has-text('Enter cylinder')")]);
}

// A winter plan with two jobs for car 1, worked out.
export async function planWinter(page, base) {
  await page.goto(`${base}/car/1/winter`);
  await page.fill("[name=until]", new Date(Date.now() + 120 * 86400e3).toISOString().slice(0, 10));
  for (const one of await page.$$("details")) await one.evaluate((box) => { box.open = true; });
  for (const job of ["clutch_kit", "brake_pads"]) await page.check(`[name=in][value=${job}]`);
  await page.click("text=Plan the work");
  await page.click("summary:has-text('Change the plan')");
  for (const one of await page.$$("details")) await one.evaluate((box) => { box.open = true; });
  for (const job of ["clutch_kit", "brake_pads"]) await page.fill(`[name="j.${job}.avoided"]`, "2000");
  await page.click("text=Plan the work");
  await page.waitForSelector("text=of parts");
}

// Events and parts of car 1, so that the season and what is due have something to show.
export async function fillSeason(page, base) {
  const day = (offset) => new Date(Date.now() + offset * 86400e3).toISOString().slice(0, 10);
  for (const [offset, name, hours] of [[-20, "Autumn day", "2"], [12, "Spring sprint", ""]]) {
    await page.goto(`${base}/car/1/events`);
    for (const one of await page.$$("details")) await one.evaluate((box) => { box.open = true; });
    await page.fill("[name=day]", day(offset));
    await page.fill("[name=name]", name);
    await page.fill("[name=hours]", hours);
    await Promise.all([page.waitForEvent("load"), page.click("button:has-text('Enter the event')")]);
  }
  for (const [life, offset] of [["engine_oil", -30], ["brake_fluid", -700], ["harness", -30]]) {
    await page.goto(`${base}/car/1/parts`);
    for (const one of await page.$$("details")) await one.evaluate((box) => { box.open = true; });
    await page.selectOption("[name=life]", life);
    await page.fill("[name=fitted]", day(offset));
    await Promise.all([page.waitForEvent("load"), page.click("button:has-text('Enter the part')")]);
  }
}

// Send a run of an invented car whose clutch slips, and wait for its answer; the address of the page. The log comes from tests/cli/drive_log.c.
export async function sendRun(page, base) {
  const log = path.join(scratch, "run.csv");
  execFileSync(process.env.DRIVE_LOG, ["comma", "1", "240", "slipping", log, path.join(scratch, "run.json")]);
  await page.goto(`${base}/car/1/driveline`);
  await page.setInputFiles("[name=log]", log);
  await page.click("button:has-text('Read the log')");
  await page.waitForURL(/driveline\?run=/);
  return new URL(page.url()).pathname;
}
