// The pictures of the page, drawn again from changed values exactly as they were drawn first. Each is made
// from the numbers it is handed as a list of marks [element, class, place or path, words]; painting changes
// only what differs. A band of the worst case belongs to the inputs of the document: beside changed inputs
// it is drawn otherwise and says so.
const RPM = 30 / Math.PI, TURN = 2 * Math.PI, ICE = 273.15, WIDE = 640;
const at = (x) => { const t = (x + 1e-6).toFixed(1); const s = t.endsWith(".0") ? t.slice(0, -2) : t; return s === "-0" ? "0" : s; };
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

const pathOf = (cls, d) => ["path", cls, d];
const textOf = (cls, x, y, words) => ["text", cls, at(x), at(y), words];
const lineOf = (points, x, y) => {
  let d = "M";
  for (let k = 0; k < points.length; k++) d += (k ? "L" : "") + at(x(points[k][0])) + " " + at(y(points[k][1]));
  return d;
};

/** Puts a picture into its box; where the marks are of the same kinds as before only their values change. */
function paint(box, picture) {
  const NS = "http://www.w3.org/2000/svg";
  const label = `${picture.title}. ${picture.words}`, frame = `0 0 640 ${at(picture.height)}`;
  let svg = box.firstElementChild;
  const marks = [["title", null, picture.title], ["desc", null, picture.words], ...picture.marks];
  const old = known(box);
  if (!old || old.length !== marks.length || marks.some((mark, k) => mark[0] !== old[k][0] || (mark[0] === "text" && mark[1] !== old[k][1]))) {
    svg = document.createElementNS(NS, "svg");
    svg.setAttributeNS("http://www.w3.org/2000/xmlns/", "xmlns", NS);
    svg.setAttribute("viewBox", frame);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", label);
    for (const mark of marks) {
      const e = document.createElementNS(NS, mark[0]);
      set(e, mark, [mark[0]]);
      svg.append(e);
    }
    box.replaceChildren(svg);
  } else {
    if (svg.getAttribute("aria-label") !== label) svg.setAttribute("aria-label", label);
    if (svg.getAttribute("viewBox") !== frame) svg.setAttribute("viewBox", frame);
    let e = svg.firstElementChild;
    for (let k = 0; k < marks.length; k++, e = e.nextElementSibling) set(e, marks[k], old[k]);
  }
  box.marks = marks;
}
/** The marks of the picture that stands in a box; none where there is no picture. */
function known(box) {
  if (!box.marks && box.firstElementChild) {
    const read = (e) => ["class", "d", "x", "y"].map((name) => e.getAttribute(name) || "");
    box.marks = [...box.firstElementChild.children].map((e) => {
      const [cls, d, x, y] = read(e);
      return e.tagName === "path" ? pathOf(cls, d) : e.tagName === "text" ? ["text", cls, x, y, e.textContent] : [e.tagName, null, e.textContent];
    });
  }
  return box.marks;
}
function set(e, mark, old) {
  if (mark[0] === "path") {
    if (mark[1] !== old[1]) e.setAttribute("class", mark[1]);
    if (mark[2] !== old[2]) e.setAttribute("d", mark[2]);
  } else if (mark[0] === "text") {
    if (mark[1] && mark[1] !== old[1]) e.setAttribute("class", mark[1]);
    if (mark[2] !== old[2]) e.setAttribute("x", mark[2]);
    if (mark[3] !== old[3]) e.setAttribute("y", mark[3]);
    if (mark[4] !== old[4]) e.textContent = mark[4];
  } else if (mark[2] !== old[2]) e.textContent = mark[2];
}

function axisStep(length, parts) {
  const ten = decade(length / parts), power = pow10(Math.abs(ten));
  const unit = (k) => (ten >= 0 ? k * power : k / power);
  for (const k of [5, 2]) if (unit(k) * parts <= length) return unit(k);
  return unit(1);
}
function ticks(low, high, by) {
  const found = [];
  for (let count = Math.ceil(low / by - 1e-9); count * by <= high && found.length < 30; count++) found.push(count * by);
  return found;
}

const LEFT = 62, RIGHT = WIDE - 14;
function plot(p, bands, trial) {
  let far = p.far;
  for (const own of bands) for (const band of own) for (const [x] of band) far = Math.max(far, x);
  far = far > 0 ? far * 1.04 : 1;
  const x = (v) => LEFT + (v / far) * (RIGHT - LEFT);
  const marks = [];
  const across = ticks(0, far, axisStep(far, 4));
  let top = p.mark ? 40 : 28, marked = "";
  p.panels.forEach((panel, k) => {
    if (k > 0) top += 36;
    const own = bands[k] || [], bottom = top + panel.height;
    let [low, most] = panel.span;
    for (const band of own) for (const [, y] of band) low = Math.min(low, y);
    for (const band of own) for (const [, y] of band) most = Math.max(most, y);
    if (!(most > low)) most = low + 1;
    const high = low + (most - low) * 1.06;
    const y = (v) => bottom - ((v - low) / (high - low)) * panel.height;
    for (const band of own) marks.push(pathOf(trial ? "bd then" : "bd", lineOf(band, x, y) + "z"));
    const steps = ticks(low, high, axisStep(high - low, panel.height < 170 ? 2 : 4));
    marks.push(pathOf("g", across.map((v) => `M${at(x(v))} ${at(top)}V${at(bottom + 4)}`).join("") + steps.map((v) => `M${at(LEFT - 4)} ${at(y(v))}H${at(RIGHT)}`).join("")));
    for (const v of steps) marks.push(textOf("e", LEFT - 8, y(v) + 5, told(v)));
    marks.push(pathOf("ax", `M${at(LEFT)} ${at(top)}V${at(bottom)}H${at(RIGHT)}`), textOf("", 8, k ? top - 10 : 16, panel.up));
    for (const [v] of panel.levels) marks.push(pathOf("lv", `M${at(LEFT)} ${at(y(v))}H${at(RIGHT)}`));
    for (const c of panel.curves) marks.push(pathOf(c.class, lineOf(c.points, x, y)));
    const dots = panel.dots || [];
    if (dots.length) marks.push(pathOf("po", dots.map(([a, b]) => `M${at(x(a) - 3)} ${at(y(b) - 3)}h6v6h-6z`).join("")));
    for (const [v, name] of panel.levels) {
      // close below another its name goes to the other side
      const near = panel.levels.some(([other]) => 22 > y(v) - y(other) && y(v) - y(other) > 0);
      marks.push(textOf(near ? "h" : "e h", near ? LEFT + 8 : RIGHT, y(v) - 5, name));
    }
    if (p.mark) marked += `M${at(x(p.mark[0]))} ${at(k ? top : top - 18)}V${at(bottom)}`;
    top = bottom;
  });
  for (const v of across) marks.push(textOf("m", x(v), top + 19, told(v)));
  marks.push(textOf("e", RIGHT, top + 38, p.across));
  if (p.mark) {
    const [cls, shift] = x(p.mark[0]) > 380 ? ["e", -5] : ["", 5];
    marks.push(pathOf("mk", marked), textOf(cls, x(p.mark[0]) + shift, 32, p.mark[1]));
  }
  top += 62;
  for (const panel of p.panels) for (const c of panel.curves) {
    if (!c.name) continue;
    marks.push(pathOf(c.class, `M${at(LEFT)} ${at(top - 5)}h44`), textOf("", LEFT + 54, top, c.name));
    top += 20;
  }
  if (bands.some((own) => own.length)) {
    const words = trial ? "dotted: worst case of the inputs as the page was made, not of these" : "grey: worst case within the tolerances of the inputs";
    marks.push(pathOf(trial ? "bd then" : "bd", `M${at(LEFT)} ${at(top - 11)}h44v12h-44z`), textOf("", LEFT + 54, top, words));
    top += 20;
  }
  if (p.below) top = p.below(marks, x, top);
  return { title: p.title, words: p.words, height: top - 10, marks };
}

function runDown(r, from) {
  const rest = Math.min(r.n_end, from);
  const inverse = (w) => r.J / Math.max(r.T_0 + r.T_load + r.b * w + r.c * w * w, 1e-12);
  if (r.b === 0 && r.c === 0) return [[0, from], [(from - rest) * inverse(0), rest]];
  const part = (from - rest) / 24, points = [[0, from]];
  let time = 0;
  for (let k = 0; k < 24; k++) {
    const high = from - part * k, low = high - part;
    time += (part / 6) * (inverse(high) + 4 * inverse(high - part / 2) + inverse(low));
    points.push([time, low]);
  }
  return points;
}
function between(points, start, end) {
  const long = points[points.length - 1][0], scale = long > 0 ? (end - start) / long : 0;
  return points.map(([t, w]) => [start + t * scale, w]);
}
const left = (x, f) =>
  f > 0 && x < f ? 1 - (x * x) / (2 * f * (1 - f)) : x <= 1 - f ? 1 - (x - f / 2) / (1 - f) : ((1 - x) * (1 - x)) / (2 * f * (1 - f));

function travel(speed, end, scale) {
  const parts = speed.length > 8 ? 1 : 12, points = [[0, 0]];
  let sum = 0;
  for (let n = 1; n < speed.length; n++) {
    const [t0, w0] = speed[n - 1], [t1, w1] = speed[n], long = t1 - t0;
    // where a ramp ends as torque is removed, the last bits of two ways of calculating are not a part of the stop
    if (long <= 1e-9 * t1) continue;
    for (let k = 1; k <= parts; k++) {
      const x = k / parts;
      points.push([t0 + long * x, sum + long * x * (w0 + ((w1 - w0) * x) / 2)]);
    }
    sum += (long * (w0 + w1)) / 2;
  }
  const fit = (sum > 0 ? end / sum : 1) * scale;
  return points.map(([t, a]) => [t, a * fit]);
}
const shownAngle = (r) =>
  r.lead > 0 ? { scale: r.lead * 1000, up: "travel / mm", unit: "mm" }
    : r.i !== undefined ? { scale: 1 / (r.i * TURN), up: "angle of the load / r", unit: "r" }
      : { scale: 1 / TURN, up: "angle of the shaft / r", unit: "r" };
const inRpm = (points) => points.map(([t, w]) => [t, w * RPM]);

// a power of (1 + x/2^20) by squaring, the same in every language
function fade(x) {
  if (x < -40) return 0;
  let power = 1 + x / 1048576;
  for (let k = 0; k < 20; k++) power *= power;
  return power;
}
const largest = (points) => points.reduce((most, p) => Math.max(most, p[1]), -Infinity);

const DRAW = {
  stop(r) {
    const shown = shownAngle(r);
    const works = [[0, r.n_0], [r.t_before, r.n_0]], parts = r.f > 0 ? 24 : 1;
    for (let k = 1; k <= parts; k++) {
      const x = (r.x * k) / parts;
      works.push([r.t_before + r.t_ramp * x, r.n_0 * left(x, r.f)]);
    }
    if (r.n_left > 0.001 * r.n_0) works.push(...between(runDown(r, r.n_left), r.t_cut, r.t_works));
    const coast = runDown(r, r.n_0);
    const speeds = [works, [[0, r.n_0], ...between(coast, r.t_late, r.t_fails)], between(coast, 0, r.t_release)];
    const ends = [[r.t_works, r.p_works], [r.t_fails, r.p_fails], [r.t_release, r.p_release]];
    const words = ends.map(([t, p]) => `${told(t)} s, ${told(p * shown.scale)} ${shown.unit}`);
    const names = [`ramp works: ${words[0]}`, `ramp fails, full speed until torque goes: ${words[1]}`, `torque removed at once: ${words[2]}`];
    const cls = ["c1", "c2", "c3"];
    return {
      title: "Speed and travel over time in a stop",
      words: `From ${told(r.n_0 * RPM)} r/min to standstill: ${words[0]} with a ramp that works; ${words[1]} with a ramp that fails; ${words[2]} with torque removed at once. Torque is removed between ${told(r.t_early)} s and ${told(r.t_late)} s.`,
      across: "time / s", far: Math.max(0, r.t_works, r.t_fails, r.t_release),
      panels: [
        { up: "motor speed / (r/min)", height: 190, span: [0, r.n_0 * RPM], levels: [], curves: speeds.map((s, k) => ({ class: cls[k], points: inRpm(s), name: names[k] })) },
        { up: shown.up, height: 150, span: [0, Math.max(0, r.p_works, r.p_fails, r.p_release) * shown.scale], levels: [], curves: speeds.map((s, k) => ({ class: cls[k], points: travel(s, ends[k][1], shown.scale), name: "" })) },
      ],
      mark: [r.t_late, `torque removed, ${told(r.t_early)} s to ${told(r.t_late)} s`],
    };
  },
  rundown(r) {
    const t = r.t_release, shown = shownAngle(r), speed = between(runDown(r, r.n_0), 0, t);
    const words = `${told(t)} s, ${told(r.p_release * shown.scale)} ${shown.unit}`;
    return {
      title: "Speed and travel over time in a run-down",
      words: `From ${told(r.n_0 * RPM)} r/min to ${told(r.n_end * RPM)} r/min: ${words}.`,
      across: "time / s", far: t,
      panels: [
        { up: "speed / (r/min)", height: 190, span: [0, r.n_0 * RPM], levels: [], curves: [{ class: "c1", points: inRpm(speed), name: `torque removed at once: ${words}` }] },
        { up: shown.up, height: 150, span: [0, r.p_release * shown.scale], levels: [], curves: [{ class: "c1", points: travel(speed, r.p_release, shown.scale), name: "" }] },
      ],
    };
  },
  power(r) {
    const ramp = r.t_ramp, until = ramp * 1.25, peak = r.P_peak;
    const curves = [{ class: "c1", points: [[0, peak], [ramp, 0], [until, 0]], name: `into the DC link, on which the resistor is chosen: peak ${told(peak)} W` }];
    const panels = [];
    let words = `Power into the DC link falls from ${told(peak)} W to zero within ${told(ramp)} s; mean over the cycle of ${told(r.t_cycle)} s: ${told(r.P_mean)} W.`;
    if (r.U_0 !== undefined) {
      const chop = r.chopper > 0.5 ? Infinity : r.U_chop;
      const room = (r.C * (chop * chop - r.U_0 * r.U_0)) / 2;
      let taken = [[0, 0], [until, 0]], name = "into the resistor: nothing, the DC link takes it all up";
      if (room < r.E) {
        const moment = ramp * (1 - Math.sqrt(1 - Math.max(room / r.E, 0)));
        taken = [[0, 0], [moment, 0], [moment, peak * (1 - moment / ramp)], [ramp, 0], [until, 0]];
        name = `into the resistor, once the link is full: from ${told(moment)} s on`;
      }
      curves.push({ class: "c2", points: taken, name });
      const points = [];
      for (let k = 0; k <= 24; k++) {
        const x = k / 24, fed = r.E * (1 - (1 - x) * (1 - x));
        points.push([ramp * x, Math.min(Math.sqrt(r.U_0 * r.U_0 + (2 * fed) / r.C), chop)]);
      }
      const last = points[points.length - 1][1];
      points.push([until, last]);
      const most = Math.max(r.U_trip, largest(points));
      words += ` The DC link rises from ${told(r.U_0)} V to ${told(last)} V; chopper at ${told(r.U_chop)} V, trip at ${told(r.U_trip)} V.`;
      panels.push({
        up: "DC-link voltage / V", height: 130, span: [r.U_0 - (most - r.U_0) * 0.08, most + (most - r.U_0) * 0.08],
        curves: [{ class: "c1", points, name: "" }],
        levels: [[r.U_chop, `chopper ${told(r.U_chop)} V`], [r.U_trip, `trip ${told(r.U_trip)} V`]],
      });
    }
    curves.push({ class: "c3", points: [[0, r.P_mean], [until, r.P_mean]], name: `mean over the cycle of ${told(r.t_cycle)} s: ${told(r.P_mean)} W` });
    panels.push({ up: "power / W", height: 130, span: [0, Math.max(peak, r.P_mean)], levels: [], curves });
    return { title: "DC-link voltage and power of the braking resistor in a stop", words, across: "time from the start of the ramp / s", far: until, panels };
  },
  heat(r) {
    const air = r.T_air - ICE, limit = r.T_air + r.limit - ICE;
    const cycle = (start, ends) => {
      const points = [[0, start + air]];
      let rise = start, begin = 0;
      r.P_k.forEach((power, n) => {
        const long = r.t_k[n], last = power * r.R_th;
        for (let k = 1; k <= 12; k++) {
          const time = (long * k) / 12;
          points.push([begin + time, last + (rise - last) * fade(-time / r.tau) + air]);
        }
        begin += long;
        rise = ends[n];
      });
      return points;
    };
    const warm = cycle(r.x_0, r.d_warm), cold = cycle(0, r.d_cold), far = r.t_k.reduce((a, b) => a + b, 0);
    return {
      title: "Temperature over the duty cycle",
      words: `Over a cycle of ${told(far)} s: at most ${told(largest(warm))} °C after very many cycles, at most ${told(largest(cold))} °C in the first from cold; permitted ${told(limit)} °C, air ${told(air)} °C.`,
      across: "time / s", far,
      panels: [{
        up: "temperature / °C", height: 200, span: [air, Math.max(limit, largest(warm))], levels: [[limit, `permitted ${told(limit)} °C`]],
        curves: [
          { class: "c1", points: warm, name: `after very many cycles: at most ${told(largest(warm))} °C` },
          { class: "c2", points: cold, name: `first cycle, from cold: at most ${told(largest(cold))} °C` },
        ],
      }],
    };
  },
  brake(r) {
    const air = r.T_air - ICE, limit = r.T_max - ICE, far = 5 * r.tau, peak = air + r.d_peak;
    const curve = (less) => Array.from({ length: 41 }, (_, k) => {
      const moment = (far * k) / 40;
      return [moment / 60, air + (r.d_peak * (1 - fade(-(moment + 1 / r.z) / r.tau)) - less)];
    });
    return {
      title: "Temperature of the brake, stop after stop",
      words: `From ${told(air)} °C: ${told(air + r.d_one)} °C after the first stop, at most ${told(peak)} °C after very many, with one stop every ${told(1 / r.z)} s; permitted ${told(limit)} °C.`,
      across: "time / min", far: far / 60,
      panels: [{
        up: "temperature / °C", height: 200, span: [air, Math.max(limit, peak)], levels: [[limit, `permitted ${told(limit)} °C`]],
        curves: [
          { class: "c1", points: curve(0), name: `just after each stop: at most ${told(peak)} °C` },
          { class: "c2", points: curve(r.d_one), name: `just before each stop, every ${told(1 / r.z)} s` },
        ],
      }],
    };
  },
};

function plan(r, [device, across]) {
  const second = r.which > 0.5;
  const [K, T, C, S] = second ? [r.K2, r.T2, r.C2, r.S2] : [r.K, r.T, r.C, r.S];
  const there = r.there, far = Math.max(S, there === undefined ? 0 : there) || 1;
  const x = (v) => 40 + (v / far) * 520;
  const Z = r.Z || 0, rest = S - K * T - C - Z, mm = (v) => `${told(v * 1000)} mm`;
  const marks = [
    pathOf("hz", "M20 70h20v52h-20zM20 83l13 -13M20 96l20 -20M20 109l20 -20M20 122l20 -20M33 122l7 -7"),
    textOf("", 20, 60, "danger"),
    pathOf("ps", "M603 96a9 23 0 1 0 18 0a9 23 0 1 0 -18 0zM603 96a8 8 0 1 0 16 0a8 8 0 1 0 -16 0z"),
    pathOf("ap", "M598 96h-22m7 -5l-7 5l7 5"),
  ];
  const post = (p, cls) => {
    marks.push(pathOf(cls, `M${at(p)} 54V138`));
    if (across) marks.push(pathOf("po", `M${at(p - 5)} 48h10v8h-10zM${at(p - 5)} 136h10v8h-10z`));
  };
  if (there !== undefined) post(x(there), "th");
  post(x(S), "cu");
  // to a tenth: what is needed rounded up, what is there rounded down
  const placed = (metres, up) => {
    const tenths = metres * 10000, near = Math.round(tenths);
    return `${(Math.abs(tenths - near) < 1e-6 ? near : up ? Math.ceil(tenths) : Math.floor(tenths)) / 10} mm`;
  };
  const needed = [S, `needed: ${placed(S, true)}`], stands = [there, `stands: ${placed(there, false)}`];
  const names = there === undefined ? [needed] : there >= S ? [stands, needed] : [needed, stands];
  names.forEach(([v, name], k) => {
    const up = k === 0 && names.length > 1 ? 20 : 40, [cls, shift] = x(v) < 220 ? ["", -3] : ["e", 3];
    marks.push(textOf(cls, x(v) + shift, up, name));
    if (up < 30) marks.push(pathOf("ld", `M${at(x(v))} 25V48`));
  });
  const parts = [
    [K * T, `K·T = ${told(K * 1000)} mm/s · ${told(T * 1000)} ms = ${mm(K * T)}`],
    [C, `C = ${mm(C)}: reach towards the danger`],
    [Z, `Z = ${mm(Z)}: supplement`],
    [rest, `${mm(rest)}: rounding up, or the least distance`],
  ];
  let from = 0, line = 198, shown = 0, last = -Infinity;
  for (const [length, name] of parts) {
    if (length < 1e-4) continue;
    const a = x(from), b = x(from + length), letter = "abcd"[shown];
    last = Math.max((a + b) / 2, last + 12);
    marks.push(pathOf("dm", `M${at(a)} 150v12M${at(b)} 150v12M${at(a)} 156H${at(b)}`), textOf("m", last, 176, letter));
    marks.push(textOf("", 40, line, letter), textOf("", 60, line, name));
    line += 20; from += length; shown++;
  }
  marks.push(pathOf("fl", `M40 96H${at(x(S))}`));
  const words = `The ${device} must stand ${placed(S, true)} from the danger${there === undefined ? "" : ` and stands at ${placed(there, false)}`}. The distance is that for ${told(T * 1000)} ms until standstill and an approach speed of ${told(K * 1000)} mm/s.`;
  return { title: `Plan view of danger, ${device} and separation distance`, words, height: line - 8, marks };
}

/** A picture from its roles; bands belong to the inputs of the document, `trial` says that those are not shown; the device of a plan; of courses, which they are. */
function drawn(kind, roles, bands, trial, device) {
  if (kind === "plan") return plan(roles, device);
  const made = kind === "course" ? drawCourses(roles, device) : DRAW[kind](roles);
  return made && plot(made, bands, trial);
}

/** Bars of the sensitivities of a result, as every report has them; influences as [name, share, change, without steps]. */
function slopeBars(name, influences) {
  const title = `Sensitivities of ${name}`, none = "no input moves it here, by 1 % or by its slope";
  const bars = influences.slice(0, 8).map(([name, share, words, smooth]) => ({ name, part: share || 0, words, below: smooth && `without steps ${smooth}` }));
  const words = bars.length ? `For 1 % more of an input: ${bars.map((b) => `${b.name} ${b.words}${b.below && ` (${b.below})`}`).join("; ")}.` : `${none}.`;
  const LONG = 120, any = (isLeft) => bars.some((b) => b.part < 0 === isLeft);
  const mid = any(true) ? 150 + LONG : 158, end = any(false) ? mid + LONG + 10 : mid + 10;
  const marks = [textOf("", 2, 14, bars.length ? title : `${title}: ${none}`)];
  let top = 26;
  if (bars.length) {
    if (any(true)) marks.push(textOf("e", mid - 6, top + 12, "less"));
    if (any(false)) marks.push(textOf("", mid + 6, top + 12, "more"));
    top += 18;
  }
  const start = top;
  for (const b of bars) {
    const from = Math.min(mid, mid + b.part * LONG), to = Math.max(mid, mid + b.part * LONG);
    marks.push(textOf("", 2, top + 14, b.name), pathOf("br", `M${at(from)} ${at(top + 3)}H${at(to)}V${at(top + 17)}H${at(from)}z`), textOf("", end, top + 14, b.words));
    if (b.below) { top += 18; marks.push(textOf("", end, top + 14, b.below)); }
    top += 26;
  }
  if (bars.length) marks.push(pathOf("ax", `M${at(mid)} ${at(start)}V${at(top)}`));
  return { title, words, height: top + 6, marks };
}

/** What results move by when one input is changed by its step: a second run, and beside it the slope, from runs a
 * little to both sides of every number that keep the roundings of the first. Inputs as {name, given, move, step}: `move`
 * gives a value changed by a part of its step, which is named where the value is 0; `run` and `smooth` give of each
 * output {v, e}, null without a result; outputs as {unit, factor}. */
function* influencesOf(inputs, outputs, run, smooth) {
  const H = 1e-5, found = outputs.map(() => []), now = run(inputs);
  smooth(inputs);
  for (let k = 0; k < inputs.length; k++) {
    const { name, given, move, step } = inputs[k];
    if (!move) continue;
    const by = (part, how) => {
      const one = (a) => ({ v: move(a.v, part), e: 0 }), moved = given.m ? { m: given.m.map(one) } : one(given);
      return how(inputs.map((one, n) => (n === k ? { ...one, given: moved } : one)));
    };
    const second = by(1, run), [more, less, up, down] = [by(H, smooth), by(-H, smooth), by(H, run), by(-H, run)];
    outputs.forEach((o, n) => {
      const is = (all) => all && all[n].v !== undefined, f = o.factor;
      if (!now || !is(now)) return;
      const at = now[n].v, near = (x, size) => (Math.abs(x) <= size ? 0 : x);
      const slope = (a, b, of) => near((a.v - b.v) / of / f, 1e-9 * Math.abs(at / f));
      const [high, low] = [more, less].map((all) => (is(all) ? all[n] : null)), middle = now[n];
      // a value from which no step leads down has one side
      const own = [is(up) ? slope(up[n], middle, H) : null, is(down) ? slope(middle, down[n], H) : null].filter((x) => x !== null);
      const along = high && low ? slope(high, low, 2 * H) : own.length ? own[0] : 0;
      const change = is(second) ? near(second[n].v - at, second[n].e + middle.e) / f : null;
      if (change === 0 && along === 0) return;
      const stepped = own.some((x) => Math.abs(x - along) > 1e-3 * Math.abs(along) + 1e-9 * Math.abs(at / f));
      const alone = change === null || stepped || Math.abs(change - along) > 0.1 * Math.max(Math.abs(change), Math.abs(along));
      found[n].push({ name, step, change, along, alone, size: Math.max(Math.abs(change === null ? along : change), Math.abs(along)) });
    });
    yield null;
  }
  yield found.map((all, n) => {
    const signed = (x) => `${x > 0 ? "+" : ""}${told(x)} ${outputs[n].unit}`.trimEnd(), best = all.reduce((most, it) => (it.step ? most : Math.max(most, it.size)), 0);
    // equals in the order of the inputs, whatever rounding makes of them
    const size = (it) => Number(it.size.toExponential(5)), last = (it) => Number(Boolean(it.step));
    return all.filter((it) => it.step || it.size >= 1e-3 * best).sort((a, b) => last(a) - last(b) || size(b) - size(a)).map((it) => [
      it.name, it.step ? null : (it.change === null ? it.along : it.change) / best,
      (it.change === null ? "no result" : signed(it.change)) + (it.step ? ` for ${it.step}, now 0` : ""), it.alone ? signed(it.along) : "",
    ]);
  });
}
