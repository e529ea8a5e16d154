// Shared by the parts of the day page's script, which are served as one and see one another.
const byId = (id) => document.getElementById(id);

// This open page, by a name of its own; the server tells two phones apart by it.
const tab = Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");

// What is wrong with the server, the first of these in one line. That a command was not stored does not become untrue
// when the page's next look is answered, so it stays until a command is answered, or until somebody closes it.
const wrong = { slow: "", command: "", late: "", quiet: "", figure: "" };
const CLOSED_BY_HAND = ["command", "late"];

// what: which of them. words: a name under which they stand in the page, or the words themselves; none to take it back.
function say(what, words = "") {
  wrong[what] = byId("net").dataset[words] ?? words;
  const said = Object.keys(wrong).find((one) => wrong[one]);
  if (said && words !== "ended") lookSoon(EVERY_MS); // what is wrong may soon be right again
  const net = byId("net");
  if (net.hidden === !said && net.firstChild?.data === wrong[said]) return;
  net.hidden = !said;
  net.textContent = said ? wrong[said] : "";
  if (!CLOSED_BY_HAND.includes(said)) return;
  const close = document.createElement("button");
  close.type = "button";
  close.className = "go";
  close.textContent = "Close";
  close.addEventListener("click", () => say(said));
  net.append(" ", close);
}

// What was answered by the application itself, be it a refusal in words.
const inWords = (status) => (status >= 200 && status < 400) || [409, 410, 422].includes(status);

// Key of the run whose adjust row is open, or nothing.
function openRun() {
  const adjust = document.querySelector(".adjust");
  return adjust ? adjust.id.slice("adjust-".length) : "";
}
