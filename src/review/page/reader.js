// A reader changes an input, the page follows. Nothing is touched before the first change. What stands on the
// page is looked up once, in idle time, and remembers what it was made from; it is touched only where that moved.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const F = data.formats;
  const SIGNS = { "<=": "≤", ">=": "≥", "<>": "≠" };
  const el = (name, more, ...inside) => { const e = Object.assign(document.createElement(name), more); e.append(...inside); return e; };

  const calcs = data.calculations.map((program, at) => {
    const links = new Map(data.links[at].map(([input, from, words]) => [input, { from, words }]));
    return {
      program, at,
      section: document.querySelector(`[data-calc="${at}"]`),
      state: program.inputs.map((input, k) => ({ input, text: input.v, unit: input.u, link: links.get(k) })),
      engine: null, R: null, places: null, stands: true, troubles: [], trial: false,
    };
  });

  // what takes inputs from a calculation follows it, the nearest first
  const sources = (c) => c.state.filter((s) => s.link).flatMap((s) => s.link.from.map(([, at]) => calcs[at]));
  const depth = (c) => (c.depth === undefined ? (c.depth = 1 + Math.max(0, ...sources(c).map(depth))) : c.depth);
  const rests = (d, c) => sources(d).some((one) => one === c || rests(one, c));
  const linked = data.links.some((all) => all.length);
  for (const c of calcs) c.followers = linked ? calcs.filter((d) => rests(d, c)).sort((a, b) => depth(a) - depth(b)) : [];

  /** An input that holds other calculations' values: {a} a value, or {w} why it is none. */
  function taken({ input, link }) {
    const all = input.m && link.from[0][0] !== null ? readInput(input, input.v, input.u, F).a.m : null;
    let a;
    for (const [element, at, r] of link.from) {
      const from = calcs[at];
      a = from.R[r];
      if (from.troubles.length || a.x !== undefined) return { w: `${from.program.a} gives no result` };
      if (all) all[element] = a;
    }
    if (all) return { a: { m: all } };
    if (!link.words) return { a: input.m && a.m === undefined ? { m: [a] } : a };
    const word = link.words[a.v];
    return word === null ? { w: `it does not know the word of ${calcs[link.from[0][1]].program.a}` } : { a: whole(word) };
  }

  // what a field says, read again only where it has changed
  function said(s) {
    if (s.link) {
      s.read = taken(s);
      s.problem = s.read.w || "";
      s.value = s.read.a || fault("missing-input", 0, s.problem);
    } else if (s.read === undefined || s.readText !== s.text || s.readUnit !== s.unit) {
      s.read = readInput(s.input, s.text, s.unit, F);
      s.readText = s.text; s.readUnit = s.unit;
      s.problem = s.read.w || "";
      s.value = s.read.a || fault("missing-input", 0, s.problem);
    }
    return s;
  }
  const run = (c) => c.engine.follow(c.state.map((s) => said(s).value));

  /** Looks up what follows a calculation; works out how its first values read here. */
  function prepare(c) {
    if (c.engine) return;
    sources(c).forEach(prepare);
    c.engine = ready(c.program, data.preferred);
    const now = c.state.map((s) => [s.text, s.unit]);
    c.state.forEach((s) => { s.text = s.input.v; s.unit = s.input.u; s.first = said(s).read.a; });
    c.R = run(c);
    c.places = { texts: texts(c), checks: checksOf(c), told: toldOf(c), cases: casesOf(c), tables: tablesOf(c), pictures: picturesOf(c) };
    c.state.forEach((s, k) => { [s.text, s.unit] = now[k]; });
  }

  const inside = (c, what) => (c.section ? [...c.section.querySelectorAll(what)] : []);

  function setText(place, text) {
    if (text === place.now) return;
    // the sole text of an element is put in place; a first one is made
    const node = place.e.firstChild;
    if (node && node === place.e.lastChild && node.nodeType === 3) node.data = text; else place.e.textContent = text;
    place.now = text;
  }
  function mark(place, is) {
    if (is !== place.marked) place.e.classList.toggle("ch", is);
    place.marked = is;
  }
  const place = (e) => ({ e, was: e.textContent, now: e.textContent, marked: false });

  // values: those of one register written in one way are calculated together
  function texts(c) {
    const groups = new Map();
    for (const e of [...inside(c, "[data-r]"), ...document.querySelectorAll(`[data-c="${c.at}"][data-r]`)]) {
      const key = `${e.dataset.r} ${e.dataset.q || ""}`;
      if (!groups.has(key)) {
        const [r, f] = e.dataset.r.split(" ").map(Number), q = e.dataset.q ? e.dataset.q.split(" ") : null;
        groups.set(key, { r, f: F[f], q: q && { way: q[0], step: rounded(Number(q[1])) }, places: [] });
      }
      groups.get(key).places.push(Object.assign(place(e), { tied: e.tagName === "SPAN" }));
    }
    const all = [...groups.values()];
    for (const group of all) { group.seen = c.R[group.r]; group.fresh = group.text = wordsOf(group, group.seen); }
    return all;
  }
  function wordsOf(group, a) {
    return write(group.q && a.v !== undefined ? onScale(a, group) : a, group.f);
  }
  // a temperature is rounded from the zero of its scale
  function onScale(a, { q, f }) {
    if (!f.z) return roundTo(a, q.step, q.way, 0);
    const zero = rounded(f.z * f.f), above = roundTo(BINARY["-"](a, zero, 0), q.step, q.way, 0);
    return isFault(above) ? above : BINARY["+"](above, zero, 0);
  }
  function followTexts(c) {
    for (const group of c.places.texts) {
      const a = c.R[group.r];
      if (a === group.seen) continue;
      group.seen = a;
      const text = wordsOf(group, a);
      if (text === group.text) continue;
      group.text = text;
      // a value that is as it was is written as it was, to the letter
      const back = text === group.fresh;
      for (const one of group.places) {
        setText(one, back ? one.was : one.tied ? tied(text) : text.replace(/ /g, "\u00a0"));
        mark(one, one.now !== one.was);
      }
    }
  }

  // whether there are results at all
  function followTroubles(c) {
    const stands = c.troubles.length === 0;
    if (c.section) {
      const words = stands ? "" : "These inputs give no result: " + c.troubles.map((t) => t.w).join("; ") + ". The figures below are struck out.";
      const status = c.section.querySelector(".tr");
      if (status && status.textContent !== words) status.textContent = words;
      if (status && status.hidden !== stands) status.hidden = stands;
    }
    if (stands === c.stands) return;
    c.stands = stands;
    if (c.section) c.section.classList.toggle("stale", !stands);
    for (const group of c.places.texts) for (const one of group.places) one.e.classList.toggle("st", !stands);
  }

  function follow(c) {
    c.R = run(c);
    const bad = c.state.map((s, input) => ({ input, w: `${s.input.n}: ${s.problem}`, is: s.problem })).filter((one) => one.is);
    c.troubles = bad.length ? bad : troubles(c.program, c.R, (a, k) => write(a, F[k]));
    c.state.forEach((s, k) => {
      s.changed = !s.link && (!s.read.a || !alike(s.read.a, s.first));
      s.wrong = s.problem || c.troubles.filter((t) => t.input === k).map((t) => t.w).join("; ");
    });
    c.trial = c.state.some((s) => s.changed) || sources(c).some((one) => one.trial);
    followTroubles(c);
    followTexts(c);
    followChecks(c);
    followCases(c);
    followTables(c);
    pictures(c);
    slopesLater(c);
  }

  function verdict(R, [r, caution, sides, text, otherwise]) {
    const word = R[r].t === true ? "holds" : caution ? "look" : "FAILS";
    let words = "";
    if (sides) {
      const [relation, x, y, k, gap] = sides, a = R[x], b = R[y];
      if (a.v !== undefined && b.v !== undefined) {
        words = `${write(a, F[k])} ${SIGNS[relation] || relation} ${write(b, F[k])}`;
        if (relation !== "=" && relation !== "<>") {
          const left = relation[0] === "<" ? BINARY["-"](b, a, 0) : BINARY["-"](a, b, 0);
          words += `, margin ${write(likeZero(left) ? whole(0) : left, F[gap])}`;
        }
      }
    }
    const why = R[r].x === "never" ? R[r].w : "";
    return { word, words, text, otherwise: [why, otherwise].filter((one) => one).join("; ") };
  }

  function checksOf(c) {
    const shown = new Map(inside(c, "[data-k]").map((li) => [Number(li.dataset.k), li]));
    return c.program.checks.map((check, k) => {
      const li = shown.get(k), [r, , sides] = check, of = sides ? [r, sides[1], sides[2]] : [r];
      return {
        check, of, seen: of.map((one) => c.R[one]), now: verdict(c.R, check),
        li, word: li && place(li.querySelector("b")), sides: li && place(li.querySelector(".sd")),
      };
    });
  }
  const CLASS = { holds: "ok", FAILS: "bad", look: "look" };
  function followChecks(c) {
    let moved = false;
    for (const one of c.places.checks) {
      if (one.of.every((r, k) => c.R[r] === one.seen[k])) continue;
      one.seen = one.of.map((r) => c.R[r]);
      one.now = verdict(c.R, one.check);
      moved = true;
      if (!one.li) continue;
      setText(one.word, one.now.word);
      setText(one.sides, tied(one.now.words));
      const words = `${CLASS[one.now.word]}${one.word.now === one.word.was ? "" : " ch"}`;
      if (one.li.className !== words) one.li.className = words;
      mark(one.sides, one.sides.now !== one.sides.was);
    }
    if (moved) tellChecks(c);
  }

  // all checks in one sentence
  const toldOf = (c) => [...document.querySelectorAll(`[data-c="${c.at}"][data-ck]`)].map(place);
  function tellChecks(c) {
    const all = c.places.checks.map((one) => one.now);
    const of = (word) => all.filter((one) => one.word === word);
    const told = (one) => (one.otherwise ? `${one.text}: ${one.otherwise}` : one.text);
    const fails = of("FAILS"), look = of("look");
    const more = fails.length > 1 ? ` (and ${fails.length - 1} more)` : "";
    const words = fails.length ? `FAILS: ${told(fails[0])}${more}`
      : look.length ? `holds, with a caution: ${told(look[0])}`
        : ["no checks", "the check holds", "both checks hold"][all.length] || `all ${all.length} checks hold`;
    for (const one of c.places.told) {
      setText(one, words);
      mark(one, one.now !== one.was);
      one.e.classList.toggle("bad", fails.length > 0);
    }
    tellVerdict(c, fails.length ? "bad" : look.length ? "look" : "ok", fails);
  }

  // the verdict at the head, above the signatures and in the bar follows a trial
  const parts = [...document.querySelectorAll(".vdl > li")], alls = [...document.querySelectorAll("[data-vall]")];
  const made = alls.length ? alls[0].textContent : "";
  const verdictNow = () => {
    const of = (kind) => parts.filter((li) => li.classList.contains(kind)).length;
    const bad = of("bad"), look = of("look"), n = parts.length;
    return bad ? `${bad} of ${n} FAIL${bad === 1 ? "S" : ""}.` : look ? `Every check holds, ${look} of ${n} with a caution.` : "Every check holds.";
  };
  function tellVerdict(c, kind, fails) {
    for (const group of c.places.texts) for (const one of group.places) if (one.e.classList.contains("v")) one.e.classList.toggle("fv", fails.length > 0);
    const li = document.querySelector(`[data-vd="${c.at}"]`);
    if (!li) return;
    li.className = kind;
    const list = li.querySelector(".fl");
    list.textContent = "";
    for (const one of fails) {
      const text = one.otherwise ? `${one.text}: ${one.otherwise}` : one.text, k = c.places.checks.findIndex((check) => check.now === one);
      list.append(el("li", {}, c.section ? el("a", { href: `#calc${c.at}k${k}`, textContent: text }) : text));
    }
  }
  function tellAll() {
    const tried = calcs.some((c) => c.trial), none = calcs.filter((c) => !c.stands).map((c) => c.program.a);
    const words = !tried ? made : (none.length ? `No result for ${none.join(", ")}. ` : "") + `With the inputs of this trial: ${verdictNow()}`;
    for (const e of alls) if (e.textContent !== words) e.replaceChildren(el("b", { textContent: words }));
    return words;
  }

  function casesOf(c) {
    return inside(c, "[data-w]").map((p) => Object.assign(place(p), {
      of: p.dataset.w.split(" ").map(Number), taken: -1,
      rows: [...p.parentElement.querySelectorAll("math")].map((math) => [...math.querySelectorAll("mtr.tk,mtr.nt")]),
    }));
  }
  function followCases(c) {
    for (const one of c.places.cases) {
      let taken = one.of.findIndex((r) => c.R[r].t === true);
      if (taken < 0) taken = one.of.length;
      if (taken === one.taken) continue;
      one.taken = taken;
      setText(one, `case ${taken + 1} applies`);
      mark(one, one.now !== one.was);
      for (const rows of one.rows) rows.forEach((row, k) => row.setAttribute("class", k === taken ? "tk" : "nt"));
    }
  }

  function tablesOf(c) {
    return inside(c, "[data-t]").map((t) => ({
      table: c.program.tables[t.dataset.t], of: t.dataset.x.split(" ").filter(Boolean).map(Number), seen: [],
      rows: [...t.tBodies[0].rows].map((row) => ({ row, used: null, mark: place(row.cells[2]) })),
    }));
  }
  function followTables(c) {
    for (const one of c.places.tables) {
      if (one.of.every((r, k) => c.R[r] === one.seen[k])) continue;
      one.seen = one.of.map((r) => c.R[r]);
      const used = new Set();
      for (const x of one.seen) {
        const k = x.v === undefined ? -1 : rowOf(one.table, x);
        if (k < 0) continue;
        used.add(k);
        if (one.table[0] === "straight") used.add(Math.max(k - 1, 0));
      }
      one.rows.forEach((row, k) => {
        const is = used.has(k);
        if (is === row.used) return;
        row.used = is;
        row.row.classList.toggle("us", is);
        setText(row.mark, is ? "◂ used" : "");
      });
    }
  }

  function draw(c, R, k) {
    const [kind, roles, bands, device] = data.pictures[c.at][k];
    const values = {};
    for (const name in roles) {
      const a = R[roles[name]];
      if (!a || (a.m ? a.m.some(isFault) : a.v === undefined)) return null;
      values[name] = a.m ? a.m.map((one) => one.v) : a.v;
    }
    return drawn(kind, values, bands, c.trial, device);
  }
  const picturesOf = (c) => inside(c, "[data-p]").map((box) => {
    const k = Number(box.dataset.p), of = Object.values(data.pictures[c.at][k][1]);
    return { box, k, of, seen: of.map((r) => c.R[r]), trial: false };
  });
  function pictures(c) {
    for (const one of c.places.pictures) {
      if (!c.stands || (one.trial === c.trial && one.of.every((r, k) => c.R[r] === one.seen[k]))) continue;
      one.seen = one.of.map((r) => c.R[r]);
      one.trial = c.trial;
      const picture = draw(c, c.R, one.k);
      if (picture) paint(one.box, picture);
      else { one.box.replaceChildren("There is nothing to draw: a value does not exist."); one.box.marks = null; }
    }
  }

  // slopes take two runs for each input: worked out when the reader pauses, faint until then
  function slopeSteps(c) {
    const { o, p } = data.slopes[c.at], engine = ready(c.program, data.preferred);
    const inputs = c.state.map((s, k) => ({ name: s.input.n, given: said(s).value, step: s.input.w ? 0 : p.includes(k) ? 2 : 1 }));
    const outputs = o.map(([, r, k]) => ({ value: (R) => (R[r].v === undefined ? NaN : R[r].v / F[k].f) }));
    return slopesOf(inputs, outputs, (all) => engine.follow(all.map((one) => one.given)));
  }
  function slopesLater(c) {
    if (!data.slopes[c.at]) return;
    clearTimeout(c.pause);
    if (!c.slopes) c.slopes = inside(c, "[data-sl]").map((box) => ({ box, made: box.firstElementChild.cloneNode(true), was: false }));
    for (const one of c.slopes) {
      if (!c.trial && one.was) { one.box.replaceChildren(one.made.cloneNode(true)); one.box.marks = null; }
      one.was = c.trial;
      one.box.classList.toggle("old", c.trial);
    }
    if (!c.trial || !c.stands) return;
    c.pause = setTimeout(() => {
      const steps = slopeSteps(c);
      const go = () => {
        const until = performance.now() + 6;
        for (let next = steps.next(); !next.done; next = steps.next()) {
          if (next.value) {
            c.slopes.forEach(({ box }) => {
              const [name, , format] = data.slopes[c.at].o[box.dataset.sl];
              paint(box, slopeBars(name, F[format].s, next.value[box.dataset.sl]));
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
    const words = c.state.filter((s) => {
      if (s.link) return true;
      const d = s.input.d;
      return d === null || d !== s.text || (s.input.du !== s.unit && !s.input.w);
    }).map((s) => {
      if (s.link) return `${s.input.n}=${quoted(takenText(s))}`;
      const unit = s.unit === null || s.unit === undefined ? "" : F[s.unit].s;
      const own = s.input.w ? s.input.w[s.text] : s.input.m
        ? partsOf(s.text).map((p) => withUnit(p.trim(), unit)).join(", ")
        : withUnit(s.text.trim(), unit);
      return `${s.input.n}=${quoted(own)}`;
    });
    return ["standstill run", c.program.sheet, ...words].join(" ");
  }
  function takenText(s) {
    const f = F[s.input.us[0]], a = said(s).read.a, one = (x) => `${Number((x.v / f.f - f.z).toPrecision(15))} ${f.s}`.trim();
    if (!a) return "…";
    return s.input.w ? s.input.w[a.v] : a.m ? a.m.map(one).join(", ") : one(a);
  }
  const withUnit = (text, unit) => (unit && /^[-−+0-9.eE]+$/.test(text) ? `${text} ${unit}` : text);

  const bar = document.getElementById("bar");
  let verdictInBar = null;
  let told = "";
  function tellBar() {
    const changed = calcs.map((c) => ({ c, n: c.state.filter((s) => s.changed).length })).filter((one) => one.n);
    const count = changed.reduce((n, one) => n + one.n, 0), key = changed.map(({ c, n }) => `${c.at} ${n}`).join();
    // a command line that was copied is not that of the next change
    if (key === told && !bar.querySelector("textarea")) return;
    told = key;
    document.body.classList.toggle("tried", count > 0);
    bar.hidden = count === 0;
    bar.textContent = "";
    if (!count) return;
    bar.append(el("p", { textContent: `${count} ${count === 1 ? "input" : "inputs"} changed: a trial, not the review as it was made.` }));
    const back = el("button", { type: "button", textContent: "Put all back" });
    back.onclick = () => { const first = changed[0].c; changed.forEach(({ c }) => putBack(c)); tellBar(); const field = first.section.querySelector("input,select"); if (field) field.focus(); };
    bar.append(back);
    for (const { c } of changed) {
      const copy = el("button", { type: "button", textContent: changed.length > 1 ? `Copy command of ${c.program.a}` : "Copy as command line" });
      copy.onclick = () => give(c, copy);
      bar.append(copy);
    }
    verdictInBar = el("p", { className: "vb", role: "status" });
    bar.prepend(verdictInBar);
    verdictInBar.textContent = tellAll();
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

  function changed(c, withBar = true) {
    const all = [c, ...c.followers];
    all.forEach(prepare);
    for (const one of all) {
      follow(one);
      one.state.forEach((s) => s.mark());
    }
    if (withBar) tellBar();
    const words = tellAll();
    if (verdictInBar && verdictInBar.textContent !== words) verdictInBar.textContent = words;
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
      // a series is longer than its field: paper shows it whole
      const whole = s.input.m ? el("span", { className: "pv" }) : null;
      let field, unit = null;
      if (s.input.w) {
        field = el("select", {}, ...s.input.w.map((word, n) => el("option", { value: String(n), textContent: word })));
        field.onchange = () => { s.text = field.value; changed(c); };
      } else {
        field = el("input", { type: "text", autocomplete: "off", spellcheck: false });
        if (!s.input.m) field.inputMode = "decimal";
        if (whole) field.className = "many";
        field.oninput = () => { s.text = field.value; if (whole) whole.textContent = s.text; changed(c); };
        field.onkeydown = (e) => { if (e.key === "Escape") { s.text = s.input.v; s.unit = s.input.u; s.show(); changed(c); } };
        if (s.input.us.length > 1) {
          unit = el("select", {}, ...s.input.us.map((n) => el("option", { value: String(n), textContent: F[n].s || "–" })));
          unit.setAttribute("aria-label", `unit of ${name}`);
          unit.onchange = () => {
            const before = said(s).read, k = Number(unit.value);
            const text = (a) => String(Number((a.v / F[k].f - F[k].z).toPrecision(15)));
            // the same quantity in another unit
            if (before.a) s.text = k === s.input.u && alike(before.a, readInput(s.input, s.input.v, s.input.u, F).a) ? s.input.v : before.a.m ? before.a.m.map(text).join(", ") : text(before.a);
            s.unit = k;
            s.show();
            changed(c);
          };
        }
      }
      field.setAttribute("aria-label", label);
      field.setAttribute("aria-describedby", note.id);
      field.dataset.name = name;
      s.show = () => { field.value = s.text; if (whole) whole.textContent = s.text; if (unit) unit.value = String(s.unit); };
      s.mark = () => {
        const words = (s.wrong ? s.wrong + ". " : "") + (s.changed ? `was ${original}` : "");
        if (words === s.words) return;
        s.words = words;
        row.classList.toggle("changed", Boolean(s.changed));
        row.classList.toggle("wrong", Boolean(s.wrong));
        field.setAttribute("aria-invalid", String(Boolean(s.wrong)));
        note.textContent = words;
      };
      cell.textContent = "";
      cell.append(field);
      if (whole) cell.append(whole);
      if (unit) cell.append(unit);
      else if (!s.input.w && s.input.us.length && F[s.input.us[0]].s) cell.append("\u00a0" + F[s.input.us[0]].s);
      cell.append(note);
      s.show();
    });
  }

  // in idle time all is looked up, and worked out with inputs a little off for practice: the browser then has
  // its quick code ready when the first change comes (common practice, no source)
  function rehearse(c, round) {
    const engine = ready(c.program, data.preferred);
    const off = (a) => (a.v === undefined || Number.isInteger(a.v) ? a : num(a.v * (1 + round * 1e-4), a.e));
    for (let k = 0; k < 2; k++) engine.follow(c.state.map((s) => (k ? off(s.first) : s.first)));
    troubles(c.program, engine.R, (a, f) => write(a, F[f]));
    c.places.texts.forEach((group) => tied(wordsOf(group, engine.R[group.r])));
    c.places.checks.forEach((one) => verdict(engine.R, one.check));
    c.places.pictures.forEach((one) => { if (round === 1) known(one.box); draw(c, engine.R, one.k); });
  }
  const ROUNDS = Math.max(3, Math.ceil(12 / calcs.length));
  let next = 0;
  function idle(left) {
    while (next < calcs.length * ROUNDS && left.timeRemaining() > 2) {
      const c = calcs[Math.floor(next / ROUNDS)], round = next % ROUNDS;
      if (round === 0) prepare(c); else rehearse(c, round);
      next++;
    }
    if (next < calcs.length * ROUNDS) requestIdleCallback(idle);
  }
  if (window.requestIdleCallback) requestIdleCallback(idle);

  // for checks from outside: sets inputs, returns results in the unit of each, checks and troubles
  window.standstill = {
    // whether the first change will be as quick as the next
    rested: () => next === calcs.length * ROUNDS,
    fresh: () => calcs.filter((c) => c.engine).flatMap((c) => c.places.texts.flatMap((group) =>
      group.places.map((one) => [one.was, one.tied ? tied(group.fresh) : group.fresh.replace(/ /g, "\u00a0"), group.r]))),
    redraw: (at, k) => {
      const c = calcs[at], box = el("div");
      prepare(c);
      paint(box, draw(c, run(c), k));
      return box.innerHTML;
    },
    values: (at) => {
      const c = calcs[at];
      prepare(c);
      const R = run(c);
      return {
        outputs: Object.fromEntries(c.program.outputs.map(([name, r, k]) => {
          const a = R[r], f = F[k];
          return [name, a.m ? a.m.map((one) => one.v / f.f - f.z) : a.v === undefined ? null : f.w ? f.w[a.v] : a.v / f.f - f.z];
        })),
        checks: c.program.checks.map((check) => verdict(R, check).word),
        troubles: troubles(c.program, R, (a, k) => write(a, F[k])),
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
