// The query form: run with Ctrl and Enter, and go to the place of an error.
const query = document.querySelector("#query");
const form = query.form;
document.querySelector("[data-keys]").hidden = false;

query.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
    event.preventDefault();
    form.requestSubmit();
  }
});

const fault = document.querySelector("#query-error");
const place = fault && /^Line (\d+), column (\d+)/.exec(fault.textContent);
if (place) {
  const lines = query.value.split("\n").slice(0, Number(place[1]) - 1);
  const at = lines.reduce((sum, line) => sum + line.length + 1, 0) + Number(place[2]) - 1;
  query.focus();
  query.setSelectionRange(at, at);
}
