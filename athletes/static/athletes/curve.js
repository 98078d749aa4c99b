// The power–duration curves: a curve, and the chart library itself, are fetched only when a fold is opened.

const folds = [...document.querySelectorAll("[data-curve]")];
const dark = matchMedia("(prefers-color-scheme: dark)");

// Nothing to press on the picture; least of all the library's own button, which would send it to somebody's cloud.
const OPTIONS = {
  responsive: true,
  displayModeBar: false,
  displaylogo: false,
  modeBarButtonsToRemove: ["sendChartToCloud"],
  plotlyServerURL: "",
};
// How a trace looks, by its `meta`; colours are names of tokens. Shape tells them apart as well as colour.
const TRACES = {
  low: { line: { color: "--accent", width: 1, dash: "dot" } },
  high: { line: { color: "--accent", width: 1, dash: "dot" }, fillcolor: "--accent-wash" },
  curve: { line: { color: "--accent", width: 3 } },
  fresh: { marker: { color: "--ink", size: 9, symbol: "circle" } },
  old: { marker: { color: "--ink-soft", size: 9, symbol: "circle-open", line: { width: 2 } } },
};
const AXIS = { gridcolor: "--line", linecolor: "--edge", tickcolor: "--edge" };
const LAYOUT = {
  paper_bgcolor: "--sheet",
  plot_bgcolor: "--sheet",
  font: { color: "--ink", size: 14, family: "--font" },
  hoverlabel: { bgcolor: "--ink", bordercolor: "--ink", align: "left", font: { color: "--paper", family: "--font" } },
};

let library;

function loadLibrary() {
  library ??= new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = document.querySelector("[data-chart-library]").dataset.chartLibrary;
    script.onload = () => resolve(window.Plotly);
    script.onerror = () => {
      library = undefined; // so that opening the fold again tries again
      reject(new Error("The chart could not be loaded"));
    };
    document.head.append(script);
  });
  return library;
}

// The same object with every token's name replaced by its value of this moment.
function painted(look, style = getComputedStyle(document.documentElement)) {
  if (typeof look === "string") {
    return look.startsWith("--") ? style.getPropertyValue(look).trim() : look;
  }
  if (look === null || typeof look !== "object") {
    return look;
  }
  return Object.fromEntries(Object.entries(look).map(([name, value]) => [name, painted(value, style)]));
}

async function draw(fold) {
  const { data, layout } = fold.figure;
  const traces = data.map((trace) => ({ ...trace, ...painted(TRACES[trace.meta]) }));
  const axes = { xaxis: { ...layout.xaxis, ...painted(AXIS) }, yaxis: { ...layout.yaxis, ...painted(AXIS) } };
  const legend = { ...layout.legend, bgcolor: painted("--sheet") };
  const chart = fold.querySelector(".chart");
  chart.hidden = false;
  await (await loadLibrary()).react(chart, traces, { ...layout, ...painted(LAYOUT), ...axes, legend }, OPTIONS);
}

function fill(body, rows) {
  body.replaceChildren(
    ...rows.map((cells) => {
      const row = document.createElement("tr");
      row.append(
        ...cells.map((text, n) => {
          const cell = document.createElement(n ? "td" : "th");
          cell.textContent = text;
          if (!n) cell.scope = "row";
          return cell;
        }),
      );
      return row;
    }),
  );
}

async function open(fold) {
  const state = fold.querySelector("[data-state]");
  const say = (words) => (state.textContent = words);
  try {
    say("Working it out …");
    const answer = await fetch(fold.dataset.curve, { headers: { Accept: "application/json" } });
    const curve = await answer.json();
    if (!answer.ok) return say(curve.message);
    fold.figure = curve.figure;
    fill(fold.querySelector("[data-values]"), curve.values);
    fill(fold.querySelector("[data-efforts]"), curve.efforts);
    fold.querySelector("[data-table]").hidden = false;
    await draw(fold);
    say("");
  } catch {
    say(fold.figure ? "The picture could not be drawn. The table has its values." : "No answer. Close this and open it again.");
  }
}

for (const fold of folds) {
  fold.addEventListener("toggle", () => fold.open && open(fold));
}
dark.addEventListener("change", () => folds.filter((fold) => fold.figure && fold.open).forEach(draw));
