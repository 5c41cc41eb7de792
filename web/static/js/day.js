// The last day of one vessel: drawn once, grown with each sample, asked for again every few minutes.

import { draw, fit, keys } from "./chart.js";
import { degrees, serverNow } from "./format.js";
import { fetchFrom, fetchSeries } from "./series.js";

const DAY_MS = 86_400_000;
const AGAIN_MS = 300_000;
const POINTS = 300;

export function dayChart(place) {
  let chart = null;
  let series = null;
  place.hidden = false;

  const from = () => serverNow() - DAY_MS;

  function redraw() {
    chart?.destroy();
    place.replaceChildren();
    chart = draw(place, series, { height: 220, from, to: serverNow });
    chart.root.setAttribute("aria-hidden", "true");
    place.append(keys(series));
  }

  async function load() {
    if (document.hidden && chart) return;
    try {
      series = chart
        ? await fetchSeries(place.dataset.series, { from: from(), to: serverNow(), points: POINTS })
        : await fetchFrom(place.dataset.first);
      redraw();
    } catch (error) {
      if (!chart) note(`The chart could not be drawn. ${error.message}`);
    }
  }

  function note(words) {
    const line = document.createElement("p");
    line.className = "chart-note";
    line.textContent = words;
    place.replaceChildren(line);
  }

  load();
  setInterval(load, AGAIN_MS);
  new ResizeObserver(() => fit(chart, place)).observe(place);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => series && redraw());

  return {
    /** Puts one live sample at the end of its probe's line. */
    add(ms, sample) {
      const n = series?.probes.findIndex((probe) => probe.id === sample.probe_id) ?? -1;
      if (n < 0 || !chart) return;
      series.data[0].push(ms / 1000);
      series.data.slice(1).forEach((column, at) => {
        column.push(Math.floor(at / 3) === n ? degrees(sample.temp_c) : undefined);
      });
      chart.setData(series.data);
    },
  };
}
