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
const PICTURE = { width: 1200, height: 675 };

let library;

function loadLibrary() {
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
function painted(look, style = getComputedStyle(document.documentElement)) {
  if (typeof look === "string") {
    return look.startsWith("--") ? style.getPropertyValue(look).trim() : look;
  }
  if (look === null || typeof look !== "object") {
    return look;
  }
  return Object.fromEntries(Object.entries(look).map(([name, value]) => [name, painted(value, style)]));
}

export async function draw(chart, { data, layout }) {
  const traces = data.map((trace) => ({ ...trace, ...painted(TRACES[trace.meta]) }));
  const axes = { xaxis: { ...layout.xaxis, ...painted(AXIS) }, yaxis: { ...layout.yaxis, ...painted(AXIS) } };
  const legend = { ...layout.legend, bgcolor: painted("--sheet") };
  chart.hidden = false;
  if (layout.height) chart.style.height = `${layout.height}px`;
  await (await loadLibrary()).react(chart, traces, { ...layout, ...painted(LAYOUT), ...axes, legend }, OPTIONS);
}

// A drawn chart as a file's address, "png" or "svg".
export async function picture(chart, format) {
  const size = { ...PICTURE, height: Math.max(PICTURE.height, chart.clientHeight) };
  return (await loadLibrary()).toImage(chart, { ...size, format, scale: format === "png" ? 2 : 1 });
}

// Calls back when the screen turns light or dark.
export function onTheme(redraw) {
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
}
