// Looking closer: the same chart drawn so that it can be zoomed, with every limit. Its library comes only when asked for.
const LONGEST_MS = 8000;
let library = null;
let drawn = ""; // what the drawing shows
let isDrawing = false; // one at a time, so that the older never comes last
let isZoomed = false;
const dark = matchMedia("(prefers-color-scheme: dark)");
const toDraw = () => `${revisionShown()} ${dark.matches}`;
const spot = () => byId("closer-plot");

function loadLibrary(address) {
  library ??= new Promise((ready, failed) => {
    const script = document.createElement("script");
    script.src = address;
    script.onload = ready;
    script.onerror = () => {
      library = null;
      failed(new Error("the charting library did not come"));
    };
    document.head.append(script);
  });
  return library;
}

// Colours are named in the figure and looked up in the style sheet, so that it follows light and dark.
function coloured(text) {
  const style = getComputedStyle(document.documentElement);
  return JSON.parse(text.replace(/var\((--[\w-]+)\)/g, (_, name) => style.getPropertyValue(name).trim()));
}

// Called whenever the page may show something newer, and after each answer: what failed is tried again then.
async function drawCloser() {
  const closer = byId("closer");
  if (isDrawing || !closer.open || drawn === toDraw()) return;
  isDrawing = true;
  closer.setAttribute("aria-busy", "true");
  const isDone = await fetchFigure(closer.dataset).then(() => true, () => false);
  isDrawing = false;
  closer.removeAttribute("aria-busy");
  say("figure", isDone ? "" : "quiet");
  if (isDone) drawCloser(); // there may be something newer by now
}

async function fetchFigure({ figure, library }) {
  const showing = toDraw(); // what is fetched from here on is at least as new
  const [answer] = await Promise.all([fetch(figure, { signal: AbortSignal.timeout(LONGEST_MS) }), loadLibrary(library)]);
  if (!answer.ok) throw new Error(String(answer.status));
  const { data, layout, config } = coloured(await answer.text());
  if (isZoomed) layout.xaxis.range = spot().layout.xaxis.range.slice();
  await Plotly.react(spot(), data, layout, config);
  if (!drawn) {
    spot().on("plotly_hover", readOut);
    spot().on("plotly_click", readOut);
  }
  drawn = showing;
  byId("closer").dataset.ready = showing.split(" ")[0];
}

// What is under the pointer goes to the panel and the line, as from the drawn chart.
function readOut(event) {
  const ms = Math.round(event.points[0].x);
  showCursor(ms);
  place = ms;
  askMoment();
}

function zoom(factor) {
  if (!drawn) return;
  const [from, to] = spot().layout.xaxis.range;
  const horizon = horizonMs();
  const { at, chosen } = byId("day-moment").dataset;
  const inside = chosen && Number(at) >= from && Number(at) <= to;
  const middle = inside ? Number(at) : (from + to) / 2;
  const half = Math.min(((to - from) * factor) / 2, horizon / 2);
  const begin = Math.min(Math.max(middle - half, 0), horizon - 2 * half);
  isZoomed = half < horizon / 2;
  Plotly.relayout(spot(), { "xaxis.range": [begin, begin + 2 * half] });
}

byId("closer").hidden = false;
document.addEventListener("click", (event) => {
  const button = event.target.closest && event.target.closest("[data-zoom]");
  if (button) zoom(Number(button.dataset.zoom));
});
document.addEventListener("toggle", ({ target }) => {
  if (target.id === "closer" && target.open) drawCloser();
}, true);
document.addEventListener("htmx:afterSettle", drawCloser);
dark.addEventListener("change", drawCloser);
