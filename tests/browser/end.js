// How a check ends: within its time, and with nothing left behind.

const last = [];

// Does something when the program ends, the newest first: at its last line, by an error, by its time or by
// a signal. Browsers that Playwright started end by themselves then.
export function atEnd(act) {
  last.unshift(act);
}
process.on("exit", () => last.forEach((act) => act()));
for (const signal of ["SIGHUP", "SIGINT", "SIGTERM"]) process.on(signal, () => process.exit(1));

// Ends a check that takes longer than it ever should, and says what it stood at.
export function endsWithin(ms, at) {
  setTimeout(() => {
    console.log("stuck at: " + at());
    process.exit(1);
  }, ms).unref();
}
