// Forms of the editors: sent as soon as a figure is changed; what is typed elsewhere on the page stays, and so does the
// place one is at. Without this script they are sent by their own buttons and lead to the same pages.
const SLOW_MS = 1000;
const LONGEST_MS = 15000;
const SKETCH_MS = 400;
const SEEK_MS = 150;
const IN_PLACE = [200, 409, 410, 422];
const SKETCH = "sketch"; // in place of a button: show what the answers make so far
const AGAIN = "again"; // in place of a button: what was refused may do now
let sequence = 0;
let sending = null; // the form that is on its way
let isLeaving = false; // an answer leads to another page
const waiting = new Map(); // what is to be sent after it: a form's id, and the id of the button that was pressed
const touched = new WeakSet(); // fields somebody typed into
let lifted = Promise.resolve(); // nothing moves under a finger that is down

const byId = (id) => document.getElementById(id);
const main = () => document.querySelector("main");
const controls = (within) => Array.from(within.querySelectorAll("input[id], select[id], textarea[id]"));

function say(kind) {
  byId("net").textContent = byId("net").dataset[kind];
  byId("net").hidden = false;
}

// What a field shows as the server wrote it.
function written(field) {
  if (field.tagName !== "SELECT") return field.defaultValue;
  return (Array.from(field.options).find((one) => one.defaultSelected) || field.options[0]).value;
}

// Whether a field says something that is not stored: the form knows what stood in it when it was shown.
function isTyped(field) {
  const figure = field.closest(".figure");
  const was = figure && figure.querySelector("input[name^='was:']");
  if (!was) return field.value !== written(field);
  if (!figure.matches(".points")) return field.value.trim() !== was.value.trim();
  const lines = Array.from(figure.querySelectorAll("tbody tr"), (line) => controls(line).map((one) => one.value.trim()));
  return lines.filter((line) => line.some(Boolean)).map((line) => line.join("|")).join("\n") !== was.value;
}

// Stages are told by their places: where what stood in one place stands after they were added to, moved or taken out.
function placed(id, form, what) {
  const [, name, number, rest] = id.match(/^(.*?stage-)(\d+)(.*)$/) || [];
  if (!name || form.dataset.shifts === undefined) return id;
  const [from, place] = [Number(form.elements.place.value), Number(number)];
  const to = { up: from - 1, down: from + 1 }[what];
  if (to !== undefined) return `${name}${place === from ? to : place === to ? from : place}${rest}`;
  if (what === "remove" && place === from) return "";
  return `${name}${place <= from ? place : what === "remove" ? place - 1 : place + 1}${rest}`;
}

// Where a stage stands on another page that is the only one of its mark on both; "" where another stage stands at its
// place; null where it cannot be told by marks.
function marked(id, page) {
  const [, name, number, rest] = id.match(/^(.*?stage-)(\d+)(.*)$/) || [];
  const own = name && byId(`stage-${number}`);
  if (!own) return null;
  const alike = (within, mark) => within.querySelectorAll(`form[data-mark="${mark}"]`);
  const [here, there] = [alike(document, own.dataset.mark), alike(page, own.dataset.mark)];
  if (here.length === 1 && there.length === 1) return `${name}${there[0].elements.place.value}${rest}`;
  const next = page.getElementById(`stage-${number}`);
  return !there.length && (!next || alike(document, next.dataset.mark).length) ? "" : null;
}

// What is typed and not stored goes into the page that was answered, with what was said to be wrong with it.
function carry(page, form, sent, move) {
  for (const field of controls(main())) {
    const next = page.getElementById(move(field.id));
    if (!next || (field.form === form ? sent.get(field.id) === field.value : !isTyped(field))) continue;
    if (next.tagName === "SELECT") for (const one of next.options) one.toggleAttribute("selected", one.value === field.value);
    else next.setAttribute("value", field.value);
    const [figure, now] = [field.closest(".figure.bad"), next.closest(".figure:not(.bad)")];
    if (!figure || !now || field.form === form) continue;
    const fault = figure.querySelector(".fault").cloneNode(true);
    fault.id = `fault-${now.id || next.id}`;
    now.classList.add("bad");
    now.querySelector("input").before(fault);
    if (!field.hasAttribute("aria-invalid")) continue;
    next.setAttribute("aria-invalid", "true");
    next.setAttribute("aria-describedby", `${fault.id} ${next.getAttribute("aria-describedby") || ""}`);
  }
}

// Where one is after an answer: at what is wrong, at what came, or at what one was at. Who types stays there.
function placeAfter(at, came) {
  if (!came && byId(at) && byId(at).matches("input, select, textarea")) return byId(at);
  const wrong = document.querySelector("main [aria-invalid][autofocus]") || byId("wrong");
  return wrong || (came && byId(came).querySelector("input:not([type=hidden])")) || byId(at);
}

function put(page, form, what, sent, isAgain) {
  const hasShifted = form.dataset.shifts !== undefined && !page.getElementById("wrong");
  const move = (id) => marked(id, page) ?? (hasShifted ? placed(id, form, what) : id);
  const at = move(document.activeElement.id);
  const top = scrollY;
  carry(page, form, sent, move);
  const was = Array.from(document.querySelectorAll("details[id]"), (one) => [move(one.id), one.open]);
  const told = Array.from(page.querySelectorAll("details.fold[open]"), (one) => one.id);
  const folds = Array.from(page.querySelectorAll("details.fold"), (one) => one.id);
  const added = form.dataset.adds === undefined ? "" : folds.find((id) => !byId(id));
  const came = hasShifted && what !== "up" && what !== "down" ? told[0] : added;
  liken(main(), page.querySelector("main"));
  document.title = page.title;
  for (const [id, isOpen] of was) {
    const one = byId(id);
    if (one) one.open = isOpen || (told.includes(id) && hasShifted) || one.querySelector("[aria-invalid]") !== null;
  }
  if (came) byId(came).open = true;
  for (const field of controls(main())) if (field.value !== written(field)) field.value = written(field);
  scrollTo(0, top);
  const place = isAgain ? byId(at) : placeAfter(at, came);
  if (place && place !== document.activeElement) place.focus({ preventScroll: place.id === at && !hasShifted });
  if (!isAgain) uncover();
}

// What is wrong is not left under the line that counts it, as far as where one is stays in sight.
function uncover() {
  const [line, wrong] = [byId("wrong"), document.querySelector("main [aria-invalid][autofocus]")];
  if (!line || !wrong) return;
  const hidden = line.getBoundingClientRect().bottom - wrong.closest(".figure").getBoundingClientRect().top;
  const at = document.activeElement === document.body ? wrong : document.activeElement;
  if (hidden > 0 && at.getBoundingClientRect().bottom + hidden < innerHeight) scrollBy(0, -hidden);
}

// A figure that could not be sent, because the server was away, goes with the next one that can.
function left(form) {
  const isLeft = (field) => field !== document.activeElement && !field.closest(".bad") && isTyped(field);
  return Array.from(document.querySelectorAll("form[data-live]")).find((one) => one !== form && controls(one).some(isLeft));
}

// Forms with a figure that was refused: it may have been for one that stands in another form and was put right since.
// One in which somebody types is sent when that is left.
function refused(form) {
  const isRefused = (field) => field.closest(".bad") && isTyped(field);
  const isTypedIn = (one) => one.contains(document.activeElement) && isTyped(document.activeElement);
  const others = Array.from(document.querySelectorAll("form[data-live]")).filter((one) => one !== form && !isTypedIn(one));
  return others.filter((one) => controls(one).some(isRefused));
}

// Whether something was typed here that is neither stored nor on its way.
function isWaiting() {
  const forms = Array.from(document.querySelectorAll("form[data-live], form[data-sketch]"));
  const isOwn = (field) => touched.has(field) && isTyped(field);
  return forms.some((one) => one !== sending && !waiting.has(one.id) && controls(one).some(isOwn));
}

async function send(form, button) {
  if (sending) {
    // What was pressed takes along what would only be sketched.
    const pressed = button instanceof Element ? button.id : button || "";
    if (button !== SKETCH || !waiting.has(form.id)) waiting.set(form.id, pressed);
    return;
  }
  sending = form;
  form.setAttribute("aria-busy", "true");
  const slow = setTimeout(say, SLOW_MS, "slow");
  if (form.elements.sequence) form.elements.sequence.value = ++sequence;
  const fields = new FormData(form, button instanceof Element ? button : null);
  if (button === SKETCH) fields.set("do", SKETCH);
  if (button === AGAIN) fields.set(AGAIN, "1");
  const sent = new Map(controls(form).map((field) => [field.id, field.value]));
  let page = null;
  let isStored = false;
  try {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(fields), signal: AbortSignal.timeout(LONGEST_MS) });
    if (!IN_PLACE.includes(answer.status)) say(faultOf(answer));
    else if (answer.redirected && new URL(answer.url).pathname !== location.pathname) {
      isLeaving = true;
      location.assign(answer.url);
      return; // the next page begins anew
    } else page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (page && !page.querySelector("main.edit")) {
      page = null; // what it is about is there no more, and so is no page to put in its place
      say("gone");
    }
    isStored = answer.ok;
  } catch {
    say("away");
  }
  clearTimeout(slow);
  await lifted;
  form.removeAttribute("aria-busy");
  sending = null;
  // Pressed once more before it was refused: that was not meant for what stands there now.
  const isSame = controls(form).every((field) => sent.get(field.id) === field.value);
  if (!isStored && waiting.get(form.id) && isSame) waiting.delete(form.id);
  if (page) put(page, form, fields.get("what"), sent, button === AGAIN);
  if (isStored) for (const one of refused(form)) if (!waiting.has(one.id)) waiting.set(one.id, AGAIN);
  const [[id, pressed] = []] = waiting;
  waiting.delete(id);
  if (!page) waiting.clear();
  else if (byId(id)) send(byId(id), pressed === SKETCH || pressed === AGAIN ? pressed : byId(pressed));
  else if (isStored && left(form)) send(left(form));
}

let seeking = 0; // how manieth look into the library

async function seek(form) {
  const mine = ++seeking;
  const address = new URL(form.action);
  address.search = new URLSearchParams(new FormData(form));
  try {
    const answer = await fetch(address, { signal: AbortSignal.timeout(LONGEST_MS) });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (mine !== seeking || !answer.ok) return;
    liken(byId("found"), page.getElementById("found"));
    history.replaceState(null, "", address);
  } catch {
    say("away");
  }
}

let soon = 0; // what is about to be sketched or looked for

document.addEventListener("submit", (event) => {
  if (event.target.method !== "post" || event.target.enctype === "multipart/form-data") return;
  event.preventDefault();
  clearTimeout(soon);
  send(event.target, event.submitter);
});

// A new line of a list that is only begun: it is sent when it is left, not between its figures.
function isBegun(line) {
  const cells = line ? controls(line) : [];
  return cells.some((one) => !one.value.trim()) && cells.every((one) => !written(one)) && cells.some((one) => one.value.trim());
}

document.addEventListener("change", ({ target }) => {
  if (target.form && target.form.dataset.live !== undefined && !isBegun(target.closest(".points tr"))) send(target.form);
});

document.addEventListener("focusout", ({ target, relatedTarget }) => {
  const line = target.closest(".points tr");
  if (isBegun(line) && !line.contains(relatedTarget) && target.form.dataset.live !== undefined) send(target.form);
});

document.addEventListener("input", ({ target }) => {
  const { form } = target;
  if (!form) return;
  touched.add(target);
  clearTimeout(soon);
  if (form.dataset.seek !== undefined) soon = setTimeout(seek, SEEK_MS, form);
  if (form.dataset.sketch !== undefined) soon = setTimeout(send, SKETCH_MS, form, SKETCH);
});

addEventListener("pointerdown", () => {
  lifted = new Promise((done) => {
    for (const kind of ["pointerup", "pointercancel"]) addEventListener(kind, () => setTimeout(done), { once: true });
  });
});

// Nothing that waits in its field goes unsaid with the page.
addEventListener("beforeunload", (event) => {
  if (!isLeaving && isWaiting()) event.preventDefault();
});

// A page that is come back to may send again.
addEventListener("pageshow", () => {
  sending = null;
  isLeaving = false;
});
