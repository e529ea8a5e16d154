// Looking closer at plans side by side: the drawing's library comes only when somebody opens it.
const LONGEST_MS = 8000;
let library = null;
let isDrawn = false;
const dark = matchMedia("(prefers-color-scheme: dark)");
const byId = (id) => document.getElementById(id);

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

async function draw() {
  const { figure, library: address } = byId("side-closer").dataset;
  try {
    const [answer] = await Promise.all([fetch(figure, { signal: AbortSignal.timeout(LONGEST_MS) }), loadLibrary(address)]);
    if (answer.status === 410) {
      byId("side-told").textContent = byId("side-told").dataset.gone;
      return;
    }
    if (!answer.ok) throw new Error(String(answer.status));
    const { data, layout, config } = coloured(await answer.text());
    await Plotly.react(byId("side-plot"), data, layout, config);
    byId("side-plot").on("plotly_hover", ({ points }) => (byId("side-told").textContent = points[0].text || ""));
    byId("side-told").textContent = "Touch a line to read it; drag across to zoom.";
    isDrawn = true;
    byId("side-closer").dataset.ready = "1";
  } catch {
    byId("side-told").textContent = "No answer from the server. Close it and open it again to try once more.";
  }
}

addEventListener("toggle", ({ target }) => {
  if (target.id === "side-closer" && target.open && !isDrawn) draw();
}, true);
dark.addEventListener("change", () => {
  if (isDrawn) draw();
});

function say(kind) {
  byId("net").textContent = byId("net").dataset[kind];
  byId("net").hidden = false;
}
document.addEventListener("htmx:sendError", () => say("away"));
document.addEventListener("htmx:timeout", () => say("away"));
document.addEventListener("htmx:responseError", () => say("failed"));
