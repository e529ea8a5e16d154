// What others do meanwhile, and what must survive it: a drag, a half-typed text, the focus, and the newest state.
const EVERY_MS = 2000;
let upcoming = null;
let isLooking = false;

const revisionShown = () => Number(byId("day-steps").dataset.revision);
let heard = revisionShown(); // up to where it is known what others did; an answer may show more than it tells

function lookSoon(ms) {
  clearTimeout(upcoming);
  upcoming = setTimeout(look, ms);
}

async function look() {
  if (document.hidden || isLooking) return; // being looked at again, or an answer, begins it anew
  if (onItsWay.size || isPressed()) {
    lookSoon(EVERY_MS / 4);
    return;
  }
  const values = { since: heard, tab, run: openRun() };
  const request = { source: "#net", target: "#day-rows", swap: "outerHTML", values };
  isLooking = true;
  await htmx.ajax("GET", byId("day-rows").dataset.changes, request).catch(() => {});
  isLooking = false;
  lookAfter(0);
}

async function lookAfter(ms) {
  const seconds = Object.values(wrong).some(Boolean) ? EVERY_MS / 1000 : LONGEST_WAIT_S;
  if (await untilNews(byId("day-rows").dataset.changes.replace(/changes$/, "wait"), seconds)) lookSoon(ms);
}
document.addEventListener("visibilitychange", () => lookSoon(0));
for (const turn of ["online", "offline"]) addEventListener(turn, () => lookSoon(0));
lookAfter(EVERY_MS);

// Answers are not shown when something newer is, nor while a finger holds a run.
let asked = 0;
let answered = 0;
const held = []; // what came meanwhile
document.addEventListener("htmx:beforeRequest", ({ detail }) => {
  Object.assign(detail.xhr, { number: ++asked, openThen: openRun() });
});

// Sun and bank come once, a while after the page, with everything else as it is then; until they do they are asked for.
const waitsForSun = (path) => path.includes("part=sun");

// The page says which rows it shows, by the names of their states; those are not sent again.
const LONGEST_HEADER = 4000;
document.addEventListener("htmx:configRequest", ({ detail }) => {
  if (detail.target.id !== "day-rows") return;
  if (waitsForSun(detail.path)) detail.parameters.run = openRun();
  const states = Array.from(detail.target.children, (row) => row.dataset.state);
  detail.headers["Loadstead-Has"] = states.filter(Boolean).join().slice(0, LONGEST_HEADER);
});

document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  const { xhr, target, requestConfig: request } = detail;
  if (!detail.shouldSwap) return;
  detail.shouldSwap = false; // it is done here
  const revision = Number(xhr.getResponseHeader("Loadstead-Revision")) || revisionShown();
  const isRows = target.id === "day-rows";
  const isSecond = isRows && xhr.status === 200 && revision === revisionShown() && xhr.number < answered;
  const isOther = isRows && waitsForSun(request.path) && xhr.openThen !== openRun();
  if (isSecond || isOther) {
    if (waitsForSun(request.path)) askAgain(detail);
    return;
  }
  if (revision < revisionShown()) {
    if (request.verb === "get") askAgain(detail);
    if (xhr.status !== 200) say("late", refusalOf(detail.serverResponse));
    return;
  }
  const opens = request.verb === "get" && !request.path.endsWith("/changes");
  if (isRows && xhr.status === 200 && !opens && xhr.openThen !== openRun()) {
    lookSoon(0); // it shows another row opened than the one that is open by now
    return;
  }
  if (isRows) answered = xhr.number;
  if (isRows) hear(request, revision, detail.serverResponse);
  if (xhr.status === 200 && request.verb === "post") forgetSent(request);
  if (xhr.status === 200 && target.id === "day-moment" && asksForAnother(request)) typed.delete(CLOCK);
  const answer = { revision, html: detail.serverResponse, isRefused: xhr.status !== 200 };
  if (isPressed()) held.push(answer);
  else show(answer.html, answer.isRefused);
});

// Whether another instant is looked at than before: by what stands in the field, or by a step or a tap.
function asksForAnother({ path, formData }) {
  const clock = formData.get("clock");
  return clock === null ? formData.has("at") || /[?&]at=/.test(path) : clock === typed.get(CLOCK);
}

function showHeld() {
  for (const { revision, html, isRefused } of held.splice(0)) if (revision >= revisionShown()) show(html, isRefused);
}

// What one did oneself is no news; where more was done than that, others did it.
const TELLS = /class="news"[^>]*>[^<\s]/;
function hear({ verb, path }, revision, html) {
  if (path.endsWith("/changes") && TELLS.test(html)) toldOfOthers = Date.now();
  if (path.endsWith("/changes") || (verb === "post" && revision === heard + 1)) heard = revision;
}

// Rows that were left out of an answer because the page had them when it asked, but has no longer.
function askRows() {
  const page = byId("day-rows").dataset.changes.replace(/\/changes$/, "");
  const request = { source: "#net", target: "#day-rows", swap: "outerHTML", values: { run: openRun() } };
  htmx.ajax("GET", page, request).catch(() => {});
}

function askAgain({ target, requestConfig: request }) {
  if (request.path.endsWith("/changes")) return;
  const again = { source: target, target, swap: "outerHTML", values: Object.fromEntries(request.formData) };
  htmx.ajax("GET", request.path, again).catch(() => {});
}

// A refusal that comes too late to be shown at its place.
function refusalOf(html) {
  const found = new DOMParser().parseFromString(html, "text/html").querySelectorAll(".fault p, .news");
  return Array.from(found, (one) => one.textContent.trim()).filter(Boolean).join(" ");
}
