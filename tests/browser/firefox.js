// The pressed site in Debian's Firefox over file paths: a second engine, driven by WebDriver BiDi.
//
//   node firefox.js SITE
//
// Every page: nothing in the console, no request outside the site's folder, the page's own lettering,
// no sideways scroll at 320 px. Then a lesson is printed, a word is found by typing it, and the control
// that moves the climber is used. Exit status 1 and a line for each thing that is wrong, or for the page at
// which it stood when its time was over.

import { spawn } from "node:child_process";
import { readdirSync } from "node:fs";
import { pathToFileURL } from "node:url";
import WebSocket from "ws";
import { atEnd, endsWithin, folder } from "./end.js";

const site = process.argv[2];
if (!site) {
  console.error("usage: node firefox.js SITE");
  process.exit(2);
}
const root = pathToFileURL(site + "/").href;
// How long something that comes by itself is waited for.
const PATIENCE_MS = 10000;
// The whole check takes less than a minute.
const ALL_MS = 600000;
const wrong = [];
let checks = 0;
let path = "start";
endsWithin(ALL_MS, () => path);

function expect(ok, what) {
  checks += 1;
  if (!ok) {
    wrong.push(what);
    console.log("wrong: " + what);
  }
}

function endGroup(leader) {
  try {
    process.kill(-leader, "SIGKILL");
  } catch {
    // It has ended.
  }
}

// The address that a browser with a profile of its own takes commands at.
function launch(profile) {
  const command = process.env.FIREFOX || "firefox-esr";
  // A group of its own, so that its helpers end with it.
  const options = { detached: true, stdio: ["ignore", "ignore", "pipe"] };
  const browser = spawn(command, ["--headless", "--no-remote", "--profile", profile, "--remote-debugging-port", "0"], options);
  const address = new Promise((done, fail) => {
    let said = "";
    browser.stderr.on("data", (data) => {
      said += data;
      const found = /WebDriver BiDi listening on (ws:\S+)/.exec(said);
      if (found) done(found[1]);
    });
    browser.on("error", fail);
    browser.on("exit", (code) => fail(new Error(`Firefox ended with ${code}: ${said}`)));
  });
  if (browser.pid) atEnd(() => endGroup(browser.pid));
  return address;
}

// send(METHOD, PARAMETERS) answers with the result; events go to `heard`.
async function connect(address, heard) {
  const socket = new WebSocket(address + "/session", { perMessageDeflate: false });
  await new Promise((done, fail) => socket.once("open", done).once("error", fail));
  const waiting = new Map();
  socket.on("message", (text) => {
    const message = JSON.parse(text);
    if (message.type === "event") return heard(message.method, message.params);
    const asker = waiting.get(message.id);
    waiting.delete(message.id);
    if (message.type !== "error") return asker.done(message.result);
    const error = new Error(`${message.error}: ${message.message}`);
    // What cannot be read has no number.
    if (!asker) throw error;
    asker.fail(error);
  });
  socket.on("close", () => waiting.forEach(({ fail }) => fail(new Error("Firefox has closed the connection"))));
  let id = 0;
  return (method, params) => new Promise((done, fail) => {
    id += 1;
    waiting.set(id, { done, fail });
    socket.send(JSON.stringify({ id, method, params }));
  });
}

const send = await connect(await launch(folder("firefox-")), (event, params) => {
  if (event === "log.entryAdded") expect(false, `${path}: console says ${params.level}: ${params.text}`);
  const url = params.request?.url;
  const inside = url?.startsWith(root) || url?.startsWith("data:") || url?.startsWith("blob:");
  if (event === "network.beforeRequestSent") expect(inside, `${path}: asks for ${url}`);
});
await send("session.new", { capabilities: {} });
await send("session.subscribe", { events: ["log.entryAdded", "network.beforeRequestSent"] });
const context = (await send("browsingContext.getTree", {})).contexts[0].context;
const open = async (page, width = 1280) => {
  path = page;
  await send("browsingContext.setViewport", { context, viewport: { width, height: 900 } });
  await send("browsingContext.navigate", { context, url: root + page, wait: "complete" });
};
// The value of an expression in the page, by way of JSON.
const value = async (expression) => {
  const said = await send("script.evaluate", {
    expression: `(async () => JSON.stringify(await (${expression}) ?? null))()`, target: { context }, awaitPromise: true,
  });
  if (said.type === "exception") throw new Error(`${path}: ${said.exceptionDetails.text}`);
  return JSON.parse(said.result.value);
};
const type = (text) => send("input.performActions", {
  context,
  actions: [{ type: "key", id: "keys", actions: [...text].flatMap((letter) => [{ type: "keyDown", value: letter }, { type: "keyUp", value: letter }]) }],
});
const rest = (ms) => new Promise((done) => setTimeout(done, ms));

const pages = readdirSync(site, { recursive: true }).filter((name) => name.endsWith(".html")).sort();
expect(pages.length > 3, `only ${pages.length} pages in ${site}`);
for (const page of pages) {
  await open(page);
  const fonts = await value(`document.fonts.ready.then((fonts) => [...fonts].map((font) => font.status))`);
  expect(fonts.includes("loaded") && !fonts.includes("error"), `${page}: its lettering did not load: ${fonts}`);
  expect((await value("document.querySelector('main').innerText.length")) > 60, `${page}: hardly any text`);
  await open(page, 320);
  await rest(50);
  const sideways = "document.documentElement.scrollWidth - document.documentElement.clientWidth";
  expect((await value(sideways)) <= 0, `${page}: scrolls sideways at 320 px`);
}

const lesson = pages.find((page) => page.startsWith("lessons/"));
await open(lesson);
const { data } = await send("browsingContext.print", { context });
expect(Buffer.from(data, "base64").subarray(0, 5).toString() === "%PDF-", `${lesson}: does not print`);

await open("find.html");
await value("document.getElementById('q').focus()");
const word = process.env.FIND_WORD || "stopper";
await type(word.slice(0, 2) + word.slice(3));
const marks = "[...document.querySelectorAll('#results mark')].map((mark) => mark.textContent.toLowerCase())";
const late = Date.now() + PATIENCE_MS;
while (!(await value(marks)).includes(word) && Date.now() < late) await rest(50);
expect((await value(marks)).includes(word), `find: a slip of the pen does not find “${word}”`);
await type("\uE015");
expect(await value("document.activeElement.closest('#results') !== null"), "find: the arrow key does not reach the results");

let moved = 0;
for (const page of pages.filter((name) => name.startsWith("lessons/"))) {
  await open(page);
  if (!(await value("document.querySelector('form[data-explore]:not([hidden])') !== null"))) continue;
  const pull = "document.querySelector(\".plate [data-cell^='pull/'] .v\").textContent";
  const before = await value(pull);
  await value("document.querySelector('form[data-explore] input').focus()");
  await type("\uE014\uE014\uE014");
  expect((await value(pull)) !== before, `${page}: moving the climber changes no pull`);
  moved += 1;
}
expect(moved > 0, "no lesson lets the reader move the climber");
console.log(`${checks} checks in Firefox, ${wrong.length} wrong`);
process.exit(wrong.length ? 1 : 0);
