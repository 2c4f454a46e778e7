// Keeps a form as you go. What can't be sent is kept on this device and offered when the page is
// opened again. A request that may have arrived is sent again as it was, so that nothing counts
// twice. Form: data-keep (data-keep="reload" where other scripts draw from it), hidden version.
const WAIT = 700, MOST_ON_LEAVING = 60_000, LONGEST_PAUSE = 60_000;

for (const form of document.querySelectorAll("form[data-keep]")) keep(form);

function keep(form) {
  const key = `leastwise:${new URL(form.action).pathname}`;
  const status = form.querySelector("[data-keep-status]") ?? addStatus(form);
  let timer = 0, failures = 0;
  let changed = false; // since the last request was made up
  let pending = null; // a request that was made up and isn't known to have arrived
  let flying = false;
  let submitter; // a button that waits for the flight to end
  let clash = null;

  const fields = () => [...new FormData(form)].filter(([, value]) => typeof value === "string");
  const own = (list) => JSON.stringify(list.filter(([name]) => name !== "version" && name !== "form_token" && !name.endsWith("._row")));

  function say(text, bad = false) {
    status.classList.toggle("not-kept", bad);
    if (status.textContent !== text) status.textContent = text;
  }

  function copy(submitted = false) {
    try {
      localStorage.setItem(key, JSON.stringify({ at: Date.now(), submitted, fields: fields().filter(([name]) => name !== "form_token") }));
    } catch { /* no room or not allowed: the server keeps it all the same */ }
  }
  function forget() {
    try { localStorage.removeItem(key); } catch { /* as above */ }
  }

  function later(pause) {
    clearTimeout(timer);
    timer = setTimeout(send, pause);
  }

  function touched() {
    if (clash) return;
    changed = true;
    copy();
    if (!failures) later(WAIT);
  }

  async function send() {
    clearTimeout(timer);
    if (flying || clash || (!changed && pending === null)) return;
    if (pending === null) {
      pending = new URLSearchParams(fields()).toString();
      changed = false;
    }
    flying = true;
    try {
      const reply = await fetch(form.action, {
        method: "POST",
        body: pending,
        keepalive: pending.length < MOST_ON_LEAVING,
        headers: { accept: "application/json", "content-type": "application/x-www-form-urlencoded" },
      });
      if (reply.status >= 500 || reply.status === 429) throw new Error(`status ${reply.status}`);
      await settled(reply);
    } catch {
      failures += 1;
      say("Not kept: the server can't be reached. What you typed is kept on this device; trying again.", true);
      later(Math.min(LONGEST_PAUSE, 1000 * 2 ** Math.min(failures, 6)));
    } finally {
      flying = false;
    }
    if (submitter !== undefined) {
      const button = submitter;
      submitter = undefined;
      form.requestSubmit(button);
    } else if (changed && !failures && !clash) later(WAIT);
  }

  async function settled(reply) {
    const said = await reply.json().catch(() => ({}));
    const sent = pending;
    pending = null;
    failures = 0;
    if (reply.ok) {
      form.elements.version.value = said.version;
      form.dispatchEvent(new CustomEvent("leastwise:kept", { bubbles: true }));
      if (!changed) forget();
      for (const mark of form.querySelectorAll('[name$="._row"]')) mark.value = mark.name.split(".").at(-2);
      const bad = Object.keys(said.errors ?? {}).length;
      const at = new Date(said.saved_at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
      say(`Kept at ${at}${said.together ? `, put together with what ${said.together} wrote` : ""}${bad ? `; ${bad === 1 ? "one entry" : `${bad} entries`} can't be read yet` : ""}`);
      if (said.anew) await loadAnew(sent);
      else tell(said.errors ?? {});
    } else if (reply.status === 409) {
      clash = said;
      changed = true;
      say(`Not kept: ${said.detail ?? "somebody changed the same entries."}`, true);
      offer(status, "See both versions", () => form.submit());
    } else {
      changed = false; // the same again would be refused again: wait for the next change
      submitter = undefined;
      say(`Not kept: ${said.detail ?? "the server refused it"} What you typed is kept on this device.`, true);
    }
  }

  // Errors beside their fields; the focus stays, and a field being typed in isn't scolded.
  function tell(errors) {
    for (const old of form.querySelectorAll(".field .error")) old.remove();
    for (const old of form.querySelectorAll(".field.wrong")) old.classList.remove("wrong");
    for (const old of form.querySelectorAll("[aria-invalid]")) old.removeAttribute("aria-invalid");
    if (!Object.keys(errors).length) document.getElementById("summary")?.remove();
    for (const [name, said] of Object.entries(errors)) beside(name, said);
  }

  function beside(name, said) {
    const field = find(name);
    const around = field?.closest(".field");
    if (!around) return;
    if (around.contains(document.activeElement)) {
      around.addEventListener("focusout", () => { if (!changed && !flying) beside(name, said); }, { once: true });
      return;
    }
    const note = document.createElement("p");
    note.className = "error";
    note.id = `${name}-error`;
    note.textContent = said;
    around.classList.add("wrong");
    let control = field;
    while (control.parentElement !== around) control = control.parentElement;
    control.before(note);
    field.setAttribute("aria-invalid", "true");
    const about = new Set((field.getAttribute("aria-describedby") ?? "").split(" ").filter(Boolean));
    field.setAttribute("aria-describedby", [...about.add(note.id)].join(" "));
  }

  function find(name) {
    for (let at = name; at; at = at.slice(0, Math.max(0, at.lastIndexOf("."))))
      for (const one of [at, `${at}.value`, `${at}[]`]) {
        const found = [...form.querySelectorAll(`[name="${CSS.escape(one)}"]`)].find((e) => e.type !== "hidden");
        if (found) return found;
      }
    return null;
  }

  // Somebody else wrote in this section: show theirs, and keep what was typed since.
  async function loadAnew(sent) {
    if (form.dataset.keep === "reload") { location.reload(); return; }
    const reply = await fetch(location.pathname, { headers: { accept: "text/html" } });
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    const fresh = page.querySelector("form[data-keep]");
    if (!fresh) return;
    const before = [...new URLSearchParams(sent)];
    const typed = fields().filter(([name, value]) => !before.some(([n, v]) => n === name && v === value));
    const focus = document.activeElement?.name;
    const bar = status.closest(".keep-bar");
    form.replaceChildren(...fresh.childNodes);
    const slot = form.querySelector(".keep-bar");
    if (bar && slot) slot.replaceWith(bar);
    put(typed.filter(([name]) => name !== "version" && !name.endsWith("._row")));
    if (focus) form.querySelector(`[name="${CSS.escape(focus)}"]`)?.focus();
    document.dispatchEvent(new CustomEvent("leastwise:anew", { detail: { form } }));
  }

  function put(list) {
    const ticked = new Map();
    for (const [name, value] of list) {
      if (name.endsWith("[]")) { ticked.set(name, [...(ticked.get(name) ?? []), value]); continue; }
      for (const field of form.querySelectorAll(`[name="${CSS.escape(name)}"]`))
        if (field.type === "radio") field.checked = field.value === value;
        else if (field.tagName !== "BUTTON") field.value = value;
    }
    for (const [name, values] of ticked)
      for (const box of form.querySelectorAll(`[name="${CSS.escape(name)}"]`))
        if (box.type === "checkbox") box.checked = values.includes(box.value);
  }

  // What an earlier visit could not send.
  function offerCopy() {
    let kept;
    try { kept = JSON.parse(localStorage.getItem(key) ?? "null"); } catch { return; }
    if (!kept?.fields) return;
    const version = (kept.fields.find(([name]) => name === "version") ?? [])[1];
    const arrived = kept.submitted && Number(form.elements.version.value) > Number(version);
    const merged = new URLSearchParams(location.search).has("together");
    if (arrived || merged || own(kept.fields) === own(fields())) { forget(); return; }
    const note = document.createElement("div");
    note.className = "note care";
    note.setAttribute("role", "status");
    const text = document.createElement("p");
    text.textContent = `What you typed here on ${new Date(kept.at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" })} was not kept by the server. This device still has it.`;
    note.append(text);
    offer(text, "Put it back", () => { note.remove(); put(kept.fields); touched(); });
    offer(text, "Throw it away", () => { note.remove(); forget(); });
    form.before(note);
  }

  form.addEventListener("input", touched);
  form.addEventListener("change", touched);
  form.addEventListener("submit", (event) => {
    clearTimeout(timer);
    if (flying) {
      event.preventDefault();
      submitter = event.submitter;
      return;
    }
    if (failures) { // the page is worth more than the browser's own "no connection"
      event.preventDefault();
      changed = true;
      copy();
      say("The server can't be reached, so this page stays. What you typed is kept on this device; trying again.", true);
      later(3000);
      return;
    }
    if (changed || pending !== null) copy(true);
    changed = false;
    pending = null;
  });
  document.addEventListener("visibilitychange", () => { if (document.hidden) send(); });
  window.addEventListener("pagehide", () => { send(); });
  window.addEventListener("online", () => { failures = 0; send(); });
  window.addEventListener("pageshow", (event) => { if (event.persisted && !changed && pending === null) location.reload(); });
  offerCopy();
}

function offer(beside, words, act) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = words;
  button.addEventListener("click", () => { button.remove(); act(); });
  beside.after(button);
}

function addStatus(form) {
  const status = document.createElement("p");
  status.className = "saved";
  status.setAttribute("role", "status");
  status.setAttribute("aria-live", "polite");
  form.append(status);
  return status;
}
