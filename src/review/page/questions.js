// What is asked of a value that is right by its kind and its range, as the terminal asks it: the rules are those of
// src/calculation/scale.rs and outlier.rs, whose numbers and words come with the page.
const ratio = (a, b) => Math.max(a / b, b / a);

/** {w, remedy}: what is asked of what a field says, or null. */
function questionOf(input, read, asks, F, spellings) {
  if (!input.q || !read.a) return null;
  const { n, k: kind } = input, [sizes, usual, of, shown, isExample, asksCurrent, starts, about] = input.q;
  const all = read.a.m ? read.a.m.map((a, at) => ({ v: a.v, k: read.ks[at] })) : [{ v: read.a.v, k: read.k }];
  if (all.some((one) => one.v === undefined)) return null;
  const digits = (x) => String(Number(x.toPrecision(15))), unit = (text) => unitTyped(input, text, F, spellings);
  const written = ({ v, k }) => `${digits(v / F[k].f - F[k].z)} ${F[k].s}`.trim();
  // how many times larger or smaller than the nearest that the sheet shows
  const away = (number, k) => (F[k].z || number === 0 || !sizes.length ? null : Math.min(...sizes.map((it) => ratio(Math.abs(number * F[k].f), it))));
  const near = (number, k, times) => k !== undefined && (away(number, k) ?? Infinity) <= times;
  const others = (symbols) => symbols.map(unit).filter((k) => k !== undefined);

  /** `MN·m` where `mN·m` was meant. */
  function ofPrefix(number, k, own) {
    if (own <= asks.far) return null;
    const s = F[k].s, rest = s.slice(1), meant = others(s[0] === "M" ? [`m${rest}`, rest] : s[0] === "m" ? [`M${rest}`] : []);
    const found = meant.filter((it) => away(number, it) !== null && away(number, it) * asks.nearer < own), plain = unit(rest);
    if (!found.length || plain === undefined) return null;
    return { w: `${n} (${kind}): ${digits(number)} ${s} is far from the sheet's example of ${usual}`, remedy: `is ${found.map((it) => F[it].s).join(" or ")} meant? If ${s} is, write the value in ${F[plain].s}` };
  }
  const isItIn = (number, k, own, other) => {
    const from = F[k].s, to = F[other].s;
    return {
      w: `${n} is ${`${digits(number)} ${from}`.trim()}, ${Math.round(own)} times off the sheet's example of ${usual}: is it ${to ? `in ${to}` : "without a unit"}?`,
      remedy: `if it is, ${!to ? `take ${from} out` : from ? `write ${to} in the place of ${from}` : `write ${to} behind it`}; if not, nothing is to be done`,
    };
  };
  function ofItsUnit(number, k, own) {
    const { s, f } = F[k], off = `, ${Math.round(own)} times off the sheet's example of ${usual}`;
    const differs = (it) => F[it].f !== f || F[it].z !== F[k].z;
    const slipped = own >= asks.slipped ? input.us.filter((it, at) => at === 0 || F[it].s !== "") : [];
    const [over, time] = s.includes("/") ? [s.slice(0, s.lastIndexOf("/")), s.slice(s.lastIndexOf("/") + 1)] : [];
    const timed = time && own >= asks.timed ? others(["s", "min"].filter((it) => it !== time).map((it) => `${over}/${it}`)) : [];
    const other = [...slipped, ...timed].find((it) => near(number, it, 3) && differs(it));
    if (other !== undefined) return isItIn(number, k, own, other);
    if (kind === "ratio" && shown >= 3 && number >= 0 && number < 0.5 && near(1 / number, k, 10)) {
      return { w: `${n} is ${digits(number)}, and the sheet's example is ${usual}: is it the other way round?`, remedy: `${n} is: ${about}; if that is ${digits(number)}, nothing is to be done, else write ${digits(Number((1 / number).toPrecision(6)))}` };
    }
    const isWhole = Number.isInteger(number), day = isWhole && number >= asks.days[0] && number <= asks.days[1];
    if (own < asks.slipped || (!day && (isWhole || !near(number * 1000, k, 3)))) return null;
    return { w: `${n} is ${digits(number)} ${s}${off}: ${day ? "is it a date?" : "does its point part thousands?"}`, remedy: "if it is, write the number that is meant; if not, nothing is to be done" };
  }
  /** In an unusual unit, which would be usual in that of the sheet's example; of a series the value that is the least so. */
  function unusual() {
    const offs = all.map(({ v, k }) => away(v / F[k].f, k)), least = offs.reduce((best, off, at) => ((off ?? 1) < (offs[best] ?? 1) ? at : best), 0);
    const { v, k } = all[least], own = offs[least], number = Number((v / F[k].f).toPrecision(15));
    if (own === null) return null;
    const prefix = ofPrefix(number, k, own);
    const whole = digits(number * 100);
    if (!prefix && F[k].s === "%" && own >= asks.timed && near(number * 100, k, 3) && Math.abs(number) <= 1) {
      return { w: `${n} is ${digits(number)} %, ${Math.round(own)} times off the sheet's ${usual}: is it ${whole} %?`, remedy: `if it is, write ${whole} %; if not, nothing is to be done` };
    }
    if (prefix || !isExample) return prefix;
    if (F[k].f === F[of].f && F[k].z === F[of].z) return ofItsUnit(number, k, own);
    const [bound, room] = input.us.includes(k) ? [asks.unusual, 10] : [asks.unoffered, 3];
    if (own < bound || !near(number, of, room)) return null;
    if (F[k].s !== "" || F[of].s !== "%") return isItIn(number, k, own, of);
    return { w: `${n} is ${digits(number)}, which is ${whole} %`, remedy: `if ${digits(number)} % is meant, write ${digits(number / 100)} where the cell shows a percentage, else ${digits(number)} %; if ${whole} %, nothing is to be done` };
  }
  /** The value of a series that is far from all others. */
  function far() {
    const known = all.map(({ v, k }, at) => ({ size: Math.abs(v), at, z: F[k].z })).filter((one) => one.size > 0 && !one.z);
    const [least, most] = [(a, b) => a.size - b.size, (a, b) => b.size - a.size].map((by) => [...known].sort(by).slice(0, asks.ends));
    const rule = { ...asks, slips: [...asks.slips, ...(asks.inch[kind] ?? [])] };
    const found = farEnd(most, least, known.length, rule) || farEnd(least, most, known.length, rule), sizes = all.map((one) => Math.abs(one.v));
    if (!found) return null;
    // what falls to nothing or rises from it has a small value at its end
    const sorted = (list) => list.every((size, at) => at === 0 || list[at - 1] <= size), small = found.size < found.next;
    if (small && ((found.at === sizes.length - 1 && sorted([...sizes].reverse())) || (found.at === 0 && sorted(sizes)))) return null;
    const times = found.size / found.next, short = (x) => (x < 20 ? String(Math.round(x * 10) / 10) : x.toFixed(0));
    return {
      w: `value ${found.at + 1} of ${n} is ${written(all[found.at])}, ${times < 1 ? `a part of 1/${short(1 / times)} of` : `${short(times)} times`} the next of the series, ${written(all[sizes.indexOf(found.next)])}`,
      remedy: "make sure of its decimal mark and of its unit; if it is as it should be, nothing is to be done",
    };
  }
  const first = written(all[0]), apparent = kind === "power" && all.find((one) => F[one.k].s.endsWith("V·A"));
  return unusual() || far()
    || (apparent ? { w: `${n} is ${written(apparent)}, an apparent power: is it a power in W?`, remedy: "an apparent power is larger than the power of the shaft, by power factor and efficiency; write the power in W or kW" } : null)
    || (asksCurrent === 1 && alternates(read.plate) ? { w: `${n} is ${first}, an alternating voltage, and a direct one is asked for: is it that of the mains?`, remedy: "if it is, write the direct voltage of the link, up to 1.414 times that of the mains; if not, write it in V" } : null)
    || (asksCurrent === 2 && alternates(read.plate) === false ? { w: `${n} is ${first}, a direct voltage, and an alternating one is asked for: is it that of the link?`, remedy: "if it is, write the voltage of the mains, effective: that of the link over 1.414 or less; if not, write it in V" } : null)
    || (starts && isExample && shown !== 0 && all.length === 1 && all[0].v === 0 ? { w: `${n} is ${first}, and the sheet's example is ${usual}: does it begin at standstill?`, remedy: "if it does, nothing is to be done, and no stop of a moving machine was calculated; else write the speed" } : null);
}

/** Whether a unit as it was typed says that its voltage alternates, or that it does not. */
const alternates = (typed) => { const of = /\S[\s-]*(?:([ad])\.?c\.*|([~∼])|[⎓=])$/i.exec(typed ?? ""); return of ? Boolean(of[2]) || of[1]?.toLowerCase() === "a" : null; };

/** What is asked of digits beside % that may be a share, and beside no unit that may be a percentage, as of a cell: the rule
 *  is that of src/workbook/bind/percent.rs. `guard` is the range of the input. */
function shareOf(input, text, { v }, unit, F, guard) {
  const isStated = F[unit].s === "%", to = (x) => Number(x.toPrecision(15)), number = to(v * (isStated ? 100 : 1));
  const isShare = F[input.us[0]].s === "%" || input.k === "efficiency" || input.k === "share" || input.k === "coefficient of friction";
  if (!input.bare || input.m || !isBare(text) || number <= 0 || (isStated ? number > 1 && number <= 100 : F[unit].s !== "" || !isShare)) return "";
  const usual = (input.q ? input.q[0] : []).map((size) => size * 100), [, low, high] = guard || [], [share, whole] = [to(number / 100), to(number * 100)];
  const bound = (limit) => { const { number: n, unit: u } = limit ? splitQuantity(limit[2]) : {}; return u === "%" ? n : u === "" ? n * 100 : undefined; };
  const allows = (x, [a, b] = [low, high].map(bound)) => (a === undefined || x > a || (low[1] && x >= a)) && (b === undefined || x < b || (high[1] && x <= b));
  const said = (words, remedy) => `${input.n} (${input.k}): ${words}; ${remedy}`;
  if (isStated && number <= 1) {
    const far = !usual.length || 10 * number < Math.min(...usual);
    return far && allows(whole) ? said(`${number} in a field for % may be the share: ${whole} %`, `if ${number} % is meant, write ${number} % there; if ${whole} %, write ${whole}`) : "";
  }
  const percent = isStated ? number : whole, possible = allows(percent), meant = isStated ? share : number;
  if ((usual.length && percent <= 10 * Math.max(...usual)) || (percent <= 100 && F[input.us[0]].s !== "%") || (isStated && !possible)) return "";
  return said(`${number} ${isStated ? "in a field for %" : "without a unit"} is ${percent} %, and may be meant as ${meant} %`, `if ${meant} % is meant, write ${meant}${isStated ? "" : " %"} there${possible ? `; if ${percent} %, write ${percent} %` : ""}`);
}

/** The first of an end where it is far from the others, which reach as far as the other end. */
function farEnd(own, other, count, { apart, off, ends, rounded: room, slips }) {
  if (own.length < 2) return null;
  const [{ size, at }, ...rest] = own, next = rest[0].size, away = ratio(size, next), spread = ratio(next, other[0].size), found = { size, at, next };
  if (count >= 3 && spread < apart && away >= apart) return found;
  const step = rest.slice(1).reduce((most, one, k) => Math.max(most, ratio(rest[k].size, one.size)), 1);
  const fits = (slip) => away / slip <= room && (away / slip) * spread * room >= 1;
  return count >= ends && away >= off[spread <= room ? 1 : 0] && away >= step ** 3 && slips.some(fits) ? found : null;
}
