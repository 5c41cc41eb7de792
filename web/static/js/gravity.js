// The lower sheet of a batch's chart: the gravity as it was estimated at each hour, and as it was read.

import { common, foreseen, marks, tokens, wash } from "./chart.js";

/** Draws the story's gravities into `place`; gives the uPlot object. Only where there is one: see `hasGravity`. */
export function drawGravity(place, story, { width = place.clientWidth, height, from, to, scale }) {
  const colour = tokens();
  const digits = scale === "SG" ? 3 : 1;
  const options = {
    ...common(colour, { width, height, from, to, cursor: { show: false }, figure: (v) => v.toFixed(digits) }),
    scales: {
      x: { time: true, range: () => [from() / 1000, to() / 1000] },
      y: { range: (u) => reach(u, story, scale === "SG" ? 0.002 : 0.5) },
    },
    series: [{}, ...foreseen(colour)],
    bands: [{ series: [3, 2], fill: wash(colour.ink) }],
    hooks: { draw: [(u) => readings(u, story.readings, colour), (u) => marks(u, story, colour, false)] },
  };
  return new uPlot(options, columnsOf(story.estimates), place);
}

export const hasGravity = (story) => Boolean(story && (story.estimates.length || story.readings.length));

function columnsOf(points) {
  return [0, 1, 2, 3].map((n) => points.map((point) => point[n]));
}

/** The y scale: all that is in view, with room to breathe. */
function reach(u, story, room) {
  const [from, to] = [u.scales.x.min ?? -Infinity, u.scales.x.max ?? Infinity];
  const all = [...story.estimates, ...story.readings];
  const seen = all.filter(([at]) => at >= from && at <= to);
  const values = (seen.length ? seen : all).flatMap(([, , low, high]) => [low, high]);
  return [Math.min(...values) - room, Math.max(...values) + room];
}

/** A reading: a heavy upright stroke over what it may mean, crossed where it was read. */
function readings(u, list, colour) {
  const { ctx, bbox } = u;
  const dot = devicePixelRatio;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.strokeStyle = colour.ink;
  ctx.lineWidth = 3 * dot;
  ctx.beginPath();
  for (const [at, value, low, high] of list) {
    const x = u.valToPos(at, "x", true);
    const y = (v) => u.valToPos(v, "y", true);
    ctx.moveTo(x, Math.min(y(high), y(value) - 5 * dot));
    ctx.lineTo(x, Math.max(y(low), y(value) + 5 * dot));
    ctx.moveTo(x - 6 * dot, y(value));
    ctx.lineTo(x + 6 * dot, y(value));
  }
  ctx.stroke();
  ctx.restore();
}
