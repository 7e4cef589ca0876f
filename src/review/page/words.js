// Numbers as a person reads and writes them; F are the ways of writing: a unit with factor and zero, or words.
const signed = (t) => t.replace(/(^|[^\p{L}\p{N}_^−-])-(?=[\d.])/gu, "$1\u2212");
const tied = (t) => signed(t).replace(/ /g, "\u00a0").replace(/,\u00a0/g, ", ");

// short ones whole, others to six digits; short is what 14 digits make so, or what was rounded on the way
function digits(x, e) {
  const text = short(x, e);
  return text === undefined ? plain(toCount(x, e, 6)) : text;
}

// to so many digits; a tie, and what may be one within what was rounded on the way, goes away from zero
function toCount(x, e, count) {
  const unit = 10 ** (Math.floor(Math.log10(Math.abs(x) || 1)) - count + 1), room = Math.max(e, 2 ** -51 * Math.abs(x));
  return Number((x + Math.sign(x) * Math.min(room, unit / 4)).toPrecision(count));
}

const plain = (y) => String(y).replace("e+", "e");

function short(x, e) {
  if (Math.abs(x) <= e) return "0";
  const near = Number(x.toPrecision(10)), gap = Math.abs(near - x);
  if (gap <= e || (gap <= 1e-13 * Math.abs(x) && near === Number(x.toPrecision(14)))) {
    const whole = plain(near);
    if (whole.length <= 10) return whole;
  }
  return undefined;
}

// two values that are compared and what lies between them, none with more decimals than the coarsest that is not whole
function compared(values, units) {
  if (values.some((a) => a.v === undefined)) return values.map((a, k) => write(a, units[k]));
  const all = values.map((a, k) => [a.v / units[k].f - units[k].z, a.e / units[k].f]).map(([x, e]) => [Math.abs(x) <= e ? 0 : x, e]);
  const place = (x) => (x === 0 ? 0 : Math.floor(Math.log10(Math.abs(x)) + 1e-12)), decimals = (x, n) => n - 1 - place(x);
  const long = all.filter(([x, e]) => short(x, e) === undefined).map(([x]) => decimals(x, 6));
  const isPlain = all.every(([x]) => x === 0 || (Math.abs(x) >= 1e-6 && Math.abs(x) < 1e15));
  if (!long.length || !isPlain) return values.map((a, k) => write(a, units[k]));
  const left = all[2][0], places = Math.max(0, Math.min(...long), left === 0 ? 0 : decimals(left, 2));
  return all.map(([x, e], k) => plain(toCount(x, e, Math.min(14, Math.max(1, places + 1 + place(x))))) + (units[k].s ? " " + units[k].s : ""));
}

function write(a, f) {
  if (a === undefined) return "nothing";
  const none = a.m === undefined ? a : a.m.find((one) => one.x !== undefined);
  if (none !== undefined && none.x === "never") return `never: ${none.w}`;
  if (a.v !== undefined) {
    if (f.w) return f.w[a.v] === undefined ? String(a.v) : f.w[a.v];
    return digits(a.v / f.f - f.z, a.e / f.f) + (f.s ? " " + f.s : "");
  }
  if (a.m !== undefined) {
    if (a.m.some((one) => one.x !== undefined)) return "not calculated";
    return a.m.map((one) => digits(one.v / f.f - f.z, one.e / f.f)).join(", ") + (f.s ? " " + f.s : "");
  }
  return a.t === undefined ? "not calculated" : a.t ? "holds" : "does not hold";
}

const alike = (a, b) => (a.m ? b.m && a.m.length === b.m.length && a.m.every((x, k) => alike(x, b.m[k])) : Math.abs(a.v - b.v) <= 1e-12 * Math.abs(b.v));
/** Digits by which inputs are known, on every sheet of one print (FNV-1a, twice 32 bits). */
function digitsOf(text) {
  let a = 0x811c9dc5, b = 0x9e3779b9;
  for (const byte of new TextEncoder().encode(text)) { a = Math.imul(a ^ byte, 0x01000193); b = Math.imul(b ^ byte, 0x85ebca6b) ^ (b >>> 13); }
  return [a, b].map((one) => (one >>> 0).toString(16).padStart(8, "0")).join("").slice(0, 12);
}
