// The picture of courses, in pages that have one: see pictures.js.
function wrapped(words) {
  const lines = [], long = (text) => [...text].length;
  words.forEach((word, k) => {
    const said = k + 1 < words.length ? `${word},` : word, last = lines.length - 1;
    if (last >= 0 && long(lines[last]) + long(word) < 70) lines[last] += ` ${said}`; else lines.push(said);
  });
  return lines;
}
/** What stands below the picture of each course. */
function below(strips, marks, x, top) {
  for (const strip of strips) {
    marks.push(pathOf(strip.class, `M${at(LEFT)} ${at(top - 5)}h44`), textOf("", LEFT + 54, top, strip.name));
    for (const words of wrapped(strip.said)) { top += 20; marks.push(textOf("", LEFT + 54, top, words)); }
    top += 24;
    let bar = "";
    for (const [from, until, name] of strip.parts) {
      const a = x(from), b = x(until);
      bar += `M${at(b)} ${at(top)}V${at(top + 10)}M${at(a)} ${at(top + 5)}H${at(b)}`;
      if (8 * [...name].length + 8 <= b - a) marks.push(textOf("m", (a + b) / 2, top, name));
    }
    if (bar) { marks.push(pathOf("ax", bar)); top += 34; }
  }
  return top;
}

// a speed between two states with the mean that the way asks: parts at both ends, each a parabola, and what is between
function speedBetween(from, to, mean) {
  const low = Math.min(from, to), high = Math.max(from, to), third = (high - low) / 3;
  const near = 1e-9 * Math.max(Math.abs(low), Math.abs(high));
  const level = low - near <= mean && mean <= high + near ? (mean < low + third - near ? low : mean > high - third + near ? high : null)
    : (mean >= 0 && mean < low) || (mean > high && mean <= 0) ? 0 : null;
  if (level !== null) {
    const a = Math.abs(from - level), b = Math.abs(to - level), part = (Math.abs(mean - level) * 3) / (a - Math.sqrt(a * b) + b), sum = Math.sqrt(a) + Math.sqrt(b);
    if (part < 1) return { long: [(part * Math.sqrt(a)) / sum, (part * Math.sqrt(b)) / sum], corner: [level, level], middle: level };
  }
  const corner = 3 * mean - from - to, both = [(from + corner) / 2, (corner + to) / 2];
  return { long: [0.5, 0.5], corner: both, middle: (both[0] + both[1]) / 2 };
}
function along(states, at, values) {
  const points = [], put = (t, v) => points.push([t / values[0][3], v / values[at][3]]);
  const curved = at < 3 && values.length > 2 && values[2][0] === "w";
  states.forEach((state, k) => {
    const [t1, n1, w1] = state, [t0, n0, w0] = states[k - 1] || [t1];
    if (!k || !curved || t1 - t0 <= 1e-9 * t1) return put(t1, state[at]);
    const { long, corner, middle: m } = speedBetween(n0, n1, (w1 - w0) / (t1 - t0));
    [[t0, 1, n0, w0], [t1, -1, n1, w1]].forEach(([start, way, end, from], half) => {
      const length = way * (t1 - t0) * long[half], c = corner[half];
      for (let step = 0; step <= 10; step++) {
        const u = (half ? 10 - step : step) / 10, rest = 1 - u;
        const value = at === 1 ? rest * rest * end + 2 * u * rest * c + u * u * m
          : from + length * ((end * (1 - rest * rest * rest) + c * (3 - 2 * u) * u * u + m * u * u * u) / 3);
        put(start + length * u, value);
      }
    });
  });
  return points;
}
function drawCourses(r, [list, values]) {
  let k = 0;
  const all = list.map(([, lines]) => {
    const count = lines.length + 1, own = values.map((_, n) => Array.from({ length: count }, (_, j) => r[k + n * count + j]));
    k += count * values.length;
    const states = Array.from({ length: count }, (_, j) => own.map((one) => one[j])), end = states.findIndex((state) => state.includes(undefined));
    return end < 0 ? states : states.slice(0, end);
  });
  const shown = (state, n) => state[n] / values[n][3], say = (state, n) => `${told(shown(state, n))} ${values[n][2]}`;
  const cls = ["c1", "c2", "c3"], drawn = values.map((_, n) => n).filter((n) => n && values[n][0]);
  // the largest further speed, where no curve comes up to it
  const beyond = (high) => all.flatMap((states, j) => {
    const last = states[states.length - 1];
    return last ? values.flatMap(([part, word], n) => (part ? [] : [[shown(last, n), `${word} of ${list[j][0]}: ${say(last, n)}`]])) : [];
  }).filter(([v]) => v > high * 1.001).reduce((most, one) => (most.length && most[0][0] > one[0] ? most : [one]), []);
  const panels = drawn.map((n) => {
    const curves = all.map((states, j) => ({ class: cls[j], points: along(states, n, values), name: "" })).filter((c) => c.points.length);
    const up = curves.flatMap((c) => c.points.map((point) => point[1]));
    const high = Math.max(0, ...up), level = n === 1 ? beyond(high) : [];
    return { up: values[n][1], height: n === 1 ? 190 : 150, span: [Math.min(0, ...up), level.length ? level[0][0] : high], levels: level, curves, dots: all.flatMap((states) => states.slice(1).map((state) => [shown(state, 0), shown(state, n)])) };
  });
  const strips = list.map(([name, lines], j) => {
    const states = all[j], last = states[states.length - 1], stuck = lines[Math.max(states.length - 1, 0)];
    const said = states.slice(1).map((state, n) => `${lines[n]} until ${say(state, 0)}`);
    const end = () => values.flatMap(([part, word], n) => (part === "n" ? (last[n] === 0 ? [] : [`still ${say(last, n)}`]) : [part ? say(last, n) : `${word} ${say(last, n)}`])).join(", ");
    if (last && stuck !== undefined) said.push(`${stuck} ends in no state`);
    return {
      class: cls[j], said, name: `${name}: ${!last ? "its beginning does not exist" : stuck !== undefined ? `no end, ${stuck} ends in no state` : end()}`,
      parts: states.slice(1).map((state, n) => [shown(states[n], 0), shown(state, 0), lines[n]]),
    };
  });
  if (!all.some((states) => states.length)) return null;
  const far = strips.flatMap((strip) => strip.parts).reduce((most, part) => Math.max(most, part[1]), 0);
  const words = drawn.map((n) => values[n][1].split(" / ")[0]).join(", ");
  return { title: `Courses over time: ${words}`, words: strips.map((it) => `${it.name}; ${it.said.join(", ")}.`).join(" "), across: values[0][1], far, panels, below: (marks, x, top) => below(strips, marks, x, top) };
}
