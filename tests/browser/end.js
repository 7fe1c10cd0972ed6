// What the checks begin and end with: a folder and a browser of their own; within their time, and with
// nothing left behind.

import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const ARGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync",
];
const last = [];
const end = () => last.forEach((act) => act());
// After whatever others do then: Playwright ends its browsers.
function endLast() {
  process.off("exit", end);
  process.on("exit", end);
}
for (const signal of ["SIGHUP", "SIGINT", "SIGTERM"]) process.on(signal, () => process.exit(1));

// Does something when the program ends, the newest first: at its last line, by an error, by its time or by
// a signal.
export function atEnd(act) {
  last.unshift(act);
  endLast();
}

// Ends a check that takes longer than it ever should, and says what it stood at.
export function endsWithin(ms, at) {
  setTimeout(() => {
    console.log("stuck at: " + at());
    process.exit(1);
  }, ms).unref();
}

// A folder that is gone at the end. What programs started from now on put aside goes into it too.
export function folder(name) {
  const path = mkdtempSync(join(tmpdir(), name));
  process.env.TMPDIR = path;
  atEnd(() => rmSync(path, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 }));
  return path;
}

// Debian's Chromium.
export async function launch() {
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ARGS });
  endLast();
  return browser;
}

// Closes a browser. One that does not say that it is closed is ended with the program.
export function close(browser) {
  return Promise.race([browser.close(), new Promise((done) => setTimeout(done, 10000))]);
}
