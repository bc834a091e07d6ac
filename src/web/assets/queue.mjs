// Entries made on this device wait here until the server has them, and are sent once each, in the order made.
//
//  1. An entry is kept before it is sent, and let go of only when the server has said that it is stored, when it has refused it while the form
//     still holds it, or when the person takes it out.
//  2. Each carries a random id made when it was entered; the server stores an id once, however often it arrives.
//  3. What a page has sent is noted in its place in the browser's history. Gone back to and sent again unchanged, the entry has the same id, and the person is told
//     that it was taken already.
//  4. Where this browser can keep nothing, forms are sent as without scripts.

const PREFIX = "crosshatch.waiting.";
const RETRY_MS = 2500;
const PATIENCE_MS = 8000;

function randomId() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

// All that waits, oldest first. Every entry has a key of its own, so that two pages of this site do not overwrite each other's.
function waiting() {
  const entries = [];
  for (let i = 0; i < localStorage.length; i++) {
    const key = localStorage.key(i);
    if (!key.startsWith(PREFIX)) continue;
    try {
      entries.push({ key, ...JSON.parse(localStorage.getItem(key)) });
    } catch {
      // Not ours to throw away: it stays where it is.
    }
  }
  return entries.sort((a, b) => (a.key < b.key ? -1 : 1));
}

let counted = 0;
function keep(entry) {
  counted += 1;
  const order = `${String(Date.now()).padStart(15, "0")}.${String(counted).padStart(6, "0")}`;
  const key = `${PREFIX}${order}.${randomId()}`;
  localStorage.setItem(key, JSON.stringify(entry));
  return key;
}

// ---------------------------------------------------------------- sending

async function ask(url, options) {
  const stop = new AbortController();
  const clock = setTimeout(() => stop.abort(), PATIENCE_MS);
  try {
    return await fetch(url, { cache: "no-store", redirect: "manual", signal: stop.signal, ...options });
  } finally {
    clearTimeout(clock);
  }
}

async function freshToken() {
  const answer = await ask("/token", {});
  if (!answer.ok) return null;
  return (await answer.json()).token;
}

// "stored", "refused", or "away".
async function send(entry) {
  try {
    const token = await freshToken();
    if (token === null) return "away";
    const body = new URLSearchParams([["token", token], ["answer", "json"], ...entry.fields]);
    const answer = await ask(entry.url, { method: "POST", body });
    if (answer.ok && typeof (await answer.json()).stored === "number") {
      localStorage.removeItem(entry.key);
      return "stored";
    }
    if (answer.status !== 422 && answer.status !== 404 && answer.status !== 400) return "away";
    const said = await answer.json().catch(() => ({ refused: "there is no such sheet any more" }));
    const { key, ...rest } = entry;
    localStorage.setItem(key, JSON.stringify({ ...rest, refused: said.refused }));
    return "refused";
  } catch {
    return "away";
  }
}

async function sendWaiting() {
  for (const entry of waiting()) {
    if (entry.refused) continue;
    const outcome = await send(entry);
    if (outcome === "stored") dispatchEvent(new CustomEvent("crosshatch:stored"));
    if (outcome === "away") break;
  }
  show();
}

// One at a time: in this page by the promise, among pages by a lock where the browser has one. Without it the server's "once" still holds.
let running = Promise.resolve();
function sendAll() {
  running = running.then(() =>
    navigator.locks ? navigator.locks.request("crosshatch.queue", sendWaiting) : sendWaiting());
  return running;
}

// ---------------------------------------------------------------- what is seen of it

function element(name, text, properties = {}) {
  const made = Object.assign(document.createElement(name), properties);
  if (text) made.textContent = text;
  return made;
}

function line(entry) {
  const item = element("li", entry.label);
  if (!entry.refused) return item;
  item.append(element("br"), element("strong", "Not taken: "), entry.refused, element("br"));
  const correct = element("button", "Correct it", { type: "button", className: "second" });
  correct.addEventListener("click", () => correctWaiting(entry));
  const again = element("button", "Try again", { type: "button", className: "second" });
  again.addEventListener("click", () => {
    const { key, refused, ...rest } = entry;
    localStorage.setItem(key, JSON.stringify(rest));
    sendAll();
  });
  const out = element("button", "Take it out", { type: "button", className: "second" });
  out.addEventListener("click", () => {
    if (!confirm(`Take this entry out for good? ${entry.label}`)) return;
    localStorage.removeItem(entry.key);
    show();
  });
  item.append(correct, " ", again, " ", out);
  return item;
}

function show() {
  const entries = waiting();
  let box = document.getElementById("waiting");
  if (entries.length === 0) {
    box?.remove();
    return;
  }
  if (box === null) {
    box = element("section", "", { id: "waiting", className: "notice" });
    box.setAttribute("role", "status");
    box.setAttribute("aria-label", "Entries that wait on this device");
    box.append(element("details"));
    document.getElementById("main").append(box);
  }
  const [refused, open] = [entries.filter((entry) => entry.refused), entries.filter((entry) => !entry.refused)];
  // One line at the foot of the screen, which hides nothing that is typed in; the rest is a tap away.
  const heads = [];
  const rest = [];
  for (const [some, one, more, words] of [
    [refused, "1 entry was not taken", "entries were not taken", "What was typed is kept here until you correct it or take it out."],
    [open, "1 entry waits on this device", "entries wait on this device", "They are sent, once each and in order, when the computer answers. This page may be closed meanwhile."]]) {
    if (some.length === 0) continue;
    const list = element("ul", "", { className: "plain" });
    list.append(...some.map(line));
    heads.push(some.length === 1 ? one : `${some.length} ${more}`);
    rest.push(element("p", words), list);
  }
  box.firstChild.replaceChildren(element("summary", heads.join(", ")), ...rest);
}

// ---------------------------------------------------------------- forms

function label(form) {
  const said = [];
  for (const [name, value] of new FormData(form))
    if (value && !["token", "entry", "kind", "cylinder"].includes(name)) said.push(value);
  return `Cylinder ${form.elements.cylinder?.value ?? "?"}: ${said.join(" / ")}`;
}

function go(path) {
  const target = new URL(path, location.href);
  if (target.pathname === location.pathname && target.search === location.search) location.reload();
  else location.assign(target);
}

// With the server away the page cannot be loaded again: the form goes on to the next cylinder by itself.
function goOn(form) {
  const bores = [...document.querySelectorAll("#engine a.bore")];
  const numbers = bores.map((bore) => new URL(bore.href).searchParams.get("cylinder"));
  const here = numbers.indexOf(form.elements.cylinder.value);
  choose(form, numbers[(here + 1) % numbers.length]);
}

function choose(form, cylinder) {
  form.reset();
  form.elements.cylinder.value = cylinder;
  document.querySelector("#which .big").textContent = cylinder;
  form.querySelector("button.wide").textContent = `Enter cylinder ${cylinder}`;
  for (const bore of document.querySelectorAll("#engine a.bore")) {
    if (new URL(bore.href).searchParams.get("cylinder") === cylinder) bore.setAttribute("aria-current", "true");
    else bore.removeAttribute("aria-current");
  }
  form.querySelector("input:not([type=hidden])").focus();
}

// What is typed where a number belongs has to begin as one: that is said at the field, before anything is kept or sent.
function isNumber(text) {
  return /^\s*[-+\u2212]?[.,]?\d/.test(text);
}

function checkNumber(input) {
  const wrong = input.value.trim() !== "" && !isNumber(input.value);
  input.setCustomValidity(wrong ? `"${input.value.trim()}" is not a number` : "");
}

// Why the server did not take it, above the form, which still holds what was typed; the cursor goes to the field that it names.
function refuse(form, words) {
  form.querySelector(".refusal")?.remove();
  const box = element("div", "", { className: "refusal" });
  box.setAttribute("role", "alert");
  box.append(element("p", words));
  form.prepend(box);
  const named = [...form.querySelectorAll("label[for]")].find((one) => words.startsWith(`${one.firstChild.textContent.trim()}:`));
  (named?.control ?? form.querySelector("input:not([type=hidden])")).focus();
}

// What a form of this kind sent before, into it: radio buttons and boxes by their values, the rest by name.
function putBack(form, fields) {
  choose(form, new Map(fields).get("cylinder"));
  for (const input of form.elements) {
    if (["token", "entry", "cylinder", "kind", ""].includes(input.name)) continue;
    const values = fields.filter(([name]) => name === input.name).map(([, value]) => value);
    if (input.type === "checkbox") input.checked = values.includes(input.value);
    else input.value = values[0] ?? "";
    input.dispatchEvent(new Event("input"));
  }
}

// An entry that the server did not take, into the form of its sheet and kind, on this page or on the one that has it. It waits until the
// form is sent.
function correctWaiting(entry) {
  const sent = new Map(entry.fields);
  const form = [...document.querySelectorAll(".queued form")].find((one) =>
    one.getAttribute("action") === entry.url && one.elements.kind.value === sent.get("kind"));
  if (form === undefined) {
    location.assign(`${entry.url}?kind=${sent.get("kind")}&cylinder=${sent.get("cylinder")}#${encodeURIComponent(entry.key)}`);
    return;
  }
  putBack(form, entry.fields);
  form.dataset.corrects = entry.key;
  refuse(form, entry.refused);
}

function queued(form) {
  for (const input of form.querySelectorAll("input[inputmode=decimal]")) input.addEventListener("input", () => checkNumber(input));
  form.addEventListener("submit", async (event) => {
    const fields = [...new FormData(form)].filter(([name]) => name !== "token" && name !== "entry");
    const what = JSON.stringify(fields);
    const before = history.state?.taken;
    const again = before?.what === what;
    const id = again ? before.id : randomId();
    fields.push(["entry", id]);
    let key = "";
    try {
      key = keep({ url: form.getAttribute("action"), fields, label: label(form) });
    } catch {
      return; // no room or no right to keep anything: the form goes out as it is
    }
    event.preventDefault();
    delete form.dataset.sent;
    if (form.dataset.corrects) localStorage.removeItem(form.dataset.corrects);
    delete form.dataset.corrects;
    show();
    await sendAll();
    const left = localStorage.getItem(key);
    const refused = left === null ? undefined : JSON.parse(left).refused;
    if (refused !== undefined) { // it is in the form, and need not wait
      localStorage.removeItem(key);
      show();
      refuse(form, refused);
    } else if (left === null) {
      history.replaceState({ ...history.state, taken: { id, what } }, "");
      const told = again ? "again=1#again" : `saved=${Date.now()}#engine`;
      go(`${form.getAttribute("action")}?kind=${form.elements.kind.value}&${told}`);
    } else {
      form.querySelector(".refusal")?.remove();
      goOn(form);
    }
  });
  document.getElementById("engine")?.addEventListener("click", (event) => {
    const bore = event.target.closest("a.bore");
    if (bore === null || waiting().length === 0) return;
    event.preventDefault();
    choose(form, new URL(bore.href).searchParams.get("cylinder"));
  });
}

for (const form of document.querySelectorAll(".queued form")) queued(form);
show();
for (const entry of waiting()) if (entry.refused && location.hash === `#${encodeURIComponent(entry.key)}`) correctWaiting(entry);
if (waiting().length > 0) sendAll();
setInterval(() => {
  if (waiting().some((entry) => !entry.refused)) sendAll();
}, RETRY_MS);
addEventListener("online", sendAll);
