// Inputs as a table of cells: written as a .csv that `fill` and `run --from` read, and read from a .csv or from
// an .xlsx that was saved by an office program. Whatever is not understood is a problem, never passed over.

/** Text in one cell of a .csv (RFC 4180). */
const csvCell = (text) => (/[",\n\r;]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text);
const csvOf = (rows) => rows.map((row) => row.map(csvCell).join(",")).join("\r\n") + "\r\n";

/** The cells of a .csv; the sign between them is what the first line that names the columns uses. */
function cellsOfCsv(text) {
  const head = /^\s*"?name"?([,;\t])/m.exec(text), by = head ? head[1] : ",";
  const rows = [[]];
  let cell = "", quoted = false, k = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  const end = () => { rows[rows.length - 1].push({ text: cell.trim() }); cell = ""; };
  for (; k < text.length; k++) {
    const sign = text[k];
    if (quoted) {
      if (sign !== '"') cell += sign; else if (text[k + 1] === '"') { cell += '"'; k++; } else quoted = false;
    } else if (sign === '"' && cell.trim() === "") { quoted = true; cell = ""; }
    else if (sign === by) end();
    else if (sign === "\n") { end(); rows.push([]); }
    else if (sign !== "\r") cell += sign;
  }
  end();
  return rows;
}

/** A part of a zip file as text; none where it is not there. */
async function unzipped(bytes, wanted) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), found = {};
  let end = bytes.length - 22;
  while (end >= 0 && view.getUint32(end, true) !== 0x06054b50) end--;
  if (end < 0) throw new Error("it is not a workbook: save it as .xlsx or .csv");
  const count = view.getUint16(end + 10, true);
  for (let k = 0, at = view.getUint32(end + 16, true); k < count; k++) {
    if (view.getUint32(at, true) !== 0x02014b50) throw new Error("its list of parts is damaged");
    const how = view.getUint16(at + 10, true), packed = view.getUint32(at + 20, true), size = view.getUint32(at + 24, true);
    const length = view.getUint16(at + 28, true), next = at + 46 + length + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    const name = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + length)), start = view.getUint32(at + 42, true);
    at = next;
    if (!wanted(name)) continue;
    if (size > 2e7) throw new Error(`its part ${name} is too large`);
    const from = start + 30 + view.getUint16(start + 26, true) + view.getUint16(start + 28, true), part = bytes.subarray(from, from + packed);
    if (how !== 0 && how !== 8) throw new Error("it is packed in a way that is not read here");
    const plain = how === 0 ? part : new Uint8Array(await new Response(new Blob([part]).stream().pipeThrough(new DecompressionStream("deflate-raw"))).arrayBuffer());
    found[name] = new TextDecoder().decode(plain);
  }
  return found;
}

const partOf = (files, name) => new DOMParser().parseFromString(files[name] || "<none/>", "application/xml");
const all = (root, name) => [...root.getElementsByTagNameNS("*", name)];

/** The tabs of an .xlsx, each as rows of cells {text, percent, formula}. */
async function tabsOfXlsx(bytes) {
  const files = await unzipped(bytes, (name) => /^xl\/(sharedStrings|styles|worksheets\/[^/]+)\.xml$/.test(name));
  const words = (e) => all(e, "t").filter((t) => t.parentNode.localName !== "rPh").map((t) => t.textContent).join("");
  const shared = all(partOf(files, "xl/sharedStrings.xml"), "si").map(words), styles = partOf(files, "xl/styles.xml");
  const own = new Map(all(styles, "numFmt").map((f) => [f.getAttribute("numFmtId"), f.getAttribute("formatCode")]));
  const formats = all(styles, "cellXfs").flatMap((list) => all(list, "xf")).map((xf) => xf.getAttribute("numFmtId"));
  // a % that is not text between quotes shows a hundred times the value
  const isPercent = (id) => id === "9" || id === "10" || (own.has(id) && own.get(id).replace(/"[^"]*"|\\./g, "").includes("%"));
  const tabs = Object.keys(files).filter((name) => name.includes("worksheets/"));
  return tabs.map((name) => all(partOf(files, name), "row").map((row) => {
    const cells = [];
    for (const c of all(row, "c")) {
      const letters = (c.getAttribute("r") || "").replace(/\d/g, ""), kind = c.getAttribute("t");
      const at = letters ? [...letters].reduce((n, sign) => n * 26 + sign.charCodeAt(0) - 64, 0) - 1 : cells.length;
      const v = all(c, "v")[0], raw = kind === "inlineStr" ? words(c) : v ? v.textContent : "";
      cells[at] = {
        // a number as it is, however its digits were saved
        text: kind === "s" ? (shared[Number(raw)] || "").trim() : raw !== "" && (kind === null || kind === "n") && Number.isFinite(Number(raw)) ? String(Number(raw)) : raw.trim(), at: c.getAttribute("r"), error: kind === "e",
        percent: kind !== "s" && kind !== "str" && isPercent(formats[Number(c.getAttribute("s") || 0)]),
      };
    }
    return Array.from(cells, (one) => one || { text: "" });
  }));
}

/** The rows of inputs for a sheet: {found: [{name, text, unit, from}], problems}. */
function inputsOfCells(tabs, sheet, inputs, outputs) {
  const problems = [], found = [], known = new Map(inputs.map((input) => [input.n, input]));
  const starts = tabs.flatMap((rows) => rows.flatMap((row, r) => row.flatMap((cell, c) => {
    const m = /^sheet\s+(?:(?:own|library)\s+)?(\S+)$/.exec(cell.text);
    return m ? [{ rows, r, c, name: m[1].replace(/^.*[/\\]/, "").replace(/\.sheet$/, "") }] : [];
  })));
  const fitting = starts.filter((start) => start.name === sheet);
  if (fitting.length !== 1) {
    const others = [...new Set(starts.map((start) => start.name))].join(", ");
    problems.push(fitting.length ? `the file asks for ${sheet} ${fitting.length} times: leave one of them`
      : others ? `the file asks for ${others}, not for ${sheet}` : `no cell of the file says "sheet ${sheet}"`);
    return { found, problems };
  }
  const { rows, r, c } = fitting[0], passed = new Set([...outputs, "name", "status"]);
  let last = null, empty = 0, tolerances = false;
  for (let k = r + 1; k < rows.length && empty < 2; k++) {
    const row = rows[k], at = (place) => row[c + place] || { text: "" }, name = at(0).text, value = at(1);
    empty = row.slice(c).some((cell) => cell.text !== "") ? 0 : empty + 1;
    if (name === "results" || /^sheet\s/.test(name)) break;
    const input = known.get(name), where = value.at ? ` (${value.at})` : "";
    if (name === "name" && at(3).text === "tolerance") tolerances = true;
    else if (tolerances && at(3).text !== "" && (name === "" || input)) {
      problems.push(`${input ? name : "a row"} has the tolerance ${at(3).text}, and this page calculates without tolerances: use "standstill fill --worst", or empty that cell`);
    }
    // a series goes on in the rows below its first value
    if (name === "" && value.text !== "" && (last === null || !last.many)) { problems.push(`${value.text}${where} belongs to no input`); continue; }
    if (name !== "") last = null;
    if (name === "" ? value.text === "" : passed.has(name)) continue;
    if (name !== "" && !input) {
      if (value.text !== "") problems.push(`${name} is not an input of ${sheet}`);
      continue;
    }
    if (name !== "" && found.some((one) => one.name === name)) { problems.push(`${name} is given twice: leave one of its rows`); continue; }
    if (value.error) problems.push(`${name}${where} holds an error value`);
    else if (value.percent) problems.push(`${name}${where} has a percent format: give it a plain number format and write the value for its unit`);
    else if (name === "") last.text += `, ${value.text}`;
    else if (value.text !== "") {
      last = { name, text: value.text, unit: at(2).text, from: at(4).text, many: input.m };
      found.push(last);
    } else last = { name, text: "", many: false };
  }
  if (!found.length && !problems.length) problems.push("the file gives no input a value");
  return { found, problems };
}
