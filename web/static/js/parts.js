// Takes the page from the server again and exchanges those of its parts that have changed.
// What was typed, opened and focused in a part is put back after the exchange; a part whose focus cannot be
// put back is left for the next time. If parts came or went, the whole page is loaded.

let running = null;

export function renewParts() {
  running ??= fetchParts().finally(() => { running = null; });
  return running;
}

async function fetchParts() {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" }, cache: "no-store" });
  if (!answer.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const now = byName(document);
  const then = byName(fresh);
  if (now.size !== then.size || [...then.keys()].some((name) => !now.has(name))) {
    if (!isTouched(document)) location.reload();
    return;
  }
  for (const [name, part] of then) {
    const old = now.get(name);
    old.className = part.className;
    Object.assign(old.dataset, part.dataset);
    exchange(old, part);
  }
  for (const strip of fresh.querySelectorAll("[data-vessel]")) {
    const old = document.querySelector(`[data-vessel="${CSS.escape(strip.dataset.vessel)}"]`);
    if (old) old.className = strip.className;
  }
  document.title = fresh.title;
  const nav = fresh.querySelector(".nav");
  if (nav && !document.querySelector(".nav").contains(document.activeElement)) {
    document.querySelector(".nav").replaceChildren(...nav.childNodes);
  }
}

const byName = (root) => new Map([...root.querySelectorAll("[data-part]")].map((part) => [part.dataset.part, part]));

function exchange(old, part) {
  const focused = old.contains(document.activeElement) ? document.activeElement : null;
  if (old.innerHTML === part.innerHTML || (focused && !focused.id)) return;
  const typed = fields(old).filter(isChanged).map((field) => [field.id, field.value]);
  const open = [...old.querySelectorAll("details[open][id]")].map((details) => details.id);
  old.replaceChildren(...part.childNodes);
  const within = (id) => old.querySelector(`#${CSS.escape(id)}`);
  for (const id of open) within(id)?.setAttribute("open", "");
  for (const [id, value] of typed) {
    const field = within(id);
    if (field) field.value = value;
  }
  if (focused) within(focused.id)?.focus({ preventScroll: true });
}

const fields = (root) => [...root.querySelectorAll("input[id], select[id], textarea[id]")];

function isChanged(field) {
  if (field.matches("select")) return [...field.options].some((one) => one.selected !== one.defaultSelected);
  return field.type === "checkbox" ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
}

function isTouched(root) {
  return fields(root).some(isChanged) || document.activeElement.matches("input, select, textarea");
}
