// The first page, live: figures and marks move with each sample; anything that needs a sentence is asked for.

import { duration, figure, serverNow } from "./format.js";
import { dayChart } from "./day.js";
import { openLink } from "./link.js";
import { renewParts } from "./parts.js";

const RENEW_MS = 60_000;
let renewed = serverNow();
const charts = new Map();

function renew() {
  renewed = serverNow();
  renewParts().catch(() => {});
}

function moved(sample) {
  if (sample.role !== "liquid") return;
  const strip = document.querySelector(`[data-vessel="${CSS.escape(sample.vessel_id ?? "")}"]`);
  if (!strip) return;
  const reading = strip.querySelector("[data-reading]");
  const age = strip.querySelector(".vessel-reading [data-age]");
  const before = strip.dataset.at ?? age?.getAttribute("datetime");
  if (before && Date.parse(sample.at) <= Date.parse(before)) return;
  strip.dataset.at = sample.at;
  if (!reading) return renew();
  const known = Number(strip.dataset.side ?? NaN);
  const side = sideOf(strip.querySelector(".vessel-reading"), sample.temp_c);
  strip.dataset.side = side;
  reading.textContent = figure(sample.temp_c);
  age?.setAttribute("datetime", sample.at);
  place(strip, sample.temp_c);
  charts.get(sample.vessel_id)?.add(Date.parse(sample.at), sample);
  if (!Number.isNaN(known) && known !== side) renew();
}

/** Moves the mark along the scale that the server drew; outside it the server draws anew. */
function place(strip, celsius) {
  const course = strip.querySelector(".course");
  const mark = course?.querySelector("[data-mark] circle");
  if (!mark) return;
  const { low, high } = course.dataset;
  const percent = ((celsius - low) / (high - low)) * 100;
  if (percent < 0 || percent > 100) renew();
  else mark.setAttribute("cx", `${percent}%`);
}

/** On which side of the band's two lines: only a cue to ask for the words again. */
function sideOf({ dataset }, celsius) {
  if (dataset.high !== undefined && celsius > Number(dataset.high)) return 1;
  return dataset.low !== undefined && celsius < Number(dataset.low) ? -1 : 0;
}

function grow() {
  const now = serverNow();
  for (const time of document.querySelectorAll("[data-age]")) {
    const words = duration(now - Date.parse(time.getAttribute("datetime")));
    if (time.textContent !== words) time.textContent = words;
  }
  if (!document.hidden && now - renewed > RENEW_MS) renew();
}

for (const place of document.querySelectorAll('[data-chart="day"]')) {
  charts.set(place.dataset.vesselId, dayChart(place));
}
openLink({ sample: moved, alarm: renew, stage: renew, estimate: renew }, renew);
setInterval(grow, 1_000);
