// A page that is watched while something happens: asked for again every few seconds while it is looked at.

import "./renew.js";
import { renewParts } from "./parts.js";

const OFTEN_MS = 5_000;

setInterval(() => { if (!document.hidden) renewParts().catch(() => {}); }, OFTEN_MS);
