// Pages and what they need stay readable while the computer is away: the newest copy is shown, and entries wait in the page's queue.
// Only what was read before is kept; nothing is sent from here.

const STORE = "crosshatch-1";
const PATIENCE_MS = 4000;
const ALWAYS = ["/", "/asset/look.css", "/asset/garage.css", "/asset/main.js", "/asset/queue.mjs", "/asset/measure.mjs", "/asset/timer.mjs", "/asset/icon.svg"];

addEventListener("install", (event) => {
  event.waitUntil(caches.open(STORE).then((store) => store.addAll(ALWAYS)).then(() => skipWaiting()));
});

addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name !== STORE) await caches.delete(name);
    await clients.claim();
  })());
});

function kept(url) {
  return url.pathname === "/" || url.pathname.startsWith("/asset/") || url.pathname.startsWith("/sheet/");
}

// The address under which a page is kept: what it said when it was led to by a form is nothing of the page.
function plain(url) {
  const address = new URL(url);
  for (const said of ["saved", "again"]) address.searchParams.delete(said);
  return address.href;
}

async function copy(request, url) {
  const store = await caches.open(STORE);
  // Another cylinder's page of the same sheet serves as well: the form goes from cylinder to cylinder by itself.
  return (await store.match(plain(url))) ?? (await store.match(request, { ignoreSearch: true })) ??
    (request.mode === "navigate" && url.pathname !== "/" ? await store.match("/") : undefined);
}

// Whether the computer answers at all: judging a large sheet takes longer than anybody waits for one that is gone.
async function there() {
  const stop = new AbortController();
  const clock = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    await fetch("/asset/icon.svg", { cache: "no-store", signal: stop.signal });
    return true;
  } catch {
    return false;
  } finally {
    clearTimeout(clock);
  }
}

async function answer(request, url) {
  const stop = new AbortController();
  const clock = setTimeout(async () => { if (!await there()) stop.abort(); }, PATIENCE_MS);
  try {
    const fresh = await fetch(request, { signal: stop.signal });
    if (fresh.ok && kept(url)) (await caches.open(STORE)).put(plain(url), fresh.clone());
    return fresh;
  } catch (failure) {
    const old = await copy(request, url);
    if (old === undefined) throw failure;
    return old;
  } finally {
    clearTimeout(clock);
  }
}

addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  // What asks whether the computer is there must not be answered from here.
  if (event.request.mode !== "navigate" && !url.pathname.startsWith("/asset/")) return;
  event.respondWith(answer(event.request, url));
});
