// One tree made like another. Every node that can stay does, so that who types goes on typing and no keyboard folds.
function liken(old, fresh) {
  if (old.isEqualNode(fresh)) return;
  for (const { name } of Array.from(old.attributes))
    if (!fresh.hasAttribute(name) && name !== "open") old.removeAttribute(name);
  for (const { name, value } of Array.from(fresh.attributes)) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  const key = (node) => (node.nodeType === Node.ELEMENT_NODE ? `${node.nodeName}#${node.id || node.getAttribute("name") || ""}` : "");
  const there = new Set(Array.from(fresh.children, key));
  for (const child of Array.from(old.children)) if (!there.has(key(child))) child.remove();
  let at = old.firstChild;
  for (const next of Array.from(fresh.childNodes)) {
    if (!key(next)) {
      if (!at || key(at)) old.insertBefore(next, at);
      else {
        if (at.data !== next.data) at.data = next.data;
        at = at.nextSibling;
      }
      continue;
    }
    while (at && !key(at)) at = drop(at);
    if (at && key(at) === key(next)) {
      liken(at, next);
      at = at.nextSibling;
      continue;
    }
    let later = at;
    while (later && key(later) !== key(next)) later = later.nextSibling;
    old.insertBefore(later || next, at);
    if (later) liken(later, next);
  }
  while (at) at = drop(at);
}

function drop(node) {
  const next = node.nextSibling;
  node.remove();
  return next;
}
