// A phone that trusts the garage's own authority: encrypted, and pages that open while the server is away. Runs Chromium with a home of its own, in
// whose store the authority stands, as on a phone that was told.
import { spawnSync } from "node:child_process";
import { mkdirSync, writeFileSync } from "node:fs";
import http from "node:http";
import https from "node:https";
import { PHONE, check, fill, kept, launch, newGarage, own, promise, same, serve } from "./kit.mjs";

const options = ["--tls"];
const garage = newGarage("tls.db");
let server = await serve({ garage, options });
const port = server.port;

function get(url, settings) {
  return new Promise((done, failed) => {
    (url.startsWith("https") ? https : http).get(url, settings, (answer) => {
      const parts = [];
      answer.on("data", (part) => parts.push(part));
      answer.on("end", () => done({ status: answer.statusCode, headers: answer.headers, body: Buffer.concat(parts) }));
    }).on("error", failed);
  });
}

const authority = (await get(`${server.base}/certificate`, { rejectUnauthorized: false })).body;
const pem = `-----BEGIN CERTIFICATE-----\n${authority.toString("base64").replace(/(.{64})/g, "$1\n").trimEnd()}\n-----END CERTIFICATE-----\n`;

await promise("the_terminal_shows_the_fingerprint_of_the_certificate_that_is_handed_out", async () => {
  const { createHash } = await import("node:crypto");
  const wanted = createHash("sha256").update(authority).digest("hex").toUpperCase().match(/../g).join(":");
  check(server.said().includes(wanted), `${wanted} is not in what the terminal shows`);
});

await promise("who_trusts_the_authority_is_served_by_every_name_of_this_machine", async () => {
  for (const name of ["localhost", "127.0.0.1"]) {
    const answer = await get(`https://${name}:${port}/`, { ca: pem });
    same(answer.status, 200, name);
    check(answer.headers["set-cookie"].every((cookie) => /; Secure/.test(cookie)), "a cookie that goes out in the clear");
  }
});

await promise("who_does_not_trust_it_is_not_served", async () => {
  let refused = "";
  await get(`${server.base}/`, {}).catch((error) => { refused = error.code; });
  check(["UNABLE_TO_VERIFY_LEAF_SIGNATURE", "SELF_SIGNED_CERT_IN_CHAIN", "UNABLE_TO_GET_ISSUER_CERT_LOCALLY"].includes(refused), refused);
});

// As a thief of its key would: a certificate for somebody else's name, signed with it.
await promise("the_authority_cannot_vouch_for_other_names", async () => {
  const folder = own("thief");
  mkdirSync(folder);
  const state = own("state/crosshatch");
  const openssl = (...words) => spawnSync("openssl", words, { cwd: folder, encoding: "utf8" });
  writeFileSync(`${folder}/names`, "subjectAltName=DNS:bank.example\n");
  const made = openssl("req", "-newkey", "rsa:2048", "-nodes", "-keyout", "key.pem", "-subj", "/CN=bank.example", "-out", "ask.pem");
  same(made.status, 0, `openssl req: ${made.stderr ?? made.error}`);
  const signed = openssl("x509", "-req", "-in", "ask.pem", "-CA", `${state}/authority.pem`, "-CAkey", `${state}/authority-key.pem`,
    "-CAcreateserial", "-CAserial", "serial", "-extfile", "names", "-days", "30", "-out", "bank.pem");
  same(signed.status, 0, `openssl x509: ${signed.stderr}`);
  const verified = openssl("verify", "-CAfile", `${state}/authority.pem`, "bank.pem");
  check(verified.status !== 0 && /permitted subtree violation/.test(verified.stdout + verified.stderr), verified.stdout + verified.stderr);
});

await promise("nothing_is_served_in_the_clear_or_by_old_versions", async () => {
  let failures = 0;
  await get(`http://localhost:${port}/`, {}).catch(() => { failures += 1; });
  await get(`https://localhost:${port}/`, { ca: pem, maxVersion: "TLSv1.1", minVersion: "TLSv1" }).catch(() => { failures += 1; });
  same(failures, 2, "refusals");
});

await promise("the_certificate_stays_the_same_from_start_to_start", async () => {
  await server.end();
  server = await serve({ garage, port, options });
  const again = (await get(`${server.base}/certificate`, { ca: pem })).body;
  check(authority.equals(again), "another certificate");
});

// ---------------------------------------------------------------- as a phone

const home = own("phone");
mkdirSync(`${home}/.pki/nssdb`, { recursive: true });
writeFileSync(`${home}/authority.pem`, pem);
const told = ["-N --empty-password", `-A -n garage -t C,, -i ${home}/authority.pem`]
  .every((words) => spawnSync("certutil", ["-d", `sql:${home}/.pki/nssdb`, ...words.split(" ")]).status === 0);

async function enterAway(page, reading) {
  const before = await page.evaluate(() => localStorage.length);
  await page.fill("input[name=reading]", String(reading));
  await page.click("button:has-text('Enter cylinder')");
  await page.waitForFunction((count) => localStorage.length === count + 1, before);
  await page.waitForFunction(() => document.querySelector("input[name=reading]").value === "");
}

await promise("a_phone_that_trusts_it_enters_twelve_readings_with_the_server_away_and_all_arrive_once", async () => {
  check(told, "certutil (libnss3-tools) could not tell the browser");
  const phone = await launch({ HOME: home });
  const context = await phone.newContext({ viewport: PHONE });
  let page = await context.newPage();
  const sheet = await fill(page, server.base, [[1, 178]]);
  await page.goto(`${server.base}${sheet}/measure`);
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.reload();
  await server.end("SIGKILL");
  const wanted = [];
  for (let i = 0; i < 6; i++) {
    wanted.push(String(171 + i));
    await enterAway(page, 171 + i);
  }
  await page.close();
  page = await context.newPage();
  await page.goto(`https://localhost:${port}${sheet}/measure`);
  check((await page.textContent("#waiting")).includes("6 entries wait"), "the six are not shown");
  for (let i = 0; i < 6; i++) {
    wanted.push(String(181 + i));
    await enterAway(page, 181 + i);
  }
  await page.close();
  server = await serve({ garage, port, options });
  page = await context.newPage();
  await page.goto(server.base);
  await page.waitForFunction(() => localStorage.length === 0);
  await page.goto(`${server.base}${sheet}/measure`);
  const got = await page.$$eval("#live tbody tr", (rows) => rows.map((row) => row.cells[1].textContent.split("/").pop().trim()));
  same(got, ["178", ...wanted], "readings");
});

await server.end();
await kept();
