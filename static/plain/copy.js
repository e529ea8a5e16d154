// What is to be copied, by one tap: with the browser's own means, or where a page in the home network may not use them,
// as if it had been selected by hand. Without either it can be selected by hand.
const mayCopy = () => Boolean(navigator.clipboard) || document.queryCommandSupported?.("copy");
function showCopying() {
  for (const button of document.querySelectorAll("[data-copy]")) button.hidden = !mayCopy();
}
new MutationObserver(showCopying).observe(document.body, { childList: true });
showCopying();

document.addEventListener("click", async ({ target }) => {
  const button = target.closest("[data-copy]");
  if (!button) return;
  const field = document.getElementById(button.dataset.copy);
  field.select();
  const said = button.textContent;
  try {
    if (navigator.clipboard) await navigator.clipboard.writeText(field.value);
    else if (!document.execCommand("copy")) return;
  } catch {
    return; // it stays selected, to be copied by hand
  }
  button.textContent = button.dataset.done;
  setTimeout(() => (button.textContent = said), 2000);
});
