// What the options pages can do besides: fold the tree, fetch shares and long answers in place.

const said = (text) => {
  const line = document.createElement("p");
  line.textContent = text;
  return line;
};

// an answer that was not ready at once: waited for, with this page shown meanwhile
const later = document.getElementById("options-wait");
if (later) location.replace(later.href);
const here = new URL(location.href);
if (!later && here.searchParams.has("wait")) {
  here.searchParams.delete("wait");
  history.replaceState(null, "", here);
}

// expand all, fold all
for (const bar of document.querySelectorAll(".fold-buttons")) {
  bar.hidden = false;
  bar.addEventListener("click", (event) => {
    const how = event.target.closest("[data-fold]")?.dataset.fold;
    if (!how) return;
    for (const one of document.querySelectorAll("#tree details")) one.open = how === "open";
  });
}

// rank shares: in the page if they are ready, else fetched now
const link = document.getElementById("shares-link");
if (link) {
  const line = document.getElementById("shares-said");
  const before = [...line.childNodes];
  line.replaceChildren("Working out how far the order depends on the weights …");
  try {
    const answer = await fetch(link.dataset.from, { headers: { accept: "application/json" } });
    if (!answer.ok) throw new Error(String(answer.status));
    const { options } = await answer.json();
    for (const row of document.querySelectorAll("[data-option]")) {
      const piece = options[row.dataset.option];
      const place = row.querySelector("[data-shares]");
      if (piece && place) place.innerHTML = piece; // our own piece: numbers only
    }
    line.replaceChildren(
      "Rank shares: how often an option takes a rank when weights and grades are drawn as far as " +
        "the policy leaves them open. They don't follow the sliders.",
    );
  } catch {
    line.replaceChildren(...before);
  }
}

// what would change it: asked in place, with the seconds that have passed
const ask = document.getElementById("ask-change");
ask?.addEventListener("click", async (event) => {
  event.preventDefault();
  const section = document.getElementById("what-would-change");
  const status = document.getElementById("ask-said");
  const bar = document.createElement("progress");
  bar.setAttribute("aria-label", "Weighing changed cases");
  const clock = document.createElement("span");
  const row = document.createElement("div");
  row.className = "asking";
  row.append(bar, clock);
  ask.replaceWith(row);
  status.replaceChildren(said("Weighing changed cases …"));
  const start = performance.now();
  const tick = () => (clock.textContent = `${Math.round((performance.now() - start) / 1000)} s`);
  const timer = setInterval(tick, 1000);
  tick();
  try {
    const answer = await fetch(ask.href, { headers: { accept: "text/html" } });
    if (!answer.ok) throw new Error(String(answer.status));
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById("what-would-change");
    section.replaceWith(fresh);
    const head = fresh.querySelector("h2");
    head.tabIndex = -1;
    head.focus();
  } catch {
    row.replaceWith(ask);
    status.replaceChildren(said("It could not be worked out just now. Try again."));
  } finally {
    clearInterval(timer);
  }
});
