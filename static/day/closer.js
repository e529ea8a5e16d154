// Looking closer: the same chart drawn so that it can be zoomed, with every limit. Its library comes only when asked for.
let library = null;
let figure = null; // what is drawn, with the revision it is of
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

async function drawCloser() {
  const closer = byId("closer");
  if (!closer.open) return;
  closer.setAttribute("aria-busy", "true");
  try {
    const revision = byId("day-steps").dataset.revision;
    const [answer] = await Promise.all([fetch(closer.dataset.figure), loadLibrary(closer.dataset.library)]);
    if (!answer.ok) throw new Error(String(answer.status));
    const text = await answer.text();
    const range = figure && spot().layout ? spot().layout.xaxis.range.slice() : null;
    const { data, layout, config } = coloured(text);
    if (range && figure.zoomed) layout.xaxis.range = range;
    await Plotly.react(spot(), data, layout, config);
    if (!figure) {
      spot().on("plotly_hover", readOut);
      spot().on("plotly_click", readOut);
    }
    figure = { text, revision, zoomed: Boolean(range && figure && figure.zoomed) };
    closer.dataset.ready = revision;
  } catch {
    say("away");
  } finally {
    closer.removeAttribute("aria-busy");
  }
}

// What is under the pointer goes to the panel and the line, as from the drawn chart.
function readOut(event) {
  const ms = Math.round(event.points[0].x);
  showCursor(ms);
  place = ms;
  askMoment();
}

function zoom(factor) {
  if (!figure) return;
  const [from, to] = spot().layout.xaxis.range;
  const horizon = horizonMs();
  const { at, chosen } = byId("day-moment").dataset;
  const inside = chosen && Number(at) >= from && Number(at) <= to;
  const middle = inside ? Number(at) : (from + to) / 2;
  const half = Math.min(((to - from) * factor) / 2, horizon / 2);
  const begin = Math.min(Math.max(middle - half, 0), horizon - 2 * half);
  figure.zoomed = half < horizon / 2;
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
document.addEventListener("htmx:afterSettle", () => {
  if (figure && byId("closer").open && figure.revision !== byId("day-steps").dataset.revision) {
    figure.revision = byId("day-steps").dataset.revision;
    drawCloser();
  }
});
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawCloser);
