// Every chart of inputs at the ends of what there is (tests/charts/draw_charts.c), in Chromium: well-formed, no label cut off, none over another, named
// for a screen reader, and in the same places as librsvg draws it.
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync } from "node:fs";
import path from "node:path";
import { browser, check, kept, own, promise, same } from "./kit.mjs";

const folder = own("charts");
mkdirSync(folder);
execFileSync(process.env.DRAW_CHARTS, [folder]);
const names = readdirSync(folder).filter((name) => name.endsWith(".svg")).map((name) => name.slice(0, -4)).sort();
const page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
await page.setContent("<!doctype html><title>charts</title><style id='font'></style><body style='margin:0;background:#fff'><div id='at'></div>");

// The widest and the narrowest of the fonts that usually stand for "sans-serif".
const FONTS = ["DejaVu Sans", "Liberation Sans"];

// Put a drawing into the page and look at it.
const look = (text, font = FONTS[0]) => page.evaluate(([markup, family]) => {
  const read = new DOMParser().parseFromString(markup, "image/svg+xml");
  const broken = read.querySelector("parsererror");
  if (broken) return { broken: broken.textContent };
  const at = document.querySelector("#at");
  document.querySelector("#font").textContent = `text { font-family: "${family}" }`;
  at.replaceChildren(document.importNode(read.documentElement, true));
  const svg = at.firstChild, [, , width, height] = svg.getAttribute("viewBox").split(" ").map(Number);
  const size = svg.getBoundingClientRect();
  const texts = [...svg.querySelectorAll("text")].filter((one) => one.textContent !== "").map((one) => {
    // Turned words: the box of their turned corners.
    const box = one.getBBox(), to = svg.getScreenCTM().inverse().multiply(one.getScreenCTM());
    const corners = [[0, 0], [1, 0], [0, 1], [1, 1]].map(([i, j]) => new DOMPoint(box.x + i * box.width, box.y + j * box.height).matrixTransform(to));
    const [x, y] = ["x", "y"].map((axis) => Math.min(...corners.map((corner) => corner[axis])));
    const wide = Math.max(...corners.map((corner) => corner.x)) - x, high = Math.max(...corners.map((corner) => corner.y)) - y;
    // A line of text is higher than its letters: of neighbours below each other the letters count.
    return { words: one.textContent, left: x, right: x + wide, top: y + 0.22 * high, bottom: y + 0.86 * high, size: parseFloat(getComputedStyle(one).fontSize) };
  });
  const bars = [...svg.querySelectorAll("rect.svg-reading, rect.svg-band")].map((one) => one.getBBox());
  const outside = [...svg.querySelectorAll("rect, line, circle, path, polyline")].map((one) => [one, one.getBBox()])
    .filter(([, box]) => box.x < -1 || box.y < -1 || box.x + box.width > width + 1 || box.y + box.height > height + 1)
    .map(([one]) => one.outerHTML.slice(0, 120));
  return { width, height, shown: [size.width, size.height], role: svg.getAttribute("role"), texts, bars, outside, ids: [...svg.querySelectorAll("[id]")].map((one) => one.id),
    title: svg.querySelector("title")?.textContent ?? "", desc: svg.querySelector("desc")?.textContent ?? "",
    labelled: svg.getAttribute("aria-labelledby"), described: svg.getAttribute("aria-describedby"),
    lone: svg.querySelectorAll("script, style, image, use, foreignObject, [style], [href]").length };
}, [text, font]);

const cut = (seen) => seen.texts.filter((one) => one.left < -0.5 || one.top < -0.5 || one.right > seen.width + 0.5 || one.bottom > seen.height + 0.5)
  .map((one) => `"${one.words}" from ${one.left.toFixed(1)} to ${one.right.toFixed(1)} of ${seen.width}, ${one.top.toFixed(1)} to ${one.bottom.toFixed(1)} of ${seen.height}`);
const overlaps = (seen) => seen.texts.flatMap((a, i) => seen.texts.slice(i + 1)
  .filter((b) => a.left < b.right - 0.5 && b.left < a.right - 0.5 && a.top < b.bottom - 0.5 && b.top < a.bottom - 0.5)
  .map((b) => `"${a.words}" and "${b.words}"`));

const overBars = (seen) => seen.texts.filter((a) => seen.bars.some((b) => b.width > 0 && b.height > 0 &&
  a.left < b.x + b.width - 0.5 && b.x < a.right - 0.5 && a.top < b.y + b.height - 0.5 && b.y < a.bottom - 0.5)).map((one) => `"${one.words}"`);

// What two drawings have where: the share of ink in each field of 12 x 12 px, from 0 to 1.
const FIELD = 12;
const inked = (bytes, kind) => page.evaluate(async ([data, type, field]) => {
  const image = new Image();
  image.src = `data:${type};base64,${data}`;
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = image.naturalWidth;
  canvas.height = image.naturalHeight;
  const pen = canvas.getContext("2d");
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(image, 0, 0);
  const dots = pen.getImageData(0, 0, canvas.width, canvas.height).data, wide = Math.ceil(canvas.width / field);
  const fields = new Array(wide * Math.ceil(canvas.height / field)).fill(0);
  for (let y = 0; y < canvas.height; y++)
    for (let x = 0; x < canvas.width; x++) {
      const i = 4 * (y * canvas.width + x);
      fields[Math.floor(y / field) * wide + Math.floor(x / field)] += (255 - (dots[i] + dots[i + 1] + dots[i + 2]) / 3) / 255 / field / field;
    }
  return { size: [canvas.width, canvas.height], fields };
}, [bytes.toString("base64"), kind, FIELD]);

// Ink of one less ink of the other, over all ink. Letters come from the same font but are shaped by others: some stays.
function difference(a, b) {
  const all = a.fields.reduce((sum, one) => sum + one, 0) + b.fields.reduce((sum, one) => sum + one, 0);
  return a.fields.reduce((sum, one, i) => sum + Math.abs(one - b.fields[i]), 0) / all;
}
const MOST_DIFFERENT = 0.09;

await promise("what is cut off and what overlaps is found", async () => {
  const bad = await look("<svg xmlns='http://www.w3.org/2000/svg' width='100' height='50' viewBox='0 0 100 50'><text x='80' y='20' font-size='14'>beyond</text>"
    + "<text x='5' y='20' font-size='14'>this one</text><text x='20' y='24' font-size='14'>that</text></svg>");
  same(cut(bad).length, 1, "cut off");
  same(overlaps(bad).length, 1, "overlaps");
  check("broken" in await look("<svg xmlns='http://www.w3.org/2000/svg'><text>&</text></svg>"), "an ampersand is not XML");
});

await promise("a chart that is drawn otherwise is found", async () => {
  const bytes = readFileSync(path.join(folder, "engine-one.png"));
  const other = readFileSync(path.join(folder, "engine-one.svg"), "utf8").replaceAll('"sans-serif"', `"${FONTS[0]}"`);
  const moved = other.replace(/class="svg-reading"/, 'transform="translate(14 0)" class="svg-reading"').replaceAll(/<text [^>]*>1<\/text>/g, "");
  const apart = difference(await inked(bytes, "image/png"), await inked(Buffer.from(moved), "image/svg+xml"));
  check(apart > 1.2 * MOST_DIFFERENT, `a bar that moved and labels that are gone make a difference of ${apart.toFixed(3)}`);
});

check(names.length > 60, `only ${names.length} charts`);
let worst = 0;
for (const name of names)
  await promise(`chart ${name}`, async () => {
    const text = readFileSync(path.join(folder, `${name}.svg`), "utf8");
    const seen = await look(text);
    same(seen.broken, undefined, "is no XML");
    for (const font of FONTS) {
      const set = await look(text, font);
      same(cut(set), [], `cut off in ${font}`);
      same(overlaps(set), [], `over each other in ${font}`);
      same(overBars(set), [], `over a bar in ${font}`);
    }
    same(seen.outside, [], "drawn outside");
    same([seen.role, seen.labelled, seen.described, seen.lone], ["img", seen.ids[0], seen.ids[1], 0], "named, and standing alone");
    check(seen.title.length > 5 && seen.desc.length > 5, `title "${seen.title}", description "${seen.desc}"`);
    check(seen.texts.every((one) => one.size >= 13), "letters smaller than 13 px");
    check(seen.width <= 400, `${seen.width} px wide: a phone shrinks it below what can be read`);
    same(seen.shown, [seen.width, seen.height], "as large as it says");
    // The same font for both: which one stands for "sans-serif" differs.
    const [here, there] = [await inked(Buffer.from(text.replaceAll('"sans-serif"', `"${FONTS[0]}"`)), "image/svg+xml"), await inked(readFileSync(path.join(folder, `${name}.png`)), "image/png")];
    same(there.size, here.size.map((one, i) => Math.max(one, Math.ceil(seen.shown[i]))), "size by librsvg");
    const apart = difference(here, there);
    worst = Math.max(worst, apart);
    check(apart <= MOST_DIFFERENT, `drawn differently by librsvg: ${apart.toFixed(3)}`);
  });
// The pictures of the documentation, as they were made (bench/study_plot.c).
const pictures = path.join(process.env.CROSSHATCH_SOURCE, "docs/pictures");
for (const name of readdirSync(pictures).filter((one) => one.endsWith(".svg")))
  await promise(`picture ${name}`, async () => {
    for (const font of FONTS) {
      const seen = await look(readFileSync(path.join(pictures, name), "utf8"), font);
      same([seen.broken, seen.role], [undefined, "img"], "is no XML, or no image");
      same([cut(seen), overlaps(seen), seen.outside], [[], [], []], `cut off, over each other, or outside in ${font}`);
      check(seen.title.length > 5 && seen.desc.length > 5, "no title or description");
    }
  });
console.log(`# most different between Chromium and librsvg: ${worst.toFixed(3)}`);
await kept();
