// The page sends and swaps by its attributes; this only says what cannot be seen otherwise, and keeps what is typed.
const net = () => document.getElementById("net");
function say(kind) {
  net().textContent = net().dataset[kind];
  net().hidden = false;
}
document.addEventListener("htmx:sendError", () => say("away"));
document.addEventListener("htmx:timeout", () => say("away"));
document.addEventListener("htmx:responseError", (event) => say(event.detail.xhr.status === 403 ? "refused" : "failed"));
document.addEventListener("htmx:afterOnLoad", (event) => (net().hidden = event.detail.successful));
// What was typed or unfolded while an answer was on its way stays.
let sent = {};
let kept = { typed: new Map(), open: new Map() };
const fields = () => Array.from(document.querySelectorAll("#choices input:not([type=hidden]), #choices select"));
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.elt.id === "choices") sent = Object.fromEntries(fields().map((one) => [one.id, one.value]));
});
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.target.id !== "workshop") return;
  const asked = event.detail.requestConfig.elt.id === "choices";
  kept = {
    typed: new Map(asked ? fields().filter((one) => sent[one.id] !== one.value).map((one) => [one.name, one.value]) : []),
    open: new Map(Array.from(document.querySelectorAll("#workshop details")).map((one) => [one.id, one.open])),
  };
});
document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target.id !== "workshop") return;
  const config = event.detail.requestConfig;
  const button = config.triggeringEvent?.submitter;
  for (const one of document.querySelectorAll("#workshop details")) {
    if (button?.name === "add" && one.id.startsWith("picking")) continue;
    if (kept.open.get(one.id) && !one.open) one.open = true;
  }
  let changed = null;
  for (const one of fields()) {
    if (!kept.typed.has(one.name)) continue;
    one.value = kept.typed.get(one.name);
    if (one !== document.activeElement) changed = one;
    // A value that a script put back is none that somebody typed: leaving the field would say nothing of it.
    else one.addEventListener("blur", () => one.dispatchEvent(new Event("change", { bubbles: true })), { once: true });
  }
  if (changed) changed.dispatchEvent(new Event("change", { bubbles: true }));
  const wrong = document.querySelector("#wrong, [aria-invalid=true]");
  if (button && wrong) wrong.scrollIntoView({ block: "center" });
  else if (button?.id === "work-out") document.getElementById("look")?.scrollIntoView();
});
