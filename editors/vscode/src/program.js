// How the program `withy` is called. Knows nothing of the editor, so that it can be tried without one.
"use strict";

const { execFile } = require("child_process");
const fs = require("fs");
const os = require("os");
const path = require("path");

// Exit codes of the program that say: it ran, and its findings are on standard output.
const RAN = [0, 1];

/** What the language server is started with. */
function server(settings) {
  return { command: settings.path, args: ["language-server"] };
}

/** What the server is told of the user's wishes. */
function wishes(settings) {
  return { hints: { ...settings.hints } };
}

/** Runs the program. Gives what it printed, or fails with a message for the user. */
function run(command, args, folder) {
  return new Promise((resolve, reject) => {
    const options = { cwd: folder, encoding: "utf8", maxBuffer: 64 * 1024 * 1024, windowsHide: true };
    execFile(command, args, options, (error, stdout, stderr) => {
      if (!error || RAN.includes(error.code)) {
        resolve({ clean: !error, text: stdout, remarks: stderr });
      } else if (error.code === "ENOENT") {
        reject(new Error(`The program “${command}” is not there. Say in the settings where it lies.`));
      } else {
        reject(new Error(stderr.trim() || error.message));
      }
    });
  });
}

/** Compiles a file into a folder, both as the user sees them. */
function compile(settings, file, out, folder) {
  return run(settings.path, ["compile", "--out", out, file], folder);
}

/** Compiles a file into a folder of its own that is gone afterwards; `use` sees what was written. */
async function compileAside(settings, file, use) {
  const out = fs.mkdtempSync(path.join(os.tmpdir(), "withy-"));
  try {
    return await use(await compile(settings, file, out, path.dirname(file)), out);
  } finally {
    fs.rmSync(out, { recursive: true, force: true });
  }
}

/** The step tables of a file, as a person reads them; findings come instead where nothing can be computed. */
function stepTable(settings, file) {
  return compileAside(settings, file, ({ text, remarks }) => {
    // The last lines name files that are gone again.
    const lines = text.split("\n").filter((line) => !line.startsWith("written: "));
    return lines.join("\n").trim() || remarks;
  });
}

/** The curves of a file's bends: recipe, bend and drawing (SVG). */
function curves(settings, file) {
  return compileAside(settings, file, (_, out) =>
    fs
      .readdirSync(out, { recursive: true })
      .map((name) => ({ name, parts: /([^/\\]+)[/\\]curve-([^/\\]+)\.svg$/.exec(name) }))
      .filter(({ parts }) => parts)
      .sort((a, b) => (a.name < b.name ? -1 : 1))
      .map(({ name, parts }) => ({
        recipe: parts[1],
        bend: parts[2],
        drawing: fs.readFileSync(path.join(out, name), "utf8"),
      })),
  );
}

module.exports = { compile, curves, server, stepTable, wishes };
