// A page of forms: one sheet, or a list of sheets with a search; each is put in place when it is asked for.
const formsData = document.getElementById("forms");
if (formsData) {
  const { forms, preferred } = JSON.parse(formsData.textContent), main = document.querySelector("main");
  const e = (name, more, ...inside) => { const made = Object.assign(document.createElement(name), more); made.append(...inside); return made; };
  const first = main.cloneNode(true), bar = document.getElementById("bar");
  const paper = e("style", {});
  document.head.append(paper);
  let now = null;

  // the weights of the search at the terminal: name, words of the trade, title, symbols, sources, notes
  const pieces = (text) => text.toLowerCase().split(/[^\p{L}\p{N}_²]+/u).filter(Boolean);
  const fields = forms.map((form) => [
    [8, pieces(form.name)], [7, form.words.flatMap(pieces)], [5, pieces(form.title)], [4, form.symbols.map((one) => one.toLowerCase())],
    [3, form.sources.flatMap(pieces)], [1, form.notes.flatMap(pieces)],
  ]);
  const EMPTY = new Set("a an and are at be before by can do does far for from how i in is it its my must of on or s the to until what when which with".split(" "));
  /** Letters by which two words differ, a swap of neighbours as one. */
  function gap(a, b) {
    let before = null, last = [...Array(b.length + 1).keys()];
    for (let i = 1; i <= a.length; i++) {
      const row = [i];
      for (let k = 1; k <= b.length; k++) {
        row[k] = Math.min(last[k] + 1, row[k - 1] + 1, last[k - 1] + (a[i - 1] === b[k - 1] ? 0 : 1));
        if (i > 1 && k > 1 && a[i - 1] === b[k - 2] && a[i - 2] === b[k - 1]) row[k] = Math.min(row[k], before[k - 2] + 1);
      }
      before = last; last = row;
    }
    return last[b.length];
  }
  function likeness(asked, found) {
    if (asked === found) return 1;
    const shorter = Math.min(asked.length, found.length);
    if (shorter >= 4 && (found.startsWith(asked) || asked.startsWith(found))) return 0.9;
    if (shorter < 4 || /[0-9]/.test(asked + found)) return 0;
    const like = 1 - gap(asked, found) / Math.max(asked.length, found.length);
    return like >= 0.8 ? 0.7 * like : 0;
  }
  function search(question) {
    const asked = pieces(question).filter((word) => !EMPTY.has(word));
    if (!asked.length) return forms.map((form, k) => k);
    const found = fields.map((own, k) => {
      const scores = asked.map((word) => Math.max(...own.map(([weight, all]) => weight * Math.max(0, ...all.map((one) => likeness(word, one))))));
      return { k, fits: scores.filter((score) => score > 0).length, score: scores.reduce((a, b) => a + b, 0) };
    }).filter((one) => one.fits);
    found.sort((a, b) => b.fits - a.fits || b.score - a.score || (forms[a.k].name < forms[b.k].name ? -1 : 1));
    return found.filter((one) => one.fits === found[0].fits).slice(0, 12).map((one) => one.k);
  }

  function list() {
    now = null;
    bar.hidden = true;
    bar.textContent = "";
    main.className = "";
    main.replaceChildren(...first.cloneNode(true).childNodes);
    document.title = main.querySelector("h1").textContent;
    const field = e("input", { type: "search", id: "search", autocomplete: "off", spellcheck: false }), found = e("div", { className: "found" });
    const count = e("p", { className: "hint", role: "status" });
    const show = () => {
      const all = search(field.value), by = new Map();
      const heading = (k) => (field.value.trim() ? "" : forms[k].group);
      for (const k of all) by.set(heading(k), [...(by.get(heading(k)) || []), k]);
      count.textContent = all.length ? `${all.length} of ${forms.length} sheets` : `No sheet answers "${field.value}".`;
      found.replaceChildren(...[...by].map(([group, all]) => e("section", {}, ...(group ? [e("h2", { textContent: group })] : []), e("ul", {}, ...all.map((k) =>
        e("li", {}, e("a", { href: `#${forms[k].name}`, textContent: forms[k].title }), " ", e("small", { textContent: forms[k].name })))))));
    };
    field.oninput = show;
    field.onkeydown = (event) => { const link = found.querySelector("a"); if (event.key === "Enter" && link) location.hash = link.getAttribute("href"); };
    main.append(e("p", { className: "find" }, e("label", { htmlFor: "search", textContent: "Find a sheet by the words of the trade" }), field), count, found);
    show();
  }

  function show(name) {
    const k = forms.findIndex((form) => form.name === name);
    if (k < 0) return list();
    now = name;
    const { html, data } = JSON.parse(document.querySelector(`[data-form="${k}"]`).textContent);
    main.className = "form";
    main.innerHTML = html;
    document.title = forms[k].title;
    if (forms.length > 1) main.prepend(e("p", { className: "up" }, e("a", { href: "#", textContent: "All sheets" })));
    data.preferred = preferred;
    // what stands on each printed page
    const head = `${forms[k].title} · sha256 ${data.id} · ${(main.querySelector("#made") || {}).textContent || ""}`;
    paper.textContent = `@page { @top-left { content: "${head.replace(/["\\<\n]/g, " ")}"; font: 7.5pt sans-serif; } }`;
    scrollTo(0, 0);
    review(data, name);
  }
  const asked = () => decodeURIComponent((/^#([^@?]*)/.exec(location.hash) || ["", ""])[1]);
  function turn() {
    // a link to a part of the form stays on it
    if (now && document.getElementById(asked())) return;
    if (forms.length === 1) show(forms[0].name); else show(asked());
  }
  addEventListener("hashchange", turn);
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    const file = event.dataTransfer.files[0];
    if (file && now) standstill.file(file);
  });
  turn();
}
