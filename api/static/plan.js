// The part of a page that takes its time: fetched after the page is there, with what happens said.
const part = document.querySelector("div[data-part]");

async function fetchPart() {
  const status = part.querySelector("[role=status]");
  const began = performance.now();
  const bar = part.querySelector("progress");
  const clock = setInterval(() => {
    const seconds = Math.round((performance.now() - began) / 1000);
    if (seconds >= 3) bar?.setAttribute("aria-label", `Working for ${seconds} seconds`);
  }, 1000);
  try {
    const answer = await fetch(part.dataset.part, { headers: { accept: "text/html" } });
    const text = await answer.text();
    const page = new DOMParser().parseFromString(text, "text/html");
    if (!answer.ok) {
      const words = page.querySelector("main p, main .note")?.textContent ?? "It could not be made.";
      status.querySelector("strong").textContent = `It could not be worked out: ${words.trim()}`;
      bar?.remove();
      return;
    }
    const held = [...page.body.childNodes].map((node) => document.importNode(node, true));
    part.replaceChildren(...held);
    const said = document.createElement("p");
    said.className = "sr";
    said.setAttribute("role", "status");
    part.before(said);
    requestAnimationFrame(() => { said.textContent = "Worked out and shown below."; });
    if (location.hash) document.querySelector(location.hash)?.scrollIntoView();
  } catch {
    status.querySelector("strong").textContent = "The part did not arrive. The link below loads the whole page.";
    bar?.remove();
  } finally {
    clearInterval(clock);
    part.setAttribute("aria-busy", "false");
  }
}

if (part) fetchPart();
