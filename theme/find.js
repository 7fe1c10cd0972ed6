// Finds places in the pack from the index that was worked out when it was pressed. Words match by
// their beginning, and with one or two slips of the pen; the line shows what was found.
// A classic script with its index beside it: a page opened from a file cannot fetch.
(function () {
  "use strict";

  // Most results shown: more than anybody reads, few enough to show at once.
  var MOST = 60;
  // What a place is worth, by how a word of it was met.
  var EXACT = 6, BEGINS = 3, SLIP = 1;
  var KIND_WORTH = { sheet: 4, zone: 2, term: 2, kit: 2, course: 2 };

  var index = window.ropeleafIndex;
  var words = JSON.parse(document.getElementById("sheet-words").textContent);
  var form = document.getElementById("find");
  var field = document.getElementById("q");
  var found = document.getElementById("found");
  var near = document.getElementById("near");
  var list = document.getElementById("results");
  var vocabulary = index.words.map(function (entry) { return entry[0]; });

  function fill(text, values) {
    return text.replace(/\{(\w+)\}/g, function (_, name) { return values[name]; });
  }
  function cut(text) {
    return text.toLowerCase().split(/[^\p{L}\p{N}]+/u).filter(Boolean);
  }
  function placesOf(i) {
    var entry = index.words[i];
    if (typeof entry[1] === "string") {
      var at = 0;
      entry[1] = entry[1].split(" ").map(function (step) { at += Number(step); return at; });
    }
    return entry[1];
  }
  function firstAtLeast(word) {
    var low = 0, high = vocabulary.length;
    while (low < high) {
      var mid = (low + high) >> 1;
      if (vocabulary[mid] < word) low = mid + 1; else high = mid;
    }
    return low;
  }
  // Slips allowed: none in short words, one from four letters, two from eight.
  function slips(word) { return word.length < 4 ? 0 : word.length < 8 ? 1 : 2; }
  // Distance with neighbouring letters swapped counted once, or `most + 1` as soon as it is more.
  function distance(a, b, most) {
    if (Math.abs(a.length - b.length) > most) return most + 1;
    var before = [], last = [], row = [];
    for (var j = 0; j <= b.length; j += 1) last[j] = j;
    for (var i = 1; i <= a.length; i += 1) {
      row = [i];
      var least = i;
      for (j = 1; j <= b.length; j += 1) {
        var cost = a[i - 1] === b[j - 1] ? 0 : 1;
        var value = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + cost);
        if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) value = Math.min(value, before[j - 2] + 1);
        row[j] = value;
        if (value < least) least = value;
      }
      if (least > most) return most + 1;
      before = last;
      last = row;
    }
    return last[b.length];
  }
  // Words of the index that a typed word may mean: index of the word → its worth.
  function meant(word) {
    var out = new Map();
    for (var i = firstAtLeast(word); i < vocabulary.length && vocabulary[i].startsWith(word); i += 1) {
      out.set(i, vocabulary[i] === word ? EXACT : BEGINS);
    }
    var most = slips(word);
    if (out.size === 0 && most > 0) {
      vocabulary.forEach(function (other, at) {
        if (other[0] !== word[0] && other[1] !== word[1]) return;
        var start = other.length > word.length ? other.slice(0, word.length) : other;
        if (distance(word, other, most) <= most || (other.length > word.length && distance(word, start, 1) <= 1)) out.set(at, SLIP);
      });
    }
    return out;
  }
  function search(query) {
    var asked = cut(query);
    // Worth by place, 0 where a word is not met. A letter may meet every place of a large pack: plain
    // arrays and a shelf for each worth, no sorting.
    var scores = null;
    var marked = new Set();
    var slipped = false;
    asked.forEach(function (word) {
      var here = new Uint16Array(index.places.length);
      meant(word).forEach(function (worth, at) {
        marked.add(vocabulary[at]);
        if (worth === SLIP) slipped = true;
        placesOf(at).forEach(function (place) { if (here[place] < worth) here[place] = worth; });
      });
      if (scores !== null) here.forEach(function (worth, place) { here[place] = worth && scores[place] ? worth + scores[place] : 0; });
      scores = here;
    });
    var shelves = [];
    var count = 0;
    (scores || []).forEach(function (worth, place) {
      if (worth === 0) return;
      count += 1;
      var all = worth + (KIND_WORTH[index.places[place][3]] || 0);
      var shelf = shelves[all] || (shelves[all] = []);
      if (shelf.length < MOST) shelf.push(place);
    });
    var best = [];
    shelves.reverse().forEach(function (shelf) { best = best.concat(shelf); });
    return { places: best.slice(0, MOST), count: count, marked: marked, asked: asked, slipped: slipped };
  }
  // Words of the pack close to what was typed, for when little was found.
  function nearWords(asked) {
    var out = [];
    asked.forEach(function (word) {
      if (word.length < 3) return;
      vocabulary.forEach(function (other) {
        if (other === word || other.length < 3) return;
        var close = distance(word, other, 2) <= 2 || (word.length > 3 && other.indexOf(word) > 0);
        if (close) out.push([distance(word, other, 9), other]);
      });
    });
    out.sort(function (a, b) { return a[0] - b[0] || (a[1] < b[1] ? -1 : 1); });
    return out.slice(0, 5).map(function (entry) { return entry[1]; });
  }
  // The part of a text around its first marked word, that word in a mark.
  function line(text, marked) {
    var p = document.createElement("p");
    var pieces = text.split(/([\p{L}\p{N}]+)/u);
    var first = pieces.findIndex(function (piece) { return marked.has(piece.toLowerCase()); });
    var from = Math.max(0, first - 24);
    var to = Math.min(pieces.length, from + 80);
    if (from > 0) p.appendChild(document.createTextNode("… "));
    pieces.slice(from, to).forEach(function (piece) {
      if (marked.has(piece.toLowerCase())) {
        var mark = document.createElement("mark");
        mark.textContent = piece;
        p.appendChild(mark);
      } else if (piece) p.appendChild(document.createTextNode(piece));
    });
    if (to < pieces.length) p.appendChild(document.createTextNode(" …"));
    return p;
  }
  function span(name, text) {
    var out = document.createElement("span");
    out.className = name;
    out.textContent = text;
    return out;
  }
  function row(place, marked) {
    var entry = index.places[place];
    var page = index.pages[entry[0]];
    var item = document.createElement("li");
    var link = document.createElement("a");
    link.href = page[0] + (entry[1] ? "#" + entry[1] : "");
    var kind = words.kind[entry[3]];
    link.appendChild(span("addr", entry[2] || kind));
    var what = span("what", "");
    what.appendChild(span("hit", page[1]));
    what.appendChild(document.createTextNode(" "));
    if (entry[2]) what.appendChild(span("kind small", kind));
    link.appendChild(what);
    item.appendChild(link);
    item.appendChild(line(entry[4], marked));
    return item;
  }
  function show() {
    var query = field.value.trim();
    list.textContent = "";
    found.hidden = query === "";
    near.hidden = true;
    if (query === "") return;
    var result = search(query);
    var n = result.count;
    var text = n === 0 ? words.count_none : result.slipped ? words.count_near : n === 1 ? words.count_one : words.count_many;
    var more = n > MOST ? " " + fill(words.first_of, { n: MOST }) : "";
    document.getElementById("found-h").textContent = fill(text, { n: n, query: query }) + more;
    result.places.forEach(function (place) { list.appendChild(row(place, result.marked)); });
    if (n >= 4) return;
    var close = nearWords(result.asked);
    var holder = document.getElementById("near-words");
    holder.textContent = "";
    if (close.length) {
      holder.appendChild(document.createTextNode(words.near + " "));
      close.forEach(function (word, i) {
        if (i) holder.appendChild(document.createTextNode(", "));
        var link = document.createElement("a");
        link.href = "?q=" + encodeURIComponent(word);
        link.textContent = word;
        link.addEventListener("click", function (event) { event.preventDefault(); field.value = word; show(); field.focus(); });
        holder.appendChild(link);
      });
    }
    near.hidden = false;
  }

  form.addEventListener("submit", function (event) { event.preventDefault(); show(); });
  field.addEventListener("input", show);
  field.addEventListener("keydown", function (event) {
    if (event.key === "Escape") { field.value = ""; show(); event.preventDefault(); }
    if (event.key === "ArrowDown") { move(event, 0); }
  });
  list.addEventListener("keydown", function (event) {
    var links = Array.prototype.slice.call(list.querySelectorAll("a"));
    var at = links.indexOf(document.activeElement);
    if (event.key === "ArrowDown") move(event, Math.min(at + 1, links.length - 1));
    if (event.key === "ArrowUp") { if (at === 0) { field.focus(); event.preventDefault(); } else move(event, at - 1); }
  });
  function move(event, to) {
    var link = list.querySelectorAll("a")[to];
    if (link) { link.focus(); event.preventDefault(); }
  }
  var asked = new URLSearchParams(window.location.search).get("q");
  if (asked) field.value = asked;
  show();
})();
