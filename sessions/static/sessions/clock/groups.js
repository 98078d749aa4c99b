// The lines of the wall while a class runs: one for each group, which keeps its place on the wall, with its names, the
// station where it is, and their doses; in a group's own rest the station and the doses that come next.

import { placeOf, roundAt, roundSteps, stationOf } from "./clock.js";
import { write } from "./follow.js";

// Names side by side, and the least height of a line of them in hundredths of the screen's: read from 5 m. A small room
// has larger names.
const FITS = [[3, 6.4], [4, 5.2], [5, 3.9]];
const PAGE_S = 6;

// `list`: the <ol>; `plan`: sessions.clock.live.wall_plan. Gives {draw(at)}.
export function groupsOf(list, plan, shape) {
  const of = (group) => plan.athletes.filter((athlete) => athlete.group === group);
  const lines = shape.windows_s.map((_, group) => line(group, of(group)));
  const most = Math.max(...lines.map(({ cells }) => cells.length));
  list.replaceChildren(...lines.map(({ node }) => node));
  return { draw: (at) => lines.forEach((group) => drawLine(group, plan, shape, at, most)) };
}

function line(group, athletes) {
  const node = element("li", "live-group");
  const station = element("div", "live-station");
  const parts = {
    number: element("span", "station-number"),
    name: element("span", "station-name"),
    after: element("span", "live-after"),
    facts: element("span", "live-facts"),
    pages: element("span", "live-pages"),
    names: element("ol", "live-names"),
  };
  station.append(parts.number, parts.name, parts.after, parts.facts);
  const cells = athletes.map((athlete) => cell(athlete));
  parts.names.append(...cells.map((one) => one.node));
  node.append(station, parts.names, parts.pages);
  return { node, group, cells, ...parts };
}

function cell(athlete) {
  const node = element("li", "live-name");
  const parts = {
    who: element("span", "live-who"),
    figure: element("b", "figure"),
    unit: element("span", "unit"),
    mark: element("b", "wall-mark"),
  };
  parts.who.textContent = athlete.name;
  const dose = element("span", "live-dose");
  dose.append(parts.figure, parts.unit, parts.mark);
  node.append(parts.who, dose);
  return { node, athlete, ...parts };
}

function drawLine(line, plan, shape, at, most) {
  const first = placeOf(shape, at, line.group, at.turn); // whoever of two works now
  const last = at.step === at.rounds * roundSteps(shape) - 1;
  const goes = first.phase === "rest" && !last; // to what comes next
  const moves = at.turn === shape.partners - 1; // after this interval the group goes on
  const next = moves ? stationOf(shape, first.station, 1) : first.station;
  const shown = goes ? next : first.station;
  const station = plan.stations[shown];
  line.node.dataset.phase = first.phase;
  write(line.number, shown + 1);
  write(line.name, station.name);
  const other = next !== first.station && `${next + 1} ${plan.stations[next].name}`;
  write(line.after, afterWords(at, goes, last, moves, other));
  const window = goes || at.phase === "over" ? "" : `until ${shape.interval_s - shape.windows_s[first.station]} left`;
  write(line.facts, [`${station.unit} ${window}`.trim(), usedSwaps(station, line, shown)].filter(Boolean).join(" · "));
  const page = turnPages(line, at, most);
  const turn = goes ? (at.turn + 1) % shape.partners : at.turn;
  const round = goes ? roundAt(shape, at.step + 1) : at.round;
  for (const one of line.cells) drawCell(one, station, shown, round, shape.partners > 1 && one.athlete.turn !== turn);
  fitNames(line, `${shown} ${page} ${innerWidth}`);
}

function afterWords(at, goes, last, moves, next) {
  if (at.phase === "over") return "";
  if (at.phase === "ready") return "begin here";
  const then = !moves ? "partners change" : next || "the same again";
  if (goes) return moves && next ? "go there now" : then;
  return last ? "the last one" : `then ${then}`;
}

// The swaps that someone of this group has at the station, in words.
function usedSwaps(station, line, shown) {
  const marks = new Set(line.cells.map(({ athlete }) => athlete.doses[shown][2]).filter(Boolean));
  return station.rungs.filter((rung) => marks.has(rung[0])).join(", ");
}

// The unit stands once beside the station, and again where someone's differs. Whose rounds are done rests.
function drawCell(one, station, shown, round, waits) {
  const [, , , rounds = Infinity] = one.athlete.doses[shown];
  const [figure, unit, mark] = round > rounds ? ["", "rest", ""] : one.athlete.doses[shown];
  const same = unit === station.unit || unit.replace(/s$/, "") === station.unit.replace(/s$/, "");
  one.node.classList.toggle("is-waiting", waits);
  write(one.figure, figure);
  write(one.unit, same ? "" : unit);
  write(one.mark, mark);
}

// A name that a long dose leaves too little room is written smaller; measured once for each `look` of the line.
function fitNames(line, look) {
  if (line.look === look || !line.node.clientHeight) return;
  line.look = look;
  const names = line.cells.filter(({ node }) => !node.hidden).map(({ who }) => who);
  for (const who of names) who.style.removeProperty("--fit");
  const rooms = names.map((who) => who.clientWidth / who.scrollWidth);
  names.forEach((who, n) => rooms[n] < 1 && who.style.setProperty("--fit", 0.98 * rooms[n]));
}

// A group too long for its line shows its names by turns. `most`: people in the largest group.
function turnPages(line, at, most) {
  const height = line.node.clientHeight;
  if (!height) return 0;
  const [across, fit] = fitting(height, most);
  const lines = Math.min(fit, Math.max(1, Math.ceil(line.cells.length / across)));
  const size = lines * across;
  const pages = Math.max(1, Math.ceil(line.cells.length / size));
  const page = Math.floor(at.second / PAGE_S) % pages;
  line.names.style.setProperty("--across", across);
  line.names.style.setProperty("--lines", lines);
  line.cells.forEach(({ node }, place) => (node.hidden = Math.floor(place / size) !== page));
  write(line.pages, pages > 1 ? `${page + 1}/${pages}` : "");
  return page;
}

// [names side by side, lines]: the largest names with which all fit, or else the smallest ones.
function fitting(height, count) {
  const step = Math.min(innerHeight / 100, innerWidth * 0.005625);
  const choices = FITS.map(([across, least]) => [across, Math.max(1, Math.floor((height / step - 0.6) / least))]);
  return choices.find(([across, lines]) => across * lines >= count) ?? choices.at(-1);
}

function element(tag, className) {
  const node = document.createElement(tag);
  node.className = className;
  return node;
}
