// Pages without moving figures: asked for again when something happened.

import { duration, serverNow } from "./format.js";
import { openLink } from "./link.js";
import { renewParts } from "./parts.js";

const renew = () => { renewParts().catch(() => {}); };

openLink({ alarm: renew, stage: renew }, renew);
setInterval(() => {
  for (const time of document.querySelectorAll("[data-age]")) {
    time.textContent = duration(serverNow() - Date.parse(time.getAttribute("datetime")));
  }
}, 1_000);
setInterval(() => { if (!document.hidden) renew(); }, 60_000);
