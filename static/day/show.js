// Putting an answer's parts in their places. Each part is one element with an id; what is the same stays as it is, which
// keeps the focus, spares the screen reader, and is quick.
function show(html) {
  const box = document.createElement("template");
  box.innerHTML = html;
  neutral(box.content);
  const place = whereOneIs();
  for (const part of Array.from(box.content.children)) {
    const old = byId(part.id);
    if (!old) continue;
    const how = part.getAttribute("hx-swap-oob");
    part.removeAttribute("hx-swap-oob");
    if (part.id === "day-rows") showRows(old, part);
    else if (how === "innerHTML") showInside(old, part);
    else replace(old, part);
  }
  document.title = byId("day-steps").dataset.title || document.title;
  restoreTyped();
  repaintMoves();
  goBackTo(place);
  htmx.trigger(document.body, "htmx:afterSettle", {});
}

// The list itself stays, so that answers still to come find it.
function showRows(list, fresh) {
  const order = (one) => Array.from(one.children, (row) => row.id).join();
  if (order(list) === order(fresh)) {
    for (const row of Array.from(fresh.children)) replace(byId(row.id), row);
    return;
  }
  list.replaceChildren(...fresh.children);
  htmx.process(list);
}

// What is read aloud when it changes has to be there before.
function showInside(old, fresh) {
  if (old.innerHTML === fresh.innerHTML) return;
  old.replaceChildren(...fresh.childNodes);
  htmx.process(old);
}

function replace(old, fresh) {
  if (old.isEqualNode(fresh)) return;
  const unfolded = Array.from(old.querySelectorAll("details[open][id]"), (one) => one.id);
  for (const kept of fresh.querySelectorAll("[hx-preserve]")) if (byId(kept.id)) kept.replaceWith(byId(kept.id));
  old.replaceWith(fresh);
  htmx.process(fresh);
  for (const id of unfolded) if (byId(id)) byId(id).open = true;
}

// The script says itself on which state a command was made and by which page, so that rows differ by what they show.
function neutral(root) {
  for (const field of root.querySelectorAll("input[name=revision], input[name=tab]")) field.setAttribute("value", "0");
}
neutral(document);

// What is typed and not yet stored, by the field's id.
const typed = new Map();
document.addEventListener("input", ({ target }) => {
  if (target.id && target.form && target.form.method === "post") typed.set(target.id, target.value);
});

function forgetSent({ elt, path, formData }) {
  const key = subjectOf(path).split("/").pop();
  typed.delete({ start: `time-${key}`, duration_s: `length-${key}` }[formData.get("field")]);
  for (const field of elt.querySelectorAll("input[id], select[id]"))
    if (formData.getAll(field.name).includes(typed.get(field.id))) typed.delete(field.id);
}

function restoreTyped() {
  for (const [id, value] of typed) {
    const field = byId(id);
    if (!field) typed.delete(id);
    else if (field.value !== value) field.value = value;
  }
}

// The focus stays in the same field at the same sign, or on the same run; where that is gone, on what is next to it.
function whereOneIs() {
  const field = document.activeElement;
  const row = field.closest(".row");
  const hasCursor = field.matches("input:not([type=date])") && field.selectionStart !== null;
  const cursor = hasCursor ? [field.selectionStart, field.selectionEnd] : null;
  return { field, row: row && row.id, cursor };
}

function goBackTo({ field, row, cursor }) {
  const wanted = document.querySelector("[autofocus]");
  if (wanted) {
    wanted.removeAttribute("autofocus");
    wanted.focus();
    return;
  }
  if (document.activeElement === field || field === document.body) return;
  const near = byId(field.id) || (row && document.querySelector(`#${row} .run`));
  const other = near || (row && (byId("undo") || document.querySelector("#day-add summary")));
  if (!other) return;
  other.focus({ preventScroll: true });
  if (cursor && other.id === field.id) other.setSelectionRange(...cursor);
}
