// The measuring page between loads: what another phone entered appears within two seconds, the picture of the engine with it, and an odd
// number is asked about while it is typed. Nothing here stands in the way of an entry.

const LOOK_EVERY_MS = 1200;

// ---------------------------------------------------------------- what others enter

const live = document.getElementById("live");
const revisionPath = location.pathname.replace(/\/measure$/, "/revision");

function replace(fresh, id) {
  const from = fresh.getElementById(id);
  const to = document.getElementById(id);
  if (from === null || to === null) return;
  const chosen = to.querySelector("[aria-current]")?.getAttribute("href");
  to.replaceChildren(...from.childNodes);
  Object.assign(to.dataset, from.dataset);
  for (const link of to.querySelectorAll("a.bore")) {
    if (chosen === undefined) continue;
    if (link.getAttribute("href") === chosen) link.setAttribute("aria-current", "true");
    else link.removeAttribute("aria-current");
  }
}

async function refresh() {
  const answer = await fetch(location.pathname + location.search, { cache: "no-store" });
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  replace(fresh, "live");
  replace(fresh, "engine");
}

function away(is) {
  let box = document.getElementById("away");
  if (!is) {
    box?.remove();
    return;
  }
  if (box !== null) return;
  box = document.createElement("p");
  box.id = "away";
  box.className = "notice";
  box.setAttribute("role", "status");
  box.textContent = "The computer does not answer. Go on entering: entries wait on this device.";
  document.querySelector("h1").after(box);
}

let looking = false;
async function look() {
  if (looking || document.hidden || live === null) return;
  looking = true;
  try {
    const answer = await fetch(revisionPath, { cache: "no-store" });
    away(false);
    if (answer.ok && String((await answer.json()).revision) !== live.dataset.revision) await refresh();
  } catch {
    away(true);
  } finally {
    looking = false;
  }
}

setInterval(look, LOOK_EVERY_MS);
addEventListener("crosshatch:stored", look);
document.addEventListener("visibilitychange", look);

// ---------------------------------------------------------------- is this right?

const PSI_PER_BAR = 14.503774;

function doubt(box, value) {
  const least = Number.parseFloat(box.dataset.least);
  const most = Number.parseFloat(box.dataset.most);
  const unit = box.dataset.unit;
  if (!(value > 0) || !(most > least)) return "";
  const inside = (number) => number >= least && number <= most;
  if (inside(value)) return "";
  if (unit === "psi" && inside(value * PSI_PER_BAR)) return `${value} looks like bar. psi? Write "${value} bar" if it is.`;
  if (unit === "bar" && inside(value / PSI_PER_BAR)) return `${value} looks like psi. Write "${value} psi" if it is.`;
  if (inside(value / 10)) return `${value} ${unit}: one digit too many?`;
  if (value > most) return `${value} ${unit} is more than any engine shows.`;
  return inside(value * 10) ? `${value} ${unit}: one digit missing?` : "";
}

for (const box of document.querySelectorAll(".queued[data-unit]")) {
  const input = box.querySelector("input[name=reading]");
  if (input === null) continue;
  const said = document.createElement("p");
  said.className = "hint";
  said.setAttribute("role", "status");
  input.after(said);
  input.addEventListener("input", () => {
    // A number with a unit of its own says what it means.
    const typed = input.value.trim().replace(",", ".");
    said.textContent = /^[0-9.]+$/.test(typed) ? doubt(box, Number.parseFloat(typed)) : "";
  });
}
