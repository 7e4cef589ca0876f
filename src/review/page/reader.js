// A reader changes an input, the page follows. Nothing is touched before the first change.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const F = data.formats;
  const SIGNS = { "<=": "≤", ">=": "≥", "<>": "≠" };
  const tied = (t) => t.replace(/ /g, "\u00a0").replace(/,\u00a0/g, ", ");
  const el = (name, more, ...inside) => { const e = Object.assign(document.createElement(name), more); e.append(...inside); return e; };

  // numbers as a person reads them: short ones whole, others to six digits
  function digits(x, e) {
    if (Math.abs(x) <= e) return "0";
    const text = (n) => String(Number(x.toPrecision(n))).replace("e+", "e");
    const whole = text(15);
    return whole.length <= 10 ? whole : text(6);
  }
  function write(a, k) {
    const f = F[k];
    if (a === undefined) return "nothing";
    if (a.m !== undefined) {
      const bad = a.m.find((one) => one.x !== undefined);
      if (bad) return "not worked out";
      return a.m.map((one) => digits(one.v / f.f - f.z, one.e / f.f)).join(", ") + (f.s ? " " + f.s : "");
    }
    if (a.x !== undefined) return "not worked out";
    if (a.t !== undefined) return a.t ? "holds" : "does not hold";
    if (f.w) return f.w[a.v] === undefined ? String(a.v) : f.w[a.v];
    return digits(a.v / f.f - f.z, a.e / f.f) + (f.s ? " " + f.s : "");
  }

  // a number with or without a unit behind it; the unit is one of those offered
  function read(text, unit, offered) {
    const m = /^\s*([-−+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-−+]?\d+)?)\s*(.*?)\s*$/.exec(text);
    if (!m) return { w: "a number is needed" };
    let k = unit;
    if (m[2] !== "") {
      k = offered.find((one) => F[one].s === m[2]);
      if (k === undefined) return { w: /^,\d/.test(m[2]) ? "write a point for the decimal comma" : `unit ${m[2]} is not offered here` };
    }
    const v = (Number(m[1].replace(/−/g, "-")) + F[k].z) * F[k].f;
    return Number.isFinite(v) ? { a: rounded(v), k } : { w: "a finite number is needed" };
  }

  const inputOf = (input, text, unit) => {
    if (input.w) return { a: whole(Number(text)) };
    if (input.m) {
      const parts = text.split(text.includes(";") ? ";" : ",").filter((p) => p.trim() !== "");
      if (!parts.length) return { w: "values are needed, with commas between" };
      const all = parts.map((p) => read(p, unit, input.us));
      return all.find((one) => one.w) || { a: { m: all.map((one) => one.a) } };
    }
    if (text.trim() === "") return { w: "a value is needed" };
    const one = read(text, unit, input.us);
    return one.a && input.whole && !Number.isInteger(one.a.v) ? { w: "a whole number is needed" } : one;
  };
  const same = (a, b) => (a.m ? b.m && a.m.length === b.m.length && a.m.every((x, k) => same(x, b.m[k])) : Math.abs(a.v - b.v) <= 1e-12 * Math.abs(b.v));

  const calcs = data.calculations.map((program, at) => {
    const section = document.querySelector(`[data-calc="${at}"]`);
    const inside = section ? [...section.querySelectorAll("[data-r]")] : [];
    const shown = [...inside, ...document.querySelectorAll(`[data-c="${at}"][data-r]`)].map((e) => ({
      e, r: e.dataset.r.split(" ").map(Number), q: e.dataset.q ? e.dataset.q.split(" ") : null, was: e.textContent, now: e.textContent,
    }));
    const links = new Map(data.links[at].map(([input, from, words]) => [input, { from, words }]));
    const state = program.inputs.map((input, k) => ({ text: input.v, unit: input.u, input, link: links.get(k) }));
    const first = state.map((s) => (s.link ? undefined : inputOf(s.input, s.text, s.unit).a));
    return { program, at, section, shown, state, first, original: null, R: null, trial: false };
  });

  // what takes inputs from a calculation follows it, the nearest first
  const sources = (c) => c.state.filter((s) => s.link).flatMap((s) => s.link.from.map(([, at]) => calcs[at]));
  const depth = (c) => (c.depth === undefined ? (c.depth = 1 + Math.max(0, ...sources(c).map(depth))) : c.depth);
  const rests = (d, c) => sources(d).some((one) => one === c || rests(one, c));
  for (const c of calcs) c.followers = data.links.some((all) => all.length) ? calcs.filter((d) => rests(d, c)).sort((a, b) => depth(a) - depth(b)) : [];
  const resultOf = (c) => c.R || (c.R = run(c));
  function linked(s) {
    const all = s.input.m && s.link.from[0][0] !== null ? inputOf(s.input, s.input.v, s.input.u).a.m : null;
    let a;
    for (const [element, at, r] of s.link.from) {
      const from = calcs[at];
      a = resultOf(from)[r];
      if ((from.troubles && from.troubles.length) || a === undefined || a.x !== undefined) return { w: `${from.program.a} gives no result` };
      if (all) all[element] = a;
    }
    if (all) return { a: { m: all } };
    if (!s.link.words) return { a: s.input.m && a.m === undefined ? { m: [a] } : a };
    const from = calcs[s.link.from[0][1]];
    const word = s.link.words[a.v];
    return word === null ? { w: `it does not know the word of ${from.program.a}` } : { a: whole(word) };
  }

  function valuesOf(c) {
    return c.state.map((s) => {
      const got = s.link ? linked(s) : inputOf(s.input, s.text, s.unit);
      s.value = got.a;
      s.problem = got.w || "";
      return got.a || fault("missing-input", 0, s.problem);
    });
  }
  // a temperature is rounded from the zero of its scale
  function onScale(a, s) {
    const f = F[s.r[1]], zero = rounded((f.z || 0) * f.f), step = rounded(Number(s.q[1]));
    if (!f.z) return roundTo(a, step, s.q[0], 0);
    const above = roundTo(BINARY["-"](a, zero, 0), step, s.q[0], 0);
    return isFault(above) ? above : BINARY["+"](above, zero, 0);
  }
  const run = (c) => work(c.program, valuesOf(c), data.preferred);

  function follow(c) {
    const R = run(c);
    c.R = R;
    const bad = c.state.filter((s) => s.problem).map((s) => ({ input: c.program.inputs.indexOf(s.input), w: `${s.input.n}: ${s.problem}` }));
    const found = bad.length ? bad : troubles(c.program, R, write);
    c.troubles = found;
    c.state.forEach((s, k) => {
      s.changed = !s.link && (!s.value || !same(s.value, c.first[k]));
      s.wrong = s.problem || found.filter((t) => t.input === k).map((t) => t.w).join("; ");
    });
    c.trial = c.state.some((s) => s.changed) || sources(c).some((one) => one.trial);
    const stands = found.length === 0;
    if (c.section) {
      c.section.classList.toggle("stale", !stands);
      const status = c.section.querySelector(".tr");
      if (status) {
        const words = stands ? "" : "These inputs give no result: " + found.map((t) => t.w).join("; ") + ". The figures below are struck out.";
        if (status.textContent !== words) status.textContent = words;
        status.hidden = stands;
      }
    }
    for (const s of c.shown) {
      let a = R[s.r[0]];
      if (s.q && a && a.v !== undefined) a = onScale(a, s);
      let text = write(a, s.r[1]);
      if (s.e.classList.contains("v") || s.e.tagName === "SPAN") text = tied(text);
      else text = text.replace(/ /g, "\u00a0");
      // a value that is as it was is written as it was, to the letter
      if (c.original && text === s.fresh) text = s.was;
      if (text !== s.now) { s.e.textContent = text; s.now = text; }
      s.e.classList.toggle("ch", text !== s.was);
      s.e.classList.toggle("st", !stands);
    }
    checks(c, R);
    if (c.section) {
      cases(c, R);
      tables(c, R);
      pictures(c, R, stands);
      slopesLater(c, stands);
    }
  }

  function verdicts(c, R) {
    return c.program.checks.map(([r, caution, sides, text, otherwise]) => {
      const t = R[r];
      const word = t && t.t === true ? "holds" : caution ? "look" : "FAILS";
      let words = "";
      if (sides) {
        const [relation, x, y, k, gap] = sides, a = R[x], b = R[y];
        if (a && b && a.v !== undefined && b.v !== undefined) {
          words = `${write(a, k)} ${SIGNS[relation] || relation} ${write(b, k)}`;
          if (relation !== "=" && relation !== "<>") {
            const left = relation[0] === "<" ? BINARY["-"](b, a, 0) : BINARY["-"](a, b, 0);
            words += `, margin ${write(likeZero(left) ? whole(0) : left, gap)}`;
          }
        }
      }
      return { word, words, text, otherwise };
    });
  }

  function checks(c, R) {
    const all = verdicts(c, R);
    if (c.section) {
      for (const li of c.section.querySelectorAll("[data-k]")) {
        const { word, words } = all[li.dataset.k];
        if (!li.dataset.was) { li.dataset.was = li.querySelector("b").textContent; li.dataset.wasSides = li.querySelector(".sd").textContent; li.dataset.class = li.className; }
        li.querySelector("b").textContent = word;
        const sd = li.querySelector(".sd");
        sd.textContent = tied(words);
        li.className = word === "holds" ? "ok" : word === "FAILS" ? "bad" : "look";
        li.classList.toggle("ch", word !== li.dataset.was);
        sd.classList.toggle("ch", sd.textContent !== li.dataset.wasSides);
      }
    }
    const of = (word) => all.filter((one) => one.word === word);
    const told = (one) => (one.otherwise ? `${one.text}: ${one.otherwise}` : one.text);
    const fails = of("FAILS"), look = of("look");
    const more = fails.length > 1 ? ` (and ${fails.length - 1} more)` : "";
    const words = fails.length ? `FAILS: ${told(fails[0])}${more}`
      : look.length ? `holds, with a caution: ${told(look[0])}`
        : all.length === 1 ? "the check holds" : `all ${all.length} checks hold`;
    for (const e of document.querySelectorAll(`[data-c="${c.at}"][data-ck]`)) {
      if (e.dataset.was === undefined) e.dataset.was = e.textContent;
      e.textContent = words;
      e.classList.toggle("ch", words !== e.dataset.was);
    }
  }

  function cases(c, R) {
    for (const p of c.section.querySelectorAll("[data-w]")) {
      const conditions = p.dataset.w.split(" ").map((r) => R[r]);
      let taken = conditions.findIndex((t) => t && t.t === true);
      if (taken < 0) taken = conditions.length;
      const words = `case ${taken + 1} applies`;
      if (p.dataset.was === undefined) p.dataset.was = p.textContent;
      p.textContent = words;
      p.classList.toggle("ch", words !== p.dataset.was);
      for (const math of p.parentElement.querySelectorAll("math")) {
        [...math.querySelectorAll("mtr.tk,mtr.nt")].forEach((row, k) => row.setAttribute("class", k === taken ? "tk" : "nt"));
      }
    }
  }

  function tables(c, R) {
    for (const t of c.section.querySelectorAll("[data-t]")) {
      const table = c.program.tables[t.dataset.t], used = new Set();
      for (const r of t.dataset.x.split(" ").filter(Boolean)) {
        const x = R[r];
        if (!x || x.v === undefined) continue;
        const k = rowOf(table, x);
        if (k < 0) continue;
        used.add(k);
        if (table[0] === "straight") used.add(Math.max(k - 1, 0));
      }
      [...t.tBodies[0].rows].forEach((row, k) => {
        row.classList.toggle("us", used.has(k));
        row.cells[2].textContent = used.has(k) ? "◂ used" : "";
      });
    }
  }

  function draw(c, R, k) {
    const [kind, roles, bands] = data.pictures[c.at][k];
    const values = {};
    for (const name in roles) {
      const a = R[roles[name]];
      if (!a || (a.m ? a.m.some(isFault) : a.v === undefined)) return null;
      values[name] = a.m ? a.m.map((one) => one.v) : a.v;
    }
    return drawn(kind, values, bands, c.trial);
  }
  function pictures(c, R, stands) {
    for (const box of c.section.querySelectorAll("[data-p]")) {
      const picture = stands ? draw(c, R, Number(box.dataset.p)) : null;
      if (picture) paint(box, picture);
    }
  }

  // slopes take two runs for each input: worked out when the reader pauses, faint until then
  function slopeSteps(c) {
    const { o, p } = data.slopes[c.at], given = valuesOf(c);
    const inputs = c.state.map((s, k) => ({ name: s.input.n, given: given[k], step: s.input.w ? 0 : p.includes(k) ? 2 : 1 }));
    const outputs = o.map(([, r, k]) => ({ value: (R) => (R[r].v === undefined ? NaN : R[r].v / F[k].f) }));
    return slopesOf(inputs, outputs, (all) => work(c.program, all.map((one) => one.given), data.preferred));
  }
  function slopesLater(c, stands) {
    if (!data.slopes[c.at]) return;
    clearTimeout(c.pause);
    const boxes = [...c.section.querySelectorAll("[data-sl]")];
    for (const box of boxes) {
      if (!box.made) box.made = box.firstElementChild;
      if (!c.trial) { box.replaceChildren(box.made); box.marks = null; }
      box.classList.toggle("old", c.trial);
    }
    if (!c.trial || !stands) return;
    c.pause = setTimeout(() => {
      const steps = slopeSteps(c);
      const go = () => {
        const until = performance.now() + 6;
        for (let next = steps.next(); !next.done; next = steps.next()) {
          if (next.value) {
            boxes.forEach((box, k) => {
              const [name, , format] = data.slopes[c.at].o[box.dataset.sl];
              paint(box, slopeBars(name, F[format].s, next.value[k]));
              box.classList.remove("old");
            });
            return;
          }
          if (performance.now() > until) { c.pause = setTimeout(go, 0); return; }
        }
      };
      go();
    }, 250);
  }

  const quoted = (t) => (/[^A-Za-z0-9_.\/-]/.test(t) ? `'${t.replace(/'/g, "'\\''")}'` : t);
  function command(c) {
    valuesOf(c);
    const words = c.state.filter((s) => {
      if (s.link) return true;
      const d = s.input.d;
      return d === null || d !== s.text || (s.input.du !== s.unit && !s.input.w);
    }).map((s) => {
      if (s.link) return `${s.input.n}=${quoted(takenText(s))}`;
      const unit = s.unit === null || s.unit === undefined ? "" : F[s.unit].s;
      const own = s.input.w ? s.input.w[s.text] : s.input.m
        ? s.text.split(s.text.includes(";") ? ";" : ",").filter((p) => p.trim() !== "").map((p) => withUnit(p.trim(), unit)).join(", ")
        : withUnit(s.text.trim(), unit);
      return `${s.input.n}=${quoted(own)}`;
    });
    return ["standstill run", c.program.sheet, ...words].join(" ");
  }
  function takenText(s) {
    const f = F[s.input.us[0]], one = (a) => `${Number((a.v / f.f - f.z).toPrecision(15))} ${f.s}`.trim();
    if (!s.value) return "…";
    return s.input.w ? s.input.w[s.value.v] : s.value.m ? s.value.m.map(one).join(", ") : one(s.value);
  }
  const withUnit = (text, unit) => (unit && /^[-−+0-9.eE]+$/.test(text) ? `${text} ${unit}` : text);

  const bar = document.getElementById("bar");
  function tellBar() {
    const changed = calcs.map((c) => ({ c, n: c.state.filter((s) => s.changed).length })).filter((one) => one.n);
    const count = changed.reduce((n, one) => n + one.n, 0);
    document.body.classList.toggle("tried", count > 0);
    bar.hidden = count === 0;
    bar.textContent = "";
    if (!count) return;
    bar.append(el("p", { textContent: `${count} ${count === 1 ? "input" : "inputs"} changed: a trial, not the review as it was made.` }));
    const back = el("button", { type: "button", textContent: "Put all back" });
    back.onclick = () => { const first = calcs.find((c) => c.state.some((s) => s.changed)); calcs.forEach(putBack); tellBar(); const field = first.section.querySelector("input,select"); if (field) field.focus(); };
    bar.append(back);
    for (const { c } of changed) {
      const copy = el("button", { type: "button", textContent: changed.length > 1 ? `Copy command of ${c.program.a}` : "Copy as command line" });
      copy.onclick = () => give(c, copy);
      bar.append(copy);
    }
  }
  function give(c, button) {
    const text = command(c);
    let area = bar.querySelector("textarea");
    if (!area) { area = el("textarea", { readOnly: true, rows: 3 }); area.setAttribute("aria-label", "command line"); bar.append(area); }
    area.value = text;
    area.focus();
    area.select();
    let done = false;
    try { done = document.execCommand("copy"); } catch { done = false; }
    button.textContent = done ? "Copied" : "Select and copy the line";
  }
  function putBack(c) {
    c.state.forEach((s) => { s.text = s.input.v; s.unit = s.input.u; s.show(); });
    changed(c, false);
  }

  // how the first values read here, to tell a change from another way of rounding
  function remember(c) {
    const now = c.state.map((s) => [s.text, s.unit]);
    c.state.forEach((s) => { s.text = s.input.v; s.unit = s.input.u; });
    const R = run(c);
    for (const s of c.shown) {
      let a = R[s.r[0]];
      if (s.q && a && a.v !== undefined) a = onScale(a, s);
      const text = write(a, s.r[1]);
      s.fresh = s.e.tagName === "SPAN" ? tied(text) : text.replace(/ /g, "\u00a0");
    }
    c.original = c.R = R;
    c.state.forEach((s, k) => { [s.text, s.unit] = now[k]; });
  }
  function changed(c, withBar = true) {
    const all = [c, ...c.followers];
    for (const one of all) if (!one.original) remember(one);
    for (const one of all) {
      follow(one);
      one.state.forEach((s) => s.mark());
    }
    if (withBar) tellBar();
  }

  for (const c of calcs) {
    c.state.forEach((s) => { s.show = () => {}; s.mark = () => {}; });
    const list = c.section && c.section.querySelector("table.inp");
    if (!list) continue;
    c.section.querySelector(".hint").hidden = false;
    c.state.forEach((s, k) => {
      if (s.link) return;
      const row = list.querySelector(`[data-i="${k}"]`), cell = row.cells[1], original = cell.textContent, name = s.input.n;
      const label = `${name}: ${row.cells[2].textContent}`;
      const note = el("small", { className: "was" });
      note.id = `was-${c.at}-${k}`;
      let field, unit = null;
      if (s.input.w) {
        field = el("select", {}, ...s.input.w.map((word, n) => el("option", { value: String(n), textContent: word })));
        field.onchange = () => { s.text = field.value; changed(c); };
      } else {
        field = el("input", { type: "text", autocomplete: "off", spellcheck: false });
        if (!s.input.m) field.inputMode = "decimal";
        field.oninput = () => { s.text = field.value; changed(c); };
        field.onkeydown = (e) => { if (e.key === "Escape") { s.text = s.input.v; s.unit = s.input.u; s.show(); changed(c); } };
        if (s.input.us.length > 1) {
          unit = el("select", {}, ...s.input.us.map((n) => el("option", { value: String(n), textContent: F[n].s || "1" })));
          unit.setAttribute("aria-label", `unit of ${name}`);
          unit.onchange = () => {
            const before = inputOf(s.input, s.text, s.unit), k = Number(unit.value);
            const text = (a) => String(Number((a.v / F[k].f - F[k].z).toPrecision(15)));
            // the same quantity in another unit
            if (before.a) s.text = k === s.input.u && same(before.a, inputOf(s.input, s.input.v, s.input.u).a) ? s.input.v : before.a.m ? before.a.m.map(text).join(", ") : text(before.a);
            s.unit = k;
            s.show();
            changed(c);
          };
        }
      }
      field.setAttribute("aria-label", label);
      field.setAttribute("aria-describedby", note.id);
      field.dataset.name = name;
      s.show = () => { field.value = s.text; if (unit) unit.value = String(s.unit); };
      s.mark = () => {
        row.classList.toggle("changed", Boolean(s.changed));
        row.classList.toggle("wrong", Boolean(s.wrong));
        field.setAttribute("aria-invalid", String(Boolean(s.wrong)));
        const words = (s.wrong ? s.wrong + ". " : "") + (s.changed ? `was ${original}` : "");
        if (note.textContent !== words) note.textContent = words;
      };
      cell.textContent = "";
      cell.append(field);
      if (unit) cell.append(unit);
      else if (!s.input.w && s.input.us.length && F[s.input.us[0]].s) cell.append("\u00a0" + F[s.input.us[0]].s);
      cell.append(note);
      s.show();
    });
  }

  // for checks from outside: sets inputs, returns results in the unit of each, checks and troubles
  window.standstill = {
    fresh: () => calcs.flatMap((c) => c.shown.filter((s) => s.fresh !== undefined).map((s) => [s.was, s.fresh, s.r])),
    redraw: (at, k) => { const box = el("div"); paint(box, draw(calcs[at], resultOf(calcs[at]), k)); return box.innerHTML; },
    slopes: (at) => { let all; for (const one of slopeSteps(calcs[at])) all = one || all; return all; },
    values: (at) => {
      const c = calcs[at], R = run(c), found = troubles(c.program, R, write);
      return {
        outputs: Object.fromEntries(c.program.outputs.map(([name, r, k]) => {
          const a = R[r], f = F[k];
          return [name, a.m ? a.m.map((one) => one.v / f.f - f.z) : a.v === undefined ? null : f.w ? f.w[a.v] : a.v / f.f - f.z];
        })),
        checks: verdicts(c, R).map((one) => one.word),
        troubles: found,
        command: command(c),
      };
    },
    set: (at, values) => {
      const c = calcs[at];
      for (const name in values) {
        const s = c.state.find((one) => one.input.n === name);
        s.text = s.input.w ? String(s.input.w.indexOf(values[name])) : values[name];
        s.show();
      }
      changed(c);
    },
    back: (at) => { putBack(calcs[at]); tellBar(); },
  };

  // what has to be scrolled sideways can be reached by key
  const reach = new ResizeObserver((all) => all.forEach(({ target }) => {
    if (target.scrollWidth > target.clientWidth + 1) target.tabIndex = 0;
    else target.removeAttribute("tabindex");
  }));
  document.querySelectorAll(".w,.wide").forEach((e) => reach.observe(e));

  // folded parts are open on paper
  let folded = [];
  addEventListener("beforeprint", () => { folded = [...document.querySelectorAll("details:not([open])")]; folded.forEach((d) => { d.open = true; }); });
  addEventListener("afterprint", () => folded.forEach((d) => { d.open = false; }));
})();
