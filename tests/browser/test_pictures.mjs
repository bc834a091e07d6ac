// The README's pictures can be made, and each that it shows is one of them.
import { existsSync, readFileSync, statSync } from "node:fs";
import path from "node:path";
import { check, kept, own, promise, same } from "./kit.mjs";
import { pictures } from "./pictures.mjs";

const source = process.env.CROSSHATCH_SOURCE;
let made = [];

await promise("the_pictures_of_the_readme_can_be_made_again", async () => {
  made = await pictures(own("pictures"));
  for (const name of made) check(statSync(path.join(own("pictures"), `${name}.png`)).size > 5000, `${name} is empty`);
});

await promise("the_readme_shows_pictures_that_are_made_here_and_lie_there", async () => {
  const shown = [...readFileSync(path.join(source, "README.md"), "utf8").matchAll(/docs\/pictures\/([a-z-]+)\.png/g)].map((one) => one[1]);
  check(shown.length >= 3, "the README shows no pictures");
  for (const name of shown) check(existsSync(path.join(source, "docs/pictures", `${name}.png`)), `${name} is missing`);
  same(shown.filter((name) => !made.includes(name)), [], "pictures that nothing makes");
});

await kept();
