// Contacts: rows that tell themselves as a sentence, two clicks in the network for a new contact,
// and the drawing fetched anew after each keeping. Without this script the form does the same.

const told = document.getElementById("contact-words");
if (told) start(JSON.parse(told.textContent));

function start({ kinds, names, address }) {
  const form = document.getElementById("contacts-form");
  const list = document.getElementById("contact-rows");
  const network = document.getElementById("network");
  const table = document.getElementById("network-table");
  const picked = document.getElementById("picked");
  const rows = () => [...list.querySelectorAll(":scope > .contact")];
  const ends = (row) => [...row.querySelectorAll("select")];
  const numberOf = (row) => Number(row.id.replace("contact-", ""));
  const isBlank = (row) => ends(row).every((one) => !one.value);

  // the empty row at the end is the pattern for further ones
  const last = rows().at(-1);
  const pattern = last.outerHTML, patternNumber = numberOf(last);

  function blankRow() {
    const end = rows().at(-1);
    if (end && isBlank(end)) return end;
    const number = Math.max(-1, ...rows().map(numberOf)) + 1;
    const html = pattern
      .replaceAll(`contacts.${patternNumber}.`, `contacts.${number}.`)
      .replaceAll(`"contacts.${patternNumber}"`, `"contacts.${number}"`)
      .replaceAll(`contact-${patternNumber}"`, `contact-${number}"`);
    list.insertAdjacentHTML("beforeend", html);
    return rows().at(-1);
  }
  function tell(row) {
    const [first, second] = ends(row).map((one) => (one.value ? one.selectedOptions[0].textContent : "…"));
    const kind = row.querySelector('input[name$=".kind"]:checked')?.value ?? "unknown";
    row.querySelector(".contact-said").textContent = isBlank(row) ? "New contact" : `${first} ${kinds[kind] ?? kind} ${second}`;
    row.querySelector("summary use").setAttribute("href", `#pic-${kind in kinds ? kind : "unknown"}`);
  }
  function add(first, second) {
    const row = blankRow();
    row.open = true;
    const [one, other] = ends(row);
    if (first) { one.value = first; other.value = second; }
    tell(row);
    if (first) {
      picked.textContent = `${names[first]} and ${names[second]}: say how they touch.`;
      other.dispatchEvent(new Event("input", { bubbles: true }));
      other.dispatchEvent(new Event("change", { bubbles: true }));
      row.querySelector('input[name$=".kind"]').focus();
    } else one.focus();
    row.scrollIntoView({ block: "nearest" });
  }

  list.addEventListener("change", (event) => {
    const row = event.target.closest(".contact");
    if (row) tell(row);
  });
  document.getElementById("add-contact").addEventListener("click", (event) => { event.preventDefault(); add(); });
  document.getElementById("pick-by-key").addEventListener("click", () => add());
  document.getElementById("pick-hint").hidden = false;

  // -- two clicks in the network
  let chosen = "";
  function mark() {
    for (const one of network.querySelectorAll("[data-part]")) one.classList.toggle("picked", one.dataset.part === chosen);
  }
  network.addEventListener("click", (event) => {
    const part = event.target.closest("[data-part]")?.dataset.part;
    if (!part) return;
    if (!chosen) { chosen = part; picked.textContent = `${names[part]} chosen. Click the part that it touches; Escape lets go.`; }
    else if (chosen === part) { chosen = ""; picked.textContent = "Let go."; }
    else { const first = chosen; chosen = ""; add(first, part); }
    mark();
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && chosen) { chosen = ""; picked.textContent = "Let go."; mark(); }
  });

  // -- the drawing anew, once the form tells that it has been kept
  let drawn = form.elements.version.value, timer = 0;
  async function anew() {
    if (form.elements.version.value === drawn) return;
    drawn = form.elements.version.value;
    const [svg, html] = await Promise.all(["drawing", "table"].map(async (what) => {
      const answer = await fetch(`${address}/${what}`, { headers: { accept: "*/*" } });
      return answer.ok ? answer.text() : "";
    }));
    if (svg) {
      const fresh = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
      network.replaceChildren(document.importNode(fresh, true));
      mark();
    }
    if (html) table.innerHTML = html;
  }
  form.addEventListener("leastwise:kept", () => {
    clearTimeout(timer);
    timer = setTimeout(() => anew().catch(() => {}), 80);
  });
}
