// Reads every sheet of the library with the grammar that editors take, by a general library for such grammars:
// no line may be left without a colour where the language has words, quantities or texts.
import { readFileSync, readdirSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import oniguruma from "vscode-oniguruma";
import textmate from "vscode-textmate";

const root = join(import.meta.dirname, "../..");
const wasm = readFileSync(createRequire(import.meta.url).resolve("vscode-oniguruma/release/onig.wasm"));
await oniguruma.loadWASM(wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.byteLength));
const registry = new textmate.Registry({
  onigLib: Promise.resolve({
    createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
    createOnigString: (text) => new oniguruma.OnigString(text),
  }),
  loadGrammar: async () =>
    textmate.parseRawGrammar(readFileSync(join(root, "src/editor/grammar.json"), "utf8"), "grammar.json"),
});
const grammar = await registry.loadGrammar("source.standstill");

const tokens = (line) =>
  grammar.tokenizeLine(line, textmate.INITIAL).tokens.map((token) => ({
    text: line.slice(token.startIndex, token.endIndex),
    scope: token.scopes.at(-1).replace(".standstill", ""),
  }));
const scopeOf = (line, text) => tokens(line).find((token) => token.text === text)?.scope;

let failures = 0;
const expect = (line, text, scope) => {
  const found = scopeOf(line, text);
  if (found !== scope) {
    failures += 1;
    console.error(`${line}\n  ${text}: ${found}, expected ${scope}`);
  }
};
expect("title \"A # no comment\"  # a comment", "\"A # no comment\"", "string.quoted.double");
expect("title \"A # no comment\"  # a comment", "# a comment", "comment.line.number-sign");
expect("takes", "takes", "keyword.control.block");
expect("  n_0 : speed of rotation in r/min = 1450 r/min", "speed of rotation", "storage.type.kind");
expect("  n_0 : speed of rotation in r/min = 1450 r/min", "n_0", "entity.name.variable");
expect("  n_0 : speed of rotation in r/min = 1450 r/min", "1450", "constant.numeric");
expect("  n_0 : speed of rotation in r/min = 1450 r/min", "r/min", "constant.other.unit");
expect("  v = when x > 0 m and y > 2 : 1", "and", "keyword.other");
expect("  v = when x > 2 and y : 1", "and", "keyword.other");
expect("  v = sqrt(2 * a) + pi * b_2", "sqrt", "support.function");
expect("  v = sqrt(2 * a) + pi * b_2", "pi", "support.constant");
expect("  eta : efficiency = 95 % from 50 % to 100 %", "%", "constant.other.unit");
expect("  J : inertia in kg·m² above 0 kg·m²", "kg·m²", "constant.other.unit");
expect("  J : inertia in kg·m² above 0 kg·m²", "above", "keyword.other");

let lines = 0;
for (const folder of readdirSync(join(root, "sheets"), { withFileTypes: true })) {
  if (!folder.isDirectory()) continue;
  for (const file of readdirSync(join(root, "sheets", folder.name))) {
    for (const line of readFileSync(join(root, "sheets", folder.name, file), "utf8").split("\n")) {
      if (!line.trim()) continue;
      lines += 1;
      for (const { text, scope } of tokens(line)) {
        // what has no colour is a name, a blank or a mark
        const bare = scope === "source";
        if (bare && /["#]|(^|[^\p{L}\p{N}_.])\d/u.test(text)) {
          failures += 1;
          console.error(`${file}: ${line}\n  \`${text}\` has no colour`);
        }
        if (scope.startsWith("constant.other.unit") && /^(and|or|to|from|else)$/.test(text)) {
          failures += 1;
          console.error(`${file}: ${line}\n  \`${text}\` is no unit`);
        }
      }
    }
  }
}
if (lines < 2000) failures += 1;
console.log(`${lines} lines of the library read, ${failures} failures`);
process.exit(failures ? 1 : 0);
