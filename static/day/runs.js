// Runs on their tracks: pressed and moved sideways, nudged by keys, added where a track is tapped.
const TAP_PX = 6;
const FINGER_PX = 44;
const SNAP_MIN = 5;
const LAST_MIN = 24 * 60 - SNAP_MIN;
const KEYS_REST_MS = 350;
const CLICK_MS = 60; // after a finger is lifted, its click has come

const minutesOf = (clock) => 60 * Number(clock.slice(0, 2)) + Number(clock.slice(3, 5));
const clockOf = (minutes) => [Math.floor(minutes / 60), minutes % 60].map((one) => String(one).padStart(2, "0")).join(":");
const snapped = (minutes) => Math.min(Math.max(Math.round(minutes / SNAP_MIN) * SNAP_MIN, 0), LAST_MIN);
const keyOf = (run) => run.id.slice("run-".length);

// The axis counts elapsed time; the chart says where the clock is put forward or back.
function axis() {
  const { horizon, clock } = byId("day-chart").dataset;
  return { horizon: Number(horizon), shifts: JSON.parse(clock) };
}

// A time that does not exist moves forward by the gap; one that comes twice means the first.
function instantOf(minutes) {
  const { shifts } = axis();
  for (const [place, [from, shift]] of shifts.entries()) {
    const at = (minutes - shift) * 60000;
    const until = place + 1 < shifts.length ? shifts[place + 1][0] : Infinity;
    if (at < until) return at >= from ? at : (minutes - shifts[place - 1][1]) * 60000;
  }
  return minutes * 60000;
}

// How the clock goes at an instant: from when on, how far ahead, and what follows its times.
function clockAt(ms) {
  const { shifts } = axis();
  return shifts.findLast(([from]) => ms >= from) ?? shifts[0];
}
const minutesAt = (ms) => ms / 60000 + clockAt(ms)[1];

function paint(run, minutes) {
  run.style.left = `${(100 * instantOf(minutes)) / axis().horizon}%`;
}

// Without the script the page comes back to the row, by the end of the address.
const commandsTo = (run) => run.getAttribute("formaction").split("#")[0];

// A tap switches a run, which shows it at once; the answer says what it makes of the day, or it goes back. One made
// while its last command is under way waits: what it means depends on the answer.
const taps = new Map(); // key -> whether the run was off before
function press(run) {
  const path = commandsTo(run);
  if (onItsWay.has(subjectOf(path))) {
    later(subjectOf(path), { id: run.id, typed: [] });
    return;
  }
  taps.set(keyOf(run), run.classList.contains("off"));
  delete run.closest(".row").dataset.state; // it shows what nobody has stored, so the answer is to bring it
  run.classList.toggle("off", run.value === "off");
  run.classList.add("unsure");
  send(run, path, { field: "on", value: run.value });
}

function untap(key, isDone) {
  const run = byId(`run-${key}`);
  if (run && !isDone && taps.has(key)) {
    run.classList.toggle("off", taps.get(key));
    run.classList.remove("unsure");
  }
  taps.delete(key);
}

function openRow(chip) {
  const request = { source: chip, target: "#day-rows", swap: "outerHTML" };
  htmx.ajax("GET", chip.getAttribute("href").split("#")[0], request).catch(() => {});
}

document.addEventListener("click", (event) => {
  const pressed = event.target.closest && event.target.closest("button.run, a.chip");
  if (!pressed || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  if (pressed.matches("button")) press(pressed);
  else openRow(pressed);
});

// Moves that are on their way to the server: the run stays where it was put until the answer.
const moves = new Map(); // key -> minutes on the clock
const startOf = (run) => moves.get(keyOf(run)) ?? minutesOf(run.dataset.start);

function move(run, minutes) {
  moves.set(keyOf(run), minutes);
  run.classList.add("unsure");
  paint(run, minutes);
  send(run, commandsTo(run), { field: "start", value: clockOf(minutes) });
}

function putBack(run) {
  if (!run) return;
  run.classList.remove("unsure", "dragged");
  run.removeAttribute("style");
}

// Called when a command was answered, or was not. following: what waits for the same run.
function settle(subject, request, isDone, following) {
  for (const ghost of document.querySelectorAll(".ghost")) ghost.remove();
  const key = subject.split("/").pop();
  untap(key, isDone);
  if (moves.has(key) && !(following && following.values)) {
    moves.delete(key);
    putBack(byId(`run-${key}`));
  }
  const whyNot = !isDone && request.path.endsWith("/runs") && document.querySelector("#day-add .fault");
  if (whyNot) whyNot.scrollIntoView({ block: "center" });
  const opensNew = isDone && /\/(runs|duplicate)$/.test(request.path) && document.querySelector(".run.open");
  if (!opensNew) return;
  opensNew.focus({ preventScroll: true });
  if (!request.elt.closest(".add")) return;
  byId("day-add").open = false;
  opensNew.scrollIntoView({ block: "center" });
}

function repaintMoves() {
  for (const [key, minutes] of moves) {
    const run = byId(`run-${key}`);
    if (!run) continue;
    run.classList.add("unsure");
    paint(run, minutes);
  }
}

// The new time, over the finger.
let bubble = null;
let bubbleRests = null;
function showBubble(over, words, forMs = 0) {
  if (!bubble) {
    bubble = document.createElement("output");
    bubble.className = "bubble";
    document.body.append(bubble);
  }
  bubble.textContent = words;
  bubble.hidden = false;
  const box = over.getBoundingClientRect();
  const half = bubble.offsetWidth / 2;
  const middle = Math.min(Math.max(box.left + Math.min(box.width, FINGER_PX) / 2, half + 4), innerWidth - half - 4);
  bubble.style.left = `${middle - half + scrollX}px`;
  bubble.style.top = `${box.top + scrollY - bubble.offsetHeight - 18}px`;
  clearTimeout(bubbleRests);
  if (forMs) bubbleRests = setTimeout(hideBubble, forMs);
}
function hideBubble() {
  if (bubble) bubble.hidden = true;
}

let drag = null;
let wasDragged = false;
// Nothing is replaced under a finger: a press may become a drag, and a tap whose run is gone does nothing.
const isPressed = () => Boolean(drag);

document.addEventListener("pointerdown", (event) => {
  wasDragged = false;
  const run = event.target.closest && event.target.closest("button.run");
  if (!run || !event.isPrimary || event.button || drag) return;
  const from = startOf(run);
  const wide = run.parentElement.getBoundingClientRect().width;
  drag = { run, from, to: from, wide, pointer: event.pointerId, x: event.clientX, y: event.clientY, moves: false };
});

document.addEventListener("pointermove", (event) => {
  if (!drag || event.pointerId !== drag.pointer) return;
  const { run, from, wide } = drag;
  const aside = event.clientX - drag.x;
  if (!drag.moves) {
    if (Math.abs(aside) < TAP_PX || Math.abs(aside) < Math.abs(event.clientY - drag.y)) return;
    sendNudge();
    drag.moves = true;
    run.setPointerCapture(event.pointerId);
    run.classList.add("dragged");
  }
  drag.to = snapped(minutesAt(instantOf(from) + (aside / wide) * axis().horizon));
  paint(run, drag.to);
  showBubble(run, `begins ${clockOf(drag.to)}`);
});

function endDrag(isDropped) {
  if (!drag) return;
  const { run, from, to, moves: moved } = drag;
  drag = null;
  setTimeout(showHeld, CLICK_MS);
  if (!moved) return;
  wasDragged = true;
  hideBubble();
  putBack(run);
  if (isDropped && to !== from) move(run, to);
  else if (moves.has(keyOf(run))) paint(run, from);
}
document.addEventListener("pointerup", (event) => {
  if (drag && event.pointerId === drag.pointer) endDrag(true);
});
// The browser takes the finger back when it turns out to scroll the page.
document.addEventListener("pointercancel", (event) => {
  if (drag && event.pointerId === drag.pointer) endDrag(false);
});
addEventListener("blur", () => endDrag(false));
// The click that ends a drag is none.
document.addEventListener("click", (event) => {
  if (!wasDragged || !event.detail) return;
  wasDragged = false;
  event.preventDefault();
  event.stopImmediatePropagation();
}, true);

// Keys: several presses at once are one command.
let nudge = null;
function sendNudge() {
  if (!nudge) return;
  const { run, to, rests } = nudge;
  clearTimeout(rests);
  nudge = null;
  const now = byId(run);
  if (now && to !== startOf(now)) move(now, to);
  else putBack(now);
}

function nudgeBy(run, minutes) {
  if (nudge && nudge.run !== run.id) sendNudge();
  const from = nudge ? nudge.to : startOf(run);
  const to = Math.min(Math.max(from + minutes, 0), Math.max(from, LAST_MIN));
  if (nudge) clearTimeout(nudge.rests);
  nudge = { run: run.id, to, rests: setTimeout(sendNudge, KEYS_REST_MS) };
  paint(run, to);
  showBubble(run, `begins ${clockOf(to)}`, 1500);
}

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && ((drag && drag.moves) || nudge)) {
    if (nudge) {
      clearTimeout(nudge.rests);
      putBack(byId(nudge.run));
      nudge = null;
    }
    endDrag(false);
    hideBubble();
    return;
  }
  const run = event.target.closest && event.target.closest("button.run");
  if (!run || event.ctrlKey || event.metaKey || event.altKey) return;
  const way = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  if (way) {
    event.preventDefault();
    nudgeBy(run, way * (event.shiftKey ? 3 : 1) * SNAP_MIN);
  } else if (event.key === "Delete") {
    event.preventDefault();
    sendNudge();
    send(run, `${commandsTo(run)}/remove`, {});
  } else if (event.key === "Enter" || event.key === " ") sendNudge();
});
document.addEventListener("focusout", sendNudge);

// A tap on an empty place adds a run there.
document.addEventListener("click", ({ target, clientX, detail }) => {
  const track = target.closest && !target.closest("button") && target.closest(".track[data-appliance]");
  const isNear = (ghost) => Math.abs(ghost.getBoundingClientRect().left - clientX) < FINGER_PX;
  if (!track || detail > 1 || Array.from(track.querySelectorAll(".ghost")).some(isNear)) return; // one run is meant
  const { left, width } = track.getBoundingClientRect();
  const ms = ((clientX - left) / width) * axis().horizon;
  const ghost = document.createElement("i");
  ghost.className = "ghost";
  track.append(ghost);
  if (ms >= Number(byId("day-chart").dataset.day)) {
    ghost.style.left = `${clientX - left}px`;
    showBubble(ghost, byId("day-rows").dataset.late, 2500);
    ghost.remove();
    return;
  }
  const start = snapped(minutesAt(Math.max(ms, 0)));
  paint(ghost, start);
  send(track, byId("day-rows").dataset.add, { appliance: track.dataset.appliance, start: clockOf(start) });
});

function helpWithRuns() {
  if (byId("rows-help")) byId("rows-help").hidden = !document.querySelector(".run");
}
document.addEventListener("htmx:afterSettle", helpWithRuns);
helpWithRuns();
