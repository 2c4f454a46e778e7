// Search as you type over labels and synonyms: a combobox with a list (ARIA 1.2). Without this
// script the field is plain text with the browser's own list.
const answers = new Map();
const voice = document.createElement("div");
voice.className = "sr";
voice.setAttribute("aria-live", "polite");
document.body.append(voice);
let made = 0;

document.addEventListener("focusin", (event) => {
  if (event.target.matches?.("input[data-choose]:not([data-ready])")) ready(event.target);
});
if (document.activeElement?.matches("input[data-choose]")) queueMicrotask(() => ready(document.activeElement));

async function search(kind, asked) {
  const address = `/find?${new URLSearchParams({ kind, q: asked.slice(0, 80) })}`;
  if (!answers.has(address)) {
    const reply = await fetch(address, { headers: { accept: "application/json" } });
    if (!reply.ok) return null;
    answers.set(address, await reply.json());
  }
  return answers.get(address);
}

function ready(field) {
  const list = document.createElement("ul");
  const around = document.createElement("div");
  const hadFocus = document.activeElement === field;
  list.id = `choices-${++made}`;
  list.hidden = true;
  list.setAttribute("role", "listbox");
  list.setAttribute("aria-label", `What ${field.dataset.choose} it may be`);
  around.className = "choose";
  field.dataset.ready = "yes";
  field.removeAttribute("list");
  field.replaceWith(around);
  around.append(field, list);
  if (hadFocus) field.focus();
  for (const [name, value] of Object.entries({ role: "combobox", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": list.id }))
    field.setAttribute(name, value);

  let active = -1, waiting = 0, turn = 0;
  const options = () => [...list.querySelectorAll("[role=option]")];

  function close() {
    clearTimeout(waiting);
    turn += 1;
    active = -1;
    list.hidden = true;
    field.setAttribute("aria-expanded", "false");
    field.removeAttribute("aria-activedescendant");
  }

  function mark(place) {
    const all = options();
    if (!all.length) return;
    active = (place + all.length) % all.length;
    all.forEach((one, i) => one.setAttribute("aria-selected", String(i === active)));
    field.setAttribute("aria-activedescendant", all[active].id);
    all[active].scrollIntoView({ block: "nearest" });
  }

  function pick(option) {
    if (option.dataset.other) keepWord(field);
    field.value = option.dataset.label;
    close();
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
    close();
    voice.textContent = `${option.dataset.label} chosen.`;
  }

  async function open() {
    const mine = ++turn;
    const found = await search(field.dataset.choose, field.value).catch(() => null);
    if (mine !== turn || document.activeElement !== field) return;
    if (!found) return close();
    active = -1;
    field.removeAttribute("aria-activedescendant");
    const lines = found.matches.map((one, i) => line(one, `${list.id}-${i}`));
    if (found.matches[0]?.near) lines.unshift(words("No such name. Spelled nearly so:"));
    const other = found.other && !found.matches.some((one) => one.id === found.other.id) ? found.other : null;
    if (other) lines.push(words(lines.length ? "Where none of these is it:" : "No such name. Your word is kept; choose:"), line(other, `${list.id}-other`, true));
    list.replaceChildren(...lines);
    list.hidden = !lines.length;
    field.setAttribute("aria-expanded", String(!list.hidden));
    voice.textContent = told(found);
  }

  field.addEventListener("input", (event) => {
    if (!event.isTrusted) return;
    clearTimeout(waiting);
    waiting = setTimeout(open, 120);
  });
  field.addEventListener("blur", close);
  field.addEventListener("keydown", (event) => {
    if (event.isComposing) return;
    const shown = !list.hidden;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      const step = event.key === "ArrowDown" ? 1 : -1;
      if (shown) mark(active < 0 && step < 0 ? -1 : active + step);
      else open().then(() => { if (!event.altKey) mark(step > 0 ? 0 : -1); });
    } else if (event.key === "Enter" && shown) {
      event.preventDefault();
      if (active >= 0) pick(options()[active]);
      else close();
    } else if (event.key === "Escape" && shown) {
      event.preventDefault();
      event.stopPropagation();
      close();
    }
  });
  list.addEventListener("pointerdown", (event) => event.preventDefault()); // the field keeps the focus
  list.addEventListener("click", (event) => {
    const option = event.target.closest("li");
    if (option) pick(option);
  });
}

// What has no entry is entered as unidentified or of another kind; the word that was typed goes
// into the field for words of one's own, or into the note.
function keepWord(field) {
  const beside = (name) => field.form?.elements.namedItem(field.name.replace(/\w+$/, name));
  const note = beside("other") ?? beside("note");
  const word = field.value.trim();
  if (!(note instanceof HTMLElement) || !word || note.value.includes(word)) return;
  note.closest("details.more")?.setAttribute("open", "");
  note.value = note.value.trim() ? `${word}; ${note.value.trim()}` : word;
}

function line(one, id, other = false) {
  const item = document.createElement("li");
  item.id = id;
  item.dataset.label = one.label;
  if (other) item.dataset.other = "yes";
  item.setAttribute("role", "option");
  item.setAttribute("aria-selected", "false");
  item.append(one.matched ? `${one.label} (${one.matched})` : one.label);
  if (one.about) {
    const about = document.createElement("small");
    about.textContent = one.about;
    item.append(about);
  }
  return item;
}

// A line of the list that can't be chosen.
function words(text) {
  const item = document.createElement("li");
  item.className = "said-between";
  item.setAttribute("role", "presentation");
  item.textContent = text;
  return item;
}

function told(found) {
  const n = found.matches.length;
  if (!n && found.other) return `No match. What you type is kept, but can't be weighed; ${found.other.label} can.`;
  if (!n) return "No match. What you type is kept, but can't be weighed.";
  if (found.matches[0].near) return `No such name; ${n} spelled nearly so. Up and down to choose.`;
  const more = found.total > n ? ` of ${found.total}` : "";
  return `${n}${more} ${found.total === 1 ? "match" : "matches"}. Up and down to choose.`;
}
