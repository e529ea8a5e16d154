// Looking closer: the same chart drawn so that it can be zoomed, with every limit. Its library comes only when asked for.
const LONGEST_MS = 8000;
let library = null;
let drawn = ""; // what the drawing shows
let isDrawing = false; // one at a time, so that the older never comes last
let isZoomed = false;
let wholeDay = null; // the labels of the hours while the whole day is shown
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
  enlarge(layout);
  const { tickvals, ticktext } = layout.xaxis;
  wholeDay = { tickvals, ticktext };
  if (isZoomed) {
    const range = spot().layout.xaxis.range.slice();
    Object.assign(layout.xaxis, labels(layout, range), { range });
    Object.assign(layout.xaxis2, labels(layout, range));
  }
  await Plotly.react(spot(), data, layout, config);
  if (!drawn) {
    spot().on("plotly_hover", readOut);
    spot().on("plotly_click", readOut);
  }
  drawn = showing;
  byId("closer").dataset.ready = showing.split(" ")[0];
}

// The figure is laid out for letters of the usual size.
const LETTER = 0.5; // how wide one is, in parts of its height
const larger = () => parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
function enlarge(layout) {
  const times = larger();
  const usual = layout.font.size;
  layout.font.size *= times;
  layout.height *= times;
  for (const side of "lrtb") layout.margin[side] *= times;
  // Names stand in one line each, which the narrowest screens have no room for in the largest letters.
  const longest = Math.max(...layout.annotations.map(({ text }) => text.length));
  const size = Math.max(Math.min(layout.font.size, spot().clientWidth / (LETTER * longest)), usual);
  for (const one of layout.annotations) {
    one.xshift *= times;
    one.font.size = size;
  }
}

// Labels of a stretch: the nearest to one another that have room, out of those the figure brings.
const LABELS = [[15, 1], [15, 2], [60, 1], [60, 2]]; // which of those, and every how many of them
const [DIGIT_PX, APART_PX] = [7, 14];
function labels({ meta, margin }, [from, to]) {
  const wide = (spot().clientWidth - margin.l - margin.r) / larger();
  for (const [step, every] of isZoomed ? LABELS : []) {
    const [tickvals, ticktext] = [meta.ticks[step].tickvals, meta.ticks[step].ticktext].map((all) =>
      all.filter((_, place) => place % every === 0));
    const seen = ticktext.filter((_, place) => tickvals[place] >= from && tickvals[place] <= to);
    const taken = seen.reduce((sum, text) => sum + text.length * DIGIT_PX + APART_PX, 0);
    if (taken <= wide) return { tickvals, ticktext };
  }
  return wholeDay;
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
  const at = Number(byId("day-moment").dataset.at); // chosen, or what decides
  const middle = at >= from && at <= to ? at : (from + to) / 2;
  const half = Math.min(((to - from) * factor) / 2, horizon / 2);
  const begin = Math.min(Math.max(middle - half, 0), horizon - 2 * half);
  isZoomed = half < horizon / 2;
  const range = [begin, begin + 2 * half];
  const { tickvals, ticktext } = labels(spot().layout, range);
  const said = ["xaxis", "xaxis2"].flatMap((one) => [[`${one}.tickvals`, tickvals], [`${one}.ticktext`, ticktext]]);
  Plotly.relayout(spot(), { "xaxis.range": range, ...Object.fromEntries(said) });
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
