// The what-if page as a finger moves it: sliders beside the numbers, and the reading and the drawings follow at once.
import { PHONE, browser, check, kept, promise, same, serve } from "./kit.mjs";

const server = await serve();
const page = await (await browser.newContext({ viewport: PHONE })).newPage();
const reading = () => page.textContent("#reading .big");
const drawn = (name) => page.getAttribute(`svg[aria-labelledby=${name}-title] path`, "d");

await promise("a slider moved changes the number, the reading and both drawings, and the reason is said", async () => {
  await page.goto(`${server.base}/whatif`);
  const before = [await reading(), await drawn("pumpup"), await drawn("cycle")];
  const slider = page.locator("#f-rings + input[type=range]");
  await slider.focus();
  for (let i = 0; i < 20; i += 1) await page.keyboard.press("ArrowRight");
  await page.waitForFunction((old) => document.querySelector("#reading .big").textContent !== old, before[0]);
  await page.waitForFunction(() => document.querySelector("#result").textContent.includes("Leak past the rings"));
  check(Number.parseFloat(await page.inputValue("#f-rings")) > 1, "the number follows the slider");
  check(Number.parseFloat(await reading()) < Number.parseFloat(before[0]), "more leak, lower reading");
  check(await drawn("pumpup") !== before[1] && await drawn("cycle") !== before[2], "the drawings follow");
});

await promise("the last place of the slider is what is shown, and the address says it", async () => {
  const wanted = await page.inputValue("#f-rings");
  await page.waitForFunction((value) => new URLSearchParams(location.search).get("rings") === value, wanted);
  const shown = await reading();
  await page.reload();
  same(await reading(), shown, "the reading after loading the address anew");
  same(await page.inputValue("#f-rings + input[type=range]"), wanted, "the slider");
});

await promise("the reading stays on a phone's screen while the last slider moves", async () => {
  await page.locator("#f-exhaust_valve + input[type=range]").focus();
  await page.keyboard.press("ArrowRight");
  const [above, own] = [await page.locator("#reading").boundingBox(), await page.locator("#f-exhaust_valve").boundingBox()];
  check(above.y >= -1 && above.y + above.height < own.y && own.y + own.height <= PHONE.height, `${JSON.stringify(above)} ${JSON.stringify(own)}`);
});

await promise("what cannot be is said at once, and goes when it is mended", async () => {
  await page.fill("#f-strokes", "0");
  await page.waitForSelector("#refused [role=alert]");
  check((await page.textContent("#refused")).includes("Compression strokes"), "it names the input");
  await page.fill("#f-strokes", "5");
  await page.waitForSelector("#refused [role=alert]", { state: "detached" });
});

await server.end();
await kept();
