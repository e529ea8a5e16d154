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
  enlarge(data, layout);
  wholeDay = hours(layout);
  for (const axis of [layout.xaxis, layout.xaxis2]) Object.assign(axis, wholeDay);
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

// The figure is laid out for letters of the usual size; larger ones make it higher, and names take as many lines as they
// need.
const LETTER = 0.55; // how wide one is, in parts of its height
const larger = () => parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
function enlarge(data, layout) {
  const times = larger();
  layout.font.size *= times;
  layout.height *= times;
  for (const side of "lrtb") layout.margin[side] *= times;
  const letters = spot().clientWidth / (LETTER * layout.font.size);
  let lines = 1;
  for (const one of layout.annotations) {
    one.xshift *= times;
    const broken = linesOf(one.text, letters);
    one.text = broken.join("<br>");
    lines = Math.max(lines, broken.length);
  }
  if (lines > 1) setApart(data, layout, lines - 1);
}

function linesOf(text, letters) {
  const lines = [""];
  for (const word of text.split(" ")) {
    const longer = `${lines.at(-1)} ${word}`.trim();
    if (longer.length <= letters || !lines.at(-1)) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

// Each row of limits moves up by what those below it take more. A line of letters is as high as one on that axis.
function setApart(data, layout, more) {
  const { pitch } = layout.meta;
  const moved = (y) => y + more * Math.floor(y / pitch + 1e-6);
  for (const trace of data) if (trace.yaxis === "y3") trace.y = trace.y.map(moved);
  for (const shape of layout.shapes)
    if (shape.yref === "y3") Object.assign(shape, { y0: moved(shape.y0), y1: moved(shape.y1) });
  for (const one of layout.annotations) one.y = moved(one.y);
  const { yaxis, yaxis2, yaxis3 } = layout;
  yaxis3.tickvals = yaxis3.tickvals.map(moved);
  const rows = yaxis3.range[1] / pitch;
  yaxis3.range = [0, rows * (pitch + more)];
  // The other panels keep their heights over it.
  const inside = layout.height - layout.margin.t - layout.margin.b;
  const added = inside * yaxis3.domain[1] * (more / pitch);
  for (const axis of [yaxis, yaxis2]) axis.domain = axis.domain.map((share) => (share * inside + added) / (inside + added));
  yaxis3.domain = [0, (yaxis3.domain[1] * inside + added) / (inside + added)];
  layout.height += added;
}

// The whole day's hours: every second label where letters are too large for all; the lines stand at each.
function hours({ xaxis: { tickvals, ticktext }, margin }) {
  const named = ticktext.filter(Boolean);
  if (roomTaken(named) <= roomFor(margin)) return { tickvals, ticktext };
  let number = 0;
  return { tickvals, ticktext: ticktext.map((text) => (text && number++ % 2 ? "" : text)) };
}
const roomTaken = (texts) => texts.reduce((sum, text) => sum + text.length * DIGIT_PX + APART_PX, 0);
const roomFor = ({ l, r }) => (spot().clientWidth - l - r) / larger();

// Labels of a stretch: the nearest to one another that have room, out of those the figure brings.
const LABELS = [[15, 1], [15, 2], [60, 1], [60, 2]]; // which of those, and every how many of them
const [DIGIT_PX, APART_PX] = [7, 14];
function labels({ meta, margin }, [from, to]) {
  for (const [step, every] of isZoomed ? LABELS : []) {
    const [tickvals, ticktext] = [meta.ticks[step].tickvals, meta.ticks[step].ticktext].map((all) =>
      all.filter((_, place) => place % every === 0));
    const seen = ticktext.filter((_, place) => tickvals[place] >= from && tickvals[place] <= to);
    if (roomTaken(seen) <= roomFor(margin)) return { tickvals, ticktext };
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
  showBetween(middle, Math.min(((to - from) * factor) / 2, horizon / 2));
}

// As far again as half of what is shown.
function shift(way) {
  if (!drawn) return;
  const [from, to] = spot().layout.xaxis.range;
  showBetween((from + to) / 2 + (way * (to - from)) / 2, (to - from) / 2);
}

function showBetween(middle, half) {
  const horizon = horizonMs();
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
  const mover = event.target.closest && event.target.closest("[data-shift]");
  if (mover) shift(Number(mover.dataset.shift));
});
document.addEventListener("toggle", ({ target }) => {
  if (target.id === "closer" && target.open) drawCloser();
}, true);
document.addEventListener("htmx:afterSettle", drawCloser);
dark.addEventListener("change", drawCloser);
