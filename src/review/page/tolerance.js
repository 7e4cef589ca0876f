// Tolerances of a form: how they are typed, by the rules of src/calculation/spread.rs, and what is found within them. What
// is found does happen; that nothing lies beyond it, only the worst case at the terminal proves.

/** A text cut where its tolerance begins: [value, tolerance]. */
function cutTolerance(text) {
  const at = text.search(new RegExp(`±|\\+-|\\+/-|(?:^|\\s)from\\s+[\\d.+${DASH}]|(?:^|\\s)\\+\\s*[\\d.][^-−]*[\\s/]\\s*(?:[-−]|[${DASH}](?=[\\d.]))|\\s[${DASH}]\\s*[\\d.][^+]*[\\s/]\\s*\\+`));
  return at < 0 ? [text, ""] : [text.slice(0, at).trim(), text.slice(at).trim()];
}

/** How far a value lies within a tolerance: {ends} in SI, one pair for each value, or {w} why it is not read. */
function readTolerance(input, text, read, F, spellings) {
  const t = text.trim(), own = F[read.k], percent = own.s === "%", values = read.a.m || [read.a];
  const unit = own.s && ` ${own.s}`, remedy = `write ${percent || own.z ? "" : "± 5 %, "}± 2${unit}, +2${unit} -0${unit}, or from … to …`;
  const amount = (part) => {
    const q = splitQuantity(part), unsettled = unsettledPoint(part);
    if (unsettled || q.number === undefined) return unsettled || q;
    if (q.number < 0) return { w: `${part.trim()} is below zero; write it without its sign` };
    if (q.unit === "%" && own.z) return { w: "a temperature on its scale has no percentage; write the tolerance in K" };
    if (q.unit === "%" && !percent) return { part: q.number / 100 };
    const k = q.unit === "K" && own.z ? read.k : q.unit === "" && F[read.k].s ? undefined : unitTyped(input, q.unit, F, spellings);
    return k === undefined ? { w: `${part.trim()} has no unit of ${input.n}; ${remedy}` } : { far: q.number * F[k].f };
  };
  // of what is counted, both ends are whole
  const counted = (ends) => (input.whole && ends.flat().some((v) => !Number.isInteger(Number(v.toPrecision(12)))) ? { w: "a whole number is needed at both ends; write from … to …" } : { ends });
  const around = (below, above) => {
    const bad = [below, above].find((one) => one.w);
    if (bad) return bad;
    // points reach further than a part of it up to 100 %
    if (percent && values.some((a) => Math.abs(a.v) > 1) && !/^±?\s*0 ?%/.test(t)) return { w: "a percentage of it may be points or a part; write both ends: from … to …" };
    const far = (one, v) => (one.part === undefined ? one.far : one.part * Math.abs(v));
    if ([below, above].some((one) => one.part) && values.some((a) => a.v === 0)) return { w: "a percentage of nothing is nothing; write how far it may lie, with its unit" };
    return counted(values.map((a) => [a.v - far(below, a.v), a.v + far(above, a.v)]));
  };
  const between = /^from\s+(.+)\s+to\s+(.+)$/.exec(t);
  if (between) {
    const [low, high] = between.slice(1).map((one) => readOne(input, one, F, spellings));
    if (low.w || high.w) return low.w ? low : high;
    const ends = values.map(() => [low.a.v, high.a.v]);
    return values.every((a) => sign(a, low.a) >= 0 && sign(a, high.a) <= 0) ? counted(ends) : { w: `the value does not lie ${t}; write the lower end first, and a value between them` };
  }
  const both = new RegExp(`^([+])\\s*(.+?)\\s*/?\\s*[${DASH}]\\s*(.+)$`).exec(t) || new RegExp(`^([${DASH}])\\s*(.+?)\\s*/?\\s*\\+\\s*(.+)$`).exec(t), even = /^(?:±|\+-|\+\/-|\+−)\s*(.+)$/.exec(t);
  if (even || !both) {
    if (!even && !/^[\d.]/.test(t)) return { w: `${t} is not a tolerance; ${remedy}` };
    const one = amount(even ? even[1] : t);
    return around(one, one);
  }
  const behind = splitQuantity(both[3]).unit || "", first = amount(withUnit(both[2], behind)), second = amount(both[3]);
  return both[1] === "+" ? around(second, first) : around(first, second);
}

/** A tolerance as it stands behind a value. */
function toleranceWords(text) { return /^[\d.]/.test(text.trim()) ? `± ${text.trim()}` : text.trim(); }

/** Tries sets of values within `ends`, of each input a pair for each of its values or null: a step at a time, then
 *  {tried, outputs: [{low, high, never}], fails, none}. The nominal values, each end alone, the ends that lead each result
 *  and each margin farthest, all corners of a few, and others at random, the same at each time; what is set in a drive
 *  both follows the inputs and stays as it is set for the nominal ones, as in the worst case at the terminal. */
function* foundWithin(program, decades, given, ends, words) {
  const following = ready(program, decades), nominal = [...following.follow(given)];
  const set = program.outputs.filter(([, r, , setting]) => setting && nominal[r].v !== undefined).map(([, r]) => r);
  const kept = (s) => (set.includes(s[1]) ? ["lit", s[1], s[2], nominal[s[1]].v] : s);
  const engines = set.length ? [following, ready({ ...program, steps: program.steps.map(kept) }, decades)] : [following];
  const places = ends.flatMap((all, k) => (all || []).map(([low, high], m) => ({ k, m, low, high }))).filter((one) => one.low < one.high);
  const outputs = program.outputs.map(() => null), fails = new Map();
  let tried = 0, none = null;
  const targets = [...program.outputs.map(([, r]) => (R) => R[r]), ...program.checks.filter(([, , sides]) => sides).map(([, , [, x, y]]) => (R) => (R[x].v === undefined || R[y].v === undefined ? R[x] : BINARY["-"](R[x], R[y], 0)))];
  /** One set, at parts 0 to 1 between the ends; what each target then is. */
  function look(parts) {
    const values = given.map((a) => (a.m ? { m: [...a.m] } : a));
    places.forEach(({ k, m, low, high }, at) => {
      const v = parts[at] === 0 ? low : parts[at] === 1 ? high : low + parts[at] * (high - low), one = rounded(program.inputs[k].whole ? Math.round(v) : v);
      if (values[k].m) values[k].m[m] = one; else values[k] = one;
    });
    tried++;
    return engines.flatMap((engine) => {
      const R = engine.follow(values), wrong = troubles(program, R, words)[0];
      if (wrong) { none = none || { values, w: wrong.w }; return targets.map(() => NaN); }
      program.outputs.forEach(([, r], n) => {
        if (engine !== following && set.includes(r)) return;
        for (const a of R[r].m || [R[r]]) {
          const { low = a, high = a, never } = outputs[n] || {};
          if (a.x !== undefined) outputs[n] = { ...outputs[n], never: a };
          else if (a.v !== undefined) outputs[n] = { low: a.v < low.v ? a : low, high: a.v > high.v ? a : high, never };
        }
      });
      program.checks.forEach(([r], k) => { if (R[r].t !== true && !fails.has(k)) fails.set(k, values); });
      return targets.map((of) => { const a = of(R); return a.m ? a.m.reduce((sum, one) => sum + one.v, 0) : a.v === undefined ? Infinity : a.v; });
    });
  }
  const middle = places.map(({ k, m, low, high }) => ((given[k].m ? given[k].m[m] : given[k]).v - low) / (high - low));
  look(middle);
  const alone = places.map((_, at) => [0, 1].map((end) => look(middle.map((part, k) => (k === at ? end : part)))));
  yield tried;
  const corners = new Map(), corner = (parts) => corners.set(parts.join(""), parts);
  for (let n = 0; n < targets.length * engines.length; n++) for (const way of [0, 1]) corner(alone.map(([low, high]) => (high[n] > low[n] ? way : 1 - way)));
  if (places.length <= 8) for (let all = 0; all < 2 ** places.length; all++) corner(places.map((_, at) => (all >> at) & 1));
  let seed = 1;
  const chance = () => { seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0; return seed / 2 ** 32; };
  for (const parts of corners.values()) { look(parts); yield tried; }
  // what is set jumps at its steps: just beside the middle more than at an end
  for (let n = 0; n < 300; n++) { look(places.map((_, at) => [chance(), chance() < 0.5 ? 0 : 1, middle[at] + (chance() < 0.5 ? -1 : 1) * 0.02 * chance()][n % 3]).map((part) => Math.min(1, Math.max(0, part)))); yield tried; }
  return { tried, outputs, fails, none };
}
