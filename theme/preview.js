// Keeps an open page of the preview as the pack is, and shows the pack's errors over it.
//
// A page whose text or scripts were pressed anew is brought in while the old one is shown, and put in
// its place in one step: nothing is blank between, and where the reader was, what was open and what
// was filled in stay, and so does what was said to the answer of a question that is still the same. Where
// another file that the page uses is different, the browser loads it all.
(function () {
  "use strict";
  var OWN = "/-/";
  var edition = Number(document.currentScript.dataset.edition);
  // Whether it stands for a page that is not there: anything new may end that.
  var instead = "instead" in document.currentScript.dataset;
  var panel = null;

  function all(selector, root) { return Array.prototype.slice.call((root || document).querySelectorAll(selector)); }

  // ---- what the page's scripts listen to ----
  // The window outlasts a page that is put in place of another; its scripts' listeners must not.
  var listen = EventTarget.prototype.addEventListener;
  var ended = new AbortController();
  EventTarget.prototype.addEventListener = function (kind, listener, options) {
    var target = this || window;
    if (target === document || !(target instanceof Node)) {
      options = Object.assign({}, typeof options === "object" ? options : { capture: Boolean(options) });
      options.signal = options.signal || ended.signal;
    }
    return listen.call(target, kind, listener, options);
  };

  // ---- what the page uses ----
  // Paths as the program names them: below the server, written out.
  function pathOf(url) { return decodeURIComponent(new URL(url, location.href).pathname).slice(1); }
  var uses = new Set();
  new PerformanceObserver(function (list) {
    list.getEntries().forEach(function (entry) { uses.add(pathOf(entry.name)); });
  }).observe({ type: "resource", buffered: true });

  // ---- what the reader did ----
  var scrolled = new Set();
  var chosen = new Set();
  listen.call(document, "scroll", function (event) { scrolled.add(event.target); }, { capture: true, passive: true });
  listen.call(document, "change", function (event) { chosen.add(event.target); }, { capture: true });

  // An element by the nearest one around it that has a name, so that it is found in the next page.
  function placeOf(element) {
    if (element.id) return [element.id, "", 0];
    var home = element.parentElement.closest("[id]") || document.body;
    return [home.id, element.localName, all(element.localName, home).indexOf(element)];
  }
  function at(place) {
    var home = place[0] ? document.getElementById(place[0]) : document.body;
    return home && place[1] ? all(place[1], home)[place[2]] : home;
  }
  var FIELDS = "input, select, textarea";
  function isFilledIn(field) {
    if (field.type === "file") return false;
    if (field.localName === "select") return chosen.has(field);
    return field.value !== field.defaultValue || field.checked !== field.defaultChecked;
  }
  // The named element nearest to the top of the window, and how far from it.
  function mark() {
    if (window.scrollY < 1) return null;
    var nearest = null;
    all("[id]", document.body).forEach(function (element) {
      if (!(element instanceof HTMLElement) || !element.getClientRects().length) return;
      var top = element.getBoundingClientRect().top;
      if (!nearest || Math.abs(top) < Math.abs(nearest[1])) nearest = [element.id, top];
    });
    return nearest;
  }
  function noted() {
    var focus = document.activeElement;
    var boxes = Array.from(scrolled).filter(function (box) { return box !== document && box.isConnected; });
    return {
      open: all("details").map(function (part) { return [placeOf(part), part.open]; }),
      fields: all(FIELDS).filter(isFilledIn).map(function (field) {
        return { field: field, place: field.closest("form.ask") ? null : placeOf(field) };
      }),
      boxes: boxes.map(function (box) { return [placeOf(box), box.scrollLeft, box.scrollTop]; }),
      focus: focus && focus !== document.body ? [placeOf(focus), focus.selectionStart, focus.selectionEnd] : null,
      mark: mark(),
    };
  }
  function restore(before) {
    before.open.forEach(function (was) {
      var part = at(was[0]);
      if (part) part.open = was[1];
    });
    before.fields.forEach(function (was) {
      var field = was.place ? at(was.place) : inSameQuestion(was.field);
      if (!field || !("value" in field)) return;
      if (field.type === "checkbox" || field.type === "radio") field.checked = was.field.checked;
      else field.value = was.field.value;
      field.dispatchEvent(new Event("input", { bubbles: true }));
      field.dispatchEvent(new Event("change", { bubbles: true }));
    });
    same.forEach(function (now, was) { now.querySelector(".say").replaceWith(was.querySelector(".say")); });
    // Its keys would keep all of the last page in memory.
    same.clear();
    before.boxes.forEach(function (was) {
      var box = at(was[0]);
      if (!box) return;
      box.scrollTo({ left: was[1], top: was[2], behavior: "instant" });
      scrolled.add(box);
    });
    var focus = before.focus && at(before.focus[0]);
    if (focus) {
      focus.focus({ preventScroll: true });
      // Not every field has a selection.
      if (before.focus[1] != null) focus.setSelectionRange(before.focus[1], before.focus[2]);
    }
    var mark = before.mark && document.getElementById(before.mark[0]);
    if (mark) window.scrollBy({ top: mark.getBoundingClientRect().top - before.mark[1], behavior: "instant" });
  }

  // ---- questions ----
  // The questions of a page that no script has touched: each form with what it asks and what is right,
  // wherever on the page it stands.
  function questionsOf(page) {
    return all("form.ask", page).map(function (form) {
      var bare = form.cloneNode(true);
      all(".item", bare).forEach(function (number) { number.remove(); });
      var right = all("[data-answer='" + form.id + "'], [data-because='" + form.id + "']", page);
      var texts = [bare].concat(right).map(function (part) { return part.outerHTML.split(form.id).join(""); });
      return { form: form, text: texts.join("\n") };
    });
  }
  var questions = questionsOf(document);
  // The form of each question of the last page that this one asks too, by its form there.
  var same = new Map();
  function matchQuestions(next) {
    var rest = questionsOf(next);
    var before = questions;
    questions = rest.slice();
    same = new Map();
    before.forEach(function (was) {
      var i = rest.findIndex(function (now) { return now.text === was.text; });
      if (i >= 0) same.set(was.form, rest.splice(i, 1)[0].form);
    });
  }
  function inSameQuestion(field) {
    var form = field.closest("form.ask");
    var now = same.get(form);
    return now && all(FIELDS, now)[all(FIELDS, form).indexOf(field)];
  }

  // ---- another page in the place of this one ----
  function textOf(url) {
    return fetch(url).then(function (answer) {
      if (!answer.ok) throw new Error(url + " is answered with " + answer.status);
      return answer.text();
    });
  }
  function scriptsOf(page) {
    return all("script[src]", page)
      .map(function (script) { return new URL(script.getAttribute("src"), location.href).href; })
      .filter(function (url) { return !pathOf(url).startsWith(OWN.slice(1)); });
  }
  function stylesOf(page) {
    return all("link[rel=stylesheet]", page).map(function (link) { return link.getAttribute("href"); }).join("\n");
  }
  function bring() {
    var texts = new Map();
    function ask(url) {
      if (!texts.has(url)) texts.set(url, textOf(url));
      return texts.get(url);
    }
    // One that the next page does not use may be gone.
    scriptsOf(document).forEach(function (url) { ask(url).catch(function () {}); });
    return textOf(location.href)
      .then(function (html) {
        var next = new DOMParser().parseFromString(html, "text/html");
        var scripts = scriptsOf(next);
        if (stylesOf(next) !== stylesOf(document)) throw new Error("other style sheets");
        return Promise.all(scripts.map(ask)).then(function (sources) { put(next, scripts, sources); });
      })
      .catch(function () { location.reload(); });
  }
  function put(next, scripts, sources) {
    var before = noted();
    matchQuestions(next);
    scrolled = new Set();
    chosen = new Set();
    ended.abort();
    ended = new AbortController();
    document.adoptedStyleSheets = [];
    // Pictures that are the same stay loaded.
    var pictures = all("img");
    all("img", next).forEach(function (picture) {
      var same = pictures.findIndex(function (old) { return old.isEqualNode(picture); });
      if (same >= 0) picture.replaceWith(pictures.splice(same, 1)[0]);
    });
    var root = document.documentElement;
    // At its top a page is new again: what is below the screen may wait until it has been painted.
    if (!before.mark) root.className = "";
    all(":scope > *", document.head).forEach(function (old) { if (!old.matches("link[rel=stylesheet]")) old.remove(); });
    all(":scope > *", next.head).forEach(function (node) { if (!node.matches("link[rel=stylesheet]")) document.head.appendChild(node); });
    Array.from(next.documentElement.attributes).forEach(function (attribute) { root.setAttribute(attribute.name, attribute.value); });
    document.body.replaceWith(next.body);
    panel = null;
    var failed = null;
    listen.call(window, "error", function (event) { failed = event.error || new Error(event.message); }, { signal: ended.signal });
    scripts.forEach(function (url, i) {
      var script = document.createElement("script");
      script.textContent = sources[i] + "\n//# sourceURL=" + url;
      document.head.appendChild(script);
    });
    document.dispatchEvent(new Event("DOMContentLoaded", { bubbles: true }));
    window.dispatchEvent(new Event("load"));
    if (failed) throw failed;
    restore(before);
  }

  // ---- what is wrong with the pack ----
  function showErrors(text) {
    if (panel) panel.remove();
    panel = null;
    if (!text) return;
    panel = document.createElement("pre");
    panel.className = "preview-said over";
    panel.setAttribute("role", "alert");
    panel.textContent = "The pack has errors" + (instead ? "" : "; below is the last good page") + ".\n\n" + text;
    document.body.appendChild(panel);
  }

  // ---- what is new ----
  // - `changed`: paths that are different, of all the pack; null where it is not known.
  function take(changed) {
    var own = pathOf(location.href);
    var mine = changed && changed.filter(function (path) { return path === own || uses.has(path); });
    if (!instead && mine && mine.length === 0) return Promise.resolve();
    if (!instead && mine && mine.every(function (path) { return path === own || path.endsWith(".js"); })) return bring();
    location.reload();
    return new Promise(function () {});
  }
  // A page that nobody sees does not ask: browsers hold few connections to one server open at once.
  var latest = 0;
  var asks = false;
  var question = null;
  function ask(after) {
    latest = after;
    asks = !document.hidden;
    if (!asks) return;
    question = new AbortController();
    fetch(OWN + "changes/" + after, { signal: question.signal })
      .then(function (answer) {
        if (!answer.ok) throw new Error("answered with " + answer.status);
        return answer.status === 204 ? null : answer.json();
      })
      .then(function (news) {
        if (!news) return ask(after);
        // The first answer may be about this very edition: whether there are errors.
        var taken = news.edition === edition ? Promise.resolve() : take(news.changed);
        return taken.then(function () {
          showErrors(news.errors);
          ask(news.edition);
        });
      })
      .catch(function (error) {
        if (error.name === "AbortError") ask(after);
        else awaitAgain();
      });
  }
  listen.call(document, "visibilitychange", function () {
    if (!document.hidden && !asks) ask(latest);
    if (document.hidden && question) question.abort();
  });
  // The preview was ended, and what comes after it is another one.
  function awaitAgain() {
    setTimeout(function () {
      fetch(OWN + "changes/0").then(function () { location.reload(); }, awaitAgain);
    }, 1000);
  }
  // About the edition before this page's, so that errors present now are shown.
  ask(edition - 1);
})();
