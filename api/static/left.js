// On a page that says that something is not there: what was typed for it, and is still kept on
// this device (see keep.js), is shown, so that it can be copied before it is thrown away.
const key = `leastwise:${location.pathname}`;
let kept = null;
try { kept = JSON.parse(localStorage.getItem(key) ?? "null"); } catch { /* not allowed: nothing to show */ }
const typed = (kept?.fields ?? []).filter(([name, value]) => value.trim() && name !== "version" && !name.endsWith("._row") && value !== "unknown");
if (typed.length) show();

function show() {
  const note = document.createElement("section");
  note.className = "note care";
  note.setAttribute("aria-labelledby", "left-over");
  const heading = document.createElement("h2");
  heading.id = "left-over";
  heading.textContent = "What you typed here is still on this device";
  const label = document.createElement("label");
  label.textContent = "Copy what you need; each line says the field and what stood in it.";
  label.htmlFor = "left-over-text";
  const text = document.createElement("textarea");
  text.id = "left-over-text";
  text.readOnly = true;
  text.rows = Math.min(20, typed.length + 2);
  text.value = typed.map(([name, value]) => `${name}: ${value}`).join("\n");
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Throw it away";
  button.addEventListener("click", () => {
    try { localStorage.removeItem(key); } catch { /* as above */ }
    note.remove();
  });
  note.append(heading, label, text, button);
  document.querySelector("main").append(note);
}
