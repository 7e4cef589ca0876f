// A picture drawn again: where its elements are those of before, only what differs in them is set.
const ATTRIBUTE = /([\w:-]+)="([^"]*)"/g;

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
    const [tag, text] = part.split(">"), [tagBefore, textBefore] = before[k].split(">");
    const own = [...tag.matchAll(ATTRIBUTE)], was = [...tagBefore.matchAll(ATTRIBUTE)];
    if (tag.split(" ", 1)[0] !== tagBefore.split(" ", 1)[0] || own.length !== was.length || own.some((one, n) => one[1] !== was[n][1])) return false;
    moved.push([place.elements[element], own.filter((one, n) => one[2] !== was[n][2]), text === textBefore ? null : text]);
  }
  for (const [element, attributes, text] of moved) {
    for (const [, name, value] of attributes) element.setAttribute(name, value);
    if (text === null) continue;
    const node = element.firstChild;
    if (node && node.nodeType === 3) node.data = text; else element.prepend(text);
  }
  return true;
}
