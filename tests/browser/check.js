// Drives a pressed site in Debian's Chromium over file paths, as a reader would.
//
//   node check.js SITE
//
// Every page: nothing in the console, no request outside the site's folder, no sideways scroll at
// 320 px, axe-core (WCAG 2.2 A and AA, best practice) in light, dark and at 320 px, labels of
// figures apart from one another, everything readable with scripts off. Then questions, find, the
// reader's log, the control that moves the climber, the figures' filter and printing are used, pages are
// turned from right to left and shown in forced colours, and the first paint is timed. Exit status 1
// and a line for each thing that is wrong, or for the page at which it stood when its time was over.

import { readdirSync, readFileSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { join, relative } from "node:path";
import { pathToFileURL } from "node:url";
import { close, endsWithin, folder, launch } from "./end.js";

const require = createRequire(import.meta.url);
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const site = process.argv[2];
if (!site) {
  console.error("usage: node check.js SITE");
  process.exit(2);
}
const root = pathToFileURL(site + "/").href;
// Labels may touch by this much before they count as one over the other: half a hair's breadth of
// the browser's own rounding, in CSS pixels.
const TOUCH_PX = 1;
// How long something that comes by itself is waited for.
const PATIENCE_MS = 10000;
// The whole check takes some four minutes.
const ALL_MS = 1200000;
const wrong = [];
let checks = 0;
let at = "start";
endsWithin(ALL_MS, () => at);

function expect(ok, what) {
  checks += 1;
  if (!ok) {
    wrong.push(what);
    console.log("wrong: " + what);
  }
}

function pagesBelow(folder) {
  return readdirSync(folder).sort().flatMap((name) => {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) return pagesBelow(path);
    return name.endsWith(".html") ? [relative(site, path)] : [];
  });
}

// A page in a fresh context; whatever it says to the console or asks from outside is wrong.
async function open(browser, path, options = {}) {
  at = path;
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, reducedMotion: "reduce", ...options });
  const page = await context.newPage();
  page.on("console", (message) => expect(false, `${path}: console says ${message.type()}: ${message.text()}`));
  page.on("pageerror", (error) => expect(false, `${path}: script error: ${error.message}`));
  page.on("request", (request) => {
    const url = request.url();
    const inside = url.startsWith(root) || url.startsWith("data:") || url.startsWith("blob:");
    expect(inside, `${path}: asks for ${url}`);
  });
  page.on("requestfailed", (request) => expect(false, `${path}: could not load ${request.url()}`));
  await page.goto(root + path);
  return page;
}

// Whether an element comes that was not there.
function comes(locator) {
  return locator.waitFor({ state: "attached", timeout: PATIENCE_MS }).then(() => true, () => false);
}

async function axeClean(page, what) {
  await page.evaluate(axe);
  const found = await page.evaluate(async () => {
    const result = await window.axe.run(document, {
      preload: false, // it would fetch the style sheets, which the policy rightly refuses
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    });
    return result.violations.map((v) => `${v.id} (${v.nodes.length}): ${v.nodes[0].target.join(" ")} ${v.nodes[0].failureSummary}`);
  });
  expect(found.length === 0, `${what}: axe: ${found.join("; ")}`);
}

// Pairs of labels of one figure whose boxes overlap, by the browser's own boxes.
function overlaps(touch) {
  const out = [];
  for (const svg of document.querySelectorAll("svg.fig")) {
    if (svg.getClientRects().length === 0) continue;
    const labels = [...svg.querySelectorAll("text")].filter((t) => t.textContent.trim() && t.getClientRects().length);
    const boxes = labels.map((t) => t.getBoundingClientRect());
    // A text's box holds the whole line; its letters stand in about three quarters of it.
    const ink = boxes.map((b) => ({ left: b.left, right: b.right, top: b.top + b.height * 0.18, bottom: b.bottom - b.height * 0.16 }));
    for (let i = 0; i < ink.length; i += 1) {
      for (let j = i + 1; j < ink.length; j += 1) {
        const wide = Math.min(ink[i].right, ink[j].right) - Math.max(ink[i].left, ink[j].left);
        const high = Math.min(ink[i].bottom, ink[j].bottom) - Math.max(ink[i].top, ink[j].top);
        if (wide > touch && high > touch) out.push(`“${labels[i].textContent}” over “${labels[j].textContent}”`);
      }
    }
  }
  return out;
}

const sideways = () => document.documentElement.scrollWidth - document.documentElement.clientWidth;

async function everyPage(browser, path) {
  const page = await open(browser, path);
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
  const twice = await page.evaluate(() => {
    const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
    return ids.filter((id, i) => ids.indexOf(id) !== i);
  });
  expect(twice.length === 0, `${path}: ids twice: ${twice.join(", ")}`);
  const over = await page.evaluate(overlaps, TOUCH_PX);
  expect(over.length === 0, `${path}: labels overlap: ${over.join("; ")}`);
  await axeClean(page, path);
  await page.context().close();

  const dark = await open(browser, path, { colorScheme: "dark" });
  await axeClean(dark, `${path} dark`);
  await dark.context().close();

  const narrow = await open(browser, path, { viewport: { width: 320, height: 640 } });
  expect((await narrow.evaluate(sideways)) <= 0, `${path}: scrolls sideways at 320 px`);
  await axeClean(narrow, `${path} at 320 px`);
  await narrow.context().close();

  const off = await open(browser, path, { javaScriptEnabled: false });
  const text = await off.locator("main").innerText();
  expect(text.length > 60, `${path}: hardly any text without scripts`);
  const hidden = await off.locator("main [hidden]:not(form[data-explore]):not([data-log-form]):not(button):not(.zone):not([data-filter])").count();
  expect(hidden === 0, `${path}: ${hidden} parts stay hidden without scripts`);
  await off.context().close();
}

async function questions(browser, path) {
  const page = await open(browser, path);
  const forms = page.locator("form.ask");
  const count = await forms.count();
  for (let i = 0; i < count; i += 1) {
    const form = forms.nth(i);
    const say = form.locator(".say");
    const kind = await form.getAttribute("data-form");
    const id = `${path} question ${i + 1}`;
    if (kind === "number") {
      const right = Number(await form.getAttribute("data-right"));
      await form.locator("input").fill("x");
      await form.locator("button").click();
      expect((await say.innerText()).length > 0, `${id}: says nothing to what is no number`);
      await form.locator("input").fill(String(right * 7 + 100));
      await form.locator("button").click();
      expect((await say.getAttribute("class")).includes("near"), `${id}: takes a number far off`);
      await form.locator("input").fill(String(right).replace(".", ","));
      await form.locator("input").press("Enter");
      expect(!(await say.getAttribute("class")).includes("near"), `${id}: refuses the right number with a comma`);
    } else if (kind === "order") {
      const boxes = form.locator("select");
      const all = await boxes.count();
      for (let k = 0; k < all; k += 1) await boxes.nth(k).selectOption(String(k + 1));
      await form.locator("button").click();
      expect((await say.getAttribute("class")).includes("near"), `${id}: takes the order as shown`);
      for (let k = 0; k < all; k += 1) await boxes.nth(k).selectOption(await boxes.nth(k).getAttribute("data-right"));
      await form.locator("button").click();
      expect(!(await say.getAttribute("class")).includes("near"), `${id}: refuses the right order`);
    } else {
      await form.locator("button").click();
      expect((await say.getAttribute("class")).includes("near"), `${id}: takes no choice for an answer`);
      await form.locator('input[value="0"]').first().check();
      await form.locator("button").click();
      expect((await say.getAttribute("class")).includes("near"), `${id}: takes a wrong choice`);
      await form.locator('input[value="1"]').check();
      await form.locator("button").click();
      expect(!(await say.getAttribute("class")).includes("near"), `${id}: refuses the right choice`);
    }
  }
  if (count > 0) await axeClean(page, `${path} with answers given`);
  await page.context().close();
  return count;
}

async function log(browser, lesson, course) {
  const page = await open(browser, lesson);
  const box = page.locator('[data-log-mark="read"]');
  await box.check();
  await page.reload();
  expect(await box.isChecked(), `${lesson}: the log forgets`);
  await page.goto(root + course);
  const summary = await page.locator("[data-log-summary]").innerText();
  expect(summary.includes("1"), `${course}: the course does not see the log: ${summary}`);
  const [file] = await Promise.all([page.waitForEvent("download"), page.locator('[data-log-do="save"]').click()]);
  expect(readFileSync(await file.path(), "utf8").includes("read"), `${course}: the saved log is empty`);
  await page.locator('[data-log-do="clear"]').click();
  expect((await page.locator("[data-log-code]:checked").count()) === 0, `${course}: clearing leaves marks`);
  await page.context().close();
}

async function find(browser, word, lessons) {
  const page = await open(browser, "find.html");
  await page.locator("#q").fill(word.slice(0, 5));
  expect((await page.locator("#results li").count()) > 0, `find: nothing for the beginning “${word.slice(0, 5)}”`);
  const slip = word.slice(0, 2) + word.slice(3);
  await page.locator("#q").fill(slip);
  const marks = await page.locator("#results mark").allInnerTexts();
  expect(marks.some((m) => m.toLowerCase() === word), `find: a slip of the pen, “${slip}”, does not find “${word}”`);
  await page.locator("#q").press("ArrowDown");
  expect(await page.evaluate(() => document.activeElement.closest("#results") !== null), "find: the arrow key does not reach the results");
  await axeClean(page, "find with results");
  await Promise.all([page.waitForEvent("framenavigated"), page.keyboard.press("Enter")]);
  await page.waitForLoadState();
  const target = new URL(page.url());
  expect(!target.pathname.endsWith("find.html"), "find: Enter does not follow a result");
  if (target.hash) {
    const there = await page.evaluate((id) => document.getElementById(id) !== null, decodeURIComponent(target.hash.slice(1)));
    expect(there, `find: ${target.hash} is not in ${target.pathname}`);
  }
  await page.goto(root + "find.html");
  const slowest = await page.evaluate(({ words, copies }) => {
    // The index as a pack of 2,000 lessons has it: every place again and again.
    const index = window.ropeleafIndex;
    const own = index.places.length;
    for (const word of index.words) {
      let at = 0;
      const places = word[1].split(" ").map((step) => (at += Number(step)));
      word[1] = Array.from({ length: copies }, (_, k) => places.map((place) => place + k * own)).flat();
    }
    index.places = Array.from({ length: copies }, () => index.places).flat();
    const field = document.getElementById("q");
    let most = 0;
    for (const text of words) {
      // The least of five: a busy machine makes some slower, and never one faster.
      let least = Infinity;
      for (let i = 0; i < 5; i += 1) {
        const start = performance.now();
        field.value = text;
        field.dispatchEvent(new Event("input"));
        least = Math.min(least, performance.now() - start);
      }
      most = Math.max(most, least);
    }
    return most;
  }, { words: [word, slip, "a", "the line", "zzzzzzzz"], copies: Math.ceil(2000 / lessons) });
  expect(slowest < 50, `find: takes ${slowest.toFixed(0)} ms among 2,000 lessons`);
  await page.context().close();
}

async function explore(browser, path) {
  const page = await open(browser, path);
  const form = page.locator("form[data-explore]").first();
  if ((await form.count()) === 0) {
    await page.context().close();
    return false;
  }
  const cell = page.locator(".plate [data-cell^='pull/'] .v").first();
  const before = await cell.innerText();
  const scale = form.locator("input").first();
  await scale.focus();
  for (let i = 0; i < 3; i += 1) await page.keyboard.press("ArrowRight");
  expect((await cell.innerText()) !== before, `${path}: moving the climber changes no pull`);
  expect(await comes(form.locator(".say", { hasText: /.{10}/ })), `${path}: the control says nothing`);
  await page.keyboard.press("End");
  await axeClean(page, `${path} with the climber moved`);
  await form.locator("button").click();
  expect(await comes(cell.filter({ hasText: before })), `${path}: the lesson's numbers do not come back`);
  const map = await form.locator(".place-map").boundingBox();
  await page.mouse.move(map.x + map.width / 2, map.y + map.height / 2);
  await page.mouse.down();
  await page.mouse.move(map.x + map.width / 2 + 30, map.y + map.height / 2 + 10);
  await page.mouse.up();
  expect((await scale.inputValue()) !== (await scale.getAttribute("value")), `${path}: the ring cannot be dragged`);
  await page.context().close();
  return true;
}

async function print(browser, path) {
  const page = await open(browser, path);
  for (const format of ["A4", "Letter"]) {
    const pdf = await page.pdf({ format, preferCSSPageSize: false });
    expect(pdf.length > 10000, `${path}: prints to nothing on ${format}`);
  }
  await page.emulateMedia({ media: "print" });
  const shown = await page.locator(".explore:visible, .edge-line:visible, .index:visible, .skip:visible").count();
  expect(shown === 0, `${path}: ${shown} parts for the screen are printed`);
  const foot = await page.evaluate(() => [...document.adoptedStyleSheets].map((sheet) => sheet.cssRules[0].cssText).join(" "));
  const code = await page.locator(".title-block dd").first().textContent();
  expect(foot.includes("@page") && foot.includes(code), `${path}: no title at the foot of its printed pages`);
  await page.context().close();
}

async function forced(browser, path) {
  for (const colorScheme of ["light", "dark"]) {
    const page = await open(browser, path, { forcedColors: "active", colorScheme });
    await axeClean(page, `${path} in forced colours, ${colorScheme}`);
    const drawing = page.locator("svg.fig:visible").first();
    if ((await drawing.count()) > 0) {
      // A drawing of one colour all over packs into a few hundred bytes; a drawn one takes tens of kilobytes.
      const picture = await drawing.screenshot();
      expect(picture.length > 10000, `${path}: the drawing is blank in forced colours, ${colorScheme}`);
    }
    await page.context().close();
  }
  const more = await open(browser, path, { contrast: "more" });
  await axeClean(more, `${path} with more contrast`);
  await more.context().close();
}

// The page written from right to left: nothing scrolls sideways, nothing is cut off at the left, and
// drawings still run from left to right.
async function rightToLeft(browser, path) {
  for (const width of [1280, 768, 320]) {
    const page = await open(browser, path, { viewport: { width, height: 800 } });
    const off = await page.evaluate(() => {
      document.documentElement.dir = "rtl";
      const page = document.documentElement;
      const out = [...document.querySelectorAll("main h1, main h2, main p, main li")].filter((e) => {
        const box = e.getBoundingClientRect();
        return box.width > 1 && (box.left < -1 || box.right > page.clientWidth + 1) && !e.closest(".scroll, .plate-numbers, details, .unseen");
      });
      const drawn = document.querySelector("svg.fig");
      return {
        sideways: page.scrollWidth - page.clientWidth,
        out: out.map((e) => e.textContent.slice(0, 30)),
        drawing: drawn === null || getComputedStyle(drawn).direction === "ltr",
      };
    });
    expect(off.sideways <= 0, `${path}: scrolls sideways from right to left at ${width} px`);
    expect(off.out.length === 0, `${path}: out of sight from right to left at ${width} px: ${off.out.join("; ")}`);
    expect(off.drawing, `${path}: a drawing runs from right to left`);
    await page.context().close();
  }
}

// The figures' filter hides all kinds but one, and shows all again.
async function filter(browser) {
  const page = await open(browser, "figures.html");
  const all = await page.locator(".shots > li:visible").count();
  const select = page.locator("#filter");
  const kind = await select.locator("option").nth(1).getAttribute("value");
  await select.selectOption(kind);
  const kinds = await page.locator(".shots > li:visible").evaluateAll((shots) => shots.map((s) => s.dataset.kind));
  expect(kinds.length > 0 && kinds.length < all && kinds.every((k) => k === kind), `figures: the filter shows ${kinds.length} of ${all}`);
  await select.selectOption("");
  expect((await page.locator(".shots > li:visible").count()) === all, "figures: the filter does not give all back");
  await page.context().close();
}

// Measured and said, never judged: it depends on the machine and what else runs on it.
async function firstPaint(browser, path) {
  const times = [];
  for (let i = 0; i < 5; i += 1) {
    const page = await open(browser, path);
    times.push(await page.evaluate(() => new Promise((done) => {
      const said = () => performance.getEntriesByName("first-contentful-paint")[0];
      if (said()) { done(said().startTime); return; }
      new PerformanceObserver(() => said() && done(said().startTime)).observe({ type: "paint", buffered: true });
    })));
    await page.context().close();
  }
  times.sort((a, b) => a - b);
  const [best, middle, worst] = [times[0], times[2], times[4]].map((ms) => ms.toFixed(0));
  console.log(`first paint of ${path}: ${middle} ms in the middle of five, ${best} at best, ${worst} at worst`);
}

folder("check-");
const browser = await launch();
const pages = pagesBelow(site);
expect(pages.length > 3, `only ${pages.length} pages in ${site}`);
for (const path of pages) await everyPage(browser, path);
const lessons = pages.filter((p) => p.startsWith("lessons/"));
const courses = pages.filter((p) => p.startsWith("courses/") && !/-day-\d+\.html$/.test(p));
let asked = 0;
for (const path of lessons) asked += await questions(browser, path);
expect(asked > 0, "no lesson asks a question");
if (courses.length) {
  const page = await open(browser, courses[0]);
  const href = await page.locator(".order h3 a").first().getAttribute("href");
  await page.context().close();
  await log(browser, new URL(href, root + courses[0]).href.slice(root.length), courses[0]);
}
await find(browser, process.env.FIND_WORD || "stopper", lessons.length);
let moved = 0;
for (const path of lessons) moved += (await explore(browser, path)) ? 1 : 0;
expect(moved > 0, "no lesson lets the reader move the climber");
for (const path of ["index.html", courses[0], lessons[0]].filter(Boolean)) {
  await print(browser, path);
  await forced(browser, path);
}
for (const path of pages) await rightToLeft(browser, path);
if (pages.includes("figures.html")) await filter(browser);
// The heaviest page of every kind: a lesson, a course, a record, and each page beside the front.
const weight = (path) => statSync(join(site, path)).size;
const heaviest = new Map();
for (const path of pages) {
  const kind = path.split("/")[0];
  if (weight(path) > (heaviest.has(kind) ? weight(heaviest.get(kind)) : 0)) heaviest.set(kind, path);
}
for (const path of heaviest.values()) await firstPaint(browser, path);
await close(browser);
console.log(`${checks} checks, ${wrong.length} wrong`);
process.exit(wrong.length ? 1 : 0);
