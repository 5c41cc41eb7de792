// Moving a chart along time: by finger, mouse and keyboard. It knows a window and its limits, nothing else.

const KEY_SHARE = 0.25;
const ZOOM = 1.6;

/**
 * view: {from, to} in ms, changed in place; limits: () => {from, to, least}; moved: called after each change.
 */
export function moves(surface, view, limits, moved) {
  const fingers = new Map();

  function set(from, to) {
    const { from: first, to: last, least } = limits();
    const length = Math.min(last - first, Math.max(least, to - from));
    const start = Math.min(last - length, Math.max(first, from));
    if (start === view.from && start + length === view.to) return;
    [view.from, view.to] = [start, start + length];
    moved();
  }

  const api = {
    shift: (share) => set(view.from + share * (view.to - view.from), view.to + share * (view.to - view.from)),
    zoom(factor, at = 0.5) {
      const length = (view.to - view.from) / factor;
      const fixed = view.from + at * (view.to - view.from);
      set(fixed - at * length, fixed + (1 - at) * length);
    },
    whole: () => set(limits().from, limits().to),
  };

  const share = (x) => {
    const { left, width } = surface.over.getBoundingClientRect();
    return (x - left) / width;
  };

  const place = surface.place;
  place.addEventListener("pointerdown", (event) => {
    if (event.button === 0) fingers.set(event.pointerId, event.clientX);
  });
  place.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (before === undefined) return;
    place.setPointerCapture(event.pointerId);
    if (fingers.size === 1) {
      api.shift(share(before) - share(event.clientX));
    } else {
      const [other] = [...fingers].filter(([id]) => id !== event.pointerId).map(([, x]) => x);
      const [was, is] = [Math.abs(before - other), Math.abs(event.clientX - other)];
      if (was > 8 && is > 8) api.zoom(is / was, share((event.clientX + other) / 2));
    }
    fingers.set(event.pointerId, event.clientX);
  });
  for (const kind of ["pointerup", "pointercancel", "lostpointercapture"]) {
    place.addEventListener(kind, (event) => fingers.delete(event.pointerId));
  }
  place.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && Math.abs(event.deltaX) <= Math.abs(event.deltaY) && !event.shiftKey) return;
    event.preventDefault();
    if (event.ctrlKey) api.zoom(event.deltaY < 0 ? 1.2 : 1 / 1.2, share(event.clientX));
    else api.shift((event.deltaX || event.deltaY) / 800);
  }, { passive: false });
  place.addEventListener("dblclick", (event) => api.zoom(ZOOM, share(event.clientX)));
  place.addEventListener("keydown", (event) => {
    const act = {
      ArrowLeft: () => api.shift(-KEY_SHARE), ArrowRight: () => api.shift(KEY_SHARE),
      "+": () => api.zoom(ZOOM), "=": () => api.zoom(ZOOM), "-": () => api.zoom(1 / ZOOM),
      0: api.whole, Home: () => api.shift(-1e6), End: () => api.shift(1e6),
    }[event.key];
    if (!act || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    act();
  });
  return { ...api, ZOOM, KEY_SHARE };
}
