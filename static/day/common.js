// Shared by the parts of the day page's script, which are served as one and see one another.
const byId = (id) => document.getElementById(id);

// This open page, by a name of its own; the server tells two phones apart by it.
const tab = Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");

// The one line that says what went wrong; its words stand in the page.
function say(kind) {
  const net = byId("net");
  net.textContent = net.dataset[kind];
  net.hidden = false;
}
