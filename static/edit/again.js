// What others changed is put in place as an answer is: what is typed and not stored stays, and so does the place one is at.
document.addEventListener("loadagain", async (event) => {
  event.preventDefault();
  const answer = await fetch(location, { signal: AbortSignal.timeout(LONGEST_MS) }).catch(() => null);
  if (!answer) {
    say("away");
    return;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (!IN_PLACE.includes(answer.status) || !page.querySelector("main.edit")) {
    say(faultOf(answer));
    return;
  }
  const top = scrollY;
  carry(page, null, new Map(), (id) => marked(id, page) ?? id);
  liken(main(), page.querySelector("main"));
  for (const field of controls(main())) if (field.value !== written(field)) field.value = written(field);
  scrollTo(0, top);
});
