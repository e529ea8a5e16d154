// Sending commands: counted, in order for each run, and kept when the server does not answer.
const SLOW_MS = 1000;
let sequence = 0;
const onItsWay = new Map(); // subject -> the clock that says when it takes long
let stepAfter = null; // a step back or forth that waits for everything on its way, for it takes back the last of that
const waiting = new Map(); // subject -> what was asked of it meanwhile, in order

// Commands about one run wait for one another, whatever they ask of it; other runs do not wait for them.
const subjectOf = (path) => (path.match(/^.*\/runs\/\w+/) || [path])[0];

// A command that no form on the page stands for. source: what it comes from, for the form around it.
function send(source, path, values) {
  const subject = subjectOf(path);
  if (onItsWay.has(subject)) {
    later(subject, { path, values, source: source.id });
    return;
  }
  const request = { source, target: "#day-rows", swap: "outerHTML", values: { open: openRun(), ...values } };
  htmx.ajax("POST", path, request).catch(() => {}); // what failed is said by the events
}

function later(subject, asked) {
  const queue = waiting.get(subject) || [];
  const last = queue[queue.length - 1];
  // Of two times that wait only the later one is meant.
  if (last && last.values && asked.values && last.values.field === "start" && asked.values.field === "start") queue.pop();
  queue.push(asked);
  waiting.set(subject, queue);
}

// A tap made while its run's last command is under way waits: what it means depends on the answer.
document.addEventListener("htmx:confirm", (event) => {
  const { elt, path, verb, triggeringEvent } = event.detail;
  if (verb !== "post") return;
  if (/\/(undo|redo)$/.test(path) && onItsWay.size) {
    event.preventDefault();
    stepAfter = path.split("/").pop();
    return;
  }
  if (!onItsWay.has(subjectOf(path))) return;
  event.preventDefault();
  const button = triggeringEvent && triggeringEvent.submitter;
  const typed = elt.tagName === "FORM" ? Array.from(elt.querySelectorAll("input[id]"), (one) => [one.id, one.value]) : [];
  later(subjectOf(path), { id: elt.id, button: button && button.id, typed });
});

document.addEventListener("htmx:configRequest", ({ detail }) => {
  if (detail.verb !== "post") return;
  detail.parameters.tab = tab;
  detail.parameters.revision = revisionShown();
  detail.parameters.sequence = ++sequence;
  detail.parameters.open ??= openRun();
});

// The request itself is listened to: what it comes from may be replaced before it is answered, and is not heard then.
document.addEventListener("htmx:beforeRequest", ({ detail }) => {
  const { requestConfig: request, xhr } = detail;
  if (request.verb === "post") onItsWay.set(subjectOf(request.path), setTimeout(say, SLOW_MS, "slow", "slow"));
  xhr.addEventListener("abort", () => Object.assign(xhr, { wasStopped: true }));
  xhr.addEventListener("loadend", () => finish(request, xhr));
});

function finish(request, xhr) {
  const { status, wasStopped } = xhr;
  const isCommand = request.verb === "post";
  const subject = subjectOf(request.path);
  if (isCommand) {
    clearTimeout(onItsWay.get(subject));
    onItsWay.delete(subject);
  }
  if (!wasStopped) report(isCommand, status, hasEnded(xhr.getResponseHeader("Loadstead-Refused")));
  if (inWords(status)) drawCloser(); // what could not be fetched before
  if (!isCommand) return;
  // A choice is sent when it is made; one that was not stored is sent by its button.
  if (!inWords(status)) request.elt.closest("form.choice")?.classList.add("unsent");
  const queue = waiting.get(subject) || [];
  const following = status === 200 ? queue.shift() : null;
  if (!queue.length || status !== 200) waiting.delete(subject);
  settle(subject, request, status === 200, following);
  if (following) ask(following);
  else if (stepAfter && !onItsWay.size) {
    const step = byId(stepAfter);
    stepAfter = null;
    if (step) step.click();
  }
}

// What the line says of an answer, or of its lack.
function report(isCommand, status, isEnded) {
  const fault = isEnded ? "ended" : status === 403 ? "refused" : isCommand ? (status ? "failed" : "away") : "quiet";
  const isAnswered = inWords(status);
  if (isCommand) say("slow");
  if (isCommand) say("command", isAnswered ? "" : fault);
  else if (isAnswered && wrong.command === byId("net").dataset.away) say("command", "again");
  if (isCommand && status === 200) say("late");
  if (isAnswered || !isCommand) say("quiet", isAnswered ? "" : fault);
}

function ask({ path, values, source, id, button, typed }) {
  if (path) {
    send(byId(source) || byId("day-rows"), path, values);
    return;
  }
  for (const [field, value] of typed) if (byId(field)) byId(field).value = value;
  const pressed = byId(button || id);
  if (!pressed) return;
  if (pressed.tagName === "FORM") pressed.requestSubmit();
  else pressed.click();
}

// Back and forth by the keys everybody knows, but where somebody types.
document.addEventListener("keydown", (event) => {
  const key = event.key.toLowerCase();
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.target.closest("input, select, textarea")) return;
  const back = key === "z" && !event.shiftKey;
  const forth = key === "y" || (key === "z" && event.shiftKey);
  const button = back ? byId("undo") : forth ? byId("redo") : null;
  if (!button) return;
  event.preventDefault();
  button.click();
});

// What unfolds over the page folds again at a tap elsewhere.
document.addEventListener("click", (event) => {
  for (const open of document.querySelectorAll(".plans[open], #all-limits[open]"))
    if (!open.contains(event.target) && liesOver(open)) open.open = false;
});
const liesOver = ({ lastElementChild: inside }) => getComputedStyle(inside).position === "absolute";
