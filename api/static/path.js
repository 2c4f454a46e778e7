// Turns the two ends of a way round.
const swap = document.querySelector("[data-swap]");
const [from, to] = [document.querySelector("#from"), document.querySelector("#to")];
if (swap && from && to) {
  swap.hidden = false;
  swap.addEventListener("click", () => {
    [from.value, to.value] = [to.value, from.value];
    from.focus();
  });
}
