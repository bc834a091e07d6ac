// From an empty garage to a judged sheet, four cylinders, one repeat each: by taps, without scripts, by keyboard alone.
import { DESK, PHONE, ROUNDS, browser, check, fill, kept, newGarage, promise, same, serve } from "./kit.mjs";

const MOST_TAPS = 40;

async function findings(page) {
  check((await page.textContent("main")).includes("Verdict: fault"), "no verdict on the page");
  check((await page.textContent("main")).includes("Cylinder 3"), "the low cylinder is not named");
}

// Taps and clicks, counted; typing digits is not.
async function byTaps(page, base) {
  let taps = 0;
  const tap = async (what) => {
    taps += 1;
    await page.click(what);
  };
  await page.goto(base);
  await tap("text=Enter a car");
  await tap("[name=name]");
  await page.keyboard.type("Blue four");
  await tap("[name=cylinders]");
  await page.keyboard.press("Control+A");
  await page.keyboard.type("4");
  await tap("text=Enter the car");
  await tap("text=Begin the sheet");
  await tap("text=Enter readings");
  for (const [cylinder, reading] of ROUNDS) {
    check((await page.textContent("#which")).includes(String(cylinder)), `cylinder ${cylinder} should be next`);
    await tap("input[name=reading]");
    await page.keyboard.type(String(reading));
    await Promise.all([page.waitForEvent("load"), tap("button:has-text('Enter cylinder')")]);
  }
  await Promise.all([page.waitForURL(/\/findings$/), tap("main a.wide:has-text('Findings')")]);
  await findings(page);
  return taps;
}

// The element that has the focus, by its words or its field's name.
const focused = (page) => page.evaluate(() => {
  const here = document.activeElement;
  return here === null ? "" : here.name || here.textContent.trim();
});

async function tabTo(page, words) {
  for (let i = 0; i < 60; i++) {
    if ((await focused(page)).startsWith(words)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the Tab key does not get to "${words}" on ${page.url()}`);
}

async function press(page, words) {
  await tabTo(page, words);
  await Promise.all([page.waitForEvent("load"), page.keyboard.press("Enter")]);
}

async function byKeyboard(page, base) {
  await page.goto(base);
  await press(page, "Enter a car");
  await tabTo(page, "name");
  await page.keyboard.type("Blue four");
  await tabTo(page, "cylinders");
  await page.keyboard.press("Control+A");
  await page.keyboard.type("4");
  await page.keyboard.press("Enter");
  await page.waitForURL(/sheets\/new/);
  await press(page, "Begin the sheet");
  await press(page, "Enter readings");
  for (const [, reading] of ROUNDS) {
    await tabTo(page, "reading");
    await page.keyboard.type(String(reading));
    await Promise.all([page.waitForEvent("load"), page.keyboard.press("Enter")]);
  }
  await press(page, "Findings");
  await findings(page);
}

async function walk(name, viewport, javaScriptEnabled, path) {
  const server = await serve({ garage: newGarage(`${name}.db`) });
  const context = await browser.newContext({ viewport, javaScriptEnabled });
  const page = await context.newPage();
  const errors = [];
  page.on("pageerror", (error) => errors.push(error.message));
  try {
    await promise(name, async () => {
      const taps = await path(page, server.base);
      if (taps !== undefined) {
        console.log(`# ${taps} taps`);
        check(taps < MOST_TAPS, `${taps} taps`);
      }
      same(errors, [], "errors of scripts");
    });
  } finally {
    await context.close();
    await server.end();
  }
}

// A form far down the page, refused by the server: what a browser would have held back is sent by a form that does not ask it.
async function refusedFarDown(page, base) {
  await page.goto(base);
  await page.click("text=Enter a car");
  await page.fill("[name=name]", "Blue four");
  await page.fill("[name=cylinders]", "4");
  await Promise.all([page.waitForURL(/sheets\/new/), page.click("text=Enter the car")]);
  await Promise.all([page.waitForEvent("load"), page.click("text=Begin the sheet")]);
  await page.click("summary:has-text('Enter a sign')");
  await page.evaluate(() => { document.querySelector("form[action$='/observed']").noValidate = true; });
  await Promise.all([page.waitForEvent("load"), page.click("form[action$='/observed'] button")]);
  const seen = await page.evaluate(() => {
    const alert = document.querySelector("[role=alert]");
    const { top, bottom } = alert.getBoundingClientRect();
    return { focused: document.activeElement === alert, inSight: top >= 0 && bottom <= window.innerHeight, far: top + window.scrollY > window.innerHeight };
  });
  same(seen, { focused: true, inSight: true, far: true }, "where the page opened");
  await page.keyboard.press("Tab");
  check(await page.evaluate(() => document.activeElement.closest("details, form") !== null), "the next key leads into the form");
}

// Without scripts the pages are the same wherever they are, and keys are at a desk.
await walk("a_newcomer_gets_to_a_verdict_in_few_taps_on_a_phone", PHONE, true, byTaps);
await walk("a_newcomer_gets_to_a_verdict_in_few_taps_at_a_desk", DESK, true, byTaps);
await walk("the_same_without_scripts_on_a_phone", PHONE, false, byTaps);
await walk("the_same_by_keyboard_alone_at_a_desk", DESK, true, byKeyboard);
await walk("a_refused_form_far_down_the_page_is_what_one_sees_next", PHONE, true, refusedFarDown);
// Names and a note of words that never break, and eight cylinders: no page is wider than the screen; what must be, scrolls in a box of its own, with a shade where more of it is.
await promise("eight_cylinders_and_long_names_fit_on_a_phone", async () => {
  const word = "Unterbrechungsfreieschwungradscheibenbefestigungsschraubenkasten";
  const server = await serve({ garage: newGarage("wide.db") });
  const page = await (await browser.newContext({ viewport: PHONE })).newPage();
  const sheet = await fill(page, server.base, [], { name: `${word} of the paddock`, cylinders: 8 });
  for (let cylinder = 1; cylinder <= 8; cylinder++) {
    await page.goto(`${server.base}${sheet}/measure?kind=dry&cylinder=${cylinder}`);
    for (const one of await page.$$(".entry details")) await one.evaluate((box) => { box.open = true; });
    await page.fill("[name=note]", cylinder % 3 === 0 ? `Read by ${word}` : "");
    await page.fill("input[name=reading]", String(170.5 + cylinder));
    await Promise.all([page.waitForEvent("load"), page.click("button:has-text('Enter cylinder')")]);
  }
  const over = () => page.evaluate(() => document.scrollingElement.scrollWidth - innerWidth);
  for (const path of ["/", "/cars", "/sheets", "/car/1", "/car/1/events", "/car/1/parts", "/car/1/season", "/car/1/ready", "/car/1/winter", sheet, `${sheet}/findings`, `${sheet}/ledger`, `${sheet}/measure?kind=dry`]) {
    await page.goto(server.base + path);
    for (const one of await page.$$("details")) await one.evaluate((box) => { box.open = true; });
    check(await over() <= 0, `${path} is ${await over()} px wider than the screen`);
  }
  same(await page.$eval("#live .scroll", (box) => box.scrollWidth - box.clientWidth), 0, "a note makes its table wide");
  // A table that cannot be narrower, with words for who hears it read out at its far end.
  await page.$eval("#live td", (cell) => { cell.style.paddingRight = "40rem"; });
  check(await over() <= 0, `with a wide table the page is ${await over()} px wider than the screen`);
  same(await page.$eval("#live .scroll", (box) => [box.scrollWidth > box.clientWidth, getComputedStyle(box).backgroundImage.split("linear-gradient").length - 1]), [true, 4], "the box scrolls, and has shades");
  await page.context().close();
  await server.end();
});
await kept();
