// Small helps in the forms of a record; every one of them has a way without scripts.

// A word tapped instead of a figure empties the figure; a figure takes the word away.
document.addEventListener("change", (event) => {
  const instead = event.target.dataset?.instead;
  if (instead && event.target.checked) {
    const figure = document.getElementById(instead);
    if (figure) figure.value = "";
  }
});
document.addEventListener("input", (event) => {
  const { id, value } = event.target;
  if (id && value && event.target.matches(".figure input:not([type=radio])"))
    for (const one of document.querySelectorAll(`[data-instead="${CSS.escape(id)}"]`)) one.checked = false;
  grow(event.target);
});

// A list of single lines always has an empty one at its end.
function grow(line) {
  const list = line.closest?.("[data-grows]");
  if (!list || line.type === "radio" || !line.value) return;
  const lines = [...list.querySelectorAll("input:not([type=radio])")];
  const listed = list.querySelector('input[type=radio][value="listed"]');
  if (listed) listed.checked = true;
  if (line !== lines.at(-1)) return;
  const next = line.cloneNode(false);
  const place = lines.length;
  next.id = next.name = `${list.dataset.grows}.${place}`;
  next.value = "";
  next.setAttribute("aria-label", next.getAttribute("aria-label").replace(/\d+$/, String(place + 1)));
  for (const name of ["role", "aria-controls", "aria-expanded", "aria-activedescendant", "data-ready"]) next.removeAttribute(name);
  (line.closest(".choose") ?? line).after(next);
}

// After a row was added or moved, go on in its first field.
function arrive() {
  const at = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!at) return;
  for (let around = at.closest("details"); around; around = around.parentElement.closest("details")) around.open = true;
  const field = at.matches("input, select, textarea") ? at : at.querySelector("input:not([type=hidden]), select, textarea");
  field?.focus();
}
window.addEventListener("hashchange", arrive);
arrive();
