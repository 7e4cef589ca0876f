// Reads the workbooks filled by the tests with a second reader that is not ours, SheetJS 0.18.5.
//
//   cargo test --test promises workbooks::
//   npm --prefix tests/workbooks ci
//   node tests/workbooks/read_again.mjs corpus FOLDER     # FOLDER: target/tmp/filled
//
// Each filled workbook has a list beside it, one line a cell: tab, cell, kind, value. Cells on the list must
// hold their value, all others their value and formula of the corpus, and the macro project its bytes.
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import xlsx from "xlsx";

const [corpus, filled] = process.argv.slice(2);
const open = (path) => xlsx.read(readFileSync(path), { cellFormula: true, cellNF: true, bookVBA: true, sheetStubs: true });
const cells = (book) => {
  const all = new Map();
  for (const name of book.SheetNames)
    for (const [at, cell] of Object.entries(book.Sheets[name] || {}))
      if (!at.startsWith("!") && (cell.t !== "z" || cell.f)) all.set(`${name}\t${at}`, cell);
  return all;
};
// a formula whose saved result was taken out reads as without a value
const told = (cell) => (cell ? `${cell.f ? `=${cell.f}` : JSON.stringify(cell.v)} (${cell.z})` : "nothing");

let wrong = 0, compared = 0, books = 0;
for (const list of readdirSync(filled).filter((name) => name.endsWith(".cells.tsv"))) {
  const name = list.replace(".cells.tsv", "");
  const wanted = new Map();
  for (const line of readFileSync(join(filled, list), "utf8").trimEnd().split("\n")) {
    const [tab, cell, kind, value] = line.split("\t");
    wanted.set(`${tab}\t${cell}`, kind === "number" ? Number(value) : value.replaceAll("\\n", "\n"));
  }
  // formulas that are calculated afresh when the workbook is opened; a shared one is read as its value alone
  const fresh = new Set(readFileSync(join(filled, `${name}.results.tsv`), "utf8").split("\n")
    .map((line) => line.split("\t").slice(0, 2).join("\t")));
  const [before, after] = [open(join(corpus, name)), open(join(filled, name))];
  const [old, now] = [cells(before), cells(after)];
  // the cells that an array formula fills
  const inArray = (place) => {
    const [tab, at] = place.split("\t");
    const { r, c } = xlsx.utils.decode_cell(at);
    return [...now].some(([other, cell]) => {
      if (!cell.F || other.split("\t")[0] !== tab) return false;
      const { s, e } = xlsx.utils.decode_range(cell.F);
      return r >= s.r && r <= e.r && c >= s.c && c <= e.c;
    });
  };
  const complain = (place, words) => { wrong += 1; console.error(`${name} ${place.replace("\t", "!")}: ${words}`); };
  for (const place of new Set([...old.keys(), ...now.keys(), ...wanted.keys()])) {
    compared += 1;
    if (wanted.has(place)) {
      if (now.get(place)?.v !== wanted.get(place)) complain(place, `${now.get(place)?.v} instead of ${wanted.get(place)}`);
    } else if (told(old.get(place)) !== told(now.get(place)) && !inArray(place)
        && !(fresh.has(place) && !now.has(place))) {
      complain(place, `${told(now.get(place))} instead of ${told(old.get(place))}`);
    }
  }
  if (Buffer.compare(Buffer.from(before.vbaraw || ""), Buffer.from(after.vbaraw || ""))) complain("macros", "other bytes");
  books += 1;
}
if (!books || compared < 100) { console.error(`only ${books} workbooks, ${compared} cells`); wrong += 1; }
console.log(`${books} workbooks, ${compared} cells, ${wrong} wrong`);
process.exit(wrong ? 1 : 0);
