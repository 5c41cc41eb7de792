// A batch's curves from the server, turned into the columns that the chart library reads.
// Temperatures and gravities come in the brewer's units, times in seconds.

/** Fetches what lies between two times (ms) as at most `points` buckets. */
export function fetchSeries(url, { from, to, points, story = false }, signal) {
  const query = { from: Math.floor(from / 1000), to: Math.ceil(to / 1000), points, ...(story && { story: 1 }) };
  return fetchFrom(`${url}?${new URLSearchParams(query)}`, signal);
}

/** Fetches from a whole address, such as the one that the page had the browser fetch already. */
export async function fetchFrom(address, signal) {
  const answer = await fetch(address, { signal });
  if (!answer.ok) throw new Error(`The curves could not be read (${answer.status}).`);
  return columns(await answer.json());
}

/** {data, probes, band, gaps, strays, step, story}: data[0] is time in s; each probe has mean, min, max after it. */
export function columns({ t0, step, count, probes, band, gaps, strays, ...story }) {
  const known = probes.filter((probe) => probe.mean.length > 0);
  const times = Array.from({ length: known.length ? count : 0 }, (_, n) => t0 + n * step);
  return {
    data: [times, ...known.flatMap((probe) => [probe.mean, probe.min, probe.max])],
    probes: known.map(({ id, role }) => ({ id, role })),
    band, gaps, strays, step, story: story.stages ? story : null,
  };
}
