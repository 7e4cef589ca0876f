// What a person types into a field, read as the terminal reads it: the rules are those of src/unit/quantity.rs,
// thousands.rs and src/calculation/input_text.rs, and tests/review/typed.txt holds both to them.
// each of them is a minus before digits, and alone behind a blank it says that there is no unit
const DASH = "\\-−\u2010-\u2015\ufe58\ufe63\uff0d", SIGN = new RegExp(`^[${DASH}+]+`), NO_UNIT = new RegExp(`\\s[${DASH}]+\\s*$`);
const MARKS = `${DASH}.…/:,'’\``, WITH_A_POINT = "write the number with digits and one decimal point";
const NUMBER = new RegExp(`^[${DASH}+]?(?:\\d+\\.?\\d*|\\.\\d+)(?:[eE][${DASH}+]?\\d+)?`);
const endOfNumber = (t) => { const m = NUMBER.exec(t); return m ? m[0].length : 0; };
const thousandsOf = (t) => { const m = /^([1-9]\d{0,2})\.(\d{3})$/.exec(t.replace(SIGN, "")); return m ? m[1] + m[2] : null; };
// `1.125` may be thousands to who types it; what is written here is never of this form
const neverThousands = (t) => (thousandsOf(t) ? `${t}0` : t);
const withoutZeros = (t) => (t.includes(".") ? t.replace(/\.?0+$/, "") : t);
const choiceOf = (all) => `write ${all.join(" or ")}${all.length > 1 ? ", whichever is meant" : ""}`;

/** A date such as 28.11.2026 or 2026-11-28. */
const isDate = (body, parts) => /^(?:[12],[12],[24]|4,[12],[12])$/.test(parts.map((p) => p.length).join()) && !/[, '’]/.test(body) && !(body.includes("/") && body.includes("."));

/** Digits with points, commas, blanks or apostrophes between: [why, what they may mean]. */
function separatedDigits(body) {
  const kind = (s) => (/\s/.test(s) ? " " : s === "’" || s === "`" ? "'" : s);
  const marks = [...body].filter((s) => !/\d/.test(s)).map(kind), parts = body.split(/\D+/).filter(Boolean);
  const mark = marks[marks.length - 1], last = parts[parts.length - 1], before = parts.slice(0, -1), whole = before.join("");
  if (mark === undefined || last === undefined) return null;
  const grouped = (all) => all.length > 0 && all[0].length <= 3 && all.slice(1).every((p) => p.length === 3);
  if (marks.length === 1 && mark === ",") {
    return last.length === 3 && whole.length <= 3 && !whole.startsWith("0")
      ? ["thousands", [whole + last, withoutZeros(`${whole}.${last}`)]] : ["comma", [`${whole}.${last}`]];
  }
  if (marks.every((s) => s === mark) && grouped(parts)) return ["groups", [whole + last]];
  const groups = marks.slice(0, -1);
  const regular = groups.length > 0 && groups.every((s) => s === groups[0]) && groups[0] !== mark;
  return regular && /[,.]/.test(mark) && grouped(before) ? ["groups", [`${whole}.${last}`]] : null;
}

const WORDS = {
  none: (t) => `${t} does not begin with a number`, comma: (t) => `${t} has a comma for its decimal point`,
  groups: (t) => `${t} has a blank, a comma, a point or an apostrophe among its digits`,
  thousands: (t) => `${t} may be thousands or have a decimal point`, fraction: (t) => `${t} is a fraction, and a decimal number is needed`,
  two: (t) => `${t} is two numbers, and one is needed`, date: (t) => `${t} looks like a date or a time`,
  zero: (t) => `${t} has a zero before its first digit`, digits: (t) => `${t} has more digits than the 28 that are kept exactly`,
};

/** What follows a first number where digits go on that are not a unit: {why, end, numbers} or {why, end, remedy}. */
function unclearDigits(text, end) {
  const rest = text.slice(end), next = rest.trimStart(), begins = (t) => /^\s*\d/.test(t);
  if (next === "") return null;
  const joins = new RegExp(`^[${MARKS}]`).test(next) && begins(next.replace(new RegExp(`^[${MARKS}]+`), ""));
  const blank = /^\s/.test(rest), unitOfOne = blank && /^1\/./s.test(next) && !begins(next.slice(2));
  if (!joins && !(blank && begins(rest) && !unitOfOne)) return null;
  const all = text.slice(0, 1) + new RegExp(`^[\\d\\s${MARKS}]*`).exec(text.slice(1))[0];
  // the 1 of `24,17 1/s` is that of its unit
  const digits = all.replace(/\D+$/, ""), blob = /^\s*\/\s*[^\d\s]/.test(text.slice(digits.length)) ? digits.replace(/\D*\s1$/, "") : digits, power = (new RegExp(`^[eE][${DASH}+]?\\d+`).exec(text.slice(blob.length)) || [""])[0];
  const body = blob.replace(SIGN, ""), sign = body.length === blob.length || blob.startsWith("+") ? "" : "-";
  const parts = body.split(/\D+/).filter(Boolean), found = (why, more) => ({ why, end: blob.length + power.length, ...more });
  // 5:1 is a ratio, 12:30 a time
  const colon = body.indexOf(":"), ratio = colon >= 0 && !/^..$|:/.test(body.slice(colon + 1));
  if ((colon >= 0 && !ratio) || isDate(body, parts)) return found("date", { remedy: WITH_A_POINT });
  if (ratio || body.includes("/")) {
    const cut = ratio ? colon : body.indexOf("/"), sides = [body.slice(0, cut).trim(), body.slice(cut + 1).trim()];
    const whole = sides.map((t) => t.split(".")[0].length), ofInch = ["16", "32", "64", "128"].includes(sides[1]) && sides[0].length <= sides[1].length;
    const plain = /^(?:\d+\.?\d*|\.\d+)$/, mixed = /^(\d+)\s+(\d+)$/.exec(sides[0]), b = plain.test(sides[1]) ? Number(sides[1]) : NaN;
    const a = mixed ? Number(mixed[1]) * b + Number(mixed[2]) : plain.test(sides[0]) ? Number(sides[0]) : NaN;
    const two = !ratio && sides.every((t) => plain.test(t)) && !ofInch && ((sides.some((t) => t.includes(".")) && a <= 8 * b && b <= 8 * a) || whole.every((length) => length > 1));
    // exact where that is short, else to ten digits
    const short = Number((a / b).toFixed(6)), exact = Math.abs(short * b - a) <= 1e-13 * Math.abs(a), ten = Number((a / b).toPrecision(10));
    const quotient = power === "" && Number.isFinite(a / b) && (exact ? short.toFixed(6).replace(/\.?0+$/, "") : ten >= 1e-5 && ten < 1e15 && withoutZeros(ten.toFixed(Math.max(0, 10 - Math.ceil(Math.log10(ten))))));
    if (two && power === "") return found("two", { numbers: [...(quotient && ["2", "4"].includes(sides[1]) ? [sign + quotient] : []), ...sides.map((t) => sign + t)] });
    if (/^\s*[·*×x]\s*\d/.test(text.slice(blob.length + power.length))) return found("fraction", { remedy: "write the product as one decimal number" });
    if (b === 0) return found("fraction", { remedy: "zero stands below the line, so it is no number: look up what is meant" });
    return found("fraction", quotient ? { numbers: [(a === 0 ? "" : sign) + quotient] } : { remedy: "write it as a decimal number" });
  }
  if (new RegExp(`[${DASH}…]|\\.\\.`).test(body)) return found("two", { remedy: "write one value" });
  const separated = separatedDigits(body);
  return separated ? found(separated[0], { numbers: separated[1].map((n) => sign + n + power) }) : found("groups", { remedy: WITH_A_POINT });
}

/** {w, remedy, meant}: why a text is not read; what it may mean is put in the place of what is wrong with it. */
function unread(text, why, from, to, { numbers = [], remedy = "" }) {
  const meant = numbers.map((n) => (text.slice(0, from) + n + text.slice(to)).trim());
  const what = meant.length ? choiceOf(meant) : remedy;
  const headline = WORDS[why](text.slice(from, to));
  return { w: `${headline}; ${what}`, remedy: what, meant, numbers, why: headline };
}

/** Why a text is not read, for an input: what is to be typed reads, so that a unit that is wrong as well is told at once. */
function inItsUnit(input, no, F, S) {
  const unit = (no.meant || []).map((one) => splitQuantity(one).unit).find((one) => one !== undefined && unitTyped(input, one, F, S) === undefined);
  if (unit === undefined) return no;
  const remedy = `${choiceOf(no.numbers)}, and behind it its unit: ${offeredOf(input, F)}${isRate(input, unit) ? `; ${S.rate}` : ""}`;
  return { ...no, w: `${no.why}; ${remedy}`, remedy };
}
const offeredOf = (input, F) => input.us.map((k) => F[k].s || "– (no unit)").join(" or ");
const isRate = (input, unit) => input.k === "speed of rotation" && /^(?:[kM]?Hz|1\/(?:s|min|h)|(?:s|min|h)(?:\^?[-−]1|⁻¹))$/.test(unit);

/** A quantity cut into {number, unit}, or why it is none. */
function splitQuantity(typed) {
  const text = typed.trim(), end = endOfNumber(text);
  if (text === "") return { w: "a number is needed, and there is nothing; write a number, and its unit behind it", remedy: "write a number, and its unit behind it", meant: [] };
  if (/±|\+-|\+\/-|^from\b|\sfrom\s.*\sto\s|\S\s+\+\s*\d/.test(text)) {
    const remedy = document.getElementById("forms") ? 'write the value alone, and its tolerance beside it, where "with tolerances" is ticked' : "write the value alone: this page calculates without tolerances";
    return { w: `${text} has a tolerance; ${remedy}`, remedy, meant: [] };
  }
  const sign = /^([\d ]*)([¼½¾⅛⅜⅝⅞])/.exec(text);
  if (sign && /^\d*$/.test(sign[1].trim())) {
    const part = { "¼": 0.25, "½": 0.5, "¾": 0.75, "⅛": 0.125, "⅜": 0.375, "⅝": 0.625, "⅞": 0.875 }[sign[2]];
    return unread(text, "fraction", 0, sign[0].length, { numbers: [neverThousands(String(Number(sign[1].trim() || "0") + part))] });
  }
  if (end === 0) return unread(text, "none", 0, text.length, { remedy: "write the number first, then a blank and its unit" });
  const unclear = unclearDigits(text, end);
  if (unclear) return unread(text, unclear.why, 0, unclear.end, { ...unclear, numbers: (unclear.numbers || []).map(neverThousands) });
  const number = text.slice(0, end), unsigned = number.replace(SIGN, "");
  if (/^0\d/.test(unsigned)) {
    const bare = unsigned.replace(/^0+/, "");
    return unread(text, "zero", 0, end, { numbers: [(/^[^\d.+]/.test(number) ? "-" : "") + (/^\d/.test(bare) ? bare : `0${bare}`)] });
  }
  const kept = unsigned.replace(/[eE].*$/, "").replace(".", "").replace(/^0+/, "").replace(/0+$/, "");
  if (kept.length > 28) return unread(text, "digits", 0, end, { remedy: "round it to 28 significant digits" });
  return { number: Number(number.replace(new RegExp(`[${DASH}]`, "g"), "-")), unit: text.slice(end).replace(new RegExp(`^\\s+[${DASH}]+$`), "").trim() };
}

/** The first number of a text whose point may part thousands, where no other number shows what the point is. */
function unsettledPoint(text) {
  let first = null;
  for (const m of text.matchAll(new RegExp(`\\d+\\.?\\d*(?:[eE][${DASH}+]?\\d+)?`, "g"))) {
    if (/[\p{L}\p{N}._^'’]/u.test(text.slice(0, m.index).slice(-1))) continue;
    const end = m.index + m[0].length, rest = text.slice(end), after = rest.replace(/^[.,'’]/, "");
    const goesOn = /^\d/.test(after) && !(rest.startsWith(",") && /^\d*\./.test(after)), thousands = thousandsOf(m[0]);
    if (thousands && !goesOn) first = first || { from: m.index, to: end, numbers: [thousands, neverThousands(withoutZeros(m[0]))] };
    else if (!thousands && !goesOn && /\.\d/.test(m[0])) return null;
  }
  return first && unread(text, "thousands", first.from, first.to, first);
}

/** A unit as it may be typed, with one sign for a product and its powers as digits: kg m^2 is kg·m2. */
const foldedUnit = (t) => t.trim().replace(/\s*[·⋅*×.][·⋅*×.\s]*|\s+/g, "·").replace(/\^/g, "").replace(/[⁻−]/g, "-").replace(/[¹²³]/g, (s) => ({ "¹": 1, "²": 2, "³": 3 })[s]).replace(/μ/g, "µ").replace(/^\//, "1/");

const CURRENT = /(?<=[^\s-])[\s-]*(?:[ad]\.c\.|[ad]c|[~∼⎓=])$/i;
/** The offered unit that a text is: its place among the ways of writing, none where it is another. */
function unitTyped(input, text, F, spellings) {
  const all = spellings.kinds[input.k] || {}, folded = foldedUnit(text), symbol = Object.hasOwn(all, folded) ? all[folded] : folded;
  return input.us.find((k) => F[k].s === text) ?? input.us.find((k) => F[k].s === symbol || foldedUnit(F[k].s) === folded) ?? furtherUnit(input, text, F, spellings)
    // the point at the end of a sentence or of what is shortened; a letter alone is not shortened
    // the kind of current behind it, as on plates
    ?? (/^(?:voltage|current)$/.test(input.k) && CURRENT.test(text) && !CURRENT.test(text.replace(CURRENT, "")) ? unitTyped(input, text.replace(CURRENT, ""), F, spellings) : undefined)
    ?? (/[^\s.].*[^\s.][\s.]*\.$/s.test(text) ? unitTyped(input, text.replace(/[\s.]+$/, ""), F, spellings) : undefined);
}

/** What a symbol may be: its class and factor, with its prefix; of several run together, every way to cut them. */
function symbolsOf(word, S, pounds) {
  const one = (text, all) => {
    const at = (bare) => S.symbols.find(([spellings]) => spellings.includes(bare)), own = at(text);
    if (own) return { s: text, c: own[1], f: own[2], bare: own[0][0] };
    for (const [prefix, ten, usual] of S.prefixes) {
      const bare = text.startsWith(prefix) && (all || usual) && at(text.slice(prefix.length));
      if (bare && bare[3]) return { s: text, c: bare[1], f: ten < 0 ? bare[2] / 10 ** -ten : bare[2] * 10 ** ten, bare: bare[0][0] };
    }
    return all && Object.hasOwn(S.plates, text) ? one(S.plates[text], false) : null;
  };
  const whole = one(word, true), found = whole ? [[whole]] : [];
  // two or three run together, as on a plate
  if (!whole && [...word].length <= 8) {
    for (let k = 1; k < word.length; k++) {
      const first = one(word.slice(0, k), false), rest = one(word.slice(k), false);
      if (first && rest) found.push([first, rest]);
      for (let m = k + 1; first && m < word.length; m++) {
        const both = [one(word.slice(k, m), false), one(word.slice(m), false)];
        if (both[0] && both[1]) found.push([first, ...both]);
      }
    }
  }
  // a pound is read as a force where a torque is meant
  const force = (all) => all.map((it) => (it.bare === "lb" || it.bare === "oz" ? one(`${it.bare}f`, true) : it));
  return pounds ? [...found, ...found.map(force)] : found;
}

/** A unit that is not offered, made of the symbols of the catalogue as an offered one is: its place among the ways
 *  of writing, none where it is of another kind or may be two. */
function furtherUnit(input, text, F, S) {
  const [shapes, pounds] = S.shapes[input.k] || [[]];
  const [above, below, ...more] = text.trim().replace(/\s*\/\s*/g, "/").split("/");
  if (!shapes.length || above === undefined || more.length || text.length > 40 || S.slips.includes(text.trim()) || /[()]/.test(above)) return undefined;
  const side = (part, sign) => {
    const words = part.trim().replace(/\s*[·⋅*×.][·⋅*×.\s]*|\s+|(?<=[^\^·])[-–](?!\d)/g, "·").split("·");
    let all = [[]];
    for (const word of words) {
      const m = /^([^\d⁻¹²³⁴^()-]+)(?:\^?\(?([-−]?\d+)\)?|(⁻?[¹²³⁴]))?$/.exec(word);
      if (!m) return [];
      const power = sign * Number((m[2] || m[3] || "1").replace(/[−⁻]/, "-").replace(/[¹²³⁴]/, (s) => "¹²³⁴".indexOf(s) + 1));
      const meant = symbolsOf(m[1], S, pounds).map((found) => found.map((it, k) => ({ ...it, p: k === found.length - 1 ? power : sign })));
      all = all.flatMap((before) => meant.map((one) => [...before, ...one])).slice(0, 256);
    }
    return all;
  };
  const tops = above === "1" || above === "" ? [[]] : side(above, 1);
  const bottoms = below === undefined ? [[]] : side(below.replace(/^\((.*)\)$/, "$1"), -1);
  const found = new Map();
  for (const top of tops) for (const bottom of bottoms) {
    const all = [...top, ...bottom], head = (list) => list.slice(0, 2).sort().join(), rest = (list) => list.slice(2).sort().join();
    const own = all.map((it) => `${it.c}^${it.p}`);
    const fits = shapes.some((shape) => { const list = shape.map(([c, p]) => `${c}^${p}`); return head(list) === head(own) && rest(list) === rest(own); });
    if (!fits || all.some((it) => it.s.includes("/"))) continue;
    const raised = (it) => it.s + (Math.abs(it.p) === 1 ? "" : "⁰¹²³⁴⁵⁶⁷⁸⁹"[Math.abs(it.p)]);
    const over = all.filter((it) => it.p > 0).map(raised).join("·") || "1", under = all.filter((it) => it.p < 0).map(raised);
    const f = all.reduce((x, it) => x * it.f ** it.p, 1), known = [...found.keys()].find((one) => Math.abs(one - f) <= 1e-12 * f);
    if (known === undefined) found.set(f, over + (under.length > 1 ? `/(${under.join("·")})` : under.length ? `/${under[0]}` : ""));
  }
  if (found.size !== 1) return undefined;
  const [[f, s]] = found, k = F.findIndex((one) => one.s === s && one.z === 0 && Math.abs(one.f - f) <= 1e-12 * f);
  return k >= 0 ? k : F.push({ s, f, z: 0 }) - 1;
}

/** Whether a text is digits alone, to which a unit beside it belongs. */
const isBare = (t) => t.trim() !== "" && !NO_UNIT.test(t) && new RegExp(`^[\\d\\seE+¼½¾⅛⅜⅝⅞${MARKS}]+$`).test(t);
const withUnit = (text, unit) => (unit && isBare(text) ? `${text.trim()} ${unit}` : text.trim());

/** The values of a series: parted by `;`, else by commas that do not stand within a number. */
function partsOf(text) {
  if (text.includes(";")) return text.split(";");
  const parts = [""];
  [...text].forEach((sign, k, all) => {
    const before = /(?:[\d.]*)$/.exec(all.slice(0, k).join(""))[0], after = /^[\d.]*/.exec(all.slice(k + 1).join(""))[0];
    const within = /\d$/.test(before) && /^\d/.test(after) && !(before.includes(".") && after.includes("."));
    if (sign === "," && !within) parts.push(""); else parts[parts.length - 1] += sign;
  });
  return parts;
}

/** Whether some values of a series have a unit of their own, and others are digits alone. */
const isMixed = (parts) => [true, false].every((bare) => parts.some((part) => part.trim() !== "" && isBare(part) === bare));
const listOf = (parts, text) => parts.map((part) => part.trim()).join(text.includes(";") ? "; " : ", ");

/** What is in a field as one types it at the terminal; the unit beside it is of all values or of none. */
function typedWords(input, text, unit) {
  if (!input.m) return withUnit(text, unit);
  const parts = partsOf(text);
  return listOf(isMixed(parts) ? parts : parts.map((part) => withUnit(part, unit)), text);
}

/** Digits that may be several values, parted by one kind of sign: each with the unit behind them all. */
function severalOf(input, text) {
  const [digits] = new RegExp(`^[\\d\\s,.+${DASH}]*`).exec(text), unit = text.slice(digits.length).trim();
  const parts = digits.trim().includes(",") ? digits.split(",") : digits.trim().split(/\s+/);
  const numbers = parts.map((part) => part.trim());
  if (parts.length < 2 || (unit === "" ? !input.bare : /^[/:'’`–—…]/.test(unit)) || !numbers.every((part) => /\d$/.test(part) && splitQuantity(part).unit === "" && !thousandsOf(part))) return null;
  return numbers.map((part) => withUnit(part, unit)).join(", ");
}

function readOne(input, text, F, spellings) {
  const { number, unit, ...no } = splitQuantity(text);
  if (number === undefined) {
    const several = input.m ? severalOf(input, text.trim()) : null;
    if (several === null) return inItsUnit(input, no, F, spellings);
    // no number is meant that has more digits than are kept
    const remedy = choiceOf([...no.meant.filter((one) => one.replace(/\D/g, "").length <= 28), several]);
    return { w: `${text.trim()} may be several values; ${remedy}`, remedy };
  }
  const remedy = `write ${offeredOf(input, F)} behind the number`;
  const k = unitTyped(input, unit, F, spellings);
  if (k === undefined && isRate(input, unit)) return { w: `${unit} is a rate, not a speed of rotation; ${remedy}; ${spellings.rate}`, remedy: `${remedy}; ${spellings.rate}` };
  if (k === undefined) return { w: `${unit ? `the unit ${unit} is not offered here` : `${text.trim()} has no unit`}; ${remedy}`, remedy };
  const v = (number + F[k].z) * F[k].f;
  // the bounds of the exact decimals
  if (!(Math.abs(v) < 1e200)) return { w: "the value is beyond all use; write it nearer to one", remedy: "write it nearer to one" };
  return { a: rounded(v), k, plate: F[k].s === unit ? "" : unit };
}

/** What a field says, `unit` beside it: {a} a value, or {w} why it is none, with its remedy. */
function readInput(input, text, unit, F, spellings) {
  if (input.w) return { a: whole(Number(text)) };
  const typed = typedWords(input, text, unit === null || unit === undefined ? "" : F[unit].s), unsettled = unsettledPoint(typed);
  if (unsettled) return inItsUnit(input, unsettled, F, spellings);
  if (!input.m) {
    const one = readOne(input, typed, F, spellings);
    return one.a && input.whole && !Number.isInteger(one.a.v) ? { w: "a whole number is needed; write a whole number", remedy: "write a whole number" } : one;
  }
  const parts = partsOf(typed), held = parts.filter((part) => part.trim() !== "");
  if (held.length < parts.length) {
    const remedy = held.length ? `write the value that is missing, or ${listOf(held, text)} without it` : "write the values with commas between: 312 ms, 318 ms";
    return { w: `${held.length ? "one of the values is empty" : "values are needed"}; ${remedy}`, remedy };
  }
  const all = parts.map((part) => readOne(input, part, F, spellings));
  // the unit of one may be meant for all, or that of the field for the others
  if (isMixed(parts) && (!input.bare || (unit !== null && unit !== undefined && F[unit].s)) && parts.every((part) => splitQuantity(part).number !== undefined)) {
    const units = [...new Set(parts.filter((part) => !isBare(part)).map((part) => splitQuantity(part).unit))];
    const remedy = units.length === 1 ? `write ${listOf(parts.map((part) => withUnit(part, units[0])), text)} if all are in ${units[0]}` : "write its unit behind each value";
    return { w: `some of the values have a unit and others none; ${remedy}`, remedy };
  }
  return all.find((one) => one.w) || { a: { m: all.map((one) => one.a) }, k: all[0].k, ks: all.map((one) => one.k), plate: all.map((one) => one.plate).find(Boolean) || "" };
}
