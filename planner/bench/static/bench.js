// The page's own script: keypad, dragging a hole, news of a search, questions before something is taken back.
(function () {
  "use strict";
  var pad = null, target = null, source = null;
  var say = function (text) { var said = document.getElementById("said"); if (said) said.textContent = text; };

  // --- keypad: for gloves and tablets; a button beside it brings the ordinary keyboard ---
  var KEYS = ["1", "2", "3", "/", ",", "-", "⌫", "4", "5", "6", ".", "=", "space", "clear", "7", "8", "9", "0", "next", "abc", "close"];
  function wanted() { return window.matchMedia("(pointer: coarse)").matches || document.body.classList.contains("keys"); }
  function buildPad() {
    pad = document.getElementById("pad");
    if (!pad || pad.childElementCount) return;
    KEYS.forEach(function (key) {
      var b = document.createElement("button");
      b.type = "button"; b.textContent = key === "space" ? "␣" : key; b.dataset.key = key;
      b.setAttribute("aria-label", { "⌫": "delete", space: "space", clear: "clear the box", next: "next box", close: "close the keypad", abc: "the keyboard with letters" }[key] || key);
      b.addEventListener("pointerdown", function (e) { e.preventDefault(); press(key); });
      b.addEventListener("click", function (e) { if (e.detail === 0) press(key); });
      pad.appendChild(b);
    });
  }
  function showPad(input) {
    target = input;
    if (!pad || !wanted() || input.dataset.letters) return;
    input.setAttribute("inputmode", "none");
    pad.hidden = false; document.body.classList.add("padded");
    input.scrollIntoView({ block: "center" });
  }
  function hidePad() { if (pad) pad.hidden = true; document.body.classList.remove("padded"); }
  function boxes() { return Array.prototype.filter.call(document.querySelectorAll("input[data-pad]"), function (e) { return e.offsetParent; }); }
  function press(key) {
    if (!target) return;
    if (key === "abc") { var letters = target; hidePad(); letters.dataset.letters = "yes"; letters.setAttribute("inputmode", "text"); letters.blur(); letters.focus(); return; }
    if (key === "close") { hidePad(); target.blur(); return; }
    if (key === "next") { var all = boxes(), next = all[all.indexOf(target) + 1]; if (next) { next.focus(); next.select(); } else { hidePad(); target.blur(); } return; }
    var start = target.selectionStart, end = target.selectionEnd, text = target.value;
    if (key === "clear") { text = ""; start = 0; }
    else if (key === "⌫") { if (start === end && start > 0) start -= 1; text = text.slice(0, start) + text.slice(end); }
    else { var typed = key === "space" ? " " : key; text = text.slice(0, start) + typed + text.slice(end); start += typed.length; }
    target.value = text; target.setSelectionRange(start, start);
    target.dispatchEvent(new Event("input", { bubbles: true }));
  }
  document.addEventListener("focusin", function (e) { if (e.target.matches && e.target.matches("input[data-pad]")) showPad(e.target); else if (!e.target.closest || !e.target.closest("#pad")) hidePad(); });

  // --- a question before a spin is taken back; one entry per tap ---
  document.addEventListener("submit", function (e) {
    var button = e.submitter;
    if (button && button.dataset.ask && !window.confirm(button.dataset.ask)) { e.preventDefault(); e.stopImmediatePropagation(); return; }
    if (e.target.method === "post") { if (e.target.dataset.sent) { e.preventDefault(); e.stopImmediatePropagation(); return; } e.target.dataset.sent = "yes"; setTimeout(function () { delete e.target.dataset.sent; }, 4000); }
  }, true);

  // --- columns pasted from a spreadsheet go down the boxes, one kind of part after the other ---
  function column(name) { return Array.prototype.slice.call(document.querySelectorAll('input[data-column="' + name + '"]')); }
  document.addEventListener("paste", function (e) {
    var box = e.target;
    if (!box.matches || !box.matches("input[data-column]")) return;
    var rows = (e.clipboardData.getData("text") || "").split(/\r\n|\n|\r/).map(function (row) { return row.split("\t").map(function (t) { return t.trim(); }); }).filter(function (row) { return row.some(Boolean); });
    if (rows.length && !rows[0].some(function (t) { return /\d/.test(t); })) rows.shift(); // heads
    if (rows.length === 1 && rows[0].length > 1) rows = rows[0].map(function (t) { return [t]; }); // a row goes down too
    if (rows.length < 2) return;
    e.preventDefault();
    var names = [], from = column(box.dataset.column).indexOf(box), filled = 0, over = 0;
    document.querySelectorAll("input[data-column]").forEach(function (each) { if (names.indexOf(each.dataset.column) < 0) names.push(each.dataset.column); });
    var first = names.indexOf(box.dataset.column);
    for (var c = 0; c < rows[0].length; c++) {
      var boxes = names[first + c] === undefined ? [] : column(names[first + c]);
      var kind = boxes.length ? boxes[0].closest("fieldset") : null, alike = kind && kind.querySelector(".alike input");
      if (alike) alike.checked = false;
      for (var r = 0; r < rows.length; r++) {
        var to = boxes[(c ? 0 : from) + r], text = rows[r][c];
        if (!text) continue;
        if (to) { to.value = text; filled += 1; } else over += 1;
      }
    }
    box.dispatchEvent(new Event("input", { bubbles: true }));
    var words = filled + " weights pasted" + (over ? "; " + over + " more had no box and were left out" : "");
    var at = document.getElementById("pasted"); if (at) at.textContent = words; else say(words);
  });
  document.addEventListener("keydown", function (e) {
    if (e.key !== "Enter" || !e.target.matches || !e.target.matches("input[data-column]")) return;
    var all = Array.prototype.slice.call(document.querySelectorAll('input[data-column="' + e.target.dataset.column + '"]'));
    var next = all[all.indexOf(e.target) + 1];
    if (next) { e.preventDefault(); next.focus(); next.select(); }
  });

  // --- new job: Enter goes to the next box, a proposal is taken by a tap ---
  document.addEventListener("keydown", function (e) {
    if (e.key !== "Enter" || !e.target.matches || !e.target.matches("#newform input")) return;
    e.preventDefault();
    var all = Array.prototype.filter.call(document.querySelectorAll("#newform input, #newform select"), function (b) { return b.offsetParent; });
    var next = all[all.indexOf(e.target) + 1];
    if (next) { next.focus(); if (next.select) next.select(); }
  });
  document.addEventListener("click", function (e) {
    var take = e.target.closest && e.target.closest("button[data-take]");
    if (!take) return;
    var box = document.getElementById(take.dataset.take);
    if (box) { box.value = take.dataset.value; box.dispatchEvent(new Event("input", { bubbles: true })); box.focus(); }
  });

  // --- a slider and its box say the same ---
  document.addEventListener("input", function (e) {
    var d = e.target.dataset;
    if (!d) return;
    if (d.box) { var box = document.getElementById(d.box); box.value = e.target.value; }
    else if (d.range) { var range = document.getElementById(d.range), value = parseFloat(e.target.value.replace(",", ".").replace("\u2212", "-")); if (!isNaN(value)) range.value = value; }
  }, true);

  // --- a number that is tapped opens the box for what it came out as ---
  document.addEventListener("click", function (e) {
    var button = e.target.closest && e.target.closest("button[data-opens]");
    var box = button && document.querySelector("form.otherwise #" + button.dataset.opens);
    if (!box) return;
    box.closest("details").open = true;
    box.focus(); box.select();
  });

  // --- news of a search, as the server sends it ---
  function listen() {
    if (source) { source.close(); source = null; }
    var news = document.getElementById("news");
    if (!news) return;
    source = new EventSource(news.dataset.stream);
    source.addEventListener("text", function (e) { var at = document.getElementById("newest"), text = JSON.parse(e.data); if (at) at.textContent = ": " + text; say(text); });
    source.addEventListener("end", function (e) {
      source.close(); source = null;
      if (JSON.parse(e.data) === "overtaken") { news.textContent = "Another question about this job was asked meanwhile. "; var a = document.createElement("a"); a.href = news.dataset.again; a.className = "button"; a.textContent = "Ask this one again"; news.appendChild(a); return; }
      if (document.getElementById("error")) { news.textContent = "The plan is there. "; var look = document.createElement("a"); look.href = news.dataset.again; look.className = "button"; look.textContent = "Show it"; news.appendChild(look); return; }
      window.htmx.ajax("GET", news.dataset.again, { target: "#page", select: "#page", swap: "outerHTML" });
    });
    source.onerror = function () { if (source) source.close(); source = null; };
  }

  // --- a rim hole dragged along the rim, its depth pulled ---
  function drag(svg) {
    var d = svg.dataset, rim = +d.rim, half = +d.across / 2, cone = +d.cone, extra = +d.shoulder - +d.stop;
    var hole = svg.querySelector(".hole.now"), ghost = null, start = null, dial = +d.dial, stop = +d.stop;
    if (!hole) return;
    function at(e) { var p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse()); return { angle: Math.atan2(-p.y, p.x) * 180 / Math.PI, radius: Math.hypot(p.x, p.y) }; }
    function snap(value, step) { return Math.round(value / step) * step; }
    function draw(turn) {
      if (!ghost) { ghost = document.createElementNS("http://www.w3.org/2000/svg", "path"); ghost.setAttribute("class", "ghost"); svg.appendChild(ghost); }
      var bottom = -(rim - (stop + extra));
      ghost.setAttribute("d", "M" + -half + " " + -rim + "V" + bottom + "L0 " + (bottom + cone) + "L" + half + " " + bottom + "V" + -rim + "Z");
      ghost.setAttribute("transform", "rotate(" + -turn + ")");
    }
    svg.addEventListener("pointerdown", function (e) {
      var p = at(e);
      if (Math.abs(p.angle - 90) > 22 || p.radius < rim * 0.3) return;
      start = p; svg.setPointerCapture(e.pointerId); svg.classList.add("dragged"); e.preventDefault();
    });
    svg.addEventListener("pointermove", function (e) {
      if (!start) return;
      var p = at(e), turn = p.angle - start.angle;
      var set = snap(+d.dial + +d.grows * turn, +d.turnStep);
      turn = (set - +d.dial) * +d.grows;
      dial = ((set % 360) + 360) % 360;
      stop = Math.min(+d.most, Math.max(+d.least, snap(+d.stop + (start.radius - p.radius), +d.depthStep)));
      draw(turn);
      document.getElementById("dialnow").textContent = +dial.toFixed(2) + "°";
      var shown = document.getElementById("stopnow"), mm = +(shown && shown.dataset.mm || 1);
      if (shown) shown.textContent = (stop / mm).toFixed(mm > 2 ? 3 : 1);
    });
    function end() {
      if (!start) return;
      start = null; svg.classList.remove("dragged");
      // a tap is no drag
      if (Math.abs(dial - +d.dial) < 1e-6 && Math.abs(stop - +d.stop) < 1e-6) { if (ghost) ghost.remove(); ghost = null; return; }
      var form = document.getElementById("pin"), depth = form.elements.pin_depth, mm = +(depth.dataset.mm || 1);
      form.elements.pin_dial.value = +dial.toFixed(4); depth.value = +(stop / mm).toFixed(5);
      form.requestSubmit();
    }
    svg.addEventListener("pointerup", end); svg.addEventListener("pointercancel", function () { start = null; if (ghost) ghost.remove(); ghost = null; });
  }

  function dress() {
    buildPad(); hidePad(); listen();
    document.querySelectorAll("svg[data-rim]").forEach(drag);
    document.querySelectorAll("[data-say]").forEach(function (e) { say(e.dataset.say); });
    var shown = document.querySelector("[data-show]"); if (shown) shown.scrollIntoView({ block: "center" });
    var bad = document.getElementById("error"); if (bad) bad.scrollIntoView({ block: "center" });
  }
  document.addEventListener("DOMContentLoaded", dress);
  document.addEventListener("htmx:afterSettle", function (e) { if (e.target.id === "page") { dress(); window.scrollTo(0, document.querySelector("#error, [data-show]") ? window.scrollY : 0); } });
  // --- an answer that is no page (the server is busy, the code is asked for) is said, and wipes nothing ---
  function trouble(text) { var at = document.getElementById("trouble"); if (at) { at.textContent = text; at.hidden = !text; } }
  document.addEventListener("htmx:beforeSwap", function (e) {
    var xhr = e.detail.xhr, target = e.detail.target;
    if (xhr.status < 400 || (target && target.id && xhr.responseText.indexOf('id="' + target.id + '"') >= 0)) { trouble(""); return; }
    e.detail.shouldSwap = false;
    trouble((xhr.responseText.length < 300 ? xhr.responseText.trim() : "The page did not answer as it should") + " (" + xhr.status + "). What you typed is still here; try again.");
  });
  document.addEventListener("htmx:sendError", function () { trouble("The page is not answering: is bobplan still running? What you typed is still here."); });

  // --- a button that is pressed stays where it is: an answer that would replace it waits until it is let go ---
  var pressed = null, later = null;
  document.addEventListener("pointerdown", function (e) { pressed = e.target; later = null; }, true);
  ["pointerup", "pointercancel"].forEach(function (name) {
    document.addEventListener(name, function () {
      pressed = null;
      window.setTimeout(function () { // after the click; a press that did nothing is looked at again
        var asks = later; later = null;
        if (asks && asks.isConnected) ["input", "change"].forEach(function (kind) { asks.dispatchEvent(new Event(kind, { bubbles: true })); });
      }, 60);
    }, true);
  });
  document.addEventListener("htmx:beforeSwap", function (e) {
    if (!e.detail.shouldSwap || !pressed || !e.detail.target || e.detail.target.id === "page" || !e.detail.target.contains(pressed)) return;
    e.detail.shouldSwap = false; later = e.detail.requestConfig.elt;
  });

  // --- what takes a while (pairing, papers) says so ---
  var soon = 0;
  function working(yes) { var at = document.getElementById("working"); window.clearTimeout(soon); if (at) { at.hidden = !yes; at.textContent = yes ? "Working on it …" : ""; } }
  document.addEventListener("htmx:beforeRequest", function (e) { if (e.detail.target && e.detail.target.id === "page") { window.clearTimeout(soon); soon = window.setTimeout(function () { working(true); }, 700); } });
  document.addEventListener("htmx:afterRequest", function (e) { if (e.detail.target && e.detail.target.id === "page") working(false); });

  // --- a yes is said to the numbers of the drawing: changed numbers are looked at first; Enter goes to the next box ---
  document.addEventListener("input", function (e) {
    if (!e.target.closest || !e.target.closest("#spinform .four")) return;
    document.querySelectorAll("#look button[name=there]").forEach(function (b) { b.disabled = true; });
  });
  document.addEventListener("keydown", function (e) {
    if (e.key !== "Enter" || !e.target.matches || !e.target.matches("#spinform input[data-pad]")) return;
    e.preventDefault();
    var all = boxes(), next = all[all.indexOf(e.target) + 1];
    if (next) { next.focus(); next.select(); } else e.target.blur();
  });

  // --- other units are another page: what is typed and not entered would be gone ---
  document.addEventListener("submit", function (e) {
    if (!e.target.matches || !e.target.matches(".units")) return;
    var typed = Array.prototype.some.call(document.querySelectorAll("main input:not([type=hidden]):not([type=checkbox]):not([type=radio])"), function (b) { return b.value !== b.defaultValue; });
    if (typed && !window.confirm("What is typed here and not entered is not kept. Show the other units all the same?")) { e.preventDefault(); e.stopImmediatePropagation(); }
  }, true);
})();
