// The stations of the wall as columns: who is at each of them with their dose, or before a class who begins there. At
// rest everyone has gone one station to the right, to what comes next.

import { inWords, roundAt, roundSteps } from "../clock/clock.js";
import { write } from "../clock/follow.js";

const PAGE_S = 6; // for as long as each part of a room shows that is too long for one screen
const LEAST = 48; // height of a line, in parts of a screen 1080 high
const MOST_KEYS = 4;
const STACKED = 120; // from this height on a dose stands below its name

// `list`: the <ol>; `plan`: sessions.clock.live.wall_plan; `shape` null before the class.
export function columnsOf(list, plan, shape) {
  const groups = plan.stations.map((_, group) => plan.people.filter((person) => person.group === group));
  const columns = plan.stations.map((station, n) => column(station, n, plan.interval_s));
  list.replaceChildren(...columns.map(({ node }) => node));
  list.style.setProperty("--columns", columns.length);
  list.classList.toggle("is-many", columns.length > 6);
  const lines = (group) => linesOf(groups[group], shape?.partners ?? 1);
  const most = Math.max(1, ...groups.map((_, group) => lines(group).length));
  let pages = 0;
  let drawn = ""; // what the lines show

  // Makes the lines of each column, once for each `look` and part of a long room. All keys have room for as many lines as
  // the longest, so that everyone's lines are level.
  function place(linesOfColumns, second, look) {
    if (!list.clientHeight) return;
    const now = `${look} ${pages ? Math.floor(second / PAGE_S) % pages : 0}`;
    if (drawn === now) return;
    const shown = linesOfColumns();
    columns.forEach((one, n) => look !== "before" && keyNow(one, shown[n]));
    list.style.setProperty("--keys", Math.min(MOST_KEYS, Math.max(...columns.map(({ lines }) => lines))));
    const height = columns[0].people.clientHeight / unit();
    pages = Math.ceil(most / Math.max(1, Math.floor(height / LEAST)));
    const rows = Math.ceil(most / pages);
    const page = Math.floor(second / PAGE_S) % pages;
    drawn = `${look} ${page}`;
    size(list, height / rows, look);
    columns.forEach((one, n) => fill(one, shown[n].slice(page * rows, (page + 1) * rows), rows, drawn));
  }

  return {
    before(second) {
      columns.forEach((one) => headBefore(one, plan));
      place(() => groups.map((group, n) => group.map((person) => beginning(person, n))), second, "before");
    },
    draw(at, now) {
      const last = at.step === at.rounds * roundSteps(now) - 1;
      const rest = at.phase === "rest" && !last;
      const moves = rest && at.turn === now.partners - 1;
      const shift = at.shift + (moves ? 1 : 0);
      const turn = rest ? (at.turn + 1) % now.partners : at.turn;
      const round = rest ? roundAt(now, at.step + 1) : at.round;
      columns.forEach((one) => headNow(one, at, now));
      const shown = (station) => {
        const group = groupAt(station, shift, columns.length);
        return lines(group).map((pair) => working(pair, station, turn, round, now.partners));
      };
      place(() => columns.map((_, station) => shown(station)), at.second, `${at.step} ${rest} ${at.rounds}`);
    },
  };
}

// The group that is at a station when everyone has moved on `shift` times.
function groupAt(station, shift, stations) {
  return (((station - shift) % stations) + stations) % stations;
}

// A line each, or a pair.
function linesOf(people, partners) {
  if (partners < 2) return people.map((person) => [person]);
  const pairs = new Map();
  for (const person of people) pairs.set(person.pair, [...(pairs.get(person.pair) ?? []), person]);
  return [...pairs.values()];
}

function beginning(person, station) {
  const { mark } = person.doses[station];
  return { name: person.name, mark };
}

function working(pair, station, turn, round, partners) {
  const who = pair.find((person) => person.turn === turn) ?? null;
  const waits = partners > 1 ? pair.find((person) => person.turn !== turn) : null;
  if (!who) return { name: pair[0].name, words: "rest", partner: "" };
  const dose = who.doses[station];
  const done = dose.rounds && round > dose.rounds;
  return { name: who.name, partner: waits?.name ?? "", ...(done ? { words: "rest" } : dose) };
}

function column(station, n, interval) {
  const node = element("li", "w-column");
  const head = element("div", "w-station");
  const parts = { number: element("b", "w-number"), name: element("b", "w-station-name"), facts: element("span", "w-facts") };
  const words = element("div", "");
  words.append(parts.name, parts.facts);
  head.append(parts.number, words);
  const people = element("ol", "w-people");
  const key = element("p", "w-key");
  node.append(head, people, key);
  write(parts.number, n + 1);
  write(parts.name, station.name);
  return { node, n, station, interval, people, key, ...parts, cells: [], lines: 0 };
}

function headBefore(one, plan) {
  write(one.facts, one.station.written);
  const names = one.station.swaps.map(([mark, name]) => {
    const who = plan.people.filter((person) => person.doses[one.n].mark === mark).map((person) => person.name);
    return who.length ? `${mark} ${name}: ${who.slice(0, 4).join(", ")}${who.length > 4 ? ` and ${who.length - 4} more` : ""}` : "";
  });
  writeKey(one, names.filter(Boolean));
}

function headNow(one, at, shape) {
  const window = shape.windows_s[one.n];
  const ends = window < Math.max(...shape.windows_s) ? `until ${inWords(window)}` : "";
  write(one.facts, [one.station.unit, ends].filter(Boolean).join(" · "));
}

function fill(one, lines, rows, look) {
  one.people.style.setProperty("--rows", rows);
  while (one.cells.length > lines.length) one.cells.pop().node.remove();
  while (one.cells.length < lines.length) {
    const fresh = cell();
    one.cells.push(fresh);
    one.people.append(fresh.node);
  }
  lines.forEach((line, n) => fillCell(one.cells[n], line, one.station, one.interval));
  fitNames(one, look);
}

// What the letters of the swaps mean that somebody does.
function keyNow(one, lines) {
  const names = new Map(one.station.swaps);
  const used = [...new Set(lines.map(({ mark }) => mark).filter(Boolean))].sort();
  writeKey(one, used.map((mark) => `${mark} ${names.get(mark)}`));
}

function writeKey(one, words) {
  one.lines = words.length;
  write(one.key, words.join("\n"));
}

function cell() {
  const node = element("li", "w-one");
  const parts = { who: element("span", "w-who") };
  const dose = element("span", "w-dose");
  for (const [name, tag, className] of [["figure", "b", "figure"], ["unit", "span", "w-unit"], ["load", "b", "w-load"], ["mark", "b", "w-mark"], ["partner", "span", "w-partner"]]) {
    parts[name] = element(tag, className);
    dose.append(parts[name]);
  }
  node.append(parts.who, dose);
  return { node, ...parts };
}

function fillCell(one, line, station, interval) {
  write(one.who, line.name);
  write(one.figure, line.dose ?? line.words ?? "");
  one.node.classList.toggle("is-words", !line.dose && Boolean(line.words));
  one.node.classList.toggle("is-hand", Boolean(line.hand));
  write(one.unit, line.unit ?? "");
  one.node.classList.toggle("is-same", line.unit === station.unit); // stands above the column too
  write(one.load, line.load ? `×${line.load.replace(/ kg$/, "")}` : "");
  write(one.mark, line.mark ?? "");
  write(one.partner, line.partner ?? "");
  one.node.style.setProperty("--by", line.by ? Math.min(1, line.by / interval) : 0);
}

// Sizes for lines of a height: a dose below its name where there is room, beside it where there is not.
function size(list, high, look) {
  const stacked = high >= STACKED;
  list.classList.toggle("is-stacked", stacked);
  list.classList.toggle("is-large", high >= 240);
  const alone = look === "before" ? 0.68 : 0.44;
  const name = stacked ? Math.min(92, alone * high) : Math.min(72, 0.74 * high);
  const dose = stacked ? Math.min(200, 0.5 * high) : name;
  list.style.setProperty("--name", Math.floor(name));
  list.style.setProperty("--dose", Math.floor(dose));
}

// A name that has too little room is written smaller; measured once for each `look` of a column.
function fitNames(one, look) {
  const names = one.cells.map(({ who }) => who);
  const now = `${look} ${innerWidth} ${names.map((who) => who.textContent).join()}`;
  if (one.look === now || !one.people.clientHeight) return;
  one.look = now;
  for (const who of names) who.style.removeProperty("--fit");
  const rooms = names.map((who) => who.clientWidth / who.scrollWidth);
  names.forEach((who, n) => rooms[n] < 1 && who.style.setProperty("--fit", Math.floor(1000 * 0.985 * rooms[n]) / 1000));
}

// A part of a screen 1080 high, in px.
function unit() {
  return Math.min(innerHeight, innerWidth * 0.5625) / 1080;
}

function element(tag, className) {
  const node = document.createElement(tag);
  node.className = className;
  return node;
}
