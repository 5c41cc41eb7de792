// The plan run again whenever typing pauses. The server draws and judges; here only its answer is put in place.

const PAUSE_MS = 700;

const button = document.getElementById("rehearse");
const form = button.form;
const state = form.querySelector(".rehearsal-state");
let waiting = 0;
let asking = null;

async function rehearse() {
  clearTimeout(waiting);
  asking?.abort();
  asking = new AbortController();
  state.textContent = "Rehearsing …";
  try {
    const answer = await fetch(button.formAction, {
      method: "POST", body: new URLSearchParams(new FormData(form)), signal: asking.signal,
      headers: { "X-While-Typing": "yes" },
    });
    if (!answer.ok) throw new Error(`(${answer.status})`);
    show(new DOMParser().parseFromString(await answer.text(), "text/html"));
  } catch (error) {
    if (error.name !== "AbortError") state.textContent = `It could not be rehearsed. ${error.message}`;
  }
}

function show(fresh) {
  const well = fresh.querySelector(".refused, .wrong") === null;
  const problems = problemsOf(fresh);
  for (const field of form.querySelectorAll(".field")) mark(field, problems);
  state.textContent = well ? "Rehearsed as it stands." : "It can be rehearsed once what is marked is put right.";
  if (well) document.getElementById("rehearsal").replaceChildren(...fresh.getElementById("rehearsal").childNodes);
}

/** What is wrong by the name of the field. Rows left empty do not count, so names can have moved up. */
function problemsOf(fresh) {
  const found = new Map();
  for (const field of fresh.querySelectorAll(".field-wrong")) {
    const input = field.querySelector("input, select");
    found.set(input.name, field.querySelector(".wrong"));
  }
  return found;
}

function mark(field, problems) {
  const input = field.querySelector("input, select");
  const words = problems.get(movedUp(input.name));
  field.querySelector(".wrong")?.remove();
  field.classList.toggle("field-wrong", Boolean(words));
  const hint = field.querySelector(".hint")?.id;
  input.removeAttribute("aria-invalid");
  if (hint) input.setAttribute("aria-describedby", hint);
  else input.removeAttribute("aria-describedby");
  if (!words) return;
  words.id = `${input.id}-wrong`;
  field.append(words);
  input.setAttribute("aria-invalid", "true");
  input.setAttribute("aria-describedby", [hint, words.id].filter(Boolean).join(" "));
}

/** The name that a field of a row has once the empty rows before it are left out. */
function movedUp(name) {
  const row = /^stages\/(\d+)\/(\w+)$/.exec(name);
  if (!row) return name;
  const rows = [...form.querySelectorAll("fieldset.rows")];
  const filled = rows.map((one) => [...one.querySelectorAll("input:not([type=hidden])")].some((input) => input.value.trim()));
  if (!filled[row[1]]) return "";
  return `stages/${filled.slice(0, row[1]).filter(Boolean).length}/${row[2]}`;
}

form.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(rehearse, PAUSE_MS);
});
button.addEventListener("click", (event) => {
  event.preventDefault();
  rehearse();
});
