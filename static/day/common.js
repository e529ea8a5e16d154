// Shared by the parts of the day page's script, which are served as one and see one another.
const byId = (id) => document.getElementById(id);

// This open page, by a name of its own; the server tells two phones apart by it.
const tab = Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");

// The one line that says what is wrong with the server; its words stand in the page.
function say(kind) {
  sayWords(byId("net").dataset[kind]);
}

function sayWords(words) {
  const net = byId("net");
  if (!net.hidden && net.textContent === words) return;
  net.textContent = words;
  net.hidden = false;
}

function unsay() {
  byId("net").hidden = true;
}

// What was answered by the application itself, be it a refusal in words.
const inWords = (status) => (status >= 200 && status < 400) || [409, 410, 422].includes(status);

// Key of the run whose adjust row is open, or nothing.
function openRun() {
  const adjust = document.querySelector(".adjust");
  return adjust ? adjust.id.slice("adjust-".length) : "";
}
