// A new household is taken for one where this browser's clock is; it says so beside the fold, and can be changed in it.
function fillZone() {
  const field = document.querySelector("input[data-zone]");
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if (!field || !zone) return;
  delete field.dataset.zone;
  const [place, said] = [document.getElementById("place"), document.getElementById("zone-said")];
  field.value = zone;
  field.defaultValue = zone;
  document.getElementById("help-new-timezone").textContent = field.dataset.help;
  said.textContent = `: ${zone}, by this browser\u2019s clock`;
  place.open = false;
  field.addEventListener("input", () => (said.textContent = ""), { once: true });
}
new MutationObserver(fillZone).observe(document.body, { childList: true });
fillZone();
