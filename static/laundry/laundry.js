// The page sends and swaps by its attributes; this only says what cannot be seen otherwise.
const net = () => document.getElementById("net");
function say(kind) {
  net().textContent = net().dataset[kind];
  net().hidden = false;
}
document.addEventListener("htmx:sendError", () => say("away"));
document.addEventListener("htmx:timeout", () => say("away"));
document.addEventListener("htmx:responseError", (event) => say(event.detail.xhr.status === 403 ? "refused" : "failed"));
document.addEventListener("htmx:afterOnLoad", (event) => (net().hidden = event.detail.successful));
// What was refused comes into sight, and a day that was asked for too.
document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target.id !== "laundry") return;
  const wrong = document.querySelector("#wrong, [aria-invalid=true]");
  const asked = event.detail.requestConfig.triggeringEvent?.submitter?.name;
  if (wrong) wrong.scrollIntoView({ block: "center" });
  else if (asked === "find") document.getElementById("found")?.scrollIntoView();
});
// The room left is what is ticked: how many, said on the button as it changes.
document.addEventListener("change", (event) => {
  const form = event.target.closest("form.take");
  if (!form) return;
  const boxes = Array.from(form.querySelectorAll("[name=tick]"));
  form.classList.toggle("some", boxes.some((one) => !one.checked));
});
