// A picture drawn again: where its elements are those of before, only what differs in them is set.
function repaint(place, svg) {
  const before = place.parts, parts = svg.split("<");
  place.parts = parts;
  if (!before || !patched(place, before, parts)) {
    place.box.innerHTML = svg;
    place.elements = [...place.box.querySelectorAll("*")];
  }
}

/** A picture that stands as it would be drawn is known by its parts before it is drawn for the first time. */
function known(place, svg) {
  const trial = document.createElement("div");
  if (place.parts || !svg) return;
  trial.innerHTML = svg;
  if (trial.innerHTML !== place.box.innerHTML) return;
  place.parts = svg.split("<");
  place.elements = [...place.box.querySelectorAll("*")];
}

function patched(place, before, parts) {
  if (before.length !== parts.length) return false;
  const moved = [];
  for (let k = 1, element = -1; k < parts.length; k++) {
    const part = parts[k], closes = part[0] === "/";
    if (!closes) element++;
    if (part === before[k]) continue;
    // text with an entity in it, text behind an element and another element are left to the browser's own reader
    if (closes || part.includes("&")) return false;
    const end = part.indexOf(">"), endBefore = before[k].indexOf(">");
    // between the quotes the values stand, before them the names
    const own = part.slice(0, end).split('"'), was = before[k].slice(0, endBefore).split('"');
    if (own.length % 2 === 0 || own.length !== was.length || own.some((one, n) => n % 2 === 0 && one !== was[n])) return false;
    const text = part.slice(end + 1);
    moved.push({ element: place.elements[element], own, was, text: text === before[k].slice(endBefore + 1) ? null : text });
  }
  for (const { element, own, was, text } of moved) {
    for (let n = 1; n < own.length; n += 2) {
      if (own[n] !== was[n]) element.setAttribute(own[n - 1].slice(own[n - 1].lastIndexOf(" ") + 1, -1), own[n]);
    }
    if (text === null) continue;
    const node = element.firstChild;
    if (node && node.nodeType === 3) node.data = text; else element.prepend(text);
  }
  return true;
}
