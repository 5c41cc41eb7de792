// Figures and times as this brewer reads them; the choices stand on <html>, written there by the server.

const root = document.documentElement.dataset;
export const base = root.base;
const fahrenheit = root.units === "F";
const skew = Date.parse(root.now) - Date.now();

/** The present by the server's clock, in ms: a phone's own clock may be wrong. */
export const serverNow = () => Date.now() + skew;

export const degrees = (celsius) => (fahrenheit ? (celsius * 9) / 5 + 32 : celsius);

export const unit = root.units;

export function figure(celsius, digits = 1) {
  if (celsius === null || celsius === undefined) return "–";
  const text = Math.abs(degrees(celsius)).toFixed(digits);
  return degrees(celsius) < 0 && Number(text) !== 0 ? `−${text}` : text;
}

// Made when they are first used: each costs a slow phone some of the time until its first chart.
const OPTIONS = {
  hour: { hour: root.clock === "12" ? "numeric" : "2-digit", minute: "2-digit", hour12: root.clock === "12" },
  weekday: { weekday: "short" },
  date: { day: "numeric", month: "short" },
};
const made = {};

function written(kind, ms) {
  made[kind] ??= new Intl.DateTimeFormat("en-GB", { ...OPTIONS[kind], timeZone: root.zone });
  return made[kind].format(ms);
}

export const hour = (ms) => written("hour", ms);
export const weekday = (ms) => written("weekday", ms);
export const date = (ms) => written("date", ms);

/** A length of time in at most two units, as the server writes it. */
export function duration(ms) {
  const seconds = Math.max(0, Math.floor(ms / 1000));
  if (seconds < 60) return `${seconds} s`;
  const minutes = Math.floor(seconds / 60);
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 24) return minutes % 60 ? `${hours} h ${minutes % 60} min` : `${hours} h`;
  return hours % 24 ? `${Math.floor(hours / 24)} d ${hours % 24} h` : `${Math.floor(hours / 24)} d`;
}
