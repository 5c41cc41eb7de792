// Shows only the fields that the chosen kind of channel has; without a script all of them are there.

import "./renew.js";

const form = document.querySelector("[data-kinds]");
const kind = form.elements.kind;

function fit() {
  for (const part of form.querySelectorAll("[data-kind]")) {
    part.hidden = !part.dataset.kind.split(" ").includes(kind.value);
  }
}

kind.addEventListener("change", fit);
fit();
