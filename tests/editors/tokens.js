// What the TextMate grammar makes of texts, under the engine that editors run it with. Reads a list of texts as JSON from
// standard input; writes for each the list of its tokens: line, first and last column (UTF-16), scopes.
"use strict";

const fs = require("fs");
const path = require("path");
const oniguruma = require("vscode-oniguruma");
const { INITIAL, Registry, parseRawGrammar } = require("vscode-textmate");

async function main() {
  const file = path.join(__dirname, "../../grammar/withy.tmLanguage.json");
  const wasm = fs.readFileSync(path.join(path.dirname(require.resolve("vscode-oniguruma")), "onig.wasm"));
  await oniguruma.loadWASM(wasm);
  const registry = new Registry({
    onigLib: Promise.resolve({
      createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
      createOnigString: (text) => new oniguruma.OnigString(text),
    }),
    loadGrammar: async () => parseRawGrammar(fs.readFileSync(file, "utf8"), file),
  });
  const grammar = await registry.loadGrammar("source.withy");
  const texts = JSON.parse(fs.readFileSync(0, "utf8"));
  const tokens = (text) => {
    let state = INITIAL;
    return text.split("\n").flatMap((line, number) => {
      const result = grammar.tokenizeLine(line, state);
      state = result.ruleStack;
      return result.tokens.map((token) => [number, token.startIndex, token.endIndex, token.scopes.slice(1).join(" ")]);
    });
  };
  process.stdout.write(JSON.stringify(texts.map(tokens)));
}

main();
