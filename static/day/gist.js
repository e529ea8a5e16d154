// Further down the verdict stays in sight as one line, on a desk with the way back beside it: what one changes there shows.
new IntersectionObserver(([{ isIntersecting, boundingClientRect: { top } }]) => {
  document.body.classList.toggle("below", !isIntersecting && top < 0);
}).observe(byId("day-verdict"));
