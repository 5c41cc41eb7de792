// One batch: its chart over its whole time, moved and looked into; a finer envelope is asked for when it settles.

import { draw, fit, keys } from "./chart.js";
import { date, hour, serverNow, unit } from "./format.js";
import { openLink } from "./link.js";
import { moves } from "./moves.js";
import { renewParts } from "./parts.js";
import { fetchFrom, fetchSeries } from "./series.js";

const LEAST_MS = 1_800_000;
const SETTLE_MS = 250;
const AGAIN_MS = 300_000;
const HEIGHT = 340;

const place = document.querySelector('[data-chart="batch"]');
const begun = Date.parse(place.dataset.from);
const limits = () => ({
  from: begun, least: LEAST_MS,
  to: Math.max(begun + LEAST_MS, place.dataset.ended ? Date.parse(place.dataset.to) : serverNow()),
});
const view = { ...limits() };
const readout = Object.assign(document.createElement("p"), { className: "chart-readout", ariaLive: "polite" });
let chart = null;
let series = null;
let fetching = null;
let settle = 0;

function redraw() {
  const had = chart;
  chart = draw(place, series, {
    height: HEIGHT, from: () => view.from, to: () => view.to,
    hooks: { setCursor: [read] },
  });
  chart.root.setAttribute("aria-hidden", "true");
  had?.destroy();
  document.querySelector(".chart-keys")?.remove();
  place.after(keys(series));
}

async function load() {
  fetching?.abort();
  fetching = new AbortController();
  const room = (view.to - view.from) / 2;
  const { from, to } = limits();
  const points = Math.min(2_000, Math.max(300, Math.round(place.clientWidth * 1.5)));
  try {
    series = chart
      ? await fetchSeries(
        place.dataset.series, Math.max(from, view.from - room), Math.min(to, view.to + room), points, fetching.signal,
      )
      : await fetchFrom(place.dataset.first, fetching.signal);
    redraw();
    tell();
  } catch (error) {
    if (error.name !== "AbortError") readout.textContent = `The chart could not be drawn. ${error.message}`;
  }
}

function moved() {
  chart?.setScale("x", { min: view.from / 1000, max: view.to / 1000 });
  clearTimeout(settle);
  settle = setTimeout(load, SETTLE_MS);
}

/** What is under the pointer, in words. */
function read(u) {
  const n = u.cursor.idx;
  if (n === null || n === undefined) return tell();
  const at = u.data[0][n] * 1000;
  const words = series.probes.map((probe, p) => {
    const value = u.data[p * 3 + 1][n];
    return value === null || value === undefined ? `${probe.role} not measured` : `${probe.role} ${value.toFixed(1)} ${unit}`;
  });
  readout.textContent = `${date(at)} ${hour(at)}: ${words.join(", ")}`;
}

function tell() {
  readout.textContent = `Shown: ${date(view.from)} ${hour(view.from)} to ${date(view.to)} ${hour(view.to)}.`;
}

function tools(go) {
  const bar = Object.assign(document.createElement("div"), { className: "chart-tools" });
  const add = (words, act) => {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: words });
    button.addEventListener("click", act);
    bar.append(button);
  };
  add("Earlier", () => go.shift(-go.KEY_SHARE));
  add("Later", () => go.shift(go.KEY_SHARE));
  add("Closer", () => go.zoom(go.ZOOM));
  add("Wider", () => go.zoom(1 / go.ZOOM));
  add("The whole", go.whole);
  return bar;
}

place.hidden = false;
place.tabIndex = 0;
place.setAttribute("role", "application");
place.setAttribute("aria-label", "Chart of temperature over time. Arrow keys move it, plus and minus change the stretch, zero shows the whole.");
place.setAttribute("aria-describedby", "chart-words");
const go = moves({ place, get over() { return chart?.over ?? place; } }, view, limits, moved);
place.before(tools(go));
place.before(readout);
load();

new ResizeObserver(() => fit(chart, place)).observe(place);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => series && redraw());
const renew = () => { renewParts().catch(() => {}); };
openLink({ stage: renew, estimate: renew, alarm: renew }, () => { renew(); load(); });
setInterval(() => {
  if (document.hidden || place.dataset.ended || view.to < serverNow() - 2 * AGAIN_MS) return;
  const length = view.to - view.from;
  const whole = view.from === begun;
  view.to = serverNow();
  if (!whole) view.from = view.to - length;
  load();
}, AGAIN_MS);
