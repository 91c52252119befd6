// The page: a layout of webs changed by clicks and keys, answered by the program at every change.
import { Solid } from "/solid.js";

const at = (id) => document.getElementById(id);
const LIMITS = [1, 1.5, 2, 4];
const BANDS = [[122, 12, 30], [224, 105, 47], [243, 198, 89], [143, 193, 222], [42, 91, 156]];
const GREY = [200, 200, 200];
const RAMP = [[68, 1, 84], [59, 82, 139], [33, 145, 140], [94, 201, 98], [253, 231, 37]];
const CLEAR = { sheeting: 46, rib: 120 };

let wing, solid, state, last;
let chosen = 0, colouring = "reserve", saved = "";
const before = [], after = [], pins = [], tried = new Map();
const MOST_TRIED = 500, MOST_UNDONE = 200;

const copy = (s) => ({ choices: [...s.choices], changes: s.changes.map((c) => ({ ...c })), load: s.load });
const own = () => ({ choices: wing.cells.map((c) => c.own), changes: wing.cells.map(() => ({})), load: wing.case.load_factor });
const asked = (s) => ({ cells: s.choices.map((choice, k) => ({ choice, ...s.changes[k] })), load_factor: s.load });
const webs = (s) => JSON.stringify([s.choices, s.changes]);

async function post(where, data) {
  let reply;
  try {
    reply = await fetch(where, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(data) });
  } catch {
    throw new Error("The program does not answer; it may have ended. Nothing on the page is lost while it stays open.");
  }
  if (reply.ok) return reply;
  const text = await reply.text();
  let words = text;
  try {
    words = JSON.parse(text).fault;
  } catch {
    // not JSON: the words as they are
  }
  throw new Error(words);
}

function read(frame) {
  const n = new DataView(frame).getUint32(0, true);
  const said = JSON.parse(new TextDecoder().decode(new Uint8Array(frame, 4, n)));
  return [said, frame.byteLength > 4 + n ? new Float32Array(frame, 4 + n) : null];
}

// ---- asking: one question at a time, the newest next ------------------------------------------------------

let running = false, next = null, pause = 0;

function ask(since) {
  next = since;
  if (!running) run();
}

async function run() {
  running = true;
  while (next !== null) {
    const since = next, question = copy(state);
    next = null;
    const slow = setTimeout(() => busy(true), 120);
    try {
      const [said, moves] = read(await (await post("/answer", asked(question))).arrayBuffer());
      at("fault").hidden = true;
      show(said, moves, question);
      painted(since, said);
    } catch (error) {
      at("fault").textContent = error.message;
      at("fault").hidden = false;
      if (last && before.length && next === null) {
        state = copy(last.question);
        before.pop();
        refresh();
      }
    }
    clearTimeout(slow);
    busy(false);
  }
  running = false;
  clearTimeout(pause);
  pause = setTimeout(prove, 4000);
}

function busy(yes) {
  at("busy").hidden = !yes;
  at("answer").setAttribute("aria-busy", String(yes));
}

// The answer first: the wing in three dimensions is drawn once its words and figures are on the screen.
function painted(since, said) {
  requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => {
      if (solid && last.said === said) setTimeout(picture);
      const took = performance.now() - since;
      const by = said.whole ? "by solving the wing whole"
        : said.built ? "exactly; what this click needs was not ready yet, so the wing was built anew for it"
        : "exactly, from the wing in memory";
      at("how").textContent = `Answered in ${took.toFixed(0)} ms, ${by}`;
      document.body.dataset.milliseconds = took.toFixed(1);
      document.body.dataset.answered = String(1 + Number(document.body.dataset.answered || 0));
    };
    channel.port2.postMessage(0);
  });
}

async function prove() {
  if (running || !last) return;
  const of = webs(state);
  try {
    const found = await (await post("/proof", asked(state))).json();
    if (webs(state) !== of) return;
    const d = found.largest_difference;
    const same = d !== null && d < 1e-6;
    at("proof").textContent = same
      ? `The file as it would be saved was built and solved whole: the same answer, largest difference of any reserve factor ${d.toExponential(0)}, forces in balance to ${found.residual.toExponential(0)} of the loads.`
      : "The file as it would be saved gives another answer when it is solved whole; trust that one, and tell us. " + found.sentence;
    at("notes").classList.remove("stale");
    // What stands above is not said twice.
    const above = /^(Fit|Not fit) to fly|^Hardest is |^The first failure of .* takes |^What to change/;
    at("notes").replaceChildren(...found.notes.filter((words) => !above.test(words)).map((words) => item("li", words)));
    at("more").hidden = !at("notes").children.length;
    const differs = found.notes.find((words) => /^The first failure of .* takes /.test(words));
    if (last.said.load_factor === wing.case.load_factor) {
      at("differs").hidden = !differs;
      at("differs").textContent = differs ?? "";
    }
    const hardest = found.notes.find((words) => words.startsWith("Hardest is "));
    at("hardest").hidden = !wing.flying;
    at("hardest").textContent = hardest ?? "Of all cases in the air the pull-up is the hardest.";
    at("advice").hidden = !found.notes.some((words) => words.startsWith("What to change"));
    const whole = found.notes.find((words) => /^(Fit|Not fit) to fly/.test(words));
    if (whole && last.said.load_factor === wing.case.load_factor) {
      at("verdict").textContent = whole;
      at("verdict").className = `verdict ${whole.startsWith("Fit") ? "good" : "bad"}`;
    }
    document.body.dataset.proven = of;
  } catch (error) {
    at("proof").textContent = error.message;
  }
}

// ---- showing ----------------------------------------------------------------------------------------------

function item(tag, words, kind) {
  const made = document.createElement(tag);
  made.textContent = words;
  if (kind) made.className = kind;
  return made;
}

const band = (reserve) => (reserve === null ? "" : `band${LIMITS.filter((l) => reserve >= l).length}`);

function show(said, moves, question) {
  last = { said, moves, question };
  at("sentence").textContent = said.sentence;
  at("verdict").textContent = said.verdict;
  at("too-far").textContent = said.too_far;
  at("too-far").hidden = !said.too_far;
  at("notes").classList.add("stale");
  at("hardest").hidden = !wing.flying;
  at("hardest").textContent = "The other cases in the air are worked out when you pause.";
  at("differs").hidden = !wing.sheeted;
  at("differs").textContent = "All sheeting taken whole; the whole verdict counts sheeting that bows.";
  at("advice").hidden = true;
  noted(said, question);
  // What the pull-up alone survives is not yet fit to fly: green comes with the whole verdict.
  at("verdict").className = `verdict ${!said.survives ? "bad" : wing.flying ? "" : "good"}`;
  figures();
  cells();
  table();
  if (!document.body.dataset.ready) {
    document.body.dataset.ready = "yes";
    const most = Math.max(2 * wing.case.load_factor, 1.3 * (said.load_factor_at_first_failure ?? 0));
    at("load").max = String(Math.min(100 * Math.max(1, wing.case.load_factor), Math.ceil(most)));
    at("load").value = String(state.load);
  }
  refresh();
}

// ---- what was tried ---------------------------------------------------------------------------------------

function noted(said, question) {
  const key = webs(question), limit = said.load_factor_at_first_failure;
  tried.delete(key);
  tried.set(key, { question: copy(question), limit, mass: wing.mass[1] * said.web_mass_kg });
  while (tried.size > MOST_TRIED) tried.delete(tried.keys().next().value);
  plot();
}

function letter() {
  for (let n = 0; ; n++) {
    const word = String.fromCharCode(65 + (n % 26)) + (n < 26 ? "" : String(Math.floor(n / 26)));
    if (!pins.some((p) => p.letter === word)) return word;
  }
}

function goto(question) {
  change((s) => Object.assign(s, { ...copy(question), load: s.load }));
}

function pinned_table() {
  const now = webs(state);
  at("pins").hidden = !pins.length;
  at("pins").tBodies[0].replaceChildren(...pins.map((p) => {
    const tr = document.createElement("tr"), head = document.createElement("th"), go = item("button", p.letter), off = item("button", "off");
    head.scope = "row";
    go.type = off.type = "button";
    go.setAttribute("aria-label", `Go to the pinned layout ${p.letter}`);
    go.setAttribute("aria-pressed", String(webs(p.question) === now));
    go.addEventListener("click", () => goto(p.question));
    off.setAttribute("aria-label", `Take the pin ${p.letter} off`);
    off.addEventListener("click", () => {
      pins.splice(pins.indexOf(p), 1);
      refresh();
      figures();
      plot();
    });
    head.append(go);
    const end = document.createElement("td");
    end.append(off);
    tr.append(head, ...["limit", "grams", "deflection", "twist"].map((key) => item("td", p.shown[key].split(" ")[0])), end);
    return tr;
  }));
  at("pin").disabled = pins.some((p) => webs(p.question) === now);
}

function drawn(tag, what, words) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(what)) made.setAttribute(key, String(value));
  if (words !== undefined) made.textContent = words;
  return made;
}

function ticks(low, high) {
  const raw = (high - low) / 4, ten = 10 ** Math.floor(Math.log10(raw)), step = [1, 2, 5, 10].map((k) => k * ten).find((k) => k >= raw);
  const out = [];
  for (let v = Math.ceil(low / step) * step; v <= high + 1e-9 * step; v += step) out.push(v);
  return [out, Math.max(0, -Math.floor(Math.log10(step) + 1e-9))];
}

function plot() {
  const all = [...tried.values()].filter((t) => t.limit !== null), svg = at("tried");
  if (!all.length) return;
  const asked = wing.case.load_factor, xs = all.map((t) => t.mass), ys = [...all.map((t) => t.limit), asked];
  let [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const dx = Math.max(0.08 * (x1 - x0), 0.02 * x1, 0.1), dy = Math.max(0.1 * (y1 - y0), 0.05 * y1);
  [x0, x1, y0, y1] = [Math.max(0, x0 - dx), x1 + dx, Math.max(0, y0 - dy), y1 + dy];
  const X = (v) => 42 + ((v - x0) / (x1 - x0)) * 308, Y = (v) => 190 - ((v - y0) / (y1 - y0)) * 172;
  const parts = [drawn("line", { class: "axis", x1: 42, x2: 350, y1: 190, y2: 190 }), drawn("line", { class: "axis", x1: 42, x2: 42, y1: 18, y2: 190 })];
  const [across, px] = ticks(x0, x1), [up, py] = ticks(y0, y1);
  for (const v of across) parts.push(drawn("text", { x: X(v), y: 204, "text-anchor": "middle" }, v.toFixed(px)));
  for (const v of up) parts.push(drawn("text", { x: 37, y: Y(v) + 4, "text-anchor": "end" }, v.toFixed(py)));
  parts.push(drawn("text", { x: 350, y: 222, "text-anchor": "end" }, `webs, ${wing.mass[0]}`));
  parts.push(drawn("text", { x: 4, y: 12 }, wing.flying ? "first failure, g" : "first failure, times the load"));
  parts.push(drawn("line", { class: "asked", x1: 42, x2: 350, y1: Y(asked), y2: Y(asked) }));
  parts.push(drawn("text", { x: 348, y: Y(asked) - 4, "text-anchor": "end" }, wing.flying ? `asked: ${Number(rounded(asked))} g` : "the load"));
  for (const t of all) {
    const dot = drawn("circle", { class: t.limit < asked ? "dot short" : "dot", cx: X(t.mass), cy: Y(t.limit), r: 5 });
    dot.append(drawn("title", {}, `webs ${t.mass.toFixed(1)} ${wing.mass[0]}, fails at ${rounded(t.limit)}`));
    dot.addEventListener("click", () => goto(t.question));
    parts.push(dot);
  }
  const now = tried.get(webs(state));
  if (now && now.limit !== null) parts.push(drawn("circle", { class: "now", cx: X(now.mass), cy: Y(now.limit), r: 8 }));
  for (const p of pins) {
    if (p.limit === null) continue;
    const mark = drawn("text", { class: "letter", x: X(p.mass) + 8, y: Y(p.limit) - 6 }, p.letter);
    mark.addEventListener("click", () => goto(p.question));
    parts.push(mark);
  }
  svg.replaceChildren(...parts);
  svg.setAttribute("aria-label", `${all.length} layouts tried: webs of ${Math.min(...xs).toFixed(1)} to ${Math.max(...xs).toFixed(1)} ${wing.mass[0]}, first failure at ${rounded(Math.min(...all.map((t) => t.limit)))} to ${rounded(Math.max(...all.map((t) => t.limit)))}.`);
}

// ---- kept over a reload of this tab, until it is closed -----------------------------------------------------

const shape_of = () => JSON.stringify(wing.cells.map((c) => [c.spar, c.bay, c.side, c.choices.length, c.own]));

let keeping = 0;

function keep() {
  clearTimeout(keeping);
  keeping = setTimeout(keep_now, 300);
}

function keep_now() {
  try {
    sessionStorage.setItem("sparbay", JSON.stringify({
      of: shape_of(), state, before: before.slice(-MOST_UNDONE), after, pins, tried: [...tried.entries()], chosen, saved, file: wing.file, hash: wing.hash,
    }));
  } catch {
    // full, or forbidden: the page works without it
  }
}

function kept() {
  try {
    const found = JSON.parse(sessionStorage.getItem("sparbay") ?? "null");
    if (found?.of !== shape_of()) return;
    state = found.state;
    before.push(...found.before);
    after.push(...found.after);
    pins.push(...found.pins);
    for (const [key, value] of found.tried) tried.set(key, value);
    chosen = Math.min(found.chosen, wing.cells.length - 1);
    // What another tab saved meanwhile is not what this one has.
    saved = found.file === wing.file && found.hash === wing.hash ? found.saved : "";
  } catch {
    // of no use
  }
}

function figures() {
  const pinned = pins[pins.length - 1];
  for (const row of at("figures").tBodies[0].rows) {
    const key = row.dataset.figure, now = last.said.shown[key].split(" ")[0];
    row.cells[1].textContent = now;
    if (pinned) {
      const then = pinned.shown[key].split(" ")[0], change = Number(now) - Number(then);
      row.cells[2].textContent = then;
      const places = (now.split(".")[1] || "").length;
      row.cells[3].textContent = Number.isFinite(change) ? (change > 0 ? "+" : "") + change.toFixed(places).replace(/^-(0\.?0*)$/, "$1") : "";
    }
  }
  for (const cell of document.querySelectorAll(".pinned")) cell.hidden = !pinned;
  at("bar-limit").textContent = `Fails at ${last.said.shown.limit}`;
  at("bar-limit").className = last.said.survives ? "" : "bad";
  at("bar-grams").textContent = `webs ${last.said.shown.grams} ${wing.mass[0]}`;
}

function name(k) {
  const c = wing.cells[k];
  return `Bay ${c.bay}, ${c.spar}${c.spar.includes("spar") ? "" : " spar"}${c.side ? `, ${c.side}` : ""}`;
}

function set(element, what, value) {
  if (element.getAttribute(what) !== value) element.setAttribute(what, value);
}

// To a decimal, down, as every load factor and reserve is.
function rounded(value) {
  return (Math.floor(10 * value + 1e-9) / 10).toFixed(1);
}

// Short enough for a narrow bay, rounded down as in the table.
function brief(row) {
  const r = row.reserve_factor;
  if (r === null || r < 10) return row.reserve;
  return r > 100 ? ">100" : rounded(r);
}

function cells() {
  for (const g of document.querySelectorAll(".cell")) {
    const k = Number(g.dataset.cell), row = last.said.rows[k];
    const faces = wing.cells[k].choices[last.question.choices[k]].faces;
    set(g, "class", ["cell", band(row.reserve_factor), faces.length ? "" : "open", ...faces.map((f) => `f-${f}`),
      k === last.said.first_cell ? "first" : "", k === chosen ? "chosen" : ""].filter(Boolean).join(" "));
    put_words(g.lastElementChild, brief(row));
    set(g, "aria-label", `${name(k)}: ${row.state}, reserve factor ${row.reserve}${k === last.said.first_cell ? ", fails first" : ""}`);
    set(g, "tabindex", k === chosen ? "0" : "-1");
  }
}

const rows = [];

function put_words(cell, words, kind) {
  if (cell.textContent !== words) cell.textContent = words;
  if (kind !== undefined && cell.className !== kind) cell.className = kind;
}

function made(k) {
  const tr = document.createElement("tr"), head = document.createElement("th"), go = item("button", String(wing.cells[k].bay));
  go.type = "button";
  go.setAttribute("aria-label", `Choose ${name(k)}`);
  go.addEventListener("click", () => choose(k, true));
  head.scope = "row";
  head.append(go);
  tr.dataset.cell = String(k);
  const spar = wing.cells[k].spar + (wing.cells[k].side ? `, ${wing.cells[k].side}` : "");
  tr.append(head, item("td", spar, "w"), item("td", "", "w"), item("td", ""), item("td", ""), item("td", "", "w"));
  return tr;
}

function table() {
  const body = at("bays").tBodies[0], order = last.said.rows.map((_, k) => k);
  const of = (k) => last.said.rows[k].reserve_factor ?? Infinity;
  order.sort((a, b) => of(a) - of(b) || a - b);
  order.forEach((k, place) => {
    const row = last.said.rows[k], tr = (rows[k] ??= made(k));
    put_words(tr.cells[2], row.state);
    put_words(tr.cells[3], row.reserve, band(row.reserve_factor));
    put_words(tr.cells[4], row.fails);
    put_words(tr.cells[5], row.goes);
    if (body.rows[place] !== tr) body.insertBefore(tr, body.rows[place] ?? null);
  });
  const others = at("others").tBodies[0];
  while (others.rows.length > last.said.others.length) others.deleteRow(-1);
  last.said.others.forEach((o, i) => {
    let tr = others.rows[i];
    if (!tr) {
      tr = others.insertRow();
      tr.append(item("th", ""), item("td", ""), item("td", ""), item("td", "", "w"));
      tr.cells[0].scope = "row";
    }
    [o.part, o.reserve, o.fails, o.mode].forEach((words, c) => put_words(tr.cells[c], words));
  });
  at("others").hidden = !last.said.others.length;
}

function picture() {
  const { said, moves, question } = last, shape = solid.shape;
  const here = new Set();
  wing.cells.forEach((c, k) => {
    const sides = c.side ? [c.side] : ["starboard", "port", ""];
    for (const f of c.choices[question.choices[k]].faces) for (const s of sides) here.add([c.spar, c.bay, f, s].join("|"));
  });
  solid.show(shape.parts.map((p) => p.kind !== "web" || here.has([p.spar, p.bay, p.place, p.side].join("|"))));
  if (moves) solid.move(moves);
  at("no-solid").hidden = Boolean(moves);
  const wanted = at("factor").value;
  solid.factor = wanted === "auto" ? solid.suiting() : Number(wanted);
  const n = solid.n, colours = new Uint8Array(4 * n);
  let low = 0, high = 0;
  if (colouring === "deflection") {
    for (let i = 2; i < solid.moves.length; i += 3) {
      low = Math.min(low, solid.moves[i]);
      high = Math.max(high, solid.moves[i]);
    }
    high = high === low ? low + 1 : high;
  }
  const clear = shape.parts.map((p) => CLEAR[p.kind] ?? 255);
  const bands = said.reserve_of_part.map((r) => (r === null ? GREY : BANDS[LIMITS.filter((l) => r >= l).length]));
  for (let i = 0; i < n; i++) {
    const part = shape.part_of[i];
    let rgb = bands[part];
    if (colouring === "deflection") {
      const u = ((solid.moves[3 * i + 2] - low) / (high - low)) * 4, k = Math.min(3, Math.floor(u)), s = u - k;
      rgb = [0, 1, 2].map((c) => RAMP[k][c] * (1 - s) + RAMP[k + 1][c] * s);
    }
    colours[4 * i] = rgb[0];
    colours[4 * i + 1] = rgb[1];
    colours[4 * i + 2] = rgb[2];
    colours[4 * i + 3] = clear[part];
  }
  solid.colour(colours);
  at("ramp").hidden = colouring !== "deflection";
  at("marks").replaceChildren(...[0, 1, 2, 3, 4].map((k) => item("span", (wing.length[1] * (low + ((high - low) * k) / 4)).toFixed(Math.abs(wing.length[1] * high) < 10 ? 2 : 1))));
  const drawn = solid.factor === 0 ? "not drawn" : solid.factor === 1 ? "drawn to true scale" : `drawn ${solid.factor} times`;
  const load = wing.flying ? `${rounded(said.load_factor)} g` : `${said.load_factor} times the load`;
  const colour = colouring === "reserve" ? "Colour: least reserve factor of each part, as in the bands above; grey is not checked." : "";
  at("drawn").textContent = `At ${load} the tip moves ${said.shown.deflection.replace("-", "")} ${wing.length[0]} ${said.tip_deflection_m < 0 ? "down" : "up"} and twists ${said.shown.twist.replace("-", "")} deg nose ${said.tip_twist_rad < 0 ? "down" : "up"}; deflection is ${drawn}. ${colour}`;
  at("solid").setAttribute("aria-label", `The wing in three dimensions. ${at("drawn").textContent}`);
  solid.draw();
}

function refresh() {
  const cell = wing.cells[chosen], change = state.changes[chosen];
  at("chosen").textContent = name(chosen).replace("Bay", "bay");
  if (at("steps").dataset.cell !== String(chosen)) {
    at("steps").dataset.cell = String(chosen);
    at("steps").replaceChildren(item("legend", "Faces that carry a web", "out"), ...cell.choices.map((choice, i) => {
      const button = item("button", choice.word);
      button.type = "button";
      button.addEventListener("click", (e) => put(chosen, i, e.timeStamp));
      return button;
    }));
  }
  at("bar-chosen").textContent = name(chosen);
  if (at("bar-steps").dataset.cell !== String(chosen)) {
    at("bar-steps").dataset.cell = String(chosen);
    at("bar-steps").replaceChildren(...cell.choices.map((choice, i) => {
      const button = item("button", choice.word);
      button.type = "button";
      button.addEventListener("click", (e) => put(chosen, i, e.timeStamp));
      return button;
    }));
  }
  for (const steps of ["steps", "bar-steps"]) at(steps).querySelectorAll("button").forEach((button, i) => set(button, "aria-pressed", String(i === state.choices[chosen])));
  const faces = cell.choices[state.choices[chosen]].faces, first = cell.makes[faces[0] || "front"];
  for (const key of ["wood", "thickness", "grain"]) {
    const value = change[key] || first[key];
    if (key !== "thickness" && ![...at(key).options].some((o) => o.value === value)) at(key).append(new Option(value, value));
    if (document.activeElement !== at(key) || key !== "thickness") at(key).value = value;
  }
  at("made").textContent = faces.length ? "" : "This bay is open; what is chosen here holds for a web that is put in.";
  at("undo").disabled = !before.length;
  at("redo").disabled = !after.length;
  at("load-said").textContent = wing.flying ? `${rounded(state.load)} g` : `${rounded(state.load)} times`;
  at("load").value = String(state.load);
  at("unsaved").hidden = webs(state) === saved;
  pinned_table();
  keep();
}

// ---- changing ---------------------------------------------------------------------------------------------

function change(edit, since) {
  before.push(copy(state));
  after.length = 0;
  edit(state);
  refresh();
  ask(since ?? performance.now());
}

function put(k, choice, since) {
  chosen = k;
  if (state.choices[k] === choice) {
    cells();
    refresh();
    return;
  }
  change((s) => { s.choices[k] = choice; }, since);
}

function step(k, since) {
  put(k, (state.choices[k] + 1) % wing.cells[k].choices.length, since);
}

function choose(k, focus) {
  chosen = k;
  cells();
  refresh();
  if (focus) document.querySelector(`.cell[data-cell="${k}"]`).focus();
}

function beside(k, key) {
  const c = wing.cells[k], same = (f) => wing.cells.findIndex(f);
  const row = wing.cells.map((o, i) => [o, i]).filter(([o]) => o.spar === c.spar);
  const place = ([o]) => (o.side === "port" ? -o.bay : o.bay);
  row.sort((a, b) => place(a) - place(b));
  const i = row.findIndex(([, j]) => j === k);
  if (key === "ArrowLeft" && i > 0) return row[i - 1][1];
  if (key === "ArrowRight" && i < row.length - 1) return row[i + 1][1];
  if (key === "Home") return row[0][1];
  if (key === "End") return row[row.length - 1][1];
  const spars = [...new Set(wing.cells.map((o) => o.spar))], s = spars.indexOf(c.spar);
  const other = spars[s + (key === "ArrowDown" ? 1 : key === "ArrowUp" ? -1 : 0)];
  const found = other === undefined || other === c.spar ? -1 : same((o) => o.spar === other && o.bay === c.bay && o.side === c.side);
  return found < 0 ? k : found;
}

function back(from, to) {
  if (!from.length) return;
  to.push(copy(state));
  state = from.pop();
  refresh();
  ask(performance.now());
}

function listen() {
  const plan = at("plan");
  plan.addEventListener("click", (e) => {
    const g = e.target.closest(".cell");
    if (!g) return;
    g.focus();
    step(Number(g.dataset.cell), e.timeStamp);
  });
  plan.addEventListener("focusin", (e) => {
    const g = e.target.closest(".cell");
    if (g && Number(g.dataset.cell) !== chosen && last) choose(Number(g.dataset.cell), false);
  });
  plan.addEventListener("keydown", (e) => {
    const g = e.target.closest(".cell");
    if (!g || e.ctrlKey || e.metaKey || e.altKey) return;
    const k = Number(g.dataset.cell);
    if (e.key === "Enter" || e.key === " ") step(k, e.timeStamp);
    else if (/^(Arrow|Home|End)/.test(e.key)) choose(beside(k, e.key), true);
    else return;
    e.preventDefault();
  });
  document.addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || e.target.tagName === "INPUT") return;
    if (e.key === "z" && !e.shiftKey) back(before, after);
    else if (e.key === "y" || (e.key.toLowerCase() === "z" && e.shiftKey)) back(after, before);
    else return;
    e.preventDefault();
  });
  at("undo").addEventListener("click", () => back(before, after));
  at("redo").addEventListener("click", () => back(after, before));
  at("reset").addEventListener("click", () => change((s) => Object.assign(s, own())));
  at("pin").addEventListener("click", () => {
    const { said, question } = last;
    pins.push({ letter: letter(), question: copy(question), shown: said.shown, limit: said.load_factor_at_first_failure, mass: wing.mass[1] * said.web_mass_kg });
    refresh();
    figures();
    plot();
  });
  let begun = false;
  at("load").addEventListener("input", (e) => {
    if (!begun) {
      before.push(copy(state));
      after.length = 0;
      begun = true;
    }
    state.load = Number(at("load").value);
    refresh();
    ask(e.timeStamp);
  });
  at("load").addEventListener("change", () => { begun = false; });
  at("load-own").addEventListener("click", () => change((s) => { s.load = wing.case.load_factor; }));
  for (const key of ["wood", "thickness", "grain"]) {
    at(key).addEventListener("change", (e) => {
      const value = at(key).value.trim(), spar = document.querySelector('[name="scope"]:checked').value === "spar";
      change((s) => wing.cells.forEach((c, k) => {
        if (k === chosen || (spar && c.spar === wing.cells[chosen].spar)) s.changes[k][key] = value;
      }), e.timeStamp);
    });
  }
  for (const button of document.querySelectorAll("[data-colour]")) {
    button.addEventListener("click", () => {
      colouring = button.dataset.colour;
      for (const other of document.querySelectorAll("[data-colour]")) other.setAttribute("aria-pressed", String(other === button));
      if (solid && last) picture();
    });
  }
  at("factor").addEventListener("change", () => solid && last && picture());
  at("straight").addEventListener("click", () => {
    if (!solid) return;
    solid.reset();
    solid.draw();
  });
  at("save").addEventListener("click", () => file("save", { file: wing.file, hash: wing.hash }));
  at("mend").addEventListener("click", async () => {
    at("mend").disabled = true;
    at("advised").textContent = "Changes are looked for and each is solved; this takes a minute or more.";
    try {
      const found = await (await post("/mend", { ...asked(state), name: at("name-mend").value })).json();
      at("advised").textContent = found.words;
      if (found.cells) change((s) => found.cells.forEach(({ choice, ...of }, k) => { s.choices[k] = choice; s.changes[k] = of; }));
    } catch (error) {
      at("advised").textContent = error.message;
    }
    at("mend").disabled = false;
  });
  for (const button of document.querySelectorAll("[data-file]")) {
    button.addEventListener("click", () => file(button.dataset.file, { name: at(button.dataset.name).value }));
  }
  at("stop").addEventListener("click", () => {
    if (at("unsaved").hidden || window.confirm("The wing is changed and not saved. End the program all the same?")) file("stop", {});
  });
  window.addEventListener("pagehide", keep_now);
  window.addEventListener("beforeunload", (e) => at("unsaved").hidden || e.preventDefault());
}

async function file(what, more) {
  const of = webs(state);
  at("filed").textContent = what === "report" ? "Writing the report; this takes a minute." : what === "drawings" ? "Drawing." : "";
  try {
    const done = await (await post(`/${what}`, { ...asked(state), ...more })).json();
    at("filed").textContent = done.words;
    if (what.startsWith("save")) {
      saved = of;
      wing.file = done.file;
      wing.hash = done.hash;
      at("file").textContent = done.file;
      at("save").textContent = `Save in ${done.file}`;
      at("save").disabled = done.shipped;
      if (at("shipped")) at("shipped").hidden = !done.shipped;
      refresh();
    }
  } catch (error) {
    at("filed").textContent = error.message;
  }
}

async function watch() {
  try {
    const { left, wanted, disk } = await (await fetch("/progress")).json();
    at("disk").hidden = !disk;
    at("disk").textContent = disk;
    document.body.dataset.left = String(wanted ? left : -1);
    at("ahead").textContent = wanted && left ? `. ${wanted - left} of ${wanted} next clicks are ready; the wing is built anew for the others, which takes longer` : "";
  } catch {
    return;
  }
  setTimeout(watch, 1500);
}

async function begin() {
  const [w, shape] = await Promise.all([fetch("/wing"), fetch("/shape")].map(async (r) => (await r).json()));
  wing = w;
  state = own();
  saved = webs(state);
  kept();
  for (const [id, options] of [["wood", wing.woods], ["grain", wing.grains]]) at(id).append(...options.map((o) => new Option(o, o)));
  at("thicknesses").append(...wing.thicknesses.map((t) => new Option(t, t)));
  if (wing.why_whole) at("made").after(item("p", `Every change of this wing is solved whole, since ${wing.why_whole}.`, "hint"));
  try {
    solid = new Solid(at("solid"), shape);
  } catch {
    at("solid").hidden = true;
    at("no-solid").hidden = false;
  }
  const bays = new Set(wing.cells.map((c) => `${c.side} ${c.bay}`)).size;
  at("plan").style.setProperty("--bays", String(bays));
  at("plan").classList.toggle("tight", bays > 18);
  // On a telephone the bays come first.
  if (innerWidth < 560) at("more").open = false;
  refresh();
  listen();
  ask(performance.now());
  watch();
}

begin();
