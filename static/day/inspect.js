// Looking at one instant: its line over charts and tracks follows the finger, and the panel says what is on then.
// The instant under a finger: the close-up has an axis of its own.
function instantUnder(event) {
  const plot = event.target.closest ? event.target.closest("#day-chart svg.plot") : null;
  const { from, to } = plot && plot.closest(".close") ? plot.closest(".close").dataset : { from: 0, to: horizonMs() };
  const box = (plot || demand()).getBoundingClientRect();
  const share = Math.min(Math.max((event.clientX - box.left) / box.width, 0), 1);
  return Math.min(Number(from) + share * (to - from), horizonMs() - 1);
}
const demand = () => document.querySelector("#day-chart svg.demand");
const horizonMs = () => Number(byId("day-chart").dataset.horizon);

// The clock's face at an instant.
function face(ms) {
  const isLater = ms >= Number(byId("day-chart").dataset.day);
  return `${isLater ? "+" : ""}${clockOf(Math.floor(minutesAt(ms)) % (24 * 60))}${clockAt(ms)[2]}`;
}

let shown = null; // where the line stands
function showCursor(ms, total = "") {
  const cursor = byId("cursor");
  const plot = demand().getBoundingClientRect();
  const sheet = cursor.parentElement.getBoundingClientRect();
  const left = plot.left - sheet.left + (plot.width * ms) / horizonMs();
  shown = ms;
  cursor.hidden = false;
  cursor.style.left = `${left}px`;
  cursor.style.top = `${plot.top - sheet.top - 26}px`; // a close-up above it has another axis
  cursor.classList.toggle("late", left > sheet.width / 2);
  cursor.firstElementChild.textContent = face(ms) + (total ? `  ${total}` : "");
}

// One question at a time; while it is on its way only the latest place is remembered.
let asking = false;
let place = null;
async function askMoment() {
  if (asking || place === null) return;
  asking = true;
  const ms = place;
  place = null;
  try {
    await htmx.ajax("GET", byId("day-moment").dataset.address, {
      source: "#day-moment", target: "#day-moment", swap: "outerHTML", values: { at: ms },
    });
  } catch {
    // What failed is said by the events; the panel keeps what it shows, and so does the line.
    looking = null;
    followPanel();
  } finally {
    asking = false;
    askMoment();
  }
}

function lookAt(event) {
  const ms = Math.floor(instantUnder(event) / 1000) * 1000;
  showCursor(ms);
  place = ms;
  askMoment();
}

const onPlot = (event) => event.target.closest && event.target.closest("#day-chart svg.plot");
let looking = null; // the finger that holds the line
document.addEventListener("pointerdown", (event) => {
  if (!event.isPrimary || event.button || !onPlot(event)) return;
  looking = event.pointerId;
  lookAt(event);
});
document.addEventListener("pointermove", (event) => {
  if (event.pointerId === looking) lookAt(event);
});
// A finger that turns out to scroll the page takes its pointer back.
for (const end of ["pointerup", "pointercancel"])
  document.addEventListener(end, (event) => {
    if (event.pointerId === looking) looking = null;
  });

// The line stands where the panel looks, also after a step to the next change or a change of the plan.
function followPanel() {
  const { at, chosen, total } = byId("day-moment").dataset;
  if (looking !== null && Number(at) !== shown) return;
  if (chosen) showCursor(Number(at), total);
  else byId("cursor").hidden = true;
}
document.addEventListener("htmx:afterSettle", followPanel);
addEventListener("resize", followPanel);
followPanel();

// A change of the plan keeps the instant that was chosen.
document.addEventListener("htmx:configRequest", (event) => {
  const { at, chosen } = byId("day-moment").dataset;
  if (chosen && event.detail.parameters.at === undefined) event.detail.headers["Loadstead-At"] = at;
  // What is tried one by one takes a while, so it is only done when asked for, and folds when anything changes.
  const open = [...document.querySelectorAll("details.more[open]:not(#moment-starts)")].map((one) => one.id);
  if (open.length) event.detail.headers["Loadstead-Unfold"] = open.join(",");
});

document.addEventListener("keydown", (event) => {
  if (!event.target.closest || !event.target.closest("#day-moment") || event.target.matches("input")) return;
  const step = { ArrowLeft: "earlier-change", ArrowRight: "later-change" }[event.key];
  if (step && byId(step)) {
    event.preventDefault();
    byId(step).click();
  }
});
