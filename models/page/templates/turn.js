(function () {
  "use strict";
  var root = document.documentElement;
  var held = JSON.parse(document.getElementById("scenes").textContent);
  var hint = document.querySelector(".hint");
  var button = hint.querySelector(".turn");
  // The wheel scrolls the page unless Ctrl is held: a view that swallows it would trap the reader.
  var guard = "<script>addEventListener('wheel',function(e){if(!e.ctrlKey)e.stopImmediatePropagation()},{capture:true})<\/script>";
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
    frame.srcdoc = held.viewer.replace("<body>", "<body>" + guard).split(held.mark).join(held.scenes[stage.dataset.view]);
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
