// What is pointed at, or holds the focus, lights up on the object's picture; without this the
// picture is plain, and the numbers say the same.
const drawing = document.querySelector(".object-picture svg");

function light(from) {
  const parts = new Set((from?.dataset.lights ?? "").split(" ").filter(Boolean));
  const marks = new Set((from?.dataset.marks ?? "").split(" ").filter(Boolean));
  for (const one of drawing.querySelectorAll("[data-part]"))
    one.classList.toggle("lit", parts.has(one.dataset.part));
  for (const one of drawing.querySelectorAll("[data-mark]"))
    one.classList.toggle("lit", marks.has(one.dataset.mark));
  drawing.classList.toggle("lights", drawing.querySelector(".lit") !== null);
}

if (drawing) {
  const of = (event) => event.target.closest?.("[data-lights]");
  for (const kind of ["pointerover", "focusin"])
    document.addEventListener(kind, (event) => light(of(event)));
  document.addEventListener("pointerleave", () => light(null));
}
