// A program made ready once: every step a function of its own, with the registers that it reads. A change
// then calculates only what follows from it, and what comes out as it was goes no further.

// which places of a step name registers; for all others: one for a function of one number, two for one of two
const READS = {
  lit: [], pi: [], none: [], pow: [3], not: [3], and: [3, 4], or: [3, 4], is: [4, 5], sel: [3, 4, 5],
  rnd: [4, 5], pref: [5], tab: [4], fold: [4], run: [4], root: [4, 5], int: [4, 5],
};
const readsOf = (s) => {
  const all = (READS[s[0]] || (UNARY[s[0]] ? [3] : [3, 4])).map((place) => s[place]);
  return s[0] === "run" ? all.concat(s[5]) : all;
};
const blockOf = (s) => (s[0] === "run" || s[0] === "root" || s[0] === "int" ? s[3] : undefined);

const same = (a, b) => {
  if (a === b) return true;
  if (a.v !== undefined) return Object.is(a.v, b.v) && Object.is(a.e, b.e);
  if (a.m !== undefined) return b.m !== undefined && a.m.length === b.m.length && a.m.every((one, k) => same(one, b.m[k]));
  return a.t !== undefined ? a.t === b.t : a.x === b.x && a.l === b.l && a.w === b.w;
};

/** A program ready to follow its inputs; a `smooth` one keeps the distance by which each value is first rounded. */
function ready(program, decades, smooth = false) {
  const R = new Array(program.n).fill(fault("ours", 0));
  const moved = new Uint8Array(program.n);
  const put = (r, value) => { if (!same(R[r], value)) { R[r] = value; moved[r] = 1; } };

  // of a block only what depends on its parameters is run at each call; the rest goes to where it is called from
  const blocks = program.blocks.map(([parameters, steps, result]) => ({ parameters, steps, result, outer: [], each: null }));
  function made(steps) {
    const all = [];
    for (const s of steps) {
      const at = blockOf(s), of = s[0] === "in" ? [program.inputs[s[3]].r] : readsOf(s);
      if (at !== undefined) {
        const block = blocks[at], inside = new Set(block.parameters), each = [], lifted = [];
        for (const one of made(block.steps)) {
          if (one.of.some((r) => inside.has(r))) { inside.add(one.to); each.push(one); } else lifted.push(one);
        }
        block.each = each;
        all.push(...lifted);
        of.push(...new Set(each.flatMap((one) => one.of).concat(block.result).filter((r) => !inside.has(r))));
      }
      all.push({ to: s[1], of, work: worker(s) });
    }
    return all;
  }

  const call = (block, args) => {
    for (let k = 0; k < args.length; k++) R[block.parameters[k]] = args[k];
    for (const one of block.each) R[one.to] = one.work();
    return R[block.result];
  };
  const one = (a, f) => () => { const x = R[a]; return x.v !== undefined ? f(x) : map(x, f); };
  const two = (a, b, l, f) => () => {
    const x = R[a], y = R[b];
    return x.v !== undefined && y.v !== undefined ? f(x, y) : zip(x, y, l, f);
  };
  const kept = (work, from, l) => {
    if (!smooth) return work;
    let by = null;
    return () => { by = by || zip(work(), R[from], l, (a, b) => BINARY["-"](a, b, l)); return zip(R[from], by, l, (a, b) => BINARY["+"](a, b, l)); };
  };
  const search = (s, how) => {
    const block = blocks[s[3]], l = s[2], args = [null];
    const f = (x) => { args[0] = num(x, 0); return call(block, args); };
    const levels = (x) => { f(x); return s[6].map(([r, other, level]) => R[r].v - (other === null ? level : R[other].v)); };
    return two(s[4], s[5], l, (from, to) => how(f, from, to, l, levels, s[7], s[8]));
  };

  /** The function of a step. */
  function worker(s) {
    const [op, , l, a, b, c] = s;
    if (UNARY[op]) { const f = UNARY[op]; return one(a, (x) => f(x, l)); }
    if (BINARY[op]) { const f = BINARY[op]; return two(a, b, l, (x, y) => f(x, y, l)); }
    switch (op) {
      case "lit": { const value = rounded(a); return () => value; }
      case "pi": { const value = num(Math.PI, 2 * ULP); return () => value; }
      case "in": { const r = program.inputs[a].r; return () => R[r]; }
      case "pow": return one(a, (x) => power(x, b, c, l));
      case "is": {
        const holds = RELATION[a], compare = two(b, c, l, (x, y) => ({ t: holds(sign(x, y)) }));
        return () => { const r = compare(); return r.m === undefined ? r : r.m.reduce(both); };
      }
      case "and": return () => both(R[a], R[b]);
      case "or": return () => either(R[a], R[b]);
      case "not": return () => (isFault(R[a]) ? R[a] : { t: !R[a].t });
      case "sel": return () => (isFault(R[a]) ? R[a] : selected(R[a].t, R[b], R[c], l));
      case "none": return () => fault("no-case", l);
      case "never": return () => fault("never", l, a);
      case "rnd": return kept(two(b, c, l, (x, by) => roundTo(x, by, a, l)), b, l);
      case "pref": { const decade = decades[b]; return kept(one(c, (x) => preferredNext(x, decade, a, l)), c, l); }
      case "tab": { const table = program.tables[a]; return one(b, (x) => readTable(table, x, l)); }
      case "fold": return () => (isFault(R[b]) ? R[b] : fold(a, R[b], l));
      case "run": { const block = blocks[a]; return () => running(R[b], c.map((r) => R[r]), l, (args) => call(block, args)); }
      case "root": return search(s, findRoot);
      case "int": return search(s, integrate);
    }
    return () => fault("ours", l);
  }

  // what depends on no input is calculated once, here
  const follows = new Uint8Array(program.n), live = [];
  for (const input of program.inputs) follows[input.r] = 1;
  for (const step of made(program.steps)) {
    if (follows[step.to] && program.inputs.some((input) => input.r === step.to)) continue;
    if (step.of.some((r) => follows[r])) { follows[step.to] = 1; live.push(step); } else R[step.to] = step.work();
  }

  let first = true;
  return {
    R,
    /** Takes inputs by their place: {v, e}, {m: […]} or a fault. Returns the registers; what did not change is the same object. */
    follow(given) {
      moved.fill(0);
      program.inputs.forEach((input, k) => put(input.r, given[k]));
      for (const step of live) {
        let due = first;
        for (let k = 0; !due && k < step.of.length; k++) due = moved[step.of[k]] === 1;
        if (due) put(step.to, step.work());
      }
      first = false;
      return R;
    },
  };
}

function selected(first, x, y, l) {
  if (x.m === undefined && y.m === undefined) return first ? x : y;
  const count = (x.m || y.m).length;
  const many = (z) => (z.m === undefined ? new Array(count).fill(z) : z.m);
  if (many(x).length !== many(y).length) return fault("lengths-differ", l);
  return { m: first ? many(x) : many(y) };
}

function running(start, columns, l, call) {
  const bad = columns.find((column) => column.m === undefined);
  if (bad !== undefined) return bad;
  const count = columns[0].m.length;
  if (columns.some((column) => column.m.length !== count)) return fault("lengths-differ", l);
  const all = [];
  for (let k = 0, before = start; k < count; k++) {
    before = call([before, ...columns.map((column) => column.m[k])]);
    all.push(before);
  }
  return { m: all };
}

// on what results and checks stand
const rootsOf = (program) => [...program.outputs.map((output) => output[1]), ...program.checks.map((check) => check[0])];

/** The registers that some depend on with these inputs, as the binary counts them: a case that is not taken asks for
 *  nothing, nor does half of an `and` or `or` that a choice between words decides; of `cases` only the first counts,
 *  with `all` neither; with `words` a case counts as taken where words alone decide it. */
function demanded(program, R, roots, how = "") {
  if (!program.makes) {
    program.makes = new Map();
    const blocks = [program.steps, ...program.blocks.map((block) => block[1])];
    for (const steps of blocks) for (const s of steps) program.makes.set(s[1], s);
  }
  const seen = new Set(), open = [...roots];
  while (open.length) {
    const r = open.pop(), s = program.makes.get(r);
    if (seen.has(r)) continue;
    seen.add(r);
    if (s === undefined) continue;
    const halves = how !== "all" && ((s[0] === "sel" && (how !== "words" || ofWords(program, R, s[3]))) || (how !== "cases" && (s[0] === "and" || s[0] === "or"))) && halvesOf(program, R, s);
    if (halves) open.push(halves[0], ...(s[0] === "sel" ? [halves[1]] : []));
    else {
      open.push(...readsOf(s));
      // what a block reads counts in any case
      if (blockOf(s) !== undefined) open.push(program.blocks[blockOf(s)][2], ...program.blocks[blockOf(s)][1].flatMap(readsOf));
      if (s[0] === "in") open.push(program.inputs[s[3]].r);
    }
  }
  return seen;
}

/** Of a choice that has gone one way: what decides it, what is taken, what is left out; none where that is not known. */
function halvesOf(program, R, [what, , , ...of]) {
  const truth = (r) => (R[r] === undefined ? undefined : R[r].t);
  if (what === "sel") return truth(of[0]) === undefined ? null : truth(of[0]) ? of : [of[0], of[2], of[1]];
  const half = of.slice(0, 2).find((r) => truth(r) === (what === "or") && ofWords(program, R, r));
  return half === undefined ? null : [half, half, half === of[0] ? of[1] : of[0]];
}
/** Whether a condition rests upon choices between words alone. */
function ofWords(program, R, r) {
  const behind = inputsOf(program, demanded(program, R, [r], "words"));
  return behind.length > 0 && behind.every((input) => input.w);
}
const inputsOf = (program, seen) => program.inputs.filter((input) => seen.has(input.r));

/** What leaves an input out, and whether choices between words alone do. */
function leftOut(program, R, r) {
  const found = new Set(), reached = demanded(program, R, rootsOf(program));
  for (const s of program.steps) {
    if (!reached.has(s[1])) continue;
    const halves = (s[0] === "sel" || s[0] === "and" || s[0] === "or") && halvesOf(program, R, s);
    if (halves && demanded(program, R, [halves[2]], "all").has(r)) inputsOf(program, demanded(program, R, [halves[0]])).forEach((input) => found.add(input));
  }
  const chosen = !demanded(program, R, rootsOf(program), "words").has(r);
  return { chosen, by: program.inputs.filter((input) => found.has(input) && (input.w || !chosen) && input.r !== r) };
}

/** Why these inputs cannot stand: ranges that are not kept, then faults behind results and checks. */
function troubles(program, R, write, remedies = {}) {
  const found = [];
  const value = (r) => (R[r] && R[r].m !== undefined ? R[r].m : [R[r]]);
  for (const [r, low, high, least, name, input, format] of program.guards) {
    if (least !== null && R[r] && R[r].m !== undefined && R[r].m.length < least) found.push({ input, w: `${name} needs ${least} values` });
    for (const [limit, isLow] of [[low, true], [high, false]]) {
      if (limit === null) continue;
      const bound = R[limit[0]];
      for (const one of value(r)) {
        if (isFault(one) || isFault(bound)) continue;
        const s = sign(one, bound);
        const keeps = limit[1] ? (isLow ? s >= 0 : s <= 0) : isLow ? s > 0 : s < 0;
        if (keeps) continue;
        const words = isLow ? (limit[1] ? "at or above" : "above") : limit[1] ? "at or below" : "below";
        found.push({ input, w: `${name} = ${write(one, format)} is not ${words} ${limit[2]}` });
      }
    }
  }
  // what was typed stands before what follows from it
  found.sort((a, b) => (a.input === null) - (b.input === null));
  const seen = new Set();
  const look = (r) => {
    for (const one of R[r] && R[r].m !== undefined ? R[r].m : [R[r]]) {
      // what never exists is a failing check, not a wrong input
      if (one === undefined || one.x === undefined || one.x === "never") continue;
      const words = `${program.lines[one.l] || "a line"}: ${one.x.replace(/-/g, " ")}${one.w ? ` (${one.w})` : ""}`;
      if (!seen.has(words)) found.push({ ...whence(program, R, r, one), w: words });
      seen.add(words);
    }
  };
  program.outputs.forEach((output) => look(output[1]));
  program.checks.forEach((check) => look(check[0]));
  for (const one of found) if (one.fault) one.w += `${one.of}; ${remedies[one.fault] || ""}`.replace(/; $/, "");
  return found;
}

/** The inputs behind a fault, in words: of series that differ how long each is, and at the shortest of them. */
function whence(program, R, r, { x, l }) {
  // what is missing names itself
  if (x === "missing-input") return { input: null };
  const step = program.steps.find((s) => R[s[1]] && R[s[1]].x === x && R[s[1]].l === l);
  const behind = inputsOf(program, demanded(program, R, [step ? step[1] : r], "words"));
  const long = x === "lengths-differ" ? behind.filter((input) => R[input.r].m) : [];
  const count = (input) => R[input.r].m.length;
  const shortest = long.reduce((least, one) => (least === null || count(one) < count(least) ? one : least), null);
  const said = long.length ? long.map((input) => `${input.n} has ${count(input)} values`) : behind.slice(0, 6).map((input) => input.n);
  const of = said.length === 0 ? "" : long.length ? `: ${said.join(", ")}` : `, of ${said.join(", ")}${behind.length > 6 ? " and others" : ""}`;
  return { input: shortest && program.inputs.indexOf(shortest), fault: x, of };
}
