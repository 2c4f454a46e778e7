// Says that the derived text is older than a choice that was just made; the page works without it.
document.addEventListener("change", (event) => {
  if (!(event.target instanceof HTMLSelectElement) || !event.target.name.startsWith("choice:")) return;
  const stale = document.getElementById("stale");
  if (stale) stale.hidden = false;
});
