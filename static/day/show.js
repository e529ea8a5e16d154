// Putting an answer's parts in their places. Each part is one element with an id; what is the same stays as it is, which
// keeps the focus, spares the screen reader, and is quick.
function show(html, isRefused = false) {
  putUnseen();
  const parts = partsOf(html).filter(([id]) => byId(id));
  unseen = isRefused || document.hidden ? [] : parts.filter(([id]) => isOutOfSight(id));
  putInPlace(parts.filter((part) => !unseen.includes(part)));
  if (unseen.length) requestAnimationFrame(() => setTimeout(putUnseen));
}

// [id, html] of each part; nothing inside one has such an id.
function partsOf(html) {
  const begins = Array.from(html.matchAll(/<\w+ id="(day-\w+)"/g));
  return begins.map(({ 1: id, index }, number) => [id, html.slice(index, begins[number + 1]?.index)]);
}

// Parts that nobody sees wait until those in sight are painted, so that these change at once, and all in one frame.
let unseen = [];
function putUnseen() {
  if (unseen.length) putInPlace(unseen.splice(0));
}

// The line over the chart tells what the panel does; the verdict, and what was done last, stand at the screen's edge.
function isOutOfSight(id) {
  if (["day-rows", "day-steps", "day-verdict"].includes(id) || (id === "day-moment" && !byId("cursor").hidden)) return false;
  const { top, bottom } = byId(id).getBoundingClientRect();
  return bottom <= 0 || top >= innerHeight;
}

const put = new Map(); // id -> what was put there last
function putInPlace(parts) {
  const place = whereOneIs();
  const told = typedForRuns();
  for (const [id, html] of parts) {
    if (put.get(id) === html && id !== "day-rows") continue; // rows also show what is not stored yet
    put.set(id, html);
    const box = document.createElement("template");
    box.innerHTML = html;
    neutral(box.content);
    const part = box.content.firstElementChild;
    const how = part.getAttribute("hx-swap-oob");
    part.removeAttribute("hx-swap-oob");
    if (id === "day-steps") keepNews(byId(id), part);
    if (id === "day-rows") showRows(byId(id), part);
    else if (how === "innerHTML") showInside(byId(id), part);
    else replace(byId(id), part);
  }
  document.title = byId("day-steps").dataset.title || document.title;
  restoreTyped();
  tellLost(told);
  repaintMoves();
  goBackTo(place);
  htmx.trigger(document.body, "htmx:afterSettle", {});
}

// The list itself stays, so that answers still to come find it. A row that comes empty is one the page said it has.
function showRows(list, fresh) {
  const order = (one) => Array.from(one.children, (row) => row.id).join();
  const isLeftOut = (row) => !row.firstElementChild;
  const isHere = (row) => byId(row.id)?.dataset.state === row.dataset.state;
  const rows = Array.from(fresh.children);
  if (rows.some((row) => isLeftOut(row) && !isHere(row))) askRows();
  if (order(list) === order(fresh)) {
    for (const row of rows) if (!isLeftOut(row)) replace(byId(row.id), row);
  } else {
    list.replaceChildren(...rows.map((row) => (isLeftOut(row) && byId(row.id)) || row));
    htmx.process(list);
  }
  const { band } = fresh.dataset;
  if (list.dataset.band === band) return;
  list.dataset.band = band;
  for (const one of list.querySelectorAll(".band")) {
    one.className = `band ${band}`;
    one.hidden = !band;
  }
}

// What another did is not taken from under one's eyes by what one does oneself right after it.
const TOLD_MS = 6000;
let toldOfOthers = -Infinity;
function keepNews(old, fresh) {
  const [was, is] = [old, fresh].map((steps) => steps.querySelector(".news"));
  if (is.textContent.trim() || !was.textContent.trim() || Date.now() - toldOfOthers > TOLD_MS) return;
  is.replaceChildren(...Array.from(was.childNodes, (node) => node.cloneNode(true)));
  fresh.classList.add("told");
}

// What is read aloud when it changes has to be there before.
function showInside(old, fresh) {
  if (old.innerHTML === fresh.innerHTML) return;
  old.replaceChildren(...fresh.childNodes);
  htmx.process(old);
}

// What is alike is changed in place, so that only what differs is laid out and painted anew.
const WHOLE = "form, input, select, button, details, [hx-get], [hx-post], [hx-preserve]";
function replace(old, fresh) {
  if (old.isEqualNode(fresh)) return;
  const [before, after] = [Array.from(old.childNodes), Array.from(fresh.childNodes)];
  const isAlike = old.nodeName === fresh.nodeName && old.id === fresh.id && before.length === after.length;
  if (!isAlike || old.matches(WHOLE) || fresh.matches(WHOLE)) {
    exchange(old, fresh);
    return;
  }
  for (const { name, value } of fresh.attributes) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  for (const name of old.getAttributeNames()) if (!fresh.hasAttribute(name)) old.removeAttribute(name);
  for (const [place, node] of before.entries()) {
    const other = after[place];
    if (node.nodeType === Node.ELEMENT_NODE && other.nodeType === Node.ELEMENT_NODE) replace(node, other);
    else if (!node.isEqualNode(other)) node.replaceWith(other);
  }
}

function exchange(old, fresh) {
  const unfolded = Array.from(old.querySelectorAll("details[open][id]"), (one) => one.id);
  if (old.matches("details[open][id]")) unfolded.push(old.id);
  for (const kept of fresh.querySelectorAll("[hx-preserve]")) if (byId(kept.id)) kept.replaceWith(byId(kept.id));
  old.replaceWith(fresh);
  if (fresh.matches(SENDS) || fresh.querySelector(SENDS)) htmx.process(fresh);
  for (const id of unfolded) if (byId(id)) byId(id).open = true;
}
const SENDS = "[hx-get], [hx-post]";

// The script says itself on which state a command was made and by which page, so that rows differ by what they show.
function neutral(root) {
  for (const field of root.querySelectorAll("input[name=revision], input[name=tab]")) field.setAttribute("value", "0");
}
neutral(document);

// It says as well where one looks; the forms of a page that answered one without the script carry that in their address.
for (const name of ["action", "formaction"])
  for (const one of document.querySelectorAll(`[${name}*="?"]`)) one.setAttribute(name, one.getAttribute(name).split("?")[0]);

// What is typed and not yet stored, or looked for, by the field's id.
const CLOCK = "moment-clock"; // the time to be looked at
const typed = new Map();
document.addEventListener("input", ({ target }) => {
  const isKept = target.type === "search" || target.id === CLOCK || target.form?.method === "post";
  if (target.id && isKept) typed.set(target.id, target.value);
});

function forgetSent({ elt, path, formData }) {
  const key = subjectOf(path).split("/").pop();
  if (path.endsWith("/remove")) for (const field of FIELDS_OF_RUN) typed.delete(`${field}-${key}`);
  typed.delete({ start: `time-${key}`, duration_s: `length-${key}` }[formData.get("field")]);
  for (const field of elt.querySelectorAll("input[id], select[id]"))
    if (formData.getAll(field.name).includes(typed.get(field.id))) typed.delete(field.id);
}

function restoreTyped() {
  for (const [id, value] of typed) {
    const field = byId(id);
    if (!field) typed.delete(id);
    else if (field.value !== value) {
      field.value = value;
      if (field.matches("select")) field.form.classList.add("unsent");
    }
  }
}

// A figure of the plan is sent when one leaves it, as a choice is when it is made; not while another window is looked at.
document.addEventListener("focusout", ({ target: { form } }) => {
  if (!form?.matches("[data-figure]")) return;
  setTimeout(() => {
    if (!form.contains(document.activeElement) && Array.from(form.elements).some(isUnsent)) form.requestSubmit();
  });
});

// What is typed and not sent is not left without asking, except where an answer leads elsewhere.
function isUnsent(field) {
  return typed.has(field?.id) && field.form?.method === "post" && field.value !== (field.defaultValue ?? field.value);
}
addEventListener("beforeunload", (event) => {
  if (Array.from(typed.keys(), byId).some(isUnsent)) event.preventDefault();
});
document.addEventListener("htmx:beforeOnLoad", ({ detail: { xhr } }) => {
  if (xhr.getResponseHeader("HX-Redirect")) typed.clear();
});

// What is typed for runs, in words, by the fields' ids.
const FIELDS_OF_RUN = ["time", "length"];
function typedForRuns() {
  const fields = Array.from(typed.keys(), byId).filter((field) => isUnsent(field) && field.closest(".adjust"));
  return fields.map((field) => [field.id, `${field.getAttribute("aria-label")} ${field.value}`]);
}

// A run that somebody else removed takes along what is typed for it.
function tellLost(told) {
  const lost = told.filter(([id]) => !byId(id) && !byId(`run-${id.split("-").pop()}`)).map(([, words]) => words);
  if (lost.length) say("late", `${byId("net").dataset.lost} ${lost.join(", ")}.`);
}

// The focus stays in the same field at the same sign, or on the same run; where that is gone, at what is next to it: the
// next run of the row, or what opens a run of the row beside it, which does no harm to who was about to press a key.
function whereOneIs() {
  const field = document.activeElement;
  const row = field.closest(".row");
  const hasCursor = field.matches("input:not([type=date])") && field.selectionStart !== null;
  const cursor = hasCursor ? [field.selectionStart, field.selectionEnd] : null;
  return { field, rows: row ? [row.id, ...besides(row)] : [], cursor };
}

// The rows after one, then those before it, the nearest first.
function besides(row) {
  const ids = Array.from(row.parentElement.children, (one) => one.id);
  const at = ids.indexOf(row.id);
  return [...ids.slice(at + 1), ...ids.slice(0, at).reverse()];
}

function goBackTo({ field, rows, cursor }) {
  // Two fields of an answer may ask for it: the other must not take it away when the next answer comes. Who went on to
  // another form stays there.
  const wanted = [...document.querySelectorAll("[autofocus]")];
  for (const one of wanted) one.removeAttribute("autofocus");
  const isElsewhere = field.matches("input, select") && field.form?.id !== wanted[0]?.form.id;
  if (wanted.length && !isElsewhere) {
    wanted[0].focus();
    return;
  }
  if (document.activeElement === field || field === document.body) return;
  const same = byId(field.id) || (field.matches(".run") && document.querySelector(`#${rows[0]} button.run`));
  const chips = rows.map((row) => document.querySelector(`#${row} a.chip`));
  const other = same || chips.find(Boolean) || (rows.length && document.querySelector("#day-add summary"));
  if (!other) return;
  other.focus({ preventScroll: true });
  if (!same) other.scrollIntoView({ block: "nearest" });
  if (cursor && other.id === field.id) other.setSelectionRange(...cursor);
}
