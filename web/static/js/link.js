// The stream of events, and the word in the page's head that says whether it is still there.

import { base, hour, serverNow } from "./format.js";

const QUIET_MS = 45_000; // nothing for three comments' time: ask whether anybody is there
const AGAIN_MS = [1_000, 2_000, 5_000, 10_000, 30_000];
const KINDS = ["sample", "alarm", "stage", "estimate"];

/**
 * Keeps an EventSource open for as long as the page lives.
 * on: one function per kind of event. renew: called when the page must be fetched anew, as after a pause.
 */
export function openLink(on, renew) {
  let source = null;
  let lastHeard = serverNow();
  let lost = false;
  let tries = 0;
  let timer = 0;

  function heard() {
    lastHeard = serverNow();
    if (lost) renew();
    lost = false;
    tries = 0;
    show("live", "Live");
  }

  function gone() {
    if (!lost) show("lost", `Not connected since ${hour(lastHeard)}`);
    lost = true;
    if (source.readyState !== EventSource.CLOSED) return;
    clearTimeout(timer);
    timer = setTimeout(connect, AGAIN_MS[Math.min(tries++, AGAIN_MS.length - 1)]);
  }

  function connect() {
    source?.close();
    source = new EventSource(`${base}/api/v1/events`);
    source.addEventListener("open", heard);
    source.addEventListener("error", gone);
    source.addEventListener("reload", () => { heard(); renew(); });
    for (const kind of KINDS) {
      source.addEventListener(kind, (event) => { heard(); on[kind]?.(JSON.parse(event.data)); });
    }
  }

  async function check() {
    if (document.hidden || serverNow() - lastHeard < QUIET_MS) return;
    try {
      const answer = await fetch(`${base}/healthz`, { signal: AbortSignal.timeout(5_000), cache: "no-store" });
      if (answer.ok) heard();
    } catch {
      source.close();
      gone();
    }
  }

  connect();
  setInterval(check, 15_000);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) check(); });
  addEventListener("pagehide", () => source.close());
  addEventListener("pageshow", (event) => { if (event.persisted) { connect(); renew(); } });
}

function show(state, words) {
  const link = document.getElementById("link");
  document.body.dataset.linkState = state;
  if (link.dataset.link === state) return;
  link.dataset.link = state;
  link.querySelector(".link-words").textContent = words;
}
