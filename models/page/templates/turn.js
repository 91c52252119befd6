(function () {
  "use strict";
  var root = document.documentElement;
  var held = JSON.parse(document.getElementById("scenes").textContent);
  var hint = document.querySelector(".hint");
  var button = hint.querySelector(".turn");
  // Runs within the view, before the viewer. The wheel scrolls the page unless Ctrl is held: a view that
  // swallows it would trap the reader. The viewer takes a movement that comes 200 ms after the last for a new
  // beginning and drops it, so that on a slow machine no drag turns the wing: each movement is told twice, of
  // which it drops one at the most. A frame of its own process may learn its size after the viewer has asked
  // for it and before it listens: it is told until it has one. In the dark the view is cleared to the page's
  // paper.
  function guardian(dark, r, g, b) {
    var sized = setInterval(function () {
      var canvas = document.querySelector("canvas");
      if (canvas && canvas.width && canvas.height) clearInterval(sized);
      else if (canvas) dispatchEvent(new Event("resize"));
    }, 250);
    addEventListener("wheel", function (e) { if (!e.ctrlKey) e.stopImmediatePropagation(); }, { capture: true });
    addEventListener("pointermove", function (e) {
      if (e.isTrusted && e.buttons) e.target.dispatchEvent(new PointerEvent("pointermove", {
        bubbles: true, cancelable: true, composed: true, pointerId: e.pointerId, pointerType: e.pointerType,
        isPrimary: e.isPrimary, buttons: e.buttons, button: e.button, clientX: e.clientX, clientY: e.clientY,
        screenX: e.screenX, screenY: e.screenY, shiftKey: e.shiftKey, ctrlKey: e.ctrlKey, altKey: e.altKey
      }));
    }, { capture: true });
    if (!dark) return;
    document.documentElement.style.background = "rgb(" + [r, g, b].map(function (c) { return 255 * c; }) + ")";
    [window.WebGLRenderingContext, window.WebGL2RenderingContext].forEach(function (kind) {
      if (!kind) return;
      var plain = kind.prototype.clearColor;
      kind.prototype.clearColor = function (red, green, blue, alpha) {
        if (red === 1 && green === 1 && blue === 1) plain.call(this, r, g, b, alpha);
        else plain.call(this, red, green, blue, alpha);
      };
    });
  }
  var night = matchMedia("(prefers-color-scheme: dark)");
  function guard() {
    return "<script>(" + guardian + ")(" + night.matches + ",22/255,25/255,27/255)<\/script>";
  }
  var turning = !matchMedia("(pointer: coarse)").matches;
  var current = document.querySelector(".view.current").id.slice(5);

  function canTurn() {
    var canvas = document.createElement("canvas");
    try { return !!(canvas.getContext("webgl2") || canvas.getContext("webgl")); } catch (error) { return false; }
  }
  if (!canTurn()) return;

  function still(stage) {
    var frame = stage.querySelector("iframe");
    if (frame) frame.remove();
    stage.classList.remove("turning");
  }
  function turn(stage) {
    if (stage.querySelector("iframe")) return;
    var frame = document.createElement("iframe");
    frame.setAttribute("sandbox", "allow-scripts");
    frame.title = "The wing in three dimensions: drag to turn";
    frame.srcdoc = held.viewer.replace("<body>", "<body>" + guard()).split(held.mark).join(held.scenes[stage.dataset.view]);
    stage.appendChild(frame);
    stage.classList.add("turning");
  }
  function update() {
    document.querySelectorAll(".stage").forEach(function (stage) {
      if (turning && stage.dataset.view === current && held.scenes[current]) turn(stage); else still(stage);
    });
    button.textContent = turning ? "Still picture" : "Turn the wing";
    button.disabled = !held.scenes[current];
  }
  document.querySelectorAll(".choice button").forEach(function (choice) {
    choice.addEventListener("click", function () {
      current = choice.dataset.view;
      document.querySelectorAll(".choice button").forEach(function (other) {
        other.setAttribute("aria-pressed", String(other === choice));
      });
      document.querySelectorAll(".view").forEach(function (view) {
        view.classList.toggle("current", view.id === "view-" + current);
      });
      update();
    });
  });
  night.addEventListener("change", function () {
    document.querySelectorAll(".stage").forEach(still);
    update();
  });
  button.addEventListener("click", function () { turning = !turning; update(); });
  root.classList.add("js");
  document.querySelector(".choice").hidden = false;
  hint.hidden = false;
  // A view costs a second of work: it waits until the reader is near it.
  if ("IntersectionObserver" in window) {
    var seen = new IntersectionObserver(function (entries) {
      if (entries.some(function (entry) { return entry.isIntersecting; })) { seen.disconnect(); update(); }
    }, { rootMargin: "300px" });
    seen.observe(document.getElementById("view"));
  } else { update(); }
})();
