// Shows only the fields that the chosen kind has, in each form that names the field to choose by.
// Fields that are hidden are not sent. Without a script all of them are there.

export function fitKinds() {
  for (const form of document.querySelectorAll("form[data-kinds]")) fitTo(form, form.elements[form.dataset.kinds]);
}

function fitTo(form, kind) {
  const fit = () => {
    for (const part of form.querySelectorAll("[data-kind]")) {
      const away = !part.dataset.kind.split(" ").includes(kind.value);
      part.hidden = away;
      part.disabled = away;
    }
  };
  kind.addEventListener("change", fit);
  fit();
}
