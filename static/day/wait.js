// Waiting for news: the server keeps the question open until there is something new, or for a while. Where it gives no
// answer the page looks by itself in a moment, so that a server that is back, or a phone that wakes, is up to date soon.
const AGAIN_MS = 2000;
const ENDED_MS = 60000; // after which a link that has ended is tried again
const LONGEST_WAIT_S = 15;
const LATE_MS = 5000;
let pulse = ""; // the state of the household, in a word of the server's; asked for before a look, so that none is missed
let isOver = false; // the link has ended
let waitsFor = null; // the question that is open

// Whether there may be something new by now; not where another question took the place of this one.
async function untilNews(address, seconds = LONGEST_WAIT_S) {
  waitsFor?.abort();
  const own = (waitsFor = new AbortController());
  const late = setTimeout(() => own.abort(), seconds * 1000 + LATE_MS);
  let pause = 0;
  try {
    const answer = await fetch(`${address}?${new URLSearchParams({ pulse, seconds })}`, { signal: own.signal });
    pulse = answer.headers.get("Loadstead-Pulse") ?? "";
    const wasOver = isOver;
    isOver = hasEnded(answer.headers.get("Loadstead-Refused"));
    // The first time the page looks at once, and says it.
    if (isOver) pause = wasOver ? ENDED_MS : 0;
    else if (answer.status !== 204) pause = AGAIN_MS;
  } catch {
    pause = AGAIN_MS;
  }
  clearTimeout(late);
  if (pause) await new Promise((done) => setTimeout(done, pause));
  return own === waitsFor;
}

document.addEventListener("visibilitychange", () => document.hidden && waitsFor?.abort());
