// A batch's series from the server, turned into the columns that the chart library reads.

import { degrees } from "./format.js";

/** Fetches what lies between two times (ms) as at most `points` buckets. */
export function fetchSeries(url, from, to, points, signal) {
  return fetchFrom(`${url}?${new URLSearchParams({ from: stamp(from), to: stamp(to), points })}`, signal);
}

/** Fetches from a whole address, such as the one that the page had the browser fetch already. */
export async function fetchFrom(address, signal) {
  const answer = await fetch(address, { signal });
  if (!answer.ok) throw new Error(`The series could not be read (${answer.status}).`);
  return columns(await answer.json());
}

const stamp = (ms) => new Date(Math.round(ms)).toISOString().replace(/\.\d+Z$/, "Z");
const seconds = (text) => Date.parse(text) / 1000;
const mapped = (values) => values.map((value) => (value === null ? null : degrees(value)));

/** {data, probes, band, gaps, strays}: data[0] is time in s; each probe has mean, min and max after it. */
export function columns(answer) {
  const probes = answer.probes.filter((probe) => probe.t.length > 0);
  const tables = probes.map((probe) => [
    probe.t.map(seconds), mapped(probe.mean_c), mapped(probe.min_c), mapped(probe.max_c),
  ]);
  const data = tables.length ? uPlot.join(tables) : [[]];
  const spans = (list) => list.map((item) => ({ ...item, from: seconds(item.from), to: seconds(item.to) }));
  const band = spans(answer.band).map((part) => ({
    ...part,
    low: part.low_c === null ? null : degrees(part.low_c),
    high: part.high_c === null ? null : degrees(part.high_c),
    target: part.target_c === null ? null : degrees(part.target_c),
  }));
  return {
    data, band, probes: probes.map(({ probe_id, role }) => ({ probe_id, role })),
    gaps: spans(answer.gaps), strays: spans(answer.strays), bucket: answer.bucket_s,
  };
}
