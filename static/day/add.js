// The sheet of appliances: filtered while one types, and opened at the one a row's plus names.
document.addEventListener("input", ({ target }) => {
  if (target.id === "find-appliance") filter(target.value);
});
document.addEventListener("submit", (event) => {
  if (event.target.matches(".find")) event.preventDefault();
});

// The sheet follows every change of the plan; what is looked for stays.
document.addEventListener("htmx:afterSettle", () => {
  if (byId("find-appliance")) filter(byId("find-appliance").value);
});

function filter(words) {
  const wanted = words.trim().toLowerCase();
  let found = 0;
  for (const item of document.querySelectorAll("#day-add li")) {
    // What was refused stays in sight, whatever is looked for.
    item.hidden = !item.dataset.name.toLowerCase().includes(wanted) && !item.querySelector(".fault");
    if (!item.hidden) found += 1;
  }
  byId("none-found").hidden = found > 0;
}

let wantedItem = null;
document.addEventListener("click", (event) => {
  if (event.target.id !== "add-first") return;
  event.preventDefault();
  byId("day-add").open = true;
  byId("day-add").scrollIntoView();
  byId("day-add").querySelector("summary").focus({ preventScroll: true });
});
document.addEventListener("click", (event) => {
  const plus = event.target.closest && event.target.closest(".plus");
  if (!plus) return;
  event.preventDefault();
  wantedItem = plus.dataset.item;
  if (!showWanted()) byId("day-add").open = true;
});
document.addEventListener("htmx:afterSettle", showWanted);

function showWanted() {
  const item = wantedItem && byId(wantedItem);
  if (!item) return false;
  wantedItem = null;
  byId("day-add").open = true;
  byId("find-appliance").value = "";
  typed.delete("find-appliance");
  filter("");
  item.scrollIntoView({ block: "center" });
  item.querySelector("input[name=start]").focus({ preventScroll: true });
  return true;
}
