// All at once, taking in the page would keep it from being painted and tapped for a while on a slow phone. So the library
// finds nothing in it when it is ready, and is given one part after another then. What is tapped before is sent as
// without a script.
document.body.querySelectorAll = () => [];
// It also reads every attribute of every element for scripts in the markup, of which this page has none.
XPathExpression.prototype.evaluate = () => ({ iterateNext: () => null });
document.addEventListener("DOMContentLoaded", () => {
  delete document.body.querySelectorAll;
  for (const { id } of document.querySelectorAll("main [id^='day-']")) setTimeout(takeIn, 0, id);
});

// What was unfolded before is fetched now.
function takeIn(id) {
  htmx.process(byId(id));
  for (const link of byId(id).querySelectorAll(".unfold[hx-get]")) if (link.closest("details")?.open) link.click();
}
