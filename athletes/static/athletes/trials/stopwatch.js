// The stopwatch: one lane for each athlete of a heat; a tap starts or stops a lane, its time goes into the grid.
// Lanes that run are kept on this device, so that a page loaded again goes on with them.

const TICK_MS = 100;

// `fill(cell, typed)` puts a time into a cell of the grid.
export function watchOf(box, cells, fill) {
  const watch = box.querySelector("[data-watch]");
  if (!watch) return;
  const part = (name) => watch.querySelector(`[data-watch-${name}]`);
  const opener = box.querySelector("[data-watch-open]");
  const store = `${box.dataset.store}-watch`;
  let lanes = []; // {cell, node, began, took}, both in ms: `began` while it runs, `took` once it is stopped

  const now = () => performance.timeOrigin + performance.now(); // steady, whatever is done to the device's clock

  function open(shown) {
    watch.hidden = !shown;
    opener.setAttribute("aria-expanded", String(shown));
    if (shown && !lanes.length) heats();
  }

  // The heats of a test as they were planned; a test without a plan has one of everybody.
  function heats() {
    const numbers = new Set(ofTest().map((cell) => cell.dataset.heat || "0"));
    const options = [...numbers].sort((a, b) => (a === "0") - (b === "0") || a - b);
    part("heat").replaceChildren(...options.map((number) => new Option(number === "0" ? "without a heat" : `Heat ${number}`, number)));
    lay();
  }

  function ofTest() {
    const all = [...cells.values()].filter((cell) => cell.dataset.benchmark === part("test").value);
    all.sort((a, b) => a.dataset.lane - b.dataset.lane); // as the machines stand, and with them the keys
    const planned = all.filter((cell) => cell.dataset.heat !== "");
    return planned.length ? planned : all;
  }

  function lay(times = {}) {
    lanes = ofTest()
      .filter((cell) => (cell.dataset.heat || "0") === part("heat").value)
      .map((cell, place) => lane(cell, place, times[cell.dataset.cell] ?? {}));
    part("lanes").replaceChildren(...lanes.map(({ node }) => node));
    draw();
  }

  function lane(cell, place, { began = 0, took = 0 }) {
    const node = part("lane").content.firstElementChild.cloneNode(true);
    const number = place < 9 ? `${place + 1} ` : "";
    node.querySelector("[data-lane-name]").textContent = number + cell.closest("tr").dataset.name;
    node.querySelector("[data-lane-machine]").textContent = cell.dataset.machine;
    const own = { cell, node, began, took };
    node.querySelector(".watch-tap").addEventListener("click", () => tap(own));
    node.querySelector("[data-lane-resume]").addEventListener("click", () => resume(own));
    return own;
  }

  function tap(own) {
    const at = now();
    if (own.began) {
      own.took = at - own.began;
      own.began = 0;
      fill(own.cell, written(own.took));
    } else if (!own.took) own.began = at;
    keep();
  }

  // A lane that was stopped by mistake runs on as if it never had been.
  function resume(own) {
    own.began = now() - own.took;
    own.took = 0;
    fill(own.cell, "");
    keep();
  }

  function startAll() {
    const at = now();
    for (const own of lanes) if (!own.began && !own.took) own.began = at;
    keep();
    lanes[0]?.node.querySelector(".watch-tap").focus();
  }

  function clear() {
    for (const own of lanes) Object.assign(own, { began: 0, took: 0 });
    keep();
  }

  function keep() {
    const times = Object.fromEntries(lanes.map(({ cell, began, took }) => [cell.dataset.cell, { began, took }]));
    try {
      if (lanes.some(({ began }) => began)) {
        localStorage.setItem(store, JSON.stringify({ test: part("test").value, heat: part("heat").value, times }));
      } else localStorage.removeItem(store);
    } catch {
      // it runs in this page only
    }
    draw();
  }

  function draw() {
    const runs = lanes.some(({ began }) => began);
    for (const { node, began, took } of lanes) {
      const button = node.querySelector(".watch-tap");
      button.toggleAttribute("data-runs", began > 0);
      node.querySelector("[data-lane-time]").textContent = written(began ? now() - began : took);
      node.querySelector("[data-lane-does]").textContent = began ? "stop" : took ? "in the grid" : "start";
      node.querySelector("[data-lane-resume]").hidden = !took;
    }
    for (const name of ["test", "heat", "clear"]) part(name).disabled = runs;
    part("start").disabled = !lanes.some(({ began, took }) => !began && !took);
  }

  opener.addEventListener("click", () => open(watch.hidden));
  part("test").addEventListener("change", heats);
  part("heat").addEventListener("change", () => lay());
  part("start").addEventListener("click", startAll);
  part("clear").addEventListener("click", clear);
  addEventListener("keydown", (event) => {
    const place = Number(event.key) - 1;
    const writing = event.target.matches("input, select, textarea");
    if (watch.hidden || writing || event.ctrlKey || event.metaKey || event.repeat || !lanes[place]) return;
    event.preventDefault();
    tap(lanes[place]);
  });
  setInterval(() => lanes.some(({ began }) => began) && draw(), TICK_MS);
  again();

  function again() {
    let left;
    try {
      left = JSON.parse(localStorage.getItem(store));
    } catch {
      return;
    }
    if (!left) return;
    part("test").value = left.test;
    heats();
    part("heat").value = left.heat;
    lay(left.times);
    open(true);
  }
}

// m:ss.t, cut to the tenth that is full, as monitors show it.
function written(ms) {
  const tenths = Math.floor(ms / 100);
  const [minutes, rest] = [Math.floor(tenths / 600), tenths % 600];
  return `${minutes}:${String(Math.floor(rest / 10)).padStart(2, "0")}.${rest % 10}`;
}
