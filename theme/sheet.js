// What a sheet does with scripts on: questions answer at once, the reader's log is kept in this
// browser, folded parts open for printing. Without scripts everything can still be read.
// A classic script: module scripts do not load from a file path.
(function () {
  "use strict";

  var words = {};
  function parseWords() {
    var holder = document.getElementById("sheet-words");
    if (holder) words = JSON.parse(holder.textContent);
  }
  function fill(text, values) {
    return String(text || "").replace(/\{(\w+)\}/g, function (_, name) { return values[name]; });
  }
  function all(selector, root) { return Array.prototype.slice.call((root || document).querySelectorAll(selector)); }

  // ---- folded parts ----
  // Code and revision at the foot of every printed page. A margin box cannot read the page's text, and
  // an element that is fixed below the page comes out over the head of the next one.
  function foot() {
    if (!window.CSSStyleSheet || !document.adoptedStyleSheets) return;
    var text = document.querySelector(".print-foot").textContent.replace(/["\\\n]/g, " ");
    var sheet;
    try { sheet = new CSSStyleSheet(); } catch (error) { return; }
    sheet.replaceSync('@page { @bottom-left { content: "' + text + '"; font: 9pt "IBM Plex Sans"; } }');
    document.adoptedStyleSheets = [sheet];
  }
  function folds() {
    var index = document.querySelector(".index details");
    if (index && window.matchMedia("(max-width: 45em)").matches) index.open = false;
    window.addEventListener("beforeprint", function () {
      all("details").forEach(function (part) { part.open = true; });
    });
  }

  // ---- questions ----
  var GLYPH = { right: "M3 14.5L11 22.5L25 5.5", near: "M4 14H20M14 7L21 14L14 21" };
  function say(form, right, text, because) {
    var box = form.querySelector(".say");
    box.textContent = "";
    box.className = "say" + (right ? "" : " near");
    var svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    svg.setAttribute("viewBox", "0 0 28 28");
    svg.setAttribute("aria-hidden", "true");
    var path = document.createElementNS("http://www.w3.org/2000/svg", "path");
    path.setAttribute("class", "glyph");
    path.setAttribute("d", right ? GLYPH.right : GLYPH.near);
    svg.appendChild(path);
    var inner = document.createElement("div");
    var line = document.createElement("p");
    line.textContent = text;
    inner.appendChild(line);
    if (because) {
      var more = document.createElement("div");
      more.appendChild(because.cloneNode(true)).removeAttribute("data-because");
      inner.appendChild(more);
    }
    box.appendChild(svg);
    box.appendChild(inner);
  }
  function textOf(id, name) {
    var found = document.querySelector("[data-" + name + "='" + id + "']");
    return found;
  }
  function number(text) {
    var plain = text.replace(/\u2212/g, "-").replace(",", ".").trim();
    var m = /^[-+]?(\d+\.?\d*|\.\d+)/.exec(plain);
    return m ? parseFloat(m[0]) : NaN;
  }
  function check(form) {
    var because = textOf(form.id, "because");
    var answer = textOf(form.id, "answer");
    var kind = form.getAttribute("data-form");
    if (kind === "number") return checkNumber(form, answer, because);
    if (kind === "order") return checkOrder(form, because);
    var chosen = form.querySelector("input:checked");
    if (!chosen) return say(form, false, words.choose);
    if (chosen.value === "1") return say(form, true, words.right, because);
    var slip = chosen.getAttribute("data-why");
    say(form, false, fill(words.not_this, { given: chosen.parentNode.textContent.trim() }) + (slip ? " " + slip : ""));
  }
  function checkNumber(form, answer, because) {
    var written = form.querySelector("input").value.trim();
    var value = number(written);
    if (isNaN(value)) return say(form, false, words.write);
    var right = parseFloat(form.getAttribute("data-right"));
    var tolerance = parseFloat(form.getAttribute("data-tolerance"));
    var near = function (other) { return Math.abs(value - other) <= Math.max(tolerance, Math.abs(other) * 1e-9); };
    var given = { given: written };
    if (near(right)) return say(form, true, fill(words.right_number, { value: answer.textContent.trim() }), because);
    if (near(right / 2)) return say(form, false, fill(words.half, given));
    if (near(right * 2)) return say(form, false, fill(words.double, given));
    say(form, false, fill(words.off, given));
  }
  function checkOrder(form, because) {
    var boxes = all("select", form);
    var seen = {};
    var placed = 0;
    var twice = false;
    boxes.forEach(function (box) {
      if (!box.value || seen[box.value]) twice = true;
      seen[box.value] = true;
      if (box.value === box.getAttribute("data-right")) placed += 1;
    });
    if (twice) return say(form, false, words.order_twice);
    if (placed === boxes.length) return say(form, true, words.right, because);
    say(form, false, fill(words.order_off, { n: placed, all: boxes.length }));
  }
  function questions() {
    all(".asks").forEach(function (asks) { asks.classList.add("live"); });
    all("form.ask").forEach(function (form) {
      all("button", form).forEach(function (button) { button.hidden = false; });
      form.addEventListener("submit", function (event) {
        event.preventDefault();
        check(form);
      });
    });
  }

  // ---- the reader's log ----
  var MARKS = ["read", "practised", "assessed"];
  var logKey = "";
  function readLog() {
    try {
      var held = JSON.parse(window.localStorage.getItem(logKey) || "{}");
      return held && typeof held === "object" ? held : {};
    } catch (_) { return null; }
  }
  function writeLog(log) {
    try { window.localStorage.setItem(logKey, JSON.stringify(log)); return true; } catch (_) { return false; }
  }
  function showLog() {
    var log = readLog() || {};
    all("[data-log-code]").forEach(function (box) {
      var marks = log[box.getAttribute("data-log-code")] || {};
      box.checked = marks[box.getAttribute("data-log-mark")] === true;
    });
    all("[data-course-log]").forEach(function (part) {
      var codes = part.getAttribute("data-course-log").split("|");
      var count = { all: codes.length };
      MARKS.forEach(function (mark) {
        count[mark] = codes.filter(function (code) { return (log[code] || {})[mark] === true; }).length;
      });
      part.querySelector("[data-log-summary]").textContent = fill(part.getAttribute("data-summary"), count);
    });
  }
  function cleaned(log) {
    var out = {};
    Object.keys(log).forEach(function (code) {
      var marks = log[code];
      if (!marks || typeof marks !== "object") return;
      out[code] = {};
      MARKS.forEach(function (mark) { if (marks[mark] === true) out[code][mark] = true; });
    });
    return out;
  }
  function saveFile(part) {
    var data = { log: logKey, lessons: readLog() || {} };
    var link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify(data, null, 1)], { type: "application/json" }));
    link.download = part.getAttribute("data-file-name");
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 1000);
  }
  function loadFile(part) {
    var input = document.createElement("input");
    input.type = "file";
    input.accept = "application/json,.json";
    input.addEventListener("change", function () {
      var reader = new FileReader();
      reader.onload = function () {
        try {
          var data = JSON.parse(reader.result);
          if (!data || !data.lessons) throw new Error();
          writeLog(cleaned(data.lessons));
          showLog();
        } catch (_) {
          part.querySelector("[data-log-summary]").textContent = part.getAttribute("data-bad-file");
        }
      };
      if (input.files[0]) reader.readAsText(input.files[0]);
    });
    input.click();
  }
  function log() {
    logKey = document.body.getAttribute("data-log");
    if (readLog() === null || !writeLog(readLog())) return;
    all("[data-log-form]").forEach(function (form) { form.hidden = false; });
    showLog();
    document.addEventListener("change", function (event) {
      var code = event.target.getAttribute("data-log-code");
      if (!code) return;
      var held = readLog() || {};
      held[code] = held[code] || {};
      held[code][event.target.getAttribute("data-log-mark")] = event.target.checked;
      writeLog(cleaned(held));
      showLog();
    });
    document.addEventListener("click", function (event) {
      var what = event.target.getAttribute("data-log-do");
      if (!what) return;
      var part = event.target.closest("[data-course-log]");
      if (what === "save") saveFile(part);
      if (what === "load") loadFile(part);
      if (what === "clear") { writeLog({}); showLog(); }
    });
    window.addEventListener("storage", showLog);
  }

  // ---- drawings laid out for a phone ----
  function phones() {
    var src = document.body.getAttribute("data-phones");
    if (!src) return;
    var narrow = window.matchMedia("(max-width: 45em)");
    var asked = false;
    function put() {
      all("[data-phone]").forEach(function (figure) {
        var svg = window.ropeleafPhone[figure.getAttribute("data-phone")];
        if (!svg) return;
        var holder = document.createElement("div");
        holder.className = "narrow-only";
        holder.innerHTML = svg;
        figure.appendChild(holder);
      });
    }
    function ask() {
      if (asked || !narrow.matches) return;
      asked = true;
      var script = document.createElement("script");
      script.src = src;
      script.addEventListener("load", put);
      document.head.appendChild(script);
    }
    narrow.addEventListener("change", ask);
    ask();
  }

  // ---- parts that scroll in their own box are reached by the keyboard and have a name ----
  function boxes() {
    all(".scroll, .plate-numbers, details.more > div").forEach(function (box) {
      if (box.scrollWidth <= box.clientWidth || box.hasAttribute("tabindex")) return;
      var caption = box.querySelector("caption") || box.closest(".zone-body").querySelector("h2 > :last-child");
      box.setAttribute("tabindex", "0");
      box.setAttribute("role", "group");
      box.setAttribute("aria-label", caption.textContent);
    });
  }

  // ---- figures by kind ----
  function filter() {
    var box = document.querySelector("[data-filter]");
    if (!box) return;
    box.hidden = false;
    var select = box.querySelector("select");
    var status = box.querySelector("[role='status']");
    var shots = all(".shots > li");
    select.addEventListener("change", function () {
      shots.forEach(function (shot) {
        shot.hidden = select.value !== "" && shot.getAttribute("data-kind") !== select.value;
      });
      // Rigs without such a figure go too, and zones without such a rig.
      all(".shot-row").forEach(function (row) { row.hidden = !row.querySelector(".shots > li:not([hidden])"); });
      all(".zone:has(.shot-row)").forEach(function (zone) { zone.hidden = !zone.querySelector(".shot-row:not([hidden])"); });
      var left = shots.filter(function (shot) { return !shot.hidden; }).length;
      status.textContent = fill(box.getAttribute("data-filter"), { n: left, all: shots.length });
    });
  }

  parseWords();
  folds();
  phones();
  questions();
  log();
  filter();
  // What nobody sees waits until the page has been painted: zones below the first screen are laid out
  // then, and measuring the boxes needs them.
  window.requestAnimationFrame(function () {
    window.setTimeout(function () {
      document.documentElement.classList.add("painted");
      foot();
      boxes();
      window.addEventListener("resize", boxes);
    }, 0);
  });
})();
