// Move the climber: reads between the samples that were worked out when the pack was pressed, and
// puts what it finds into the numbers table. At the lesson's own place the table says what the
// lesson says; away from it, what was not worked out becomes a dash.
(function () {
  "use strict";

  var DASH = "–";
  // Seconds that a value rests before the sentence is said, so that a held key does not flood it.
  var REST = 0.3;

  function fill(text, values) {
    return String(text).replace(/\{(\w+)\}/g, function (_, name) { return values[name]; });
  }
  function control(form) {
    var data = (window.ropeleafZones || {})[form.getAttribute("data-explore")];
    if (!data) return;
    var plate = form.closest(".plate");
    var grid = data.grid;
    var words = data.words;
    var across = form.elements.across;
    var height = form.elements.height;
    var say = form.querySelector(".say");
    var map = form.querySelector(".place-map");
    var ring = map.querySelector(".m-ring");
    var paths = Array.prototype.slice.call(map.querySelectorAll(".m-line"));
    var cells = Array.prototype.slice.call(plate.querySelectorAll("[data-cell]"));
    var atHome = cells.map(function (cell) { return cell.innerHTML; });
    var timer = 0;

    function shown(si, unit) {
      var text = (si * unit.scale).toFixed(unit.decimals).replace("-", "\u2212");
      return text + "\u00a0" + unit.unit;
    }
    // A scale's ends on the samples, in steps from the lesson's place, so that it can be met again.
    function ends(input, home, low, high) {
      var step = 0.1;
      input.step = step;
      var u = data.units.length.scale;
      input.min = (home * u - Math.floor((home - low) * u / step) * step).toFixed(6);
      input.max = (home * u + Math.floor((high - home) * u / step) * step).toFixed(6);
      input.setAttribute("value", (home * u).toFixed(6));
      input.value = (home * u).toFixed(6);
    }
    function here() {
      var u = data.units.length.scale;
      return [across.valueAsNumber / u, height.valueAsNumber / u];
    }
    // The reason at the nearest sample, 0 where held.
    function verdict(x, z) {
      var i = Math.min(grid.nx - 1, Math.max(0, Math.round((x - grid.x) / grid.dx)));
      var j = Math.min(grid.nz - 1, Math.max(0, Math.round((z - grid.z) / grid.dz)));
      return data.held[j * grid.nx + i];
    }
    // The pull between four samples, or null where one of them has none.
    function pull(line, x, z) {
      var fx = (x - grid.x) / grid.dx, fz = (z - grid.z) / grid.dz;
      var i = Math.min(grid.nx - 2, Math.max(0, Math.floor(fx)));
      var j = Math.min(grid.nz - 2, Math.max(0, Math.floor(fz)));
      var at = j * grid.nx + i, p = line.pulls;
      var four = [p[at], p[at + 1], p[at + grid.nx], p[at + grid.nx + 1]];
      if (four.some(function (v) { return v === null; })) return null;
      var s = fx - i, t = fz - j;
      return (four[0] * (1 - s) + four[1] * s) * (1 - t) + (four[2] * (1 - s) + four[3] * s) * t;
    }
    function measure(line, x, z) {
      var places = line.run.map(function (at) { return at || [x, z]; });
      var length = 0;
      for (var k = 1; k < places.length; k += 1) length += Math.hypot(places[k][0] - places[k - 1][0], places[k][1] - places[k - 1][1]);
      var first = line.run.findIndex(function (at) { return at === null; });
      var to = first < 0 ? null : line.run[first + 1] || line.run[first - 1];
      var angle = to ? Math.atan2(Math.abs(to[0] - x), to[1] - z) * 180 / Math.PI : null;
      return { length: length, angle: angle, toward: to };
    }
    function put(key, text) {
      cells.forEach(function (cell) {
        if (cell.getAttribute("data-cell") !== key) return;
        cell.textContent = "";
        var value = document.createElement("span");
        value.className = "v";
        value.textContent = text;
        cell.appendChild(value);
      });
    }
    function show() {
      var at = here(), x = at[0], z = at[1];
      var home = Math.abs(x - data.home[0]) < 1e-6 && Math.abs(z - data.home[1]) < 1e-6;
      var code = home ? 0 : verdict(x, z);
      var force = data.units.force, length = data.units.length;
      var pulls = data.lines.map(function (line) { return pull(line, x, z); });
      var held = code === 0 && (home || pulls.every(function (v) { return v !== null; }));
      form.querySelectorAll("output").forEach(function (out, k) { out.textContent = shown(at[k], length); });
      [across, height].forEach(function (input, k) { input.setAttribute("aria-valuetext", shown(at[k], length)); });
      ring.setAttribute("cx", x * data.map.perMetre);
      ring.setAttribute("cy", -z * data.map.perMetre);
      data.lines.forEach(function (line, k) {
        paths[k].setAttribute("d", "M" + line.run.map(function (p) {
          var to = p || at;
          return to[0] * data.map.perMetre + " " + -to[1] * data.map.perMetre;
        }).join("L"));
      });
      if (home) {
        cells.forEach(function (cell, k) { cell.innerHTML = atHome[k]; });
      } else {
        cells.forEach(function (cell) { put(cell.getAttribute("data-cell"), DASH); });
        data.lines.forEach(function (line, k) {
          var m = measure(line, x, z);
          put("length/" + line.key, shown(m.length, length));
          if (!held) return;
          put("pull/" + line.key, shown(pulls[k], force));
          if (m.angle !== null) put("angle/" + line.key, m.angle.toFixed(0) + "°");
          if (line.together !== null) {
            put("on-climber/" + line.key, shown(pulls[k] * line.together, force));
            put("share/" + line.key, (pulls[k] * line.together / data.weight * 100).toFixed(0) + "\u00a0%");
          }
        });
      }
      plate.classList.toggle("away", !home);
      form.classList.toggle("out", !held);
      say.classList.toggle("out", !held);
      window.clearTimeout(timer);
      timer = window.setTimeout(function () { say.textContent = sentence(held, code, x, z, pulls, home); }, REST * 1000);
    }
    function sentence(held, code, x, z, pulls, home) {
      if (!held) return fill(words.not_held, { why: code > 0 ? data.reasons[code - 1] : words.beyond });
      var each = data.lines.map(function (line, k) {
        var cell = plate.querySelector("[data-cell='pull/" + line.key + "'] .v");
        var text = home && cell ? cell.textContent : shown(pulls[k], data.units.force);
        return fill(words.pull_of, { line: line.name, pull: text });
      });
      return fill(words.held, { pulls: each.join(", ") });
    }
    function point(event) {
      var where = new DOMPoint(event.clientX, event.clientY).matrixTransform(map.getScreenCTM().inverse());
      var u = data.units.length.scale;
      across.value = where.x / data.map.perMetre * u;
      height.value = -where.y / data.map.perMetre * u;
      show();
    }

    ends(across, data.home[0], grid.x, grid.x + grid.dx * (grid.nx - 1));
    ends(height, data.home[1], grid.z, grid.z + grid.dz * (grid.nz - 1));
    form.hidden = false;
    form.addEventListener("input", show);
    form.addEventListener("reset", function () { window.setTimeout(show, 0); });
    form.addEventListener("submit", function (event) { event.preventDefault(); });
    map.addEventListener("pointerdown", function (event) { map.setPointerCapture(event.pointerId); point(event); event.preventDefault(); });
    map.addEventListener("pointermove", function (event) { if (map.hasPointerCapture(event.pointerId)) point(event); });
    window.addEventListener("beforeprint", function () { form.reset(); });
    show();
  }
  Array.prototype.slice.call(document.querySelectorAll("[data-explore]")).forEach(control);
})();
