// Forms of the editors: sent as soon as a figure is changed; what is typed elsewhere on the page stays, and so does the
// place one is at. Without this script they are sent by their own buttons and lead to the same pages.
const SLOW_MS = 1000;
const LONGEST_MS = 15000;
const IN_PLACE = [200, 409, 410, 422];
let sequence = 0;
let sending = null; // the form that is on its way
const waiting = new Set(); // forms changed meanwhile, to be sent after it

const byId = (id) => document.getElementById(id);

function say(kind) {
  byId("net").textContent = byId("net").dataset[kind];
  byId("net").hidden = false;
}

const textOf = (field) => (field.type === "checkbox" ? String(field.checked) : field.value);
function isTyped(field) {
  if (field.type === "hidden") return false;
  if (field.tagName === "SELECT") return !Array.from(field.options).every((one) => one.selected === one.defaultSelected) && field.value !== (Array.from(field.options).find((one) => one.defaultSelected) || field.options[0]).value;
  return field.type === "checkbox" ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
}

// What is typed and not sent, by the field's id; of the form that was sent only what was typed since.
function unsent(form, sent) {
  const kept = new Map();
  for (const field of document.querySelectorAll("main input[id], main select[id], main textarea[id]"))
    if (isTyped(field) && (field.form !== form || sent.get(field.id) !== textOf(field))) kept.set(field.id, field.value);
  return kept;
}

function put(page, form, sent) {
  const kept = unsent(form, sent);
  const at = document.activeElement.id;
  const unfolded = Array.from(document.querySelectorAll("details[id]"), (one) => [one.id, one.open]);
  const top = scrollY;
  document.querySelector("main").replaceWith(page.querySelector("main"));
  document.title = page.title;
  for (const [id, open] of unfolded) if (byId(id) && open) byId(id).open = true;
  for (const [id, value] of kept) if (byId(id)) byId(id).value = value;
  const wrong = document.querySelector("main [aria-invalid][autofocus]");
  const place = wrong || (at && byId(at));
  scrollTo(0, top);
  if (place) place.focus({ preventScroll: !wrong });
}

async function send(form, button) {
  if (sending) {
    waiting.add(form.id);
    return;
  }
  sending = form;
  form.setAttribute("aria-busy", "true");
  const slow = setTimeout(say, SLOW_MS, "slow");
  if (form.elements.sequence) form.elements.sequence.value = ++sequence;
  const fields = new FormData(form, button);
  const sent = new Map(Array.from(form.querySelectorAll("[id]"), (one) => [one.id, "value" in one ? textOf(one) : ""]));
  let isDone = false;
  try {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(fields), signal: AbortSignal.timeout(LONGEST_MS) });
    if (!IN_PLACE.includes(answer.status)) say(answer.status === 403 ? "refused" : "failed");
    else if (answer.redirected && new URL(answer.url).pathname !== location.pathname) location.assign(answer.url);
    else {
      put(new DOMParser().parseFromString(await answer.text(), "text/html"), form, sent);
      isDone = true;
    }
  } catch {
    say("away");
  } finally {
    clearTimeout(slow);
    form.removeAttribute("aria-busy");
    sending = null;
  }
  const next = Array.from(waiting);
  waiting.clear();
  if (isDone) for (const id of next) if (byId(id)) send(byId(id));
}

document.addEventListener("submit", (event) => {
  if (event.target.method !== "post" || event.target.enctype === "multipart/form-data") return;
  event.preventDefault();
  send(event.target, event.submitter);
});

document.addEventListener("change", ({ target }) => {
  if (target.form && target.form.dataset.live !== undefined) target.form.requestSubmit();
});
