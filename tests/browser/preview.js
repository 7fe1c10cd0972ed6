// Watches a page of the preview in Debian's Chromium while its pack is edited as people, their editors
// and git do: saved in place, broken, mended, renamed over, written in steps, written in a burst,
// checked out as another branch, moved away and put back. Opens a page of every kind, then a print, breaks
// its template, mends it.
//
//   node preview.js ROPELEAF PACK
//
// PACK is copied first. Prints how long it took from each save until the page had painted what was saved,
// by the page's own clock, and their median and worst. Exit status 1 and a line for each thing that is
// wrong, or for the step at which it stood when its time was over. Times are printed, not judged. Needs git.

import { execFileSync, spawn } from "node:child_process";
import { cpSync, mkdirSync, readFileSync, readdirSync, renameSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { createServer, request } from "node:http";
import { join } from "node:path";
import { atEnd, close, endsWithin, folder, launch } from "./end.js";

const [program, pack] = process.argv.slice(2);
if (!pack) {
  console.error("usage: node preview.js ROPELEAF PACK");
  process.exit(2);
}
const PATIENCE_MS = 60000;
// The whole check takes some 12 s.
const ALL_MS = 300000;
const wrong = [];
let panels = 0;
const pause = (ms) => new Promise((done) => setTimeout(done, ms));
const now = () => performance.timeOrigin + performance.now();
const times = [];
let step = "start";
// Milliseconds from a save of the open page's lesson to the painted page.
const saves = [];

function expect(ok, what) {
  if (!ok) {
    wrong.push(what);
    console.log("wrong: " + what);
  }
}

endsWithin(ALL_MS, () => step);
const home = join(folder("preview-"), "home");
const content = join(home, "content");
cpSync(pack, content, { recursive: true });
const lesson = join(content, "lessons", "held-by-two-lines.md");
const original = readFileSync(lesson, "utf8");
const heading = "## The hold";
if (!original.includes(heading)) throw new Error(`${lesson} has no ${heading}`);
const retitled = (word) => original.replace(heading, "## " + word);
// When the last step of a save began.
let saved = 0;
function save(text, file = lesson) {
  saved = now();
  writeFileSync(file, text);
}

// A taken port must give way to the next free one.
const taken = createServer().listen(0, "127.0.0.1");
await new Promise((done) => taken.once("listening", done));
const port = taken.address().port;
const preview = spawn(program, ["preview", content, "--port", String(port)], { stdio: ["ignore", "pipe", "inherit"] });
atEnd(() => preview.kill("SIGKILL"));
let said = "";
const address = await new Promise((done, fail) => {
  preview.stdout.on("data", (data) => {
    said += data;
    const found = said.match(/http:\/\/127\.0\.0\.1:(\d+)\//);
    if (found) done(found[0]);
  });
  preview.once("error", fail);
  preview.once("exit", () => fail(new Error("the preview ended: " + said)));
});
expect(Number(new URL(address).port) !== port, "a taken port was not left alone");

// An answer to a request with any Host header and any path, as no browser would send it; its text too.
function ask(path, host, method = "GET") {
  const at = new URL(address);
  return new Promise((done, fail) => {
    const question = request({ host: at.hostname, port: at.port, path, method, headers: { Host: host || at.host } }, (answer) => {
      answer.text = "";
      answer.setEncoding("latin1").on("data", (data) => { answer.text += data; });
      answer.once("end", () => done(answer));
    });
    question.once("error", fail);
    question.end();
  });
}

const browser = await launch();
try {
  const page = await browser.newPage();
  const url = address + "site/lessons/held-by-two-lines.html";
  await page.goto(url);
  // Every change of what the page says of itself: its headings, its errors, and when they had been painted.
  let seen = [];
  let look = () => {};
  await page.exposeFunction("seen", (headings, error, at) => {
    if (error !== null && error !== seen.at(-1)?.error) panels += 1;
    seen.push({ headings, error, at });
    look();
  });
  await page.addInitScript(() => {
    let last = "";
    new MutationObserver(() => {
      if (!document.querySelector("h2, pre[role=alert]")) return;
      const headings = [...document.querySelectorAll("h2")].map((h) => h.textContent);
      const error = document.querySelector("pre[role=alert]")?.textContent ?? null;
      const now = JSON.stringify([headings, error]);
      if (now === last) return;
      last = now;
      // A task that a frame asks for runs when the frame has been painted.
      requestAnimationFrame(() => setTimeout(() => window.seen(headings, error, performance.timeOrigin + performance.now()), 0));
    }).observe(document, { childList: true, subtree: true });
  });
  await page.reload();
  async function until(fits) {
    let ends;
    const late = setTimeout(() => ends(new Error("not seen")), PATIENCE_MS);
    const found = await new Promise((done) => {
      ends = done;
      look = () => { if (seen.length && fits(seen.at(-1))) done(seen.at(-1)); };
      look();
    });
    clearTimeout(late);
    look = () => {};
    if (found instanceof Error) throw found;
    return found;
  }
  const shows = (text) => until((page) => page.error === null && page.headings.some((heading) => heading.includes(text)));
  const complains = (text) => until((page) => page.error?.includes(text));

  async function watched(what, act, sees) {
    step = what;
    saved = 0;
    const began = now();
    await act();
    try {
      const shown = await sees();
      times.push([what, (shown.at ?? now()) - (saved || began)]);
      if (saved) saves.push(shown.at - saved);
    } catch {
      expect(false, `${what}: the page does not show it; it shows ${await page.title()}`);
    }
  }

  // A step in which no error may be shown, for it is gone with the next step of the same save. A busy machine
  // may stand still between the two for longer than an error has to last; it does not every time.
  async function quietly(what, act, sees) {
    let before;
    for (let i = 0; i < 5; i += 1) {
      before = panels;
      await watched(what, () => act(i), () => sees(i));
      if (panels === before) return;
    }
    expect(false, `${what}: an error of half a save was shown each time`);
  }

  // Going to a field is a slow scroll.
  async function rests() {
    let last = NaN;
    for (let at = await page.evaluate(() => window.scrollY); at !== last; at = await page.evaluate(() => window.scrollY)) {
      last = at;
      await pause(400);
    }
  }

  // A save while a reader is at work: the page is brought in without a navigation, nothing of what was done
  // is lost, and its scripts run on the new elements, once.
  async function keeps() {
    const state = () => page.evaluate(() => ({
      marked: window.marked === true,
      away: document.querySelector(".plate").classList.contains("away"),
      field: [document.activeElement.closest("form.ask")?.id, document.activeElement.value],
      open: [...document.querySelectorAll("details")].map((part) => part.open),
      top: Math.round(document.activeElement.getBoundingClientRect().top),
      log: document.querySelector("[data-log-code]").checked,
    }));
    await page.evaluate(() => { window.marked = true; });
    await page.locator("[data-explore] input").first().press("ArrowRight");
    await page.locator("[data-log-code]").first().check();
    await page.locator("details:not([open]) summary").last().click();
    await page.locator("form.ask[data-form=number] input").first().fill("7");
    await rests();
    const before = await state();
    expect(before.away && before.log && before.open.includes(true), "the check did not do what a reader does: " + JSON.stringify(before));
    await watched("saved under a reader", () => save(retitled("Kept")), () => shows("Kept"));
    const after = await state();
    expect(JSON.stringify(after) === JSON.stringify(before), `a save changed ${JSON.stringify(before)} to ${JSON.stringify(after)}`);
    await page.keyboard.press("Enter");
    expect(await page.locator("form.ask .say.near").count() === 1, "a question of the new page is not answered");
    await page.evaluate(() => {
      window.heard = 0;
      const add = Storage.prototype.setItem;
      Storage.prototype.setItem = function (...args) { window.heard += 1; return add.apply(this, args); };
    });
    await page.locator("[data-log-code]").first().uncheck();
    expect(await page.evaluate(() => window.heard) === 1, "scripts of pages that are gone still listen");
    await answers();
    await page.evaluate(() => window.scrollTo(0, 0));
  }

  // What was said to an answer stays for as long as its question is the same, and goes with it.
  async function answers() {
    const choice = page.locator("form.ask[data-form=choice]");
    const [one, two] = [choice.nth(0), choice.nth(1)];
    for (const form of [one, two]) {
      await form.locator("input[value='1']").check();
      await form.locator("button").click();
    }
    const state = () => page.evaluate(() => [...document.querySelectorAll("form.ask")].map((form) => ({
      said: form.querySelector(".say").textContent,
      given: [...form.querySelectorAll("input")].map((field) => (field.type === "radio" ? field.checked : field.value)),
    })));
    const before = await state();
    expect(before.filter(({ said }) => said).length === 3, "the check did not answer three questions");
    const asked = (await one.locator("legend").textContent()).trim();
    await watched("saved under answered questions", () => save(retitled("Answered")), () => shows("Answered"));
    expect(JSON.stringify(await state()) === JSON.stringify(before), "what was said to answers is not kept");
    // A question before it moves it down.
    const more = retitled("One more").replace("[[question]]", '[[question]]\nask = "Is it so?"\ntrue_false = true\nbecause = "It is."\n\n[[question]]');
    await watched("a question put before them", () => save(more), () => shows("One more"));
    const moved = await state();
    expect(moved[0].said === "" && JSON.stringify(moved.slice(1)) === JSON.stringify(before), "a question that moved lost what was said to its answer");
    await watched("a question changed", () => save(retitled("Asked anew").replace(asked, asked + " Say why.")), () => shows("Asked anew"));
    const after = await state();
    expect(after[0].said === "" && !after[0].given.includes(true), "a question that is another one counts as answered");
    expect(JSON.stringify(after.slice(1)) === JSON.stringify(before.slice(1)), "a question beside one that changed is not answered any more");
    await one.locator("input[value='1']").check();
    await one.locator("button").click();
    expect((await one.locator(".say").textContent()) !== "", "a question that changed cannot be answered");
  }

  // A save of the pack file reaches pages of every kind, one as wide as a phone, one at a zone, and one that
  // nobody saw meanwhile as soon as it is seen again; none is loaded anew.
  async function everyKind() {
    const own = "lessons/held-by-two-lines.html";
    const course = readdirSync(join(content, "courses"))[0].replace(".toml", "");
    const paths = [
      "index.html", "find.html?q=line", "kit.html", "kit/harness.html", "figures.html", "techniques.html",
      `courses/${course}.html`, `courses/${course}-day-1.html`, own + "#questions", own,
    ];
    // Apart, for a browser holds few connections to one server open at once.
    const pages = await Promise.all(paths.map(async (path) => {
      const context = await browser.newContext(path === own ? { viewport: { width: 390, height: 844 } } : {});
      const page = await context.newPage();
      await page.goto(address + "site/" + path);
      await page.evaluate(() => { window.marked = true; });
      return page;
    }));
    const all = () => Promise.all(pages.map(async (page, i) => {
      const shown = await page.waitForFunction(() => document.body.textContent.includes("Crew of many pages"), undefined, { timeout: PATIENCE_MS }).catch(() => null);
      expect(shown !== null, `${paths[i]} does not show who the pack is of now`);
      expect(shown !== null && await page.evaluate(() => window.marked === true), `${paths[i]} is loaded anew`);
    }));
    const hides = (hidden) => pages[0].evaluate((hidden) => {
      Object.defineProperty(document, "hidden", { configurable: true, value: hidden });
      document.dispatchEvent(new Event("visibilitychange"));
    }, hidden);
    const file = join(content, "pack.toml");
    const text = readFileSync(file, "utf8");
    await hides(true);
    await watched("pages of every kind", () => writeFileSync(file, text.replace(/^(title|organisation) = .*$/gm, '$1 = "Crew of many pages"')), async () => {
      await pages[1].waitForFunction(() => document.body.textContent.includes("Crew of many pages"), undefined, { timeout: PATIENCE_MS });
      await hides(false);
      await all();
      return {};
    });
    expect(await pages[1].evaluate(() => document.querySelector("#results li") !== null), "what was looked for is not found any more");
    expect(await pages[9].evaluate(() => document.querySelector(".narrow-only svg") !== null), "drawings for phones are gone");
    writeFileSync(file, text);
    await Promise.all(pages.map((page) => page.context().close()));
  }

  await shows("The hold");
  const first = await ask("/site/lessons/held-by-two-lines.html");
  expect(first.headers["cache-control"] === "no-store", "a page may be kept by the browser");

  for (const word of ["First save", "Second save", "Third save"]) {
    await watched(`save in place (${word})`, () => save(retitled(word)), () => shows(word));
    await pause(300);
  }
  await keeps();
  await watched("a mistake", () => writeFileSync(lesson, original.replace("[climber]", "[climbr]")), () => complains("climbr"));
  expect(/held-by-two-lines\.md:\d+:\d+/.test(await page.locator("pre[role=alert]").textContent()), "the mistake has no file and line");
  expect(await page.locator("h2", { hasText: "Asked anew" }).count() > 0, "the last good page is not kept under the mistake");
  await watched("mended", () => save(retitled("Mended")), () => shows("Mended"));
  await watched("renamed over", () => {
    const part = join(content, "lessons", ".held-by-two-lines.md.part");
    save(retitled("Renamed over"), part);
    renameSync(part, lesson);
  }, () => shows("Renamed over"));
  await watched("emptied, then written", () => {
    writeFileSync(lesson, "");
    save(retitled("Written again"));
  }, () => shows("Written again"));
  await watched("a burst of saves", () => {
    for (let i = 0; i < 20; i += 1) save(retitled("Burst " + i));
  }, () => shows("Burst 19"));
  await watched("every file written anew", () => {
    cpSync(pack, content, { recursive: true });
  }, () => shows("The hold"));

  await quietly("emptied, written 60 ms later", async (i) => {
    writeFileSync(lesson, "");
    await pause(60);
    save(retitled("In two steps " + i));
  }, (i) => shows("In two steps " + i));
  await quietly("backed up, then written", async (i) => {
    renameSync(lesson, lesson + "~");
    await pause(40);
    save(retitled("Backed up " + i));
    rmSync(lesson + "~");
  }, (i) => shows("Backed up " + i));
  await quietly("200 saves", (again) => {
    for (let i = 0; i < 200; i += 1) {
      save(retitled(`Save ${again}-${i}`), lesson + ".part");
      renameSync(lesson + ".part", lesson);
    }
  }, (again) => shows(`Save ${again}-199`));
  // A lock of an editor is a link to nothing.
  symlinkSync("nobody@nowhere.1:2", join(content, "lessons", ".#held-by-two-lines.md"));
  await watched("saved beside an editor's lock", () => save(retitled("Locked")), () => shows("Locked"));

  // Another branch has every file changed, lessons in a folder more, and the pack file in its place.
  // Whoever runs this may have settings that ask for a key, or work that goes on after a commit.
  const env = { ...process.env, GIT_CONFIG_GLOBAL: "/dev/null", GIT_CONFIG_NOSYSTEM: "1" };
  const settings = ["user.name=n", "user.email=n@n", "gc.auto=0", "maintenance.auto=false"].flatMap((setting) => ["-c", setting]);
  const git = (...args) => execFileSync("git", ["-C", home, ...settings, ...args], { stdio: ["ignore", "pipe", "pipe"], env, timeout: PATIENCE_MS });
  const folder = join(content, "lessons");
  const lessons = readdirSync(folder).filter((name) => name.endsWith(".md") && !name.startsWith("."));
  git("init", "-q", "-b", "one");
  writeFileSync(lesson, retitled("Branch one"));
  git("add", "-A");
  git("commit", "-q", "-m", "one");
  git("checkout", "-q", "-b", "two");
  await shows("Branch one");
  for (const name of lessons) writeFileSync(join(folder, name), readFileSync(join(folder, name), "utf8") + "\nA line more.\n");
  writeFileSync(lesson, retitled("Branch two"));
  for (let i = 0; i < 200; i += 1) {
    mkdirSync(join(folder, "more", String(i % 7)), { recursive: true });
    writeFileSync(join(folder, "more", String(i % 7), `note-${i}.txt`), `Note ${i}.\n`);
  }
  renameSync(join(content, "pictures"), join(content, "pictures-away"));
  renameSync(join(content, "pictures-away"), join(content, "pictures"));
  git("add", "-A");
  git("commit", "-q", "-m", "two");
  await shows("Branch two");
  await quietly("another branch checked out, and back", async () => {
    git("checkout", "-q", "one");
    await shows("Branch one");
    git("checkout", "-q", "two");
  }, () => shows("Branch two"));

  await watched("the pack file deleted", () => renameSync(join(content, "pack.toml"), join(home, "pack.toml")), () => complains("pack.toml"));
  await watched("and put back", () => renameSync(join(home, "pack.toml"), join(content, "pack.toml")), () => shows("Branch two"));
  await watched("the whole pack moved away", () => renameSync(content, content + "-away"), () => complains("No such file"));
  await watched("and put back", () => renameSync(content + "-away", content), () => shows("Branch two"));
  await watched("saved after that", () => save(retitled("Back again")), () => shows("Back again"));
  await watched("written through a link", async () => {
    renameSync(lesson, join(home, "elsewhere.md"));
    symlinkSync(join(home, "elsewhere.md"), lesson);
    await pause(300);
    save(retitled("Through a link"), join(home, "elsewhere.md"));
  }, () => shows("Through a link"));
  rmSync(lesson);
  writeFileSync(lesson, retitled("Third save"));
  await shows("Third save");

  await everyKind();

  // A print: its link on the page, set when it is opened; what stops it, and mended.
  const links = await page.locator('a[href*="print/"]').evaluateAll((all) => all.map((a) => a.getAttribute("href")));
  expect(links.length >= 5, `the lesson links to ${links.length} prints`);
  const sheet = new URL(links.find((href) => href.endsWith("-sheet.pdf")), url).pathname;
  const opened = performance.now();
  const [one, two] = await Promise.all([ask(sheet), ask(sheet)]);
  times.push(["a print opened, twice at once", performance.now() - opened]);
  expect(one.statusCode === 200 && one.headers["content-type"] === "application/pdf" && one.text.startsWith("%PDF-"), `the sheet is answered with ${one.statusCode}`);
  expect(one.text === two.text, "two readers of a print get different ones");
  const head = await ask(sheet, undefined, "HEAD");
  expect(head.statusCode === 200 && head.text === "" && Number(head.headers["content-length"]) === one.text.length, "HEAD of a print says something else than GET");
  expect((await ask("/site/print/none.pdf")).statusCode === 404, "a print that no press makes is answered");
  const own = join(content, "own", "print");
  mkdirSync(own, { recursive: true });
  const template = readFileSync(new URL("../../templates/print/technique.typ", import.meta.url), "utf8");
  const print = await browser.newPage();
  // A page that is closed while the browser's own reader of PDFs starts in it never says that it is closed.
  await print.route("**" + sheet, async (route) => {
    const response = await route.fetch();
    const isPdf = response.headers()["content-type"] === "application/pdf";
    await route.fulfill(isPdf ? { contentType: "text/html", body: "<title>A print</title>" } : { response });
  });
  await watched("a print with a broken template", async () => {
    writeFileSync(join(own, "technique.typ"), template + "\n#nowhere\n");
    while ((await ask(sheet)).statusCode !== 422) await pause(20);
    await print.goto(new URL(sheet, address).href);
  }, () => print.waitForFunction(() => /technique\.typ:\d+/.test(document.querySelector("pre")?.textContent), undefined, { timeout: PATIENCE_MS }));
  await watched("its template mended", () => writeFileSync(join(own, "technique.typ"), template), () => print.waitForFunction(() => document.title === "A print", undefined, { timeout: PATIENCE_MS }));
  expect((await ask(sheet)).statusCode === 200, "a print with a mended template is not set");
  await print.close();

  await watched("deleted", () => rmSync(lesson), () => complains("held-by-two-lines"));
  await watched("put back", () => save(retitled("Put back")), () => shows("Put back"));

  expect((await ask("/site/index.html", "elsewhere.example")).statusCode === 421, "another host's name is answered");
  for (const path of ["/../Cargo.toml", "/site/%2e%2e/%2e%2e/etc/passwd", "/site/..%2f..%2fetc%2fpasswd", "//etc/passwd"]) {
    const answer = await ask(path);
    expect(answer.statusCode >= 400, `${path} is answered with ${answer.statusCode}`);
  }
} catch (error) {
  expect(false, `${step}: ${error.stack}`);
}
await close(browser);
for (const [what, ms] of times) console.log(`${ms.toFixed(0).padStart(6)} ms  ${what}`);
saves.sort((a, b) => a - b);
if (saves.length) console.log(`${saves.length} saves of the open lesson: ${saves[saves.length >> 1].toFixed(0)} ms at the median, ${saves.at(-1).toFixed(0)} ms at worst`);
console.log(wrong.length ? `${wrong.length} things are wrong` : `preview: ${times.length} saves seen`);
process.exit(wrong.length ? 1 : 0);
