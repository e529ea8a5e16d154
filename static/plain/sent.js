// Forms of the plain pages: sent from where one is, so that what is typed stays when the server is away, slow or failing.
const SLOW_MS = 1000;
const LONGEST_MS = 30000;
const IN_PLACE = [409, 413, 422]; // a refusal in words, with everything that was typed
let sending = false;

const net = () => document.getElementById("net");

function say(kind) {
  net().textContent = net().dataset[kind];
  net().hidden = false;
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  event.preventDefault();
  if (sending) return;
  sending = true;
  const slow = setTimeout(say, SLOW_MS, "slow");
  const fields = new FormData(form, event.submitter);
  try {
    const answer = await fetch(form.action, {
      method: "POST",
      body: form.enctype === "multipart/form-data" ? fields : new URLSearchParams(fields),
      headers: { "HX-Request": "true" },
      signal: AbortSignal.timeout(LONGEST_MS),
    });
    await show(answer);
  } catch {
    say("away");
  } finally {
    clearTimeout(slow);
    sending = false;
  }
});

async function show(answer) {
  const elsewhere = answer.headers.get("HX-Redirect");
  if (elsewhere) {
    const isHere = elsewhere.split("#")[0] === location.pathname + location.search;
    location.assign(elsewhere);
    if (isHere) location.reload();
  } else if (answer.ok || IN_PLACE.includes(answer.status)) {
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    document.title = page.title;
    document.querySelector("main").replaceWith(page.querySelector("main"));
    scrollTo(0, 0);
    const wrong = document.querySelector("[autofocus]") || document.querySelector(".faults");
    if (!wrong) return;
    if (wrong.matches("[autofocus]")) wrong.focus();
    wrong.scrollIntoView({ block: "center" });
  } else say(faultOf(answer));
}
