// The server goes away in the middle of a sheet: what is entered meanwhile arrives later, once each, in order. Two phones see each other.
import http from "node:http";
import { DESK, PHONE, browser, check, fill, kept, launch, newGarage, notRun, promise, same, serve, windowed } from "./kit.mjs";

// Final readings on the page, in the order entered.
const readings = (page) => page.$$eval("#live tbody tr", (rows) => rows.map((row) => row.cells[1].textContent.split("/").pop().trim()));

async function enterAway(page, reading) {
  const before = await page.evaluate(() => localStorage.length);
  await page.fill("input[name=reading]", String(reading));
  await page.click("button:has-text('Enter cylinder')");
  await page.waitForFunction((count) => localStorage.length === count + 1, before);
  // The form has gone on to another cylinder when its field is empty again.
  await page.waitForFunction(() => document.querySelector("input[name=reading]").value === "");
}

const AWAY = [171, 172, 173, 174, 175, 176];
const garage = newGarage("offline.db");
let server = await serve({ garage });
const port = server.port;
const context = await browser.newContext({ viewport: PHONE });
let page = await context.newPage();
const sheet = await fill(page, server.base, [[1, 178]]);

await promise("entries_made_while_the_server_is_away_are_shown_as_waiting", async () => {
  await page.goto(`${server.base}${sheet}/measure`);
  await server.end("SIGKILL");
  for (const reading of AWAY) await enterAway(page, reading);
  check((await page.textContent("#waiting")).includes("6 entries wait"), await page.textContent("#waiting"));
});

await promise("a_page_opened_while_the_server_is_away_shows_them_and_takes_more", async () => {
  await page.close();
  page = await context.newPage();
  await page.goto(`http://localhost:${port}${sheet}/measure`);
  check((await page.textContent("#waiting")).includes("6 entries wait"), "the six are not shown");
  await page.waitForSelector("#away");
  for (const reading of [161, 162, 163, 164, 165, 166]) await enterAway(page, reading);
  await page.close();
});

await promise("when_it_is_back_all_arrive_once_and_in_order", async () => {
  server = await serve({ garage, port });
  page = await context.newPage();
  await page.goto(server.base);
  await page.waitForFunction(() => localStorage.length === 0);
  await page.goto(`${server.base}${sheet}/measure`);
  same(await readings(page), ["178", ...AWAY.map(String), "161", "162", "163", "164", "165", "166"], "readings");
});

await promise("an_entry_whose_answer_was_lost_is_stored_once", async () => {
  await page.goto(`${server.base}${sheet}/measure?cylinder=1`);
  // The server takes it, but its answer does not get through, twice.
  let lost = 0;
  await page.route("**/measure", async (route) => {
    if (route.request().method() !== "POST" || lost === 2) return route.continue();
    lost += 1;
    await route.fetch();
    return route.abort();
  });
  await enterAway(page, 151);
  await page.waitForFunction(() => localStorage.length === 0, null, { timeout: 20000 });
  same(lost, 2, "answers lost");
  await page.unroute("**/measure");
  await page.goto(`${server.base}${sheet}/measure`);
  same((await readings(page)).filter((text) => text === "151").length, 1, "times that it is there");
});

// A browser that keeps the page as it was left, which tests' browsers are told not to; and one without scripts, which loads it anew.
const keeping = windowed && await launch({}, { executablePath: windowed, ignoreDefaultArgs: ["--disable-back-forward-cache"] });
for (const [name, javaScriptEnabled] of [["kept_by_the_browser", true], ["loaded_anew", true], ["without_scripts", false]]) {
  const says = `gone_back_to_and_entered_again_a_reading_is_stored_once_and_the_person_told_${name}`;
  if (name === "kept_by_the_browser" && !keeping) {
    notRun(says, "a browser that draws no window keeps no page as it was left");
    continue;
  }
  await promise(says, async () => {
    const reading = { kept_by_the_browser: 131, loaded_anew: 132, without_scripts: 133 }[name];
    const phone = await (await (name === "kept_by_the_browser" ? keeping : browser).newContext({ viewport: PHONE, javaScriptEnabled })).newPage();
    const press = () => Promise.all([phone.waitForEvent("load"), phone.click("button:has-text('Enter cylinder')")]);
    const times = async () => (await readings(phone)).filter((text) => text === String(reading)).length;
    await phone.goto(`${server.base}${sheet}/measure?kind=dry&cylinder=3`);
    await phone.fill("input[name=reading]", String(reading));
    await press();
    same(await times(), 1, "entered");
    check(!(await phone.textContent("main")).includes("taken already"), "called an old one at once");
    await phone.goBack({ waitUntil: "commit" });
    same(await phone.textContent("#which .big"), "3", "the cylinder of the page gone back to");
    if (name === "kept_by_the_browser") same(await phone.inputValue("input[name=reading]"), String(reading), "what the page still holds");
    else await phone.fill("input[name=reading]", String(reading));
    await press();
    same(await times(), 1, "entered twice");
    check((await phone.textContent("#again")).includes("This entry was taken already, and is stored once."), "it is not said");
    same(await phone.$eval("#again", (box) => box.getBoundingClientRect().top >= 0 && box.getBoundingClientRect().bottom <= innerHeight), true, "in sight");
    // another number is another reading, and so is the same number on the page that it leads to
    await phone.goBack({ waitUntil: "commit" });
    await phone.fill("input[name=reading]", String(reading + 10));
    await press();
    same((await readings(phone)).filter((text) => text === String(reading + 10)).length, 1, "the other number");
    await phone.goto(`${server.base}${sheet}/measure?kind=dry&cylinder=3`);
    await phone.fill("input[name=reading]", String(reading));
    await press();
    same(await times(), 2, "a second reading that shows the same");
    await phone.context().close();
  });
}

await promise("what_is_no_number_is_said_at_its_field_and_neither_kept_nor_sent", async () => {
  await page.goto(`${server.base}${sheet}/measure?cylinder=2`);
  await page.fill("input[name=reading]", "abc");
  await page.click("button:has-text('Enter cylinder')");
  same(await page.$eval("input[name=reading]", (input) => [input.validationMessage, input === document.activeElement]), ['"abc" is not a number', true], "the field");
  same(await page.evaluate(() => localStorage.length), 0, "kept");
  for (const taken of ["171", "-3", ",5", "11,8 bar", "\u22124", " 9"]) {
    await page.fill("input[name=reading]", taken);
    same(await page.$eval("input[name=reading]", (input) => input.validationMessage), "", taken);
  }
});

await promise("what_the_server_refuses_stands_in_the_form_with_why_and_is_not_kept_as_waiting", async () => {
  await page.goto(`${server.base}${sheet}/measure?cylinder=2`);
  await page.fill("input[name=first]", "80");
  await page.fill("input[name=reading]", "12 stone");
  await page.click("button:has-text('Enter cylinder')");
  await page.waitForSelector(".entry [role=alert] >> text=Final reading:");
  same(await page.$eval("input[name=reading]", (input) => [input.value, input === document.activeElement]), ["12 stone", true], "the field");
  same(await page.inputValue("input[name=first]"), "80", "the other field");
  same(await page.textContent("#which .big"), "2", "the cylinder");
  same([await page.evaluate(() => localStorage.length), await page.$("#waiting")], [0, null], "kept");
  await page.fill("input[name=reading]", "181");
  await Promise.all([page.waitForEvent("load"), page.click("button:has-text('Enter cylinder')")]);
  same((await readings(page)).filter((text) => text === "181").length, 1, "times that it is there");
  check((await page.textContent("main")).includes("Saved."), "it is not said that it was stored");
  await page.reload();
  check(!(await page.textContent("main")).includes("Saved."), "it is said again");
});

await promise("an_entry_refused_after_it_waited_can_be_corrected_or_taken_out", async () => {
  await page.goto(`${server.base}${sheet}/measure?kind=leakdown&cylinder=2`);
  await page.check("input[name=heard][value=exhaust]");
  await server.end("SIGKILL");
  for (const loss of ["12 stone", "13 stone"]) {
    await page.fill("input[name=loss]", loss);
    await page.click("button:has-text('Enter cylinder')");
    await page.waitForFunction(() => document.querySelector("input[name=loss]").value === "");
  }
  check((await page.textContent("#waiting")).includes("2 entries wait on this device"), "two do not wait");
  server = await serve({ garage, port });
  await page.waitForFunction(() => document.querySelector("#waiting")?.textContent.includes("2 entries were not taken"), null, { timeout: 20000 });
  check(!(await page.textContent("#waiting")).includes("when the computer answers"), "it is said to be sent later");
  await page.goto(`${server.base}${sheet}/measure?kind=dry`); // the form that it belongs to is on another page
  await page.click("#waiting summary");
  await Promise.all([page.waitForURL(/kind=leakdown/), page.click("#waiting li:first-of-type button:has-text('Correct it')")]);
  await page.waitForSelector(".entry [role=alert] >> text=Loss:");
  same([await page.inputValue("input[name=loss]"), await page.isChecked("input[name=heard][value=exhaust]"), await page.textContent("#which .big")],
    ["12 stone", true, "2"], "what comes back");
  same(await page.evaluate(() => localStorage.length), 2, "it waits until the form is sent");
  await page.fill("input[name=loss]", "12");
  await Promise.all([page.waitForEvent("load"), page.click("button:has-text('Enter cylinder')")]);
  check((await page.textContent("#live")).includes("loss 12"), "the corrected one is not there");
  page.once("dialog", (dialog) => dialog.accept());
  await page.click("#waiting summary");
  await page.click("#waiting button:has-text('Take it out')");
  await page.waitForFunction(() => localStorage.length === 0);
  same(await page.$("#waiting"), null, "the box");
});

await promise("a_step_done_while_the_server_is_away_waits_on_its_page_and_is_stored_when_it_is_back", async () => {
  await page.goto(`${server.base}${sheet}/do/open_up`);
  const progress = async () => Number(/(\d+) of \d+ steps done/.exec(await page.textContent("main"))[1]);
  const [place, step, before] = [page.url(), await page.textContent(".step h2"), await progress()];
  await server.end("SIGKILL");
  const button = ".step button[value=done]";
  await page.click(button);
  await page.waitForSelector(".step [role=alert] >> text=The computer does not answer");
  await page.click(button); // once more, by an impatient thumb
  same([page.url(), await page.textContent(".step h2"), await page.$$eval(".step [role=alert]", (all) => all.length)], [place, step, 1], "the page");
  const back = page.waitForEvent("load", { timeout: 20000 });
  server = await serve({ garage, port });
  await back;
  same(page.url(), `${place}?saved=1`, "where it leads");
  same(await progress(), before + 1, "steps done");
  check(await page.textContent(".step h2") !== step, "the next step is not shown");
});

await promise("two_phones_see_each_other_within_two_seconds", async () => {
  const other = await (await browser.newContext({ viewport: DESK })).newPage();
  await other.goto(`${server.base}${sheet}/measure?cylinder=4`);
  await other.fill("input[name=reading]", "14");
  await page.goto(`${server.base}${sheet}/measure?cylinder=3`);
  const before = (await readings(other)).length;
  await page.fill("input[name=reading]", "142");
  await page.click("button:has-text('Enter cylinder')");
  await other.waitForFunction((count) => document.querySelectorAll("#live tbody tr").length === count + 1, before,
    { timeout: 2000 });
  same(await other.inputValue("input[name=reading]"), "14", "what the other one was typing");
  same(await other.textContent("#which .big"), "4", "the other one's cylinder");
});

await promise("an_odd_number_is_asked_about_while_it_is_typed", async () => {
  await page.goto(`${server.base}${sheet}/measure?cylinder=3`);
  for (const [typed, said] of [["12.5", "looks like bar"], ["1750", "one digit too many"], ["175", ""]]) {
    await page.fill("input[name=reading]", typed);
    const words = await page.textContent("input[name=reading] + p");
    check(said === "" ? words === "" : words.includes(said), `"${typed}" brought "${words}"`);
  }
});

await promise("the_timer_says_when_to_stop", async () => {
  await page.goto(`${server.base}${sheet}/measure?cylinder=3`);
  await page.clock.install();
  await page.click("button:has-text('Start as the starter turns')");
  await page.clock.runFor(5200);
  check((await page.textContent(".timer [role=status]")).startsWith("5 seconds"), "five seconds");
  await page.clock.runFor(1000);
  check((await page.textContent(".timer [role=status]")).startsWith("6 seconds"), "six seconds");
  await page.click("button:has-text('Stop')");
  // 6.2 s at the usual 200 rpm are 20.7 turns; a stroke takes two.
  check((await page.textContent(".timer [role=status]")).includes("about 10 strokes"), await page.textContent(".timer"));
});

// Between browser and computer: hands on what is asked, some of it late; what is later than the test does not keep it alive.
async function between(base, late) {
  const proxy = http.createServer((asked, answer) => {
    setTimeout(() => {
      const on = http.request(new URL(asked.url, base), { method: asked.method, headers: { ...asked.headers, host: new URL(base).host } }, (got) => {
        answer.writeHead(got.statusCode, got.headers);
        got.pipe(answer);
      });
      on.on("error", () => answer.destroy());
      asked.pipe(on);
    }, late(asked.url)).unref();
  });
  await new Promise((open) => proxy.listen(0, "127.0.0.1", open));
  return proxy;
}

await promise("a_page_that_takes_long_is_waited_for_while_the_computer_answers_and_not_when_it_is_gone", async () => {
  let late = 0;
  const proxy = await between(server.base, (path) => (late && (late > 60000 || !path.startsWith("/asset/")) ? late : 0));
  const base = `http://localhost:${proxy.address().port}`;
  const phone = await (await browser.newContext({ viewport: PHONE })).newPage();
  await phone.goto(`${base}/`);
  await phone.evaluate(() => navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller ?? new Promise((on) => navigator.serviceWorker.addEventListener("controllerchange", on))));
  late = 6000;
  await phone.goto(`${base}/help`);
  same(await phone.textContent("h1"), "How to read the findings", "a slow page");
  late = 1e6;
  await phone.goto(`${base}/help`);
  same(await phone.textContent("h1"), "Garage", "a page of a computer that is gone");
  await phone.context().close();
  proxy.closeAllConnections();
  proxy.close();
});

await server.end();
await kept();
