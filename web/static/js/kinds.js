// Shows only the fields that the chosen kind has, in each form that names the field to choose by.
// Fields that are hidden are not sent. Without a script all of them are there.

for (const form of document.querySelectorAll("form[data-kinds]")) {
  const kind = form.elements[form.dataset.kinds];
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
