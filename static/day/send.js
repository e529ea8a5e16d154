// Sending commands: counted, in order for each address, and kept when the server does not answer.
let sequence = 0;
const busy = new Set(); // addresses of runs with a command on its way
const waiting = new Map(); // address -> what was tapped meanwhile, in order

// A tap made while its run's last command is under way waits: what it means depends on the answer.
document.addEventListener("htmx:confirm", (event) => {
  const { elt, path, verb, triggeringEvent } = event.detail;
  if (verb !== "post" || !busy.has(path)) return;
  event.preventDefault();
  const button = triggeringEvent && triggeringEvent.submitter;
  const field = elt.id.startsWith("type-") && byId("time-" + elt.id.slice(5));
  if (!waiting.has(path)) waiting.set(path, []);
  waiting.get(path).push({ form: elt.id, button: button && button.id, typed: field ? field.value : null });
});

document.addEventListener("htmx:beforeRequest", (event) => {
  const { verb, path } = event.detail.requestConfig;
  if (verb === "post") busy.add(path);
});

document.addEventListener("htmx:configRequest", (event) => {
  if (event.detail.verb !== "post") return;
  event.detail.parameters.tab = tab;
  event.detail.parameters.sequence = ++sequence;
});

document.addEventListener("htmx:afterRequest", (event) => {
  const { requestConfig: request, xhr } = event.detail;
  if (xhr.status && (xhr.status < 400 || xhr.status === 409 || xhr.status === 422)) byId("net").hidden = true;
  if (request.verb !== "post") return;
  busy.delete(request.path);
  const queue = waiting.get(request.path);
  if (!queue) return;
  if (xhr.status !== 200) {
    waiting.delete(request.path);
    return;
  }
  const next = queue.shift();
  if (!queue.length) waiting.delete(request.path);
  const form = byId(next.form);
  if (!form) return;
  if (next.typed !== null) byId("time-" + next.form.slice(5)).value = next.typed;
  const button = next.button && byId(next.button);
  if (button) button.click();
  else form.requestSubmit();
});

for (const kind of ["htmx:sendError", "htmx:timeout"]) document.addEventListener(kind, () => say("away"));
document.addEventListener("htmx:responseError", (event) => {
  say(event.detail.xhr.status === 403 ? "refused" : "failed");
});

// What was unfolded stays so when its part of the page is replaced.
const unfolded = new Set();
document.addEventListener("toggle", ({ target }) => {
  if (target.open) unfolded.add(target.id);
  else unfolded.delete(target.id);
}, true);
document.addEventListener("htmx:oobAfterSwap", () => {
  for (const id of unfolded) {
    const part = id && byId(id);
    if (part && !part.open) part.open = true;
  }
});

// What unfolds over the page folds again at a tap elsewhere.
document.addEventListener("click", (event) => {
  const wide = matchMedia("(min-width: 900px)").matches;
  for (const open of document.querySelectorAll(wide ? ".plans[open], #all-limits[open]" : ".plans[open]"))
    if (!open.contains(event.target)) open.open = false;
});
