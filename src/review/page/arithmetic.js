// The program of a sheet, run on doubles. A number is {v, e}: its value in coherent SI and a bound of what
// was rounded on the way; numbers that lie within that bound of one another are equal, as in the exact
// decimals that this follows. A fault is {x, l, w}: its name, the line it arose in, and words.
"use strict";
const ULP = Math.pow(2, -53);
const num = (v, e) => ({ v, e });
const whole = (v) => num(v, 0);
const rounded = (v) => num(v, Number.isInteger(v) ? 0 : 2 * ULP * Math.abs(v));
const isFault = (a) => a === undefined || a.x !== undefined;
const likeZero = (a) => Math.abs(a.v) <= a.e;
const sign = (a, b) => (Math.abs(a.v - b.v) <= a.e + b.e ? 0 : a.v < b.v ? -1 : 1);

// Gauss-Kronrod pair 15-31: node, weight among 31, weight among 15
const PAIR = [
  [0.9980022986933971, 0.005377479872923349, 0.0],
  [0.9879925180204854, 0.015007947329316122, 0.03075324199611727],
  [0.9677390756791391, 0.02546084732671532, 0.0],
  [0.937273392400706, 0.03534636079137585, 0.07036604748810812],
  [0.8972645323440819, 0.04458975132476488, 0.0],
  [0.8482065834104272, 0.05348152469092809, 0.10715922046717194],
  [0.790418501442466, 0.06200956780067064, 0.0],
  [0.7244177313601701, 0.06985412131872826, 0.13957067792615432],
  [0.650996741297417, 0.07684968075772038, 0.0],
  [0.5709721726085388, 0.08308050282313302, 0.16626920581699392],
  [0.4850818636402397, 0.08856444305621176, 0.0],
  [0.3941513470775634, 0.09312659817082532, 0.1861610000155622],
  [0.29918000715316884, 0.09664272698362368, 0.0],
  [0.20119409399743451, 0.09917359872179196, 0.19843148532711158],
  [0.1011420669187175, 0.10076984552387559, 0.0],
  [0.0, 0.10133000701479154, 0.2025782419255613],
];

const fault = (x, l, w) => ({ x, l, w: w || "" });
const ranged = (v, e, l) => (Number.isFinite(v) ? num(v, e) : fault("too-large", l));

const UNARY = {
  neg: (a) => num(-a.v, a.e),
  abs: (a) => num(Math.abs(a.v), a.e),
  sqrt: (a, l) => {
    if (a.v < 0) return likeZero(a) ? whole(0) : fault("outside-function", l, "square root of a number below zero");
    const v = Math.sqrt(a.v);
    const slack = v === 0 ? Math.sqrt(a.e) : a.e / (2 * v) + ULP * v;
    return num(v, a.e === 0 && Number.isInteger(v) && v * v === a.v ? 0 : slack);
  },
  exp: (a, l) => { const v = Math.exp(a.v); return ranged(v, v * (a.e + 4 * ULP), l); },
  ln: (a, l) => log(a, Math.log, 1, l),
  log10: (a, l) => log(a, Math.log10, Math.LOG10E, l),
  sin: (a) => num(Math.sin(a.v), a.e + 4 * ULP),
  cos: (a) => num(Math.cos(a.v), a.e + 4 * ULP),
  tan: (a, l) => { const v = Math.tan(a.v); return ranged(v, (1 + v * v) * (a.e + 4 * ULP), l); },
  asin: (a, l) => arc(a, Math.asin, l),
  acos: (a, l) => arc(a, Math.acos, l),
  atan: (a) => num(Math.atan(a.v), a.e + 4 * ULP),
};

function log(a, f, slope, l) {
  if (a.v <= 0 || likeZero(a)) return fault("outside-function", l, "logarithm of a number that is not above zero");
  const v = f(a.v);
  return num(v, (slope * a.e) / a.v + 4 * ULP * Math.abs(v));
}

function arc(a, f, l) {
  if (Math.abs(a.v) > 1 + a.e) return fault("outside-function", l, "outside -1 to 1");
  const v = f(Math.max(-1, Math.min(1, a.v)));
  const slope = Math.sqrt(Math.max((1 - a.v) * (1 + a.v), a.e));
  return num(v, (slope > 0 ? a.e / slope : 0) + 4 * ULP);
}

const BINARY = {
  "+": (a, b, l) => sum(a.v + b.v, a.e + b.e, l),
  "-": (a, b, l) => sum(a.v - b.v, a.e + b.e, l),
  "*": (a, b, l) => {
    const v = a.v * b.v;
    const e = Math.abs(a.v) * b.e + Math.abs(b.v) * a.e + a.e * b.e;
    return ranged(v, e === 0 && Number.isInteger(v) ? 0 : e + ULP * Math.abs(v), l);
  },
  "/": (a, b, l) => {
    if (likeZero(b)) return fault("divided-by-zero", l);
    const v = a.v / b.v;
    const e = (a.e + Math.abs(v) * b.e) / (Math.abs(b.v) - b.e);
    return ranged(v, e === 0 && Number.isInteger(v) ? 0 : e + ULP * Math.abs(v), l);
  },
  min: (a, b) => (sign(a, b) < 0 || (sign(a, b) === 0 && a.e <= b.e) ? a : b),
  max: (a, b) => (sign(a, b) > 0 || (sign(a, b) === 0 && a.e <= b.e) ? a : b),
  raise: (a, b, l) => {
    if (a.v <= 0 || likeZero(a)) return fault("outside-function", l, "a power of a number that is not above zero");
    const v = Math.pow(a.v, b.v);
    return ranged(v, v * (Math.abs(b.v) * (a.e / a.v) + Math.abs(Math.log(a.v)) * b.e + 4 * ULP), l);
  },
};

function sum(v, e, l) {
  return ranged(v, e === 0 && Number.isInteger(v) ? 0 : e + ULP * Math.abs(v), l);
}

function power(a, p, q, l) {
  if (p === 0) return whole(1);
  if (p < 0 && likeZero(a)) return fault("divided-by-zero", l);
  if (q === 1 && p > 0 && p < 5) {
    let r = a;
    for (let k = 1; k < p; k++) r = BINARY["*"](r, a, l);
    return r;
  }
  if (p === 1 && q === 2) return UNARY.sqrt(a, l);
  if (a.v < 0 && q % 2 === 0) return likeZero(a) ? whole(0) : fault("outside-function", l, "root of a number below zero");
  const size = Math.pow(Math.abs(a.v), p / q);
  const v = a.v < 0 && p % 2 !== 0 ? -size : size;
  const loss = a.v === 0 ? 0 : Math.abs(p / q) * (a.e / Math.abs(a.v));
  return ranged(v, size * (loss + 8 * ULP), l);
}

const RELATION = {
  "<": (s) => s < 0, "<=": (s) => s <= 0, ">": (s) => s > 0, ">=": (s) => s >= 0, "=": (s) => s === 0, "<>": (s) => s !== 0,
};

// a quotient within its slack of a whole number is that one; a half within its slack goes away from zero
function toWhole(q, way) {
  const near = Math.round(q.v);
  if (Math.abs(q.v - near) <= q.e) return near;
  if (way === "up") return Math.ceil(q.v);
  if (way === "down") return Math.floor(q.v);
  const size = Math.abs(q.v);
  const low = Math.floor(size);
  return Math.sign(q.v) * (size - low - 0.5 >= -q.e ? low + 1 : low);
}

function roundTo(x, step, way, l) {
  if (step.v <= 0 || likeZero(step)) return fault("bad-step", l);
  const q = BINARY["/"](x, step, l);
  return isFault(q) ? q : BINARY["*"](whole(toWhole(q, way)), step, l);
}

function preferredNext(x, decade, way, l) {
  if (x.v <= 0 || likeZero(x)) return fault("outside-function", l, "a preferred number needs a value above zero");
  const ten = Math.floor(Math.log10(x.v));
  const at = (part, power) => (power < 0 ? part / Math.pow(10, -power) : part * Math.pow(10, power));
  let below, above;
  for (const power of [ten - 3, ten - 2, ten - 1]) {
    for (const part of decade) {
      const candidate = rounded(at(part, power));
      const s = sign(candidate, x);
      if (s === 0) return candidate;
      if (s < 0) below = candidate;
      else if (above === undefined) above = candidate;
    }
  }
  if (way === "down") return below;
  if (way === "up") return above;
  return sign(BINARY["*"](x, x, l), BINARY["*"](below, above, l)) < 0 ? below : above;
}

// the place of the row that is used, of the upper one of two for a straight table; -1 outside
function rowOf(table, x) {
  const [between, lowest, rows] = table;
  const at = (k) => sign(x, rounded(rows[k][0]));
  const last = rows.length - 1;
  if (at(last) > 0) return -1;
  if (between === "upto") {
    if (lowest !== null && sign(x, rounded(lowest)) < 0) return -1;
    for (let k = 0; k <= last; k++) if (at(k) <= 0) return k;
  }
  if (at(0) < 0) return -1;
  if (between === "from") {
    for (let k = last; k >= 0; k--) if (at(k) >= 0) return k;
  }
  for (let k = 0; k <= last; k++) if (at(k) <= 0) return k;
  return -1;
}

function readTable(table, x, l) {
  const rows = table[2];
  const k = rowOf(table, x);
  if (k < 0) return fault("outside-table", l, table[3]);
  if (table[0] !== "straight" || k === 0 || sign(x, rounded(rows[k][0])) === 0) return rounded(rows[k][1]);
  const [x0, y0] = rows[k - 1].map(rounded);
  const [x1, y1] = rows[k].map(rounded);
  const sub = BINARY["-"];
  const rise = BINARY["*"](sub(y1, y0, l), sub(x, x0, l), l);
  return BINARY["+"](y0, BINARY["/"](rise, sub(x1, x0, l), l), l);
}

// Chandrupatla's method (Advances in Engineering Software 28, 1997): the bracket always holds a change of sign
function findRoot(f, from, to, l, levels, complete, straight) {
  // a root that is the only one, and no jump, needs a proof unless the function is a straight line
  if (!straight) return fault("not-converged", l, "this root needs a proof: run the sheet at the terminal");
  let a = from.v, b = to.v, fa = f(a), fb = f(b);
  if (isFault(fa)) return fa;
  if (isFault(fb)) return fb;
  const tolerance = 4 * ULP * Math.max(Math.abs(a), Math.abs(b));
  if (likeZero(fa)) return num(a, tolerance);
  if (likeZero(fb)) return num(b, tolerance);
  if (fa.v > 0 === fb.v > 0) return fault("no-root", l);
  let part = 0.5;
  for (let k = 0; k < 300; k++) {
    const x = a + part * (b - a);
    const fx = f(x);
    if (isFault(fx)) return fx;
    if (fx.v === 0) return num(x, tolerance);
    let c, fc;
    if (fx.v > 0 === fa.v > 0) { c = a; fc = fa; } else { c = b; fc = fb; b = a; fb = fa; }
    a = x; fa = fx;
    const width = Math.abs(b - a);
    if (width <= tolerance) return num(Math.abs(fa.v) < Math.abs(fb.v) ? a : b, width + tolerance);
    const xi = (a - b) / (c - b);
    const phi = (fa.v - fb.v) / (fc.v - fb.v);
    part = 0.5;
    if (phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi) {
      const q = (fa.v / (fb.v - fa.v)) * (fc.v / (fb.v - fc.v)) +
        ((c - a) / (b - a)) * (fa.v / (fc.v - fa.v)) * (fb.v / (fc.v - fb.v));
      const least = Math.min(tolerance / width / 2, 0.5);
      if (Number.isFinite(q)) part = Math.min(Math.max(q, least), 1 - least);
    }
  }
  return fault("not-converged", l);
}

function panel(f, from, to) {
  const radius = (to - from) / 2, middle = (from + to) / 2;
  let many = 0, few = 0, magnitude = 0, slack = 0, largest = 0;
  for (const [node, weight, fewer] of PAIR) {
    for (const side of node === 0 ? [0] : [1, -1]) {
      const y = f(middle + side * node * radius);
      if (isFault(y)) return y;
      many += weight * y.v;
      few += fewer * y.v;
      magnitude += weight * Math.abs(y.v);
      slack += weight * (y.e + 4 * ULP * Math.abs(y.v));
      largest = Math.max(largest, Math.abs(y.v));
    }
  }
  const size = Math.abs(radius), gap = Math.abs(many - few);
  return { from, to, v: many * radius, e: gap <= 4 * slack ? 0 : gap * size, m: magnitude * size, s: slack * size, largest };
}

/** `levels` gives how far the function's corners lie away at a point, each along a straight line; `complete`: it has no others. */
function integrate(f, from, to, l, levels, complete) {
  if (sign(from, to) === 0 && from.v === to.v) return whole(0);
  if (!complete) return fault("not-converged", l, "this function needs a proof: run the sheet at the terminal");
  const parts = [0, 1], first = levels(from.v), last = levels(to.v);
  first.forEach((a, k) => { if (a * last[k] < 0) parts.push(a / (a - last[k])); });
  parts.sort((a, b) => a - b);
  const panels = [];
  for (let k = 0; k + 1 < parts.length; k++) {
    const one = panel(f, from.v + parts[k] * (to.v - from.v), k + 2 === parts.length ? to.v : from.v + parts[k + 1] * (to.v - from.v));
    if (isFault(one)) return one;
    panels.push(one);
  }
  for (;;) {
    let m = 0, e = 0, s = 0;
    for (const p of panels) { m += p.m; e += p.e; s += p.s; }
    if (e <= 1e-14 * m || m === 0) {
      let v = 0, largest = 0;
      for (const p of panels) { v += p.v; largest = Math.max(largest, p.largest); }
      return ranged(v, e + s + (from.e + to.e) * largest, l);
    }
    if (panels.length >= 400 + parts.length || !Number.isFinite(e)) return fault("not-converged", l);
    let worst = 0;
    panels.forEach((p, k) => { if (p.e > panels[worst].e) worst = k; });
    const old = panels.splice(worst, 1)[0], middle = (old.from + old.to) / 2;
    for (const [a, b] of [[old.from, middle], [middle, old.to]]) {
      const half = panel(f, a, b);
      if (isFault(half)) return half;
      panels.push(half);
    }
  }
}

function fold(kind, x, l) {
  if (x.m === undefined) return x;
  const all = x.m, n = all.length;
  const need = { sum: 0, product: 0, count: 0, stdev: 2 }[kind];
  if (n < (need === undefined ? 1 : need)) return fault("too-few-values", l);
  const bad = all.find(isFault);
  const by = (op, start) => all.reduce((a, b) => (isFault(a) ? a : BINARY[op](a, b, l)), start);
  if (kind === "count") return whole(n);
  if (kind === "first") return all[0];
  if (kind === "last") return all[n - 1];
  if (bad !== undefined) return bad;
  if (kind === "sum") return by("+", whole(0));
  if (kind === "product") return by("*", whole(1));
  if (kind === "min" || kind === "max") return by(kind, all[0]);
  const mean = BINARY["/"](by("+", whole(0)), whole(n), l);
  if (kind === "mean") return mean;
  let squares = whole(0);
  for (const value of all) {
    const gap = BINARY["-"](value, mean, l);
    squares = BINARY["+"](squares, BINARY["*"](gap, gap, l), l);
  }
  return UNARY.sqrt(BINARY["/"](squares, whole(n - 1), l), l);
}

// one value or a series, element by element
function map(x, f) {
  if (x === undefined) return fault("ours");
  if (x.m !== undefined) return { m: x.m.map((a) => (isFault(a) ? a : f(a))) };
  return isFault(x) ? x : f(x);
}

function zip(x, y, l, f) {
  const two = (a, b) => (isFault(a) ? a : isFault(b) ? b : f(a, b));
  if (x === undefined || y === undefined) return fault("ours", l);
  if (x.m === undefined && y.m === undefined) return two(x, y);
  if (isFault(x) && x.m === undefined) return x;
  if (isFault(y) && y.m === undefined) return y;
  if (x.m === undefined) return { m: y.m.map((b) => two(x, b)) };
  if (y.m === undefined) return { m: x.m.map((a) => two(a, y)) };
  if (x.m.length !== y.m.length) return fault("lengths-differ", l);
  return { m: x.m.map((a, k) => two(a, y.m[k])) };
}

const both = (a, b) => (a.t === false || b.t === false ? { t: false } : isFault(a) ? a : b);
const either = (a, b) => (a.t === true || b.t === true ? { t: true } : isFault(a) ? a : b);
