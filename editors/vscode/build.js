// Puts the extension into `dist`: its code in one file, and the grammar that is written from the compiler's tables.
"use strict";

const fs = require("fs");
const path = require("path");
const esbuild = require("esbuild");

const here = (...parts) => path.join(__dirname, ...parts);

fs.mkdirSync(here("dist"), { recursive: true });
fs.copyFileSync(here("../../grammar/withy.tmLanguage.json"), here("dist/withy.tmLanguage.json"));
for (const name of ["LICENSE-APACHE", "LICENSE-MIT"]) {
  fs.copyFileSync(here("../..", name), here("dist", name));
}
esbuild.buildSync({
  entryPoints: [here("src/extension.js")],
  outfile: here("dist/extension.js"),
  bundle: true,
  minify: true,
  platform: "node",
  target: "node20",
  format: "cjs",
  external: ["vscode"],
  logLevel: "warning",
});
