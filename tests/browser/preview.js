// Watches a page of the preview in Debian's Chromium while its lesson is edited as people and their
// editors do: saved in place, broken, mended, renamed over, written in a burst, deleted and put back.
//
//   node preview.js ROPELEAF PACK
//
// PACK is copied first. Prints how long it took from each save to the page that shows it. Exit
// status 1 and a line for each thing that is wrong. Times are printed, not judged.

import { spawn } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { createServer, request } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const [program, pack] = process.argv.slice(2);
if (!pack) {
  console.error("usage: node preview.js ROPELEAF PACK");
  process.exit(2);
}
const args = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"];
const PATIENCE_MS = 60000;
const wrong = [];
const times = [];

function expect(ok, what) {
  if (!ok) {
    wrong.push(what);
    console.log("wrong: " + what);
  }
}

const home = mkdtempSync(join(tmpdir(), "preview-"));
const content = join(home, "content");
cpSync(pack, content, { recursive: true });
const lesson = join(content, "lessons", "held-by-two-lines.md");
const original = readFileSync(lesson, "utf8");
const heading = "## The hold";
if (!original.includes(heading)) throw new Error(`${lesson} has no ${heading}`);
const retitled = (word) => original.replace(heading, "## " + word);

// A taken port must give way to the next free one.
const taken = createServer().listen(0, "127.0.0.1");
await new Promise((done) => taken.once("listening", done));
const port = taken.address().port;
const preview = spawn(program, ["preview", content, "--port", String(port)], { stdio: ["ignore", "pipe", "inherit"] });
let said = "";
const address = await new Promise((done, fail) => {
  preview.stdout.on("data", (data) => {
    said += data;
    const found = said.match(/http:\/\/127\.0\.0\.1:(\d+)\//);
    if (found) done(found[0]);
  });
  preview.once("exit", () => fail(new Error("the preview ended: " + said)));
});
expect(Number(new URL(address).port) !== port, "a taken port was not left alone");

// An answer to a request with any Host header and any path, as no browser would send it.
function ask(path, host) {
  const at = new URL(address);
  return new Promise((done, fail) => {
    const question = request({ host: at.hostname, port: at.port, path, headers: { Host: host || at.host } }, (answer) => {
      answer.resume();
      answer.once("end", () => done(answer));
    });
    question.once("error", fail);
    question.end();
  });
}

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args });
try {
  const page = await browser.newPage();
  const url = address + "site/lessons/held-by-two-lines.html";
  await page.goto(url);
  const shows = (text) => page.waitForFunction(
    (text) => [...document.querySelectorAll("h2")].some((h) => h.textContent.includes(text)) && !document.querySelector("pre[role=alert]"),
    text, { timeout: PATIENCE_MS, polling: 5 });
  const complains = (text) => page.waitForFunction(
    (text) => document.querySelector("pre[role=alert]")?.textContent.includes(text),
    text, { timeout: PATIENCE_MS, polling: 5 });

  async function watched(what, act, seen) {
    const began = performance.now();
    act();
    try {
      await seen();
      times.push([what, performance.now() - began]);
    } catch {
      expect(false, `${what}: the page does not show it; it shows ${await page.title()}`);
    }
  }

  await shows("The hold");
  const first = await ask("/site/lessons/held-by-two-lines.html");
  expect(first.headers["cache-control"] === "no-store", "a page may be kept by the browser");

  for (const word of ["First save", "Second save", "Third save"]) {
    await watched(`save in place (${word})`, () => writeFileSync(lesson, retitled(word)), () => shows(word));
  }
  await watched("a mistake", () => writeFileSync(lesson, original.replace("[climber]", "[climbr]")), () => complains("climbr"));
  expect(/held-by-two-lines\.md:\d+:\d+/.test(await page.locator("pre[role=alert]").textContent()), "the mistake has no file and line");
  expect(await page.locator("h2", { hasText: "Third save" }).count() > 0, "the last good page is not kept under the mistake");
  await watched("mended", () => writeFileSync(lesson, retitled("Mended")), () => shows("Mended"));
  await watched("renamed over", () => {
    const part = join(content, "lessons", ".held-by-two-lines.md.part");
    writeFileSync(part, retitled("Renamed over"));
    renameSync(part, lesson);
  }, () => shows("Renamed over"));
  await watched("emptied, then written", () => {
    writeFileSync(lesson, "");
    writeFileSync(lesson, retitled("Written again"));
  }, () => shows("Written again"));
  await watched("a burst of saves", () => {
    for (let i = 0; i < 20; i += 1) writeFileSync(lesson, retitled("Burst " + i));
  }, () => shows("Burst 19"));
  await watched("every file written anew", () => {
    cpSync(pack, content, { recursive: true });
  }, () => shows("The hold"));
  await watched("deleted", () => rmSync(lesson), () => complains("held-by-two-lines"));
  await watched("put back", () => writeFileSync(lesson, retitled("Put back")), () => shows("Put back"));

  expect((await ask("/site/index.html", "elsewhere.example")).statusCode === 421, "another host's name is answered");
  for (const path of ["/../Cargo.toml", "/site/%2e%2e/%2e%2e/etc/passwd", "/site/..%2f..%2fetc%2fpasswd", "//etc/passwd"]) {
    const answer = await ask(path);
    expect(answer.statusCode >= 400, `${path} is answered with ${answer.statusCode}`);
  }
} finally {
  await browser.close();
  preview.kill();
  taken.close();
  rmSync(home, { recursive: true, force: true });
}
for (const [what, ms] of times) console.log(`${ms.toFixed(0).padStart(6)} ms  ${what}`);
console.log(wrong.length ? `${wrong.length} things are wrong` : `preview: ${times.length} saves seen`);
process.exit(wrong.length ? 1 : 0);
