// The what-if page with sliders: each number gets one beside it, and every move is worked out by the server while the finger is still on it.
// One question is under way at a time; what moved meanwhile is asked next, so that a slow machine skips moves and never queues them.

const form = document.getElementById("moves");
const play = document.getElementById("play");
const said = document.getElementById("said");
const SAY_AFTER_MS = 700; // of rest: a screen reader need not hear every step on the way

const number = (text) => (/^\s*[-+]?\d+([.,]\d+)?\s*$/.test(text) ? Number.parseFloat(text.replace(",", ".")) : Number.NaN);

for (const input of form.querySelectorAll("input[data-least]")) {
  const slider = document.createElement("input");
  const label = form.querySelector(`label[for="${input.id}"]`);
  slider.type = "range";
  slider.min = input.dataset.least;
  slider.max = input.dataset.most;
  slider.step = input.dataset.step;
  slider.setAttribute("aria-label", `${label.firstChild.textContent.trim()}, slider`);
  const follow = () => {
    const value = number(input.value);
    if (!Number.isNaN(value)) slider.value = String(value);
  };
  follow();
  // The number stays as typed; the slider has no name, so that it is not sent.
  slider.addEventListener("input", () => {
    input.value = String(Number.parseFloat(slider.value));
    ask();
  });
  input.addEventListener("input", () => {
    follow();
    ask();
  });
  input.after(slider);
}
form.addEventListener("change", (event) => {
  if (event.target.type === "radio") ask();
});
form.addEventListener("submit", (event) => {
  event.preventDefault();
  ask();
});
play.classList.add("live");

let asking = false;
let again = false;
let saying = 0;

function show(fresh) {
  for (const id of ["refused", "reading", "result"]) {
    const from = fresh.getElementById(id);
    const to = document.getElementById(id);
    if (from === null) continue; // refused: the last answer stays, and the line above says why
    if (to === null) {
      if (id === "reading") form.before(from);
      else play.append(from);
      continue;
    }
    const open = to.querySelector("details")?.open;
    to.replaceChildren(...from.childNodes);
    if (open) to.querySelector("details").open = true;
  }
  clearTimeout(saying);
  saying = setTimeout(() => {
    if (document.querySelector("#refused [role=alert]") === null)
      said.textContent = [...document.querySelectorAll("#reading .outcome > :not(a)")].map((one) => one.textContent).join(" ");
  }, SAY_AFTER_MS);
}

async function ask() {
  if (asking) {
    again = true;
    return;
  }
  asking = true;
  try {
    do {
      again = false;
      const query = new URLSearchParams(new FormData(form)).toString();
      const answer = await fetch(`/whatif/result?${query}`, { cache: "no-store" });
      if (answer.ok || answer.status === 422) {
        show(new DOMParser().parseFromString(await answer.text(), "text/html"));
        history.replaceState(null, "", `/whatif?${query}`);
      }
    } while (again);
  } catch {
    said.textContent = "The computer does not answer.";
  } finally {
    asking = false;
  }
}
