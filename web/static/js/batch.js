// One batch: its chart over its whole time, moved and looked into; a finer envelope is asked for when it settles.

import { draw, fit, keys } from "./chart.js";
import { date, hour, serverNow, unit } from "./format.js";
import { drawGravity, hasGravity } from "./gravity.js";
import { fitKinds } from "./kinds.js";
import { openLink } from "./link.js";
import { moves } from "./moves.js";
import { renewParts } from "./parts.js";
import { columns, fetchSeries } from "./series.js";

const LEAST_MS = 1_800_000;
const SETTLE_MS = 250;
const AGAIN_MS = 300_000;
const AHEAD_MS = 4_000;
const HEIGHT = 340;
const LOWER = 180;

const place = document.querySelector('[data-chart="batch"]');
const told = document.getElementById("chart-first");
const begun = Date.parse(place.dataset.from);
const scale = place.dataset.gravity;
let story = null;
const limits = () => ({
  from: begun, least: LEAST_MS,
  to: Math.max(begun + LEAST_MS, place.dataset.ended ? Date.parse(place.dataset.to) : serverNow(), ends()),
});
const ends = () => (story?.ahead?.at(-1)?.[0] ?? 0) * 1000;
const view = { from: begun, to: limits().to };
const readout = document.querySelector(".chart-readout");
const sheets = [...place.querySelectorAll(".chart-sheet")];
let charts = [];
let series = null;
let fetching = null;
let settle = 0;

function redraw() {
  const width = sheets[0].clientWidth;
  const look = { width, from: () => view.from, to: () => view.to };
  const had = charts;
  charts = [draw(sheets[0], series, { ...look, height: HEIGHT, hooks: { setCursor: [read] } })];
  had.forEach((chart) => chart.destroy());
  const mine = charts;
  afterwards(() => {
    if (charts !== mine) return;
    if (sheets[1] && hasGravity(story)) charts.push(drawGravity(sheets[1], story, { ...look, height: LOWER, scale }));
    tell();
    document.querySelector(".chart-keys")?.remove();
    place.after(keys(series));
  });
}

/** Once what was drawn is on the screen. */
function afterwards(act) {
  requestAnimationFrame(() => setTimeout(act));
}

async function load(all = false) {
  fetching?.abort();
  fetching = new AbortController();
  const room = (view.to - view.from) / 2;
  const { from, to } = limits();
  const asked = {
    from: Math.max(from, view.from - room), to: Math.min(to, view.to + room),
    points: Math.min(2_000, Math.max(300, Math.round(place.clientWidth * 1.5))), story: all || story === null,
  };
  try {
    take(await fetchSeries(place.dataset.series, asked, fetching.signal));
  } catch (error) {
    if (error.name !== "AbortError") readout.textContent = `The chart could not be drawn. ${error.message}`;
  }
}

/** What came: the story is kept while only curves are asked for anew. */
function take(fresh) {
  const whole = view.from === begun && view.to >= limits().to - LEAST_MS;
  series = fresh;
  if (fresh.story) story = fresh.story;
  series.story = story;
  series.band = [...series.band, ...bandAhead()];
  if (whole) view.to = limits().to;
  redraw();
}

/** The band that is planned for the hours ahead, in pieces of one hour. */
function bandAhead() {
  const points = story?.ahead ?? [];
  return points.slice(1).map(([to, , , , low, high], n) => ({ from: points[n][0], to, low, high }));
}

function moved() {
  for (const chart of charts) chart.setScale("x", { min: view.from / 1000, max: view.to / 1000 });
  clearTimeout(settle);
  settle = setTimeout(load, SETTLE_MS);
}

/** What is under the pointer, in words. */
function read(u) {
  const n = u.cursor.idx;
  if (n === null || n === undefined) return tell();
  const at = u.data[0][n] * 1000;
  const ahead = u.data[3 * series.probes.length + 1]?.[n];
  const words = ahead === null || ahead === undefined ? measured(u, n) : [`expected ${ahead.toFixed(1)} ${unit}`];
  const told = story?.estimates.findLast(([when]) => when * 1000 <= at && at - when * 1000 < 7_200_000);
  if (told) words.push(`gravity estimated ${told[1].toFixed(scale === "SG" ? 3 : 1)} ${scale}`);
  readout.textContent = `${date(at)} ${hour(at)}: ${words.join(", ")}`;
}

function measured(u, n) {
  return series.probes.map((probe, p) => {
    const value = u.data[p * 3 + 1][n];
    return value === null || value === undefined ? `${probe.role} not measured` : `${probe.role} ${value.toFixed(1)} ${unit}`;
  });
}

function tell() {
  readout.textContent = `Shown: ${date(view.from)} ${hour(view.from)} to ${date(view.to)} ${hour(view.to)}.`;
}

/** Everything that may wait until the chart is there. */
function liven() {
  fitKinds();
  for (const button of document.querySelectorAll("[data-act]")) button.addEventListener("click", acts[button.dataset.act]);
  new ResizeObserver(() => charts.forEach((chart) => fit(chart, sheets[0]))).observe(place);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => series && redraw());
  const renew = () => { renewParts().catch(() => {}); };
  const all = () => { renew(); load(true); };
  openLink({ stage: all, estimate: all, alarm: renew }, all);
  if (story?.ahead === null) setTimeout(all, AHEAD_MS);
  setInterval(() => {
    if (document.hidden || place.dataset.ended || view.to < serverNow() - 2 * AGAIN_MS) return;
    const length = view.to - view.from;
    const whole = view.from === begun;
    view.to = limits().to;
    if (!whole) view.from = view.to - length;
    load(true);
  }, AGAIN_MS);
}

const go = moves({ place, get over() { return charts[0]?.over ?? place; } }, view, limits, moved);
const acts = {
  earlier: () => go.shift(-go.KEY_SHARE), later: () => go.shift(go.KEY_SHARE),
  closer: () => go.zoom(go.ZOOM), wider: () => go.zoom(1 / go.ZOOM), whole: go.whole,
};
if (told) take(columns(JSON.parse(told.textContent)));
const begin = told ? Promise.resolve() : load();
begin.finally(() => afterwards(liven));
