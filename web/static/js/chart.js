// One chart: the band as ground, gaps hatched, each probe as a line within its lowest and highest; where the
// story of the batch is known also the way ahead, and the stages and moments as marks.

import { date, hour, serverNow, unit, weekday } from "./format.js";

const DASH = { liquid: [], surroundings: [5, 4], bath: [2, 3] };

/** Draws `series` (see series.js) into `place`; gives the uPlot object. */
export function draw(place, series, { width = place.clientWidth, height, from, to, hooks = {}, cursor = {} }) {
  const colour = tokens();
  const ahead = series.story?.ahead ?? [];
  const at = 1 + 3 * series.probes.length;
  const options = {
    ...common(colour, { width, height, from, to, cursor }),
    scales: { x: { time: true, range: () => [from() / 1000, to() / 1000] }, y: { range: (u) => reach(u, series) } },
    series: [{}, ...series.probes.flatMap((probe) => lines(probe, colour)), ...(ahead.length ? foreseen(colour) : [])],
    bands: [
      ...series.probes.map((probe, n) => ({ series: [n * 3 + 3, n * 3 + 2], fill: wash(lineColour(probe, colour)) })),
      ...(ahead.length ? [{ series: [at + 2, at + 1], fill: wash(colour.ink, 14) }] : []),
    ],
    hooks: {
      drawClear: [(u) => ground(u, series, colour)],
      draw: [(u) => strays(u, series, colour), (u) => marks(u, series.story, colour, true)],
      ...hooks,
    },
  };
  return new uPlot(options, withAhead(series.data, ahead), place);
}

/** What all sheets of a chart share: the axis of time, its letters, what the pointer does. */
export function common(colour, { width, height, from, to, cursor = {}, figure = (v) => `${trim(v)} ${unit}` }) {
  return {
    width, height, legend: { show: false },
    cursor: { y: false, drag: { x: false, y: false }, points: { size: 8 }, ...cursor },
    scales: { x: { time: true, range: () => [from() / 1000, to() / 1000] } },
    axes: axes(colour, figure),
  };
}

/** The columns of what was measured, continued by those of the way ahead. */
function withAhead(data, ahead) {
  if (!ahead.length) return data;
  const last = data[0].at(-1) ?? -Infinity;
  const later = ahead.filter(([at]) => at > last);
  const none = new Array(later.length).fill(null);
  const before = new Array(data[0].length).fill(null);
  return [
    [...data[0], ...later.map(([at]) => at)],
    ...data.slice(1).map((column) => [...column, ...none]),
    ...[1, 2, 3].map((n) => [...before, ...later.map((point) => point[n])]),
  ];
}

/** Lets a chart follow the width of its place; the height stays, and nothing is drawn twice. */
export function fit(chart, place) {
  if (chart && chart.width !== place.clientWidth) {
    chart.setSize({ width: place.clientWidth, height: chart.height });
  }
}

export function tokens() {
  const style = getComputedStyle(document.documentElement);
  const names = ["ink", "ink-soft", "rule", "fairway", "fairway-edge", "air", "mark", "sheet", "sans"];
  return Object.fromEntries(names.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
}

const EDGE = { stroke: "transparent", width: 0, points: { show: false } };

const lineColour = (probe, colour) => (probe.role === "liquid" ? colour.ink : colour.air);

function lines(probe, colour) {
  const width = probe.role === "liquid" ? 2 : 1.5;
  const line = { stroke: lineColour(probe, colour), width, dash: DASH[probe.role] ?? [], points: { show: false } };
  return [line, EDGE, EDGE];
}

/** A broken line with the edges of its interval: what is foreseen or estimated. */
export const foreseen = (colour) => [{ stroke: colour.ink, width: 2, dash: [6, 4], points: { show: false } }, EDGE, EDGE];

export const wash = (colour, percent = 18) => `color-mix(in srgb, ${colour} ${percent}%, transparent)`;

function axes(colour, figure) {
  const common = {
    font: `13px ${colour.sans}`, stroke: colour["ink-soft"],
    grid: { stroke: colour.rule, width: 1 }, ticks: { stroke: colour.rule, width: 1, size: 4 },
  };
  return [
    { ...common, size: 30, space: 64, values: (u, splits) => splits.map((at, n) => clockWords(at, splits, n)) },
    { ...common, size: 60, space: 32, values: (u, splits) => splits.map(figure) },
  ];
}

/** The hour; at midnight, or when the marks are days apart, the day. */
function clockWords(at, splits, n) {
  const step = splits.length > 1 ? splits[1] - splits[0] : 0;
  if (step >= 86_400) return date(at * 1000);
  const words = hour(at * 1000);
  return words === "00:00" || words === "12:00 am" ? weekday(at * 1000) : words;
}

const trim = (value) => String(Math.round(value * 100) / 100).replace("-", "−");

/** The y scale: what is measured and the band, with room to breathe; at least two degrees. */
function reach(u, series) {
  const [from, to] = [u.scales.x.min ?? -Infinity, u.scales.x.max ?? Infinity];
  let low = Infinity;
  let high = -Infinity;
  const take = (value) => {
    if (value === null || value === undefined) return;
    low = Math.min(low, value);
    high = Math.max(high, value);
  };
  const times = u.data[0];
  for (let n = 0; n < times.length; n++) {
    if (times[n] < from || times[n] > to) continue;
    for (let s = 1; s < u.data.length; s++) take(u.data[s][n]);
  }
  for (const part of series.band) {
    if (part.to < from || part.from > to) continue;
    take(part.low);
    take(part.high);
  }
  if (low > high) return [0, 30];
  const room = Math.max(0.3, (2 - (high - low)) / 2);
  return [low - room, high + room];
}

function ground(u, series, colour) {
  const { ctx, bbox } = u;
  const x = (at) => Math.min(bbox.left + bbox.width, Math.max(bbox.left, u.valToPos(at, "x", true)));
  const y = (value, open) => (value === null ? open : u.valToPos(value, "y", true));
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  for (const part of series.band) {
    const [left, right] = [x(part.from), x(part.to)];
    if (right <= left || (part.low === null && part.high === null)) continue;
    const [top, bottom] = [y(part.high, bbox.top), y(part.low, bbox.top + bbox.height)];
    ctx.fillStyle = colour.fairway;
    ctx.fillRect(left, top, right - left + 0.5, bottom - top);
    ctx.fillStyle = colour["fairway-edge"];
    const line = devicePixelRatio;
    if (part.high !== null) ctx.fillRect(left, top - line / 2, right - left, line);
    if (part.low !== null) ctx.fillRect(left, bottom - line / 2, right - left, line);
  }
  for (const gap of series.gaps) hatch(ctx, x(gap.from), x(gap.to), bbox, colour);
  ctx.restore();
}

/** Diagonal lines over a stretch in which nothing was measured. */
function hatch(ctx, left, right, bbox, colour) {
  if (right <= left) return;
  ctx.save();
  ctx.beginPath();
  ctx.rect(left, bbox.top, right - left, bbox.height);
  ctx.clip();
  ctx.strokeStyle = colour["ink-soft"];
  ctx.lineWidth = devicePixelRatio;
  ctx.beginPath();
  const step = 7 * devicePixelRatio;
  for (let at = Math.floor((left - bbox.height) / step) * step; at < right; at += step) {
    ctx.moveTo(at, bbox.top + bbox.height);
    ctx.lineTo(at + bbox.height, bbox.top);
  }
  ctx.stroke();
  ctx.restore();
}

/** Times outside the band: a heavy bar along the foot of the chart. */
function strays(u, series, colour) {
  const { ctx, bbox } = u;
  const size = 5 * devicePixelRatio;
  ctx.save();
  ctx.fillStyle = colour.mark;
  for (const stray of series.strays) {
    const left = Math.max(bbox.left, u.valToPos(stray.from, "x", true));
    const right = Math.min(bbox.left + bbox.width, u.valToPos(stray.to, "x", true));
    if (right > left) ctx.fillRect(left, bbox.top + bbox.height - size, right - left, size);
  }
  ctx.restore();
}

/** Hairlines for stages and for now; `named` also their names, and the moments' numbers at the foot. */
export function marks(u, story, colour, named) {
  if (!story) return;
  const { ctx, bbox } = u;
  const dot = devicePixelRatio;
  const x = (at) => Math.round(u.valToPos(at, "x", true));
  const inside = (at) => at >= bbox.left && at <= bbox.left + bbox.width;
  ctx.save();
  ctx.font = `${12 * dot}px ${colour.sans}`;
  ctx.textBaseline = "top";
  ctx.textAlign = "left";
  ctx.lineWidth = dot;
  const free = [-Infinity, -Infinity];
  const hair = (at, dash, stroke) => {
    ctx.strokeStyle = stroke;
    ctx.setLineDash(dash);
    ctx.beginPath();
    ctx.moveTo(at, bbox.top);
    ctx.lineTo(at, bbox.top + bbox.height);
    ctx.stroke();
  };
  const word = (text, at) => {
    const wide = ctx.measureText(text).width + 8 * dot;
    const left = Math.min(at + 4 * dot, bbox.left + bbox.width - wide);
    const row = free.findIndex((end) => end <= left);
    if (!named || row < 0) return;
    free[row] = left + wide;
    halo(ctx, text, left, bbox.top + (3 + 15 * row) * dot, colour);
  };
  for (const [at, name] of story.stages) {
    if (!inside(x(at))) continue;
    hair(x(at), [2 * dot, 3 * dot], colour["ink-soft"]);
    word(name, x(at));
  }
  const now = x(serverNow() / 1000);
  if (story.ahead?.length && inside(now)) {
    hair(now, [], colour.ink);
    word("now", now);
  }
  if (named) numbers(ctx, story.moments, x, inside, bbox, colour);
  ctx.restore();
}

function halo(ctx, text, left, top, colour) {
  ctx.setLineDash([]);
  ctx.strokeStyle = colour.sheet;
  ctx.lineWidth = 4 * devicePixelRatio;
  ctx.strokeText(text, left, top);
  ctx.lineWidth = devicePixelRatio;
  ctx.fillStyle = colour.ink;
  ctx.fillText(text, left, top);
}

/** The moments as numbered squares in rows at the foot; one that would hide another goes a row higher. */
function numbers(ctx, moments, x, inside, bbox, colour) {
  const size = 15 * devicePixelRatio;
  const rows = [];
  ctx.font = `${11 * devicePixelRatio}px ${colour.sans}`;
  ctx.textAlign = "center";
  moments.forEach(([at], n) => {
    if (!inside(x(at))) return;
    const left = x(at) - size / 2;
    const found = rows.findIndex((end) => end <= left);
    const row = found < 0 ? rows.length : found;
    if (row > 5) return;
    rows[row] = left + size + 1;
    const top = bbox.top + bbox.height - (row + 1) * (size + 2) - 6 * devicePixelRatio;
    ctx.fillStyle = colour.sheet;
    ctx.fillRect(left, top, size, size);
    ctx.strokeStyle = colour.ink;
    ctx.setLineDash([]);
    ctx.strokeRect(left, top, size, size);
    ctx.fillStyle = colour.ink;
    ctx.fillText(String(n + 1), x(at), top + 2 * devicePixelRatio);
  });
}

const KEYS = {
  liquid: ["Liquid", '<line class="key-liquid" x1="0" x2="28" y1="6" y2="6"/>'],
  surroundings: ["Surroundings", '<line class="key-air" x1="0" x2="28" y1="6" y2="6"/>'],
  bath: ["Bath", '<line class="key-air" x1="0" x2="28" y1="6" y2="6"/>'],
  band: ["Band of the plan", '<rect class="key-band" width="28" height="12"/>'],
  gap: ["Not measured", '<rect fill="url(#hatch)" width="28" height="12"/>'],
  ahead: ["Expected, with its 90 %", '<rect class="key-wash" width="28" height="12"/><line class="key-ahead" x1="0" x2="28" y1="6" y2="6"/>'],
  moment: ["Noted, seen or put in", '<rect class="key-moment" x="9" y="1" width="10" height="10"/>'],
  estimate: ["Gravity estimated, with its 90 %", '<rect class="key-wash" width="28" height="12"/><line class="key-ahead" x1="0" x2="28" y1="6" y2="6"/>'],
  reading: ["Gravity read", '<path class="key-reading" d="M14 0V12M9 6H19"/>'],
  stray: ["Outside the band", '<rect class="key-stray" y="4" width="28" height="5"/>'],
};

/** What the shapes on the chart mean, for those that are on it. */
export function keys(series) {
  const names = new Set(series.probes.map((probe) => probe.role));
  if (series.band.length) names.add("band");
  if (series.gaps.length) names.add("gap");
  if (series.strays.length) names.add("stray");
  for (const [name, list] of Object.entries({
    ahead: series.story?.ahead, moment: series.story?.moments,
    estimate: series.story?.estimates, reading: series.story?.readings,
  })) if (list?.length) names.add(name);
  const list = document.createElement("ul");
  list.className = "chart-keys";
  for (const name of Object.keys(KEYS).filter((key) => names.has(key))) {
    const item = document.createElement("li");
    item.innerHTML = `<svg viewBox="0 0 28 12" aria-hidden="true">${KEYS[name][1]}</svg>`;
    item.append(KEYS[name][0]);
    list.append(item);
  }
  return list;
}
