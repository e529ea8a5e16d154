// Taps on the page of what may be switched on: shown at once, sent in order, and put right by what the server answers.
// Without this script every tap is a form that leads to the same page.
const EVERY_MS = 2000;
const SLOW_MS = 1000;
const LONGEST_MS = 8000;
const OLD_MS = 90000;
const IN_PLACE = [200, 409, 410, 422];
const byId = (id) => document.getElementById(id);
const main = () => document.querySelector("main");

// This open page, by a name of its own; the server tells two phones apart by it.
const tab = Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");
let sequence = 0;
let sending = null; // the tap that is on its way
const waiting = []; // taps to be sent after it
let shown = main().cloneNode(true); // as the server has it, without what is not answered yet
let answeredAt = Date.now();

// What is wrong, the first of these in one line. That a tap was not stored stays true until one is answered.
const wrong = { slow: "", tap: "", quiet: "" };
// What may soon be right again by itself.
const mayPass = () => Object.values(wrong).some((kind) => kind && kind !== "ended" && kind !== "lost");
function say(what, kind = "") {
  wrong[what] = kind;
  const said = Object.values(wrong).find(Boolean);
  if (mayPass()) lookSoon(EVERY_MS);
  const net = byId("net");
  net.hidden = !said;
  net.textContent = said ? net.dataset[said].replace("{at}", byId("now").dataset.at) : "";
  byId("now").classList.toggle("old", Boolean(wrong.quiet || wrong.tap === "away"));
}

// Nothing moves under a finger that is down.
let lifted = Promise.resolve();
let lift = () => {};
document.addEventListener("pointerdown", () => {
  lift();
  lifted = new Promise((done) => (lift = done));
});
for (const kind of ["pointerup", "pointercancel"]) document.addEventListener(kind, () => setTimeout(lift));

// A switch shows what was tapped before it is answered; the next tap on it then means the other way.
function flip({ appliance, to }) {
  for (const form of document.querySelectorAll("form[data-tap]")) {
    if (form.elements.appliance.value !== appliance) continue;
    form.querySelector(".rocker").setAttribute("aria-checked", String(to === "on"));
    form.elements.to.value = to === "on" ? "off" : "on";
    form.classList.add("pending");
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  event.preventDefault();
  const { appliance, to } = form.elements;
  const tap = { appliance: appliance.value, to: to.value, action: form.action, button: event.submitter?.id, row: form.closest("li")?.id };
  const same = waiting.findIndex((one) => one.appliance === tap.appliance);
  if (same >= 0) waiting.splice(same, 1); // of several that wait only the last is meant
  waiting.push(tap);
  if (form.dataset.tap !== undefined) flip(tap);
  next();
});

async function next() {
  if (sending || !waiting.length) return;
  sending = waiting.shift();
  const slow = setTimeout(say, SLOW_MS, "slow", "slow");
  const { appliance, to, action } = sending;
  const answer = await ask(action, { method: "POST", body: new URLSearchParams({ appliance, to, tab, sequence: ++sequence }) });
  clearTimeout(slow);
  await lifted;
  const tap = sending;
  sending = null;
  say("slow");
  if (answer.page) {
    put(answer.page, tap);
    say("tap");
    say("quiet");
    byId("said").textContent = `${byId("last").textContent} ${byId("room").textContent}`;
  } else {
    waiting.length = 0;
    put(shown.cloneNode(true), tap);
    say("tap", answer.fault);
  }
  next();
}

// What the server answers: its page, nothing new, or what is wrong.
async function ask(address, more) {
  try {
    const headers = { "HX-Request": "true", ...more.headers };
    const answer = await fetch(address, { ...more, headers, signal: AbortSignal.timeout(LONGEST_MS) });
    if (answer.status === 204) return {};
    if (!IN_PLACE.includes(answer.status)) return { fault: faultOf(answer) };
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    shown = page.querySelector("main").cloneNode(true);
    document.title = page.title;
    return { page: page.querySelector("main") };
  } catch {
    return { fault: more.method ? "away" : "quiet" };
  }
}

// The page as it is now. What is looked at stays where it is on the screen, whatever comes or goes above it.
function put(fresh, tap) {
  const focus = document.activeElement.id;
  const held = anchor(fresh, tap);
  const top = held && byId(held).getBoundingClientRect().top;
  liken(main(), fresh);
  for (const one of document.querySelectorAll(".pending")) one.classList.remove("pending");
  waiting.forEach(flip);
  if (held && byId(held)) scrollBy(0, byId(held).getBoundingClientRect().top - top);
  const place = byId("wrong") || byId(focus) || (tap && (byId(tap.button) || buttonOf(tap.appliance)));
  if (place && place !== document.activeElement && place !== document.body) place.focus({ preventScroll: place.id !== "wrong" });
}

// What was tapped may be told at another place now.
function buttonOf(appliance) {
  const forms = Array.from(document.querySelectorAll(".lists form[method=post]"));
  return forms.find((form) => appliance && form.elements.appliance.value === appliance)?.querySelector("button");
}
// The row next to the one that was tapped, else the first row in sight, of those that stay.
function anchor(fresh, tap) {
  const rows = Array.from(document.querySelectorAll(".board li[id]"));
  const stays = (row) => row.id !== tap?.row && fresh.querySelector(`#${row.id}`);
  const isSeen = (row) => row.getClientRects().length && row.getBoundingClientRect().bottom > 0 && row.getBoundingClientRect().top < innerHeight;
  const place = rows.findIndex((row) => row.id === tap?.row);
  const near = place < 0 ? rows : [...rows.slice(place + 1), ...rows.slice(0, place).reverse()];
  return scrollY ? near.find((row) => stays(row) && isSeen(row))?.id : undefined;
}

// What others tap meanwhile, and what time does: asked every few seconds, and mostly there is nothing new.
let upcoming = null;
function lookSoon(ms) {
  clearTimeout(upcoming);
  upcoming = setTimeout(look, ms);
}

async function look() {
  if (document.hidden) return; // being looked at again begins it anew
  if (sending) {
    lookSoon(EVERY_MS / 4);
    return;
  }
  const { href, mark, pending } = byId("now").dataset;
  const address = new URL(href, location);
  if (pending !== undefined) address.searchParams.set("sun", "1");
  const answer = await ask(address, { headers: { "Loadstead-Mark": mark } });
  await lifted;
  if (!answer.fault) answeredAt = Date.now();
  if (!sending) {
    if (answer.page) put(answer.page);
    if (!answer.fault && wrong.tap === "away") say("tap", "lost");
    say("quiet", answer.fault);
  }
  lookAfter(0);
}

// The answers change with the minute too, whatever anybody does.
async function lookAfter(ms) {
  const longest_s = mayPass() ? EVERY_MS / 1000 : LONGEST_WAIT_S;
  const left_s = Math.min(longest_s, 61 - Math.floor((Date.now() / 1000) % 60));
  if (await untilNews(new URL(byId("now").dataset.href, location).pathname.replace(/[^/]+$/, "wait"), left_s)) lookSoon(ms);
}

document.addEventListener("visibilitychange", () => {
  if (!document.hidden && Date.now() - answeredAt > OLD_MS) byId("now").classList.add("old");
  lookSoon(0);
});
for (const turn of ["online", "offline"]) addEventListener(turn, () => lookSoon(0));
lookAfter(EVERY_MS);
