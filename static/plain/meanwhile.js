// What others change is told in one quiet line on every page of a household; what stands there, and what is typed, stays
// until it is asked for.
const BUSY_MS = 200;
const OWN = "main :is([aria-busy=true], .htmx-request)"; // what one does oneself is shown by its answer
const meanwhile = () => document.getElementById("meanwhile");
const plan = location.pathname.split("/").slice(0, 4).join("/");

async function listen() {
  if (document.hidden || !(await untilNews(`${plan}/wait`))) return; // being looked at again begins it anew
  while (document.querySelector(OWN)) await new Promise((done) => setTimeout(done, BUSY_MS));
  const [revision] = pulse.split("-");
  const { revision: shown, told } = meanwhile().dataset;
  if (Number(revision) > Number(shown) && told !== revision) await tell(shown, revision);
  listen();
}

async function tell(shown, revision) {
  const asked = fetch(`${plan}/news?since=${shown}`, { signal: AbortSignal.timeout(LATE_MS) });
  const words = await asked.then((answer) => (answer.ok ? answer.text() : "")).catch(() => "");
  const line = meanwhile();
  if (!words || line.dataset.revision !== shown) return; // it is asked again, or the page has been loaded again
  const [text, again] = [document.createElement("span"), document.createElement("button")];
  text.textContent = words;
  Object.assign(again, { type: "button", className: "go", textContent: "Load again" });
  again.addEventListener("click", loadAgain);
  line.replaceChildren(text, again);
  line.dataset.told = revision;
}

// By the page's own form, where what it shows is said by one; by its own script, where that keeps what is typed.
function loadAgain() {
  const { form, press } = meanwhile().dataset;
  const own = document.getElementById(form);
  if (own) own.requestSubmit(document.getElementById(press));
  else if (document.dispatchEvent(new Event("loadagain", { cancelable: true }))) location.reload();
}

document.addEventListener("visibilitychange", () => document.hidden || listen());
listen();
