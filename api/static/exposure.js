// Ticks and choices act at once: the same page is fetched, and its working part put in place.
const work = () => document.getElementById("exposure-work");
const said = document.getElementById("exposure-said");
let asked = 0;

function address(form, changed) {
  const data = new FormData(form);
  if (changed?.id === "option") data.delete("agent");
  const query = new URLSearchParams(data);
  return `${form.getAttribute("action")}?${query}`;
}

async function show(url, { keep = true } = {}) {
  const mine = ++asked;
  const held = document.activeElement?.id;
  work().setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(url, { headers: { accept: "text/html" } });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById("exposure-work");
    if (mine !== asked) return;
    if (!answer.ok || !fresh) { location.assign(url); return; }
    const top = held ? document.getElementById(held)?.getBoundingClientRect().top : undefined;
    work().replaceWith(document.importNode(fresh, true));
    if (keep) history.replaceState(null, "", url);
    const again = held && document.getElementById(held);
    if (again) {
      again.focus({ preventScroll: true });
      if (top !== undefined) scrollBy(0, again.getBoundingClientRect().top - top);
    }
    const changed = document.querySelectorAll(".verdict-change")[0]?.textContent ?? "";
    said.textContent = changed.replace(/\s+/g, " ").trim();
  } catch {
    if (mine === asked) {
      work().removeAttribute("aria-busy");
      said.textContent = "The picture did not arrive. Use the button Show.";
    }
  }
}

document.addEventListener("change", (event) => {
  const form = event.target.closest("form[data-live]");
  if (form) show(address(form, event.target));
});
document.addEventListener("submit", (event) => {
  const form = event.target.closest("form[data-live]");
  if (!form) return;
  event.preventDefault();
  show(address(form));
});
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-live-link]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  show(link.href);
});

// A picture that was not ready with the page is fetched now.
if (work().dataset.fetch) show(work().dataset.fetch, { keep: false });
