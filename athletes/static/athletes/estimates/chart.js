// Draws figures of the server in the page's own colours. The chart library is fetched when the first one is drawn.

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
  then: { line: { color: "--ink-soft", width: 2, dash: "dash" } },
  "then-low": { line: { color: "--edge", width: 1, dash: "dashdot" } },
  "then-high": { line: { color: "--edge", width: 1, dash: "dashdot" } },
  "result-line": { line: { color: "--edge", width: 1 } },
  result: { marker: { color: "--ink", size: 8, symbol: "circle" } },
  best: { marker: { color: "--accent", size: 13, symbol: "star" } },
  expected: { marker: { color: "--accent", size: 12, symbol: "diamond-open", line: { width: 2 } } },
  reference: { line: { color: "--ink-soft", width: 2, dash: "dot" } },
  level: { line: { color: "--ink", width: 2, dash: "dash" } },
  bar: { marker: { color: "--accent" } },
  before: { marker: { color: "--sunk", line: { color: "--edge", width: 2 } } },
};
const AXIS = { gridcolor: "--line", linecolor: "--edge", tickcolor: "--edge" };
const LAYOUT = {
  paper_bgcolor: "--sheet",
  plot_bgcolor: "--sheet",
  font: { color: "--ink", size: 14, family: "--font" },
  hoverlabel: { bgcolor: "--ink", bordercolor: "--ink", align: "left", font: { color: "--paper", family: "--font" } },
};

let library;

export function loadLibrary() {
  library ??= new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = document.querySelector("[data-chart-library]").dataset.chartLibrary;
    script.onload = () => resolve(window.Plotly);
    script.onerror = () => {
      library = undefined; // so that drawing again tries again
      reject(new Error("The chart could not be loaded"));
    };
    document.head.append(script);
  });
  return library;
}

// The same object with every token's name replaced by its value of this moment.
function painted(look, style) {
  if (typeof look === "string") {
    return look.startsWith("--") ? style.getPropertyValue(look).trim() : look;
  }
  if (look === null || typeof look !== "object") {
    return look;
  }
  return Object.fromEntries(Object.entries(look).map(([name, value]) => [name, painted(value, style)]));
}

// The figure as it is drawn in the colours of `style`, by default those of the screen.
export function figureOf({ data, layout }, style = getComputedStyle(document.documentElement)) {
  const look = (name) => painted(name, style);
  const traces = data.map((trace) => ({ ...trace, ...look(TRACES[trace.meta]) }));
  const axes = { xaxis: { ...layout.xaxis, ...look(AXIS) }, yaxis: { ...layout.yaxis, ...look(AXIS) } };
  const legend = { ...layout.legend, bgcolor: look("--sheet") };
  return { data: traces, layout: { ...layout, ...look(LAYOUT), ...axes, legend } };
}

export async function draw(chart, figure) {
  const { data, layout } = figureOf(figure);
  chart.hidden = false;
  if (layout.height) chart.style.height = `${layout.height}px`;
  await (await loadLibrary()).react(chart, data, layout, OPTIONS);
}

// Calls back when the screen turns light or dark.
export function onTheme(redraw) {
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
}
