// What every page gets on top of what works without scripts. Each part looks for its own elements and does nothing without them.

const PATIENCE_MS = 4000;
const RETRY_MS = 2500;

// Whether the computer answers; what it says is no matter.
async function answers() {
  const stop = new AbortController();
  const clock = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    await fetch("/token", { cache: "no-store", signal: stop.signal });
    return true;
  } catch {
    return false;
  } finally {
    clearTimeout(clock);
  }
}

function sayAway(form, button) {
  if (form.querySelector(".unsent") !== null) return;
  const box = document.createElement("p");
  box.className = "notice unsent";
  box.setAttribute("role", "alert");
  box.textContent = "The computer does not answer. Nothing of this is stored yet; it is sent by itself when the computer answers, as long as this page stays open.";
  if (button !== null && form.contains(button)) button.before(box);
  else form.append(box);
  box.scrollIntoView({ block: "nearest" });
}

// A form is sent once, however often its button is tapped: the server would cope with more, but the person need not wonder. And it is sent when
// the computer answers, or the browser would show its own error in place of the page. Entries of readings wait in a queue of their own.
for (const form of document.querySelectorAll("form[method=post]")) {
  form.addEventListener("submit", async (event) => {
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    if (form.dataset.there || form.closest(".queued") !== null || form.requestSubmit === undefined) return;
    event.preventDefault();
    const button = event.submitter;
    while (!await answers()) {
      sayAway(form, button);
      await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
    }
    form.querySelector(".unsent")?.remove();
    delete form.dataset.sent;
    form.dataset.there = "yes";
    form.requestSubmit(button);
  });
}

// Coming back by the back button shows the page as it was left: forms may be sent again.
addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form")) {
    delete form.dataset.sent;
    delete form.dataset.there;
  }
});

// Of jobs of which only one is done: said as soon as both are ticked.
const only = [...document.querySelectorAll("[data-both]")];
function sayBoth() {
  for (const said of only) {
    const [job, other] = said.dataset.both.split(" ").map((id) => document.querySelector(`[name=in][value="${id}"]`)?.checked);
    said.hidden = !(job && other);
  }
}
if (only.length > 0) {
  document.addEventListener("change", sayBoth);
  addEventListener("pageshow", sayBoth);
}

// On a connection that nobody can meddle with (this machine, or TLS) pages stay readable while the computer is away.
if ("serviceWorker" in navigator && isSecureContext) navigator.serviceWorker.register("/worker.js");

// "Saved." is said once: not again when the page is loaded again or gone back to. The address stays: another one's copy in the browser is older.
if (performance.getEntriesByType("navigation")[0]?.type !== "navigate") document.querySelector(".saved")?.remove();
