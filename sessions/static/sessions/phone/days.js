// Days and moments in words, in the gym's own time.

// 2026-11-25: the day it is there, of a moment in milliseconds.
export function dayIn(zone, ms = Date.now()) {
  const parts = new Intl.DateTimeFormat("en-GB", { timeZone: zone, year: "numeric", month: "2-digit", day: "2-digit" });
  const of = Object.fromEntries(parts.formatToParts(ms).map(({ type, value }) => [type, value]));
  return `${of.year}-${of.month}-${of.day}`;
}

// today 06:12, yesterday 18:40, Mon 23 Nov 06:12
export function lately(ms, zone) {
  const time = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" }).format(ms);
  const ago = (Date.parse(dayIn(zone)) - Date.parse(dayIn(zone, ms))) / 86_400_000;
  const day = ago === 0 ? "today" : ago === 1 ? "yesterday" : dayWords(dayIn(zone, ms));
  return `${day} ${time}`;
}

// 2026-11-23 → Mon 23 Nov
export function dayWords(day) {
  return new Intl.DateTimeFormat("en-GB", { timeZone: "UTC", weekday: "short", day: "numeric", month: "short" })
    .format(Date.parse(day))
    .replace(",", "");
}
