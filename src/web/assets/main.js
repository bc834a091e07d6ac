// What every page gets on top of what works without scripts. Each part looks for its own elements and does nothing without them.

// A form is sent once, however often its button is tapped. The server would cope with more; the person need not wonder.
for (const form of document.querySelectorAll("form[method=post]")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
  });
}

// Coming back by the back button shows the page as it was left: forms may be sent again.
addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});

// On a connection that nobody can meddle with (this machine, or TLS) pages stay readable while the computer is away.
if ("serviceWorker" in navigator && isSecureContext) navigator.serviceWorker.register("/worker.js");

// "Saved." is said once: not again when the page is loaded again or gone back to. The address stays: another one's copy in the browser is older.
if (performance.getEntriesByType("navigation")[0]?.type !== "navigate") document.querySelector(".saved")?.remove();
