// The pictures of the page, drawn again from changed values exactly as they were drawn first.
const RPM = 30 / Math.PI;
const at = (x) => { const t = (x + 1e-6).toFixed(1).replace(/\.0$/, ""); return t === "-0" ? "0" : t; };
const pow10 = (n) => Math.pow(10, n);

function decade(x) {
  let ten = 0;
  while (ten < 30 && x >= pow10(ten + 1)) ten++;
  while (ten > -30 && x < (ten >= 0 ? pow10(ten) : 1 / pow10(-ten))) ten--;
  return ten;
}

const halfAway = (x) => Math.sign(x) * Math.round(Math.abs(x));

function told(x) {
  if (x === 0 || !Number.isFinite(x)) return "0";
  const m = decade(Math.abs(x)), unit = pow10(Math.abs(3 - m));
  return String(m <= 3 ? halfAway(x * unit + 1e-9) / unit : halfAway(x / unit + 1e-9) * unit);
}

const framed = (title, words, height, inner) =>
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 640 ${at(height)}" role="img" aria-label="${title}. ${words}"><title>${title}</title><desc>${words}</desc>${inner}</svg>`;

function axisStep(length) {
  const ten = decade(length / 4), power = pow10(Math.abs(ten));
  const unit = (k) => (ten >= 0 ? k * power : k / power);
  for (const k of [5, 2]) if (unit(k) * 4 <= length) return unit(k);
  return unit(1);
}

function plot(p) {
  const L = 62, T = 40, W = 640, H = 230, bottom = T + H;
  const mx = p.size[0] * 1.04, my = p.size[1] * 1.06;
  const x = (v) => L + (v / mx) * (W - L - 14), y = (v) => T + H - (v / my) * H;
  let to = "";
  let by = axisStep(mx);
  for (let k = 0; k * by <= mx; k++) {
    const v = k * by;
    to += `<path class="g" d="M${at(x(v))} ${at(T)}V${at(bottom + 4)}"/><text class="m" x="${at(x(v))}" y="${at(bottom + 19)}">${told(v)}</text>`;
  }
  by = axisStep(my);
  for (let k = 0; k * by <= my; k++) {
    const v = k * by;
    to += `<path class="g" d="M${at(L - 4)} ${at(y(v))}H${at(W - 14)}"/><text class="e" x="${at(L - 8)}" y="${at(y(v) + 5)}">${told(v)}</text>`;
  }
  to += `<path class="ax" d="M${at(L)} ${at(T)}V${at(bottom)}H${at(W - 14)}"/>`;
  to += `<text x="8" y="${at(T - 24)}">${p.up}</text><text class="e" x="${at(W - 14)}" y="${at(bottom + 38)}">${p.across}</text>`;
  for (const [moment, name] of p.marks) {
    const [cls, shift] = x(moment) > 380 ? [' class="e"', -5] : ["", 5];
    to += `<path class="mk" d="M${at(x(moment))} ${at(T - 18)}V${at(bottom)}"/><text${cls} x="${at(x(moment) + shift)}" y="${at(T - 8)}">${name}</text>`;
  }
  for (const c of p.curves) to += `<path class="${c.class}" d="M${c.points.map(([a, b]) => `${at(x(a))} ${at(y(b))}`).join("L")}"/>`;
  let line = bottom + 62;
  for (const c of p.curves) {
    to += `<path class="${c.class}" d="M${at(L)} ${at(line - 5)}h44"/><text x="${at(L + 54)}" y="${at(line)}">${c.name}</text>`;
    line += 20;
  }
  return framed(p.title, p.words, line - 10, to);
}

function runDown(r, from, start, end) {
  const rest = Math.min(r.n_end, from);
  const inverse = (w) => r.J / Math.max(r.T_0 + r.T_load + r.b * w + r.c * w * w, 1e-12);
  const points = [[0, from]];
  let time = 0;
  if (r.b === 0 && r.c === 0) {
    points.push([1, rest]);
    time = 1;
  } else {
    const part = (from - rest) / 24;
    for (let k = 0; k < 24; k++) {
      const high = from - part * k, low = high - part;
      time += (part / 6) * (inverse(high) + 4 * inverse(high - part / 2) + inverse(low));
      points.push([time, low]);
    }
  }
  const scale = time > 0 ? (end - start) / time : 0;
  return points.map(([t, w]) => [start + t * scale, w * RPM]);
}

const left = (x, f) =>
  f > 0 && x < f ? 1 - (x * x) / (2 * f * (1 - f)) : x <= 1 - f ? 1 - (x - f / 2) / (1 - f) : ((1 - x) * (1 - x)) / (2 * f * (1 - f));

const DRAW = {
  stop(r) {
    const works = [[0, r.n_0 * RPM], [r.t_before, r.n_0 * RPM]];
    const parts = r.f > 0 ? 24 : 1;
    for (let k = 1; k <= parts; k++) {
      const x = (r.x * k) / parts;
      works.push([r.t_before + r.t_ramp * x, r.n_0 * left(x, r.f) * RPM]);
    }
    if (r.n_left * RPM > 0.001 * r.n_0 * RPM) works.push(...runDown(r, r.n_left, r.t_cut, r.t_works));
    const fails = [[0, r.n_0 * RPM], ...runDown(r, r.n_0, r.t_late, r.t_fails)];
    return plot({
      title: "Speed over time in a stop",
      words: `From ${told(r.n_0 * RPM)} r/min: with a ramp that works standstill after ${told(r.t_works)} s; with a ramp that fails after ${told(r.t_fails)} s; with torque removed at once after ${told(r.t_release)} s. Torque is removed between ${told(r.t_early)} s and ${told(r.t_late)} s.`,
      across: "time / s", up: "motor speed / (r/min)",
      size: [Math.max(r.t_works, r.t_fails, r.t_release), r.n_0 * RPM],
      curves: [
        { class: "c1", points: works, name: `ramp works: stands after ${told(r.t_works)} s` },
        { class: "c2", points: fails, name: `ramp fails, full speed until torque goes: stands after ${told(r.t_fails)} s` },
        { class: "c3", points: runDown(r, r.n_0, 0, r.t_release), name: `torque removed at once: stands after ${told(r.t_release)} s` },
      ],
      marks: [[r.t_late, `torque removed, ${told(r.t_early)} s to ${told(r.t_late)} s`]],
    });
  },
  rundown(r) {
    const t = r.t_release;
    return plot({
      title: "Speed over time in a run-down",
      words: `From ${told(r.n_0 * RPM)} r/min to ${told(r.n_end * RPM)} r/min in ${told(t)} s.`,
      across: "time / s", up: "speed / (r/min)", size: [t, r.n_0 * RPM],
      curves: [{ class: "c1", points: runDown(r, r.n_0, 0, t), name: `torque removed at once: ${told(t)} s` }],
      marks: [],
    });
  },
  power(r) {
    return plot({
      title: "Power of the braking resistor over one cycle",
      words: `From a peak of ${told(r.P_peak)} W to zero within ${told(r.t_ramp)} s; mean over the cycle of ${told(r.t_cycle)} s: ${told(r.P_mean)} W.`,
      across: "time / s", up: "power / W", size: [r.t_cycle, r.P_peak],
      curves: [
        { class: "c1", points: [[0, 0], [0, r.P_peak], [r.t_ramp, 0], [r.t_cycle, 0]], name: `power: peak ${told(r.P_peak)} W` },
        { class: "c2", points: [[0, r.P_mean], [r.t_cycle, r.P_mean]], name: `mean over the cycle: ${told(r.P_mean)} W` },
      ],
      marks: [],
    });
  },
  plan(r) {
    const second = r.which !== undefined && r.which > 0.5;
    const [K, T, C, S] = second ? [r.K2, r.T2, r.C2, r.S2] : [r.K, r.T, r.C, r.S];
    const there = r.there, far = Math.max(S, there === undefined ? 0 : there);
    const x = (v) => 40 + (v / far) * 520;
    const rest = S - K * T - C - r.Z, mm = (v) => `${told(v * 1000)} mm`;
    let to = '<path class="hz" d="M20 70h20v52h-20zM20 83l13 -13M20 96l20 -20M20 109l20 -20M20 122l20 -20M33 122l7 -7"/><text x="20" y="60">danger</text>';
    to += '<ellipse class="ps" cx="612" cy="96" rx="9" ry="23"/><circle class="ps" cx="611" cy="96" r="8"/><path class="ap" d="M598 96h-22m7 -5l-7 5l7 5"/>';
    const post = (p, c) => `<path class="${c}" d="M${at(p)} 54V138"/><path class="po" d="M${at(p - 5)} 48h10v8h-10zM${at(p - 5)} 136h10v8h-10z"/>`;
    if (there !== undefined) to += post(x(there), "th");
    to += post(x(S), "cu");
    const names = [[S, `needed: ${mm(S)}`]];
    if (there !== undefined) names.splice(there >= S ? 1 : 0, 0, [there, `stands: ${mm(there)}`]);
    names.reverse().forEach(([v, name], k) => {
      const up = k === 0 && names.length > 1 ? 20 : 40;
      to += `<text class="e" x="${at(x(v) + 3)}" y="${at(up)}">${name}</text>`;
      if (up < 30) to += `<path class="ld" d="M${at(x(v))} 25V48"/>`;
    });
    const parts = [
      [K * T, `K·T = ${told(K * 1000)} mm/s · ${told(T * 1000)} ms = ${mm(K * T)}`],
      [C, `C = ${mm(C)}: reach towards the danger`],
      [r.Z, `Z = ${mm(r.Z)}: supplement`],
      [rest, `${mm(rest)}: rounding up, or the least distance`],
    ];
    let from = 0, line = 198, shown = 0;
    for (const [length, name] of parts) {
      if (length < 1e-4) continue;
      const a = x(from), b = x(from + length), letter = "abcd"[shown];
      to += `<path class="dm" d="M${at(a)} 150v12M${at(b)} 150v12M${at(a)} 156H${at(b)}"/><text class="m" x="${at((a + b) / 2)}" y="176">${letter}</text>`;
      to += `<text x="40" y="${at(line)}">${letter}</text><text x="60" y="${at(line)}">${name}</text>`;
      line += 20; from += length; shown++;
    }
    to += `<path class="fl" d="M40 96H${at(x(S))}"/>`;
    const words = `The curtain must stand ${mm(S)} from the danger${there === undefined ? "" : ` and stands at ${mm(there)}`}. It stands on ${told(T * 1000)} ms from the sensor to standstill and an approach speed of ${told(K * 1000)} mm/s.`;
    return framed("Plan view of danger, light curtain and separation distance", words, line - 8, to);
  },
};
