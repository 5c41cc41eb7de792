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

tick();
setInterval(tick, 1_000);
