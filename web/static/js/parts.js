// Takes the page from the server again and exchanges those of its parts that have changed.
// A part being typed in is left alone; if parts came or went, the whole page is loaded.

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
    if (!isTyping(document)) location.reload();
    return;
  }
  for (const [name, part] of then) {
    const old = now.get(name);
    if (isTyping(old)) continue;
    old.className = part.className;
    Object.assign(old.dataset, part.dataset);
    if (old.innerHTML !== part.innerHTML) old.replaceChildren(...part.childNodes);
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

function isTyping(root) {
  const at = document.activeElement;
  return root.contains(at) && at.matches("input, select, textarea, button");
}
