// Draws regions on the sketch plan with pointer or keyboard. Without this script the corners are
// typed in per cent; the script fills the same fields and sends the same form.

const SVG = "http://www.w3.org/2000/svg";
const form = document.getElementById("sketch-form");
const stage = document.getElementById("stage");
const said = document.getElementById("said");
const what = document.getElementById("draw-what");
const saved = document.getElementById("saved");
const buttons = Object.fromEntries([...document.querySelectorAll("[data-do]")].map((b) => [b.dataset.do, b]));

let row = null; // the part being drawn
let points = []; // corners so far, 0 to 1
let cursor = [0.5, 0.5];
let trail = null; // the pointer's way while it is held
let usesKeys = false;

const percent = (x) => `${Math.round(x * 1000) / 10} %`;
const clamp = (x) => Math.min(1, Math.max(0, x));
const say = (words) => { said.textContent = words; };

function drawing() { return stage.querySelector("svg"); }
function ground() { return drawing().dataset.ground.split(" ").map(Number); }
function onSheet([x, y]) { const [left, top, w, h] = ground(); return [left + x * w, top + y * h]; }

function fromPointer(event) {
  const svg = drawing(), [left, top, w, h] = ground();
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return [clamp((at.x - left) / w), clamp((at.y - top) / h)];
}
/** Pixels on the screen between two points of the ground. */
function apart(a, b) {
  const scale = drawing().getScreenCTM().a, p = onSheet(a), q = onSheet(b);
  return Math.hypot(p[0] - q[0], p[1] - q[1]) * scale;
}

function element(name, attributes) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}
function show() {
  const svg = drawing();
  svg.querySelector(".overlay")?.remove();
  for (const key of ["undo", "close"]) buttons[key].disabled = points.length < (key === "undo" ? 1 : 3);
  buttons.cancel.disabled = !row;
  stage.classList.toggle("drawing", Boolean(row));
  if (!row) return;
  const layer = element("g", { class: "overlay" });
  const line = (trail ?? points).map(onSheet).map((p) => p.map((v) => v.toFixed(1)).join(" ")).join("L");
  if (line) {
    layer.append(element("path", { class: "overlay-halo", d: `M${line}` }));
    layer.append(element("path", { class: "overlay-line", d: `M${line}` }));
  }
  points.map(onSheet).forEach(([x, y], i) => layer.append(element("circle", { class: i ? "overlay-point" : "overlay-point first", cx: x, cy: y, r: i ? 4 : 7 })));
  if (usesKeys) {
    const [x, y] = onSheet(cursor);
    layer.append(element("path", { class: "overlay-halo", d: `M${x - 12} ${y}H${x + 12}M${x} ${y - 12}V${y + 12}` }));
    layer.append(element("path", { class: "overlay-line", d: `M${x - 12} ${y}H${x + 12}M${x} ${y - 12}V${y + 12}` }));
  }
  svg.append(layer);
}

function begin(chosen, byKeys) {
  row?.classList.remove("current");
  row = chosen;
  row.classList.add("current");
  points = [];
  cursor = [0.5, 0.5];
  usesKeys = byKeys;
  what.textContent = `Drawing: ${row.dataset.name}`;
  say(`Drawing ${row.dataset.name}. Cross at 50 % across, 50 % down. Arrow keys move, Enter sets a point, Backspace takes it back, C closes, Escape stops.`);
  show();
  stage.focus({ preventScroll: true });
  stage.scrollIntoView({ block: "nearest" });
}
function stop(words) {
  const last = row;
  row?.classList.remove("current");
  row = null;
  points = [];
  trail = null;
  what.textContent = "Choose a part and press “Draw”.";
  show();
  say(words);
  last?.querySelector("[data-draw]")?.focus({ preventScroll: true });
}
function addPoint(point) {
  points.push(point);
  show();
  say(`Point ${points.length} set at ${percent(point[0])} across, ${percent(point[1])} down.`);
}
function undo() {
  if (!points.length) return say("There is no point to take back.");
  points.pop();
  show();
  say(points.length ? `Taken back; ${points.length} points are left.` : "Taken back; no point is left.");
}
function close() {
  if (points.length < 3) return say(`A region needs at least 3 points; there are ${points.length}.`);
  const text = points.map(([x, y]) => `${+(x * 100).toFixed(2)},${+(y * 100).toFixed(2)}`).join(" ");
  const name = row.dataset.name, many = points.length;
  fill(row, text);
  stop(`Region of ${name} closed with ${many} points.`);
  keep();
}
function fill(of, text) {
  of.querySelector("textarea").value = text;
  const button = of.querySelector("[data-draw]");
  if (button) button.firstChild.textContent = text ? "Draw anew" : "Draw";
}

/** Leaves out the points that a traced line can do without (Douglas and Peucker's way). */
function simpler(line, most) {
  if (line.length < 3) return line;
  const [a, b] = [line[0], line[line.length - 1]];
  let far = 0, at = 0;
  for (let i = 1; i < line.length - 1; i++) {
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const off = length
      ? Math.abs((b[0] - a[0]) * (a[1] - line[i][1]) - (a[0] - line[i][0]) * (b[1] - a[1])) / length
      : Math.hypot(line[i][0] - a[0], line[i][1] - a[1]);
    if (off > far) [far, at] = [off, i];
  }
  if (far <= most) return [a, b];
  return [...simpler(line.slice(0, at + 1), most).slice(0, -1), ...simpler(line.slice(at), most)];
}

// -- keeping: one after the other, and the drawing anew after each

let waiting = Promise.resolve();
function keep() {
  waiting = waiting.then(send).catch(() => { saved.textContent = "Not kept: no answer. Press “Keep” to try again."; });
}
async function send() {
  saved.textContent = "Keeping …";
  const body = new URLSearchParams(new FormData(form));
  const answer = await fetch(form.action, { method: "POST", body, headers: { accept: "application/json" } });
  if (!answer.ok) {
    saved.textContent = answer.status === 403 ? "Not kept: you may not change this case, or the page is too old." : "Not kept. Press “Keep” to try again.";
    return;
  }
  const kept = await answer.json();
  form.elements.version.value = kept.version;
  saved.textContent = kept.left ? "Kept, but for the corners that can't be read." : `Version ${kept.version}, kept.`;
  tell(kept.errors);
  await drawAnew();
}
/** Puts what can't be read beside its field. */
function tell(errors) {
  for (const old of document.querySelectorAll(".part-row .error")) old.remove();
  for (const field of document.querySelectorAll(".part-row textarea")) {
    const wrong = errors[field.name];
    field.closest(".part-row").classList.toggle("wrong", Boolean(wrong));
    field.toggleAttribute("aria-invalid", Boolean(wrong));
    if (!wrong) { field.removeAttribute("aria-describedby"); continue; }
    const note = document.createElement("p");
    note.className = "error";
    note.id = `${field.name}-error`;
    note.textContent = wrong;
    field.before(note);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", note.id);
  }
}
async function drawAnew() {
  const answer = await fetch(`${location.pathname}/drawing`);
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement;
  drawing().replaceWith(document.importNode(fresh, true));
  let drawn = 0;
  const rows = [...document.querySelectorAll(".part-row")];
  for (const one of rows) {
    const corners = one.querySelector("textarea").value.trim();
    if (corners) {
      drawn += 1;
      one.querySelector(".part-state").textContent = `${corners.split(/\s+/).length} points`;
    } else if (/points$/.test(one.querySelector(".part-state").textContent)) {
      one.querySelector(".part-state").textContent = "not drawn";
    }
  }
  document.getElementById("drawn-count").textContent = `${drawn} of ${rows.length} drawn here`;
  show();
}

// -- listening

for (const hidden of document.querySelectorAll(".draw-bar, .how, .part-tools")) hidden.hidden = false;
stage.tabIndex = 0;
stage.setAttribute("role", "application");
stage.setAttribute("aria-label", "Drawing area");
stage.setAttribute("aria-describedby", "how-words");

for (const button of document.querySelectorAll("[data-draw]")) {
  button.addEventListener("click", (event) => begin(button.closest(".part-row"), event.detail === 0));
}
buttons.undo.addEventListener("click", undo);
buttons.close.addEventListener("click", close);
buttons.cancel.addEventListener("click", () => stop("Stopped; nothing was changed."));

stage.addEventListener("keydown", (event) => {
  if (!row || event.ctrlKey || event.metaKey) return;
  const step = event.shiftKey ? 0.1 : event.altKey ? 0.005 : 0.02;
  const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
  if (way) {
    usesKeys = true;
    cursor = [clamp(cursor[0] + way[0]), clamp(cursor[1] + way[1])];
    show();
    say(`${percent(cursor[0])} across, ${percent(cursor[1])} down`);
  } else if (event.key === "Enter") addPoint([...cursor]);
  else if (event.key === "Backspace") undo();
  else if (event.key === "c" || event.key === "C") close();
  else if (event.key === "Escape") stop("Stopped; nothing was changed.");
  else return;
  event.preventDefault();
});

stage.addEventListener("pointerdown", (event) => {
  if (!row || event.button !== 0) return;
  usesKeys = false;
  trail = [fromPointer(event)];
  stage.setPointerCapture(event.pointerId);
  event.preventDefault();
  stage.focus({ preventScroll: true });
});
stage.addEventListener("pointermove", (event) => {
  if (!row || !trail) return;
  const point = fromPointer(event);
  if (apart(point, trail[trail.length - 1]) > 2) trail.push(point);
  if (trail.length > 3) show();
});
stage.addEventListener("pointerup", (event) => {
  if (!row || !trail) return;
  const line = trail, here = fromPointer(event);
  trail = null;
  if (line.some((point) => apart(point, line[0]) > 12)) {
    points = simpler(line, 0.004).slice(0, 400);
    if (points.length < 3) { points = []; show(); return say("The traced line has no area; trace around the part."); }
    return close();
  }
  if (points.length >= 3 && apart(here, points[0]) < 12) return close();
  addPoint(here);
});
stage.addEventListener("pointercancel", () => { trail = null; show(); });
stage.addEventListener("click", (event) => { if (row && event.target.closest("a")) event.preventDefault(); });
form.addEventListener("change", (event) => { if (event.target.matches("textarea, #name")) keep(); });
