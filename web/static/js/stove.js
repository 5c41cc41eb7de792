// On the stove: the time moves every second; the server's words are asked for when it runs out.

import "./often.js";
import { serverNow } from "./format.js";
import { renewParts } from "./parts.js";

const two = (n) => String(n).padStart(2, "0");

function clock(ms) {
  const seconds = Math.floor(Math.abs(ms) / 1000);
  const [h, m, s] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
  return h ? `${h}:${two(m)}:${two(s)}` : `${two(m)}:${two(s)}`;
}

function tick() {
  const figure = document.querySelector("[data-until]");
  if (!figure) return;
  const left = Date.parse(figure.dataset.until) - serverNow();
  figure.textContent = clock(left);
  if (left < 0 && "down" in figure.dataset) {
    delete figure.dataset.down;
    renewParts().catch(() => {});
  }
}

// On a shared screen a button that is held acts; a tap goes the way without a script, and is asked about.
const HOLD_MS = 900;
let held = 0;
let acted = false;

function release() {
  clearTimeout(held);
  document.querySelectorAll(".is-held").forEach((button) => button.classList.remove("is-held"));
}

addEventListener("pointerdown", (event) => {
  const button = event.target.closest?.("[data-hold]");
  if (!button) return;
  button.classList.add("is-held");
  held = setTimeout(() => {
    acted = true;
    button.form.elements.held.value = "yes";
    button.form.requestSubmit(button);
  }, HOLD_MS);
});
for (const kind of ["pointerup", "pointercancel", "blur"]) addEventListener(kind, release);
addEventListener("click", (event) => { if (acted) event.preventDefault(); });
addEventListener("contextmenu", (event) => { if (event.target.closest?.("[data-hold]")) event.preventDefault(); });

tick();
setInterval(tick, 1_000);
