// A chart as a file: always light, for paper; with a title, all of the legend and the page's own letters in it.

import { figureOf, loadLibrary } from "./chart.js";

const WIDTH = 1200;
const HEIGHT = 675;
const SHARPER = 2; // pixels of a PNG for each of the picture
const TITLE = 56;
const LEGEND_LINE = 24;
const EDGE = 16;

// The address of the picture as "png" or "svg"; `title` stands above it.
export async function picture(chart, figure, title, format) {
  const height = Math.max(HEIGHT, chart.clientHeight);
  const shown = onPaper(figureOf(figure, lightTokens()), title);
  const drawn = await (await loadLibrary()).toImage(shown, { width: WIDTH, height, format: "svg" });
  const svg = decodeURIComponent(drawn.slice(drawn.indexOf(",") + 1)).replace(/<svg [^>]*>/, `$&${await letters()}`);
  const address = `data:image/svg+xml,${encodeURIComponent(svg)}`;
  return format === "svg" ? address : pixels(address, WIDTH, height);
}

function onPaper({ data, layout }, title) {
  const named = data.filter(({ name, showlegend }) => name && showlegend !== false).length;
  const legend = { ...layout.legend, orientation: "v", x: 0, xanchor: "left", y: 1.01, yanchor: "bottom" };
  const top = TITLE + LEGEND_LINE * named;
  const heading = { text: title, x: 0.02, xanchor: "left", y: 1 - TITLE / 2 / HEIGHT, font: { size: 20 } };
  const { l = 80, b = 80 } = layout.margin ?? {};
  const margin = { ...layout.margin, t: top + EDGE, l: l + EDGE, b: b + EDGE };
  return { data, layout: { ...layout, width: WIDTH, title: heading, legend, margin } };
}

function rules(kind) {
  return [...document.styleSheets].flatMap((sheet) => [...sheet.cssRules].filter((rule) => rule instanceof kind));
}

// The tokens as they are in the light, whatever the screen shows.
function lightTokens() {
  return rules(CSSStyleRule).find(({ selectorText }) => selectorText === ":root").style;
}

// The page's font as part of a picture: what a picture does not carry it cannot show.
async function letters() {
  const faces = rules(CSSFontFaceRule).filter(({ style }) => style.getPropertyValue("unicode-range").startsWith("U+0-"));
  const carried = await Promise.all(faces.map(carry));
  return `<style>${carried.join("")}</style>`;
}

async function carry({ style, parentStyleSheet }) {
  const [, path] = style.getPropertyValue("src").match(/url\("?([^")]+)/);
  const file = await (await fetch(new URL(path, parentStyleSheet.href))).blob();
  const address = await new Promise((done) => {
    const reader = new FileReader();
    reader.onload = () => done(reader.result);
    reader.readAsDataURL(file);
  });
  const family = style.getPropertyValue("font-family");
  return `@font-face{font-family:${family};font-weight:${style.getPropertyValue("font-weight")};src:url(${address})}`;
}

async function pixels(address, width, height) {
  const image = new Image();
  image.src = address;
  await image.decode();
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [SHARPER * width, SHARPER * height];
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas.toDataURL("image/png");
}
