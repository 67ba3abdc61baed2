// A slider beside each weight, which may be typed as well; and what is kept is what stands in the fields.

for (const line of document.querySelectorAll("[data-weight]")) {
  const typed = line.querySelector("input[name]");
  const range = line.querySelector('input[type="range"]');
  range.addEventListener("input", () => { typed.value = range.value; });
  typed.addEventListener("input", () => {
    const stops = Number.parseFloat(typed.value.replace(",", ".").replace("−", "-"));
    if (Number.isFinite(stops)) range.value = stops;
  });
  range.closest("label").hidden = false;
}

for (const form of document.querySelectorAll("[data-with-weights]")) {
  const weights = document.getElementById(form.dataset.withWeights);
  form.addEventListener("submit", () => {
    for (const input of form.querySelectorAll('input[type="hidden"][name^="weight-"]')) input.value = weights.elements[input.name].value;
  });
}
