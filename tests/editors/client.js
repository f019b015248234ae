// The part of the VS Code extension that knows nothing of the editor, against the server and the program, by way of an
// independent client of the protocol. Arguments: the program, a library.
"use strict";

const assert = require("node:assert/strict");
const fs = require("node:fs");
const path = require("node:path");
const { spawn } = require("node:child_process");
const { pathToFileURL } = require("node:url");
const rpc = require("vscode-languageserver-protocol/node");
const program = require("../../editors/vscode/src/program");

const [command, library] = process.argv.slice(2);
const settings = { path: command, outputFolder: "out", hints: { times: true, blank: true, current: false } };
const at = (name) => path.join(library, name);
const uriOf = (name) => pathToFileURL(at(name)).toString();

/** A server with which a client has shaken hands, and what it publishes. */
async function connect() {
  const { command: name, args } = program.server(settings);
  const server = spawn(name, args, { stdio: ["pipe", "pipe", "inherit"] });
  const connection = rpc.createProtocolConnection(
    new rpc.StreamMessageReader(server.stdout),
    new rpc.StreamMessageWriter(server.stdin),
  );
  const published = new Map();
  connection.onNotification(rpc.PublishDiagnosticsNotification.type, ({ uri, diagnostics }) =>
    published.set(uri, diagnostics),
  );
  connection.onRequest(rpc.RegistrationRequest.type, () => {});
  connection.onRequest(rpc.ConfigurationRequest.type, () => [program.wishes(settings)]);
  connection.listen();
  const { capabilities } = await connection.sendRequest(rpc.InitializeRequest.type, {
    processId: process.pid,
    rootUri: pathToFileURL(library).toString(),
    workspaceFolders: [{ uri: pathToFileURL(library).toString(), name: "library" }],
    capabilities: { textDocument: { publishDiagnostics: { relatedInformation: true }, hover: { contentFormat: ["markdown"] } } },
    initializationOptions: program.wishes(settings),
  });
  await connection.sendNotification(rpc.InitializedNotification.type, {});
  const open = (name) =>
    connection.sendNotification(rpc.DidOpenTextDocumentNotification.type, {
      textDocument: { uri: uriOf(name), languageId: "withy", version: 1, text: fs.readFileSync(at(name), "utf8") },
    });
  const ended = new Promise((resolve) => server.once("exit", resolve));
  const close = async () => {
    await connection.sendRequest(rpc.ShutdownRequest.type);
    await connection.sendNotification(rpc.ExitNotification.type);
    return ended;
  };
  return { capabilities, connection, published, open, close };
}

async function until(what, get) {
  for (let tries = 0; tries < 2400; tries += 1) {
    const value = await get();
    if (value) return value;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  throw new Error(`waited in vain for ${what}`);
}

const checks = {
  async findings_follow_the_text() {
    const { connection, published, open, close } = await connect();
    const uri = uriOf("parts/riser.withy");
    await open("parts/riser.withy");
    await until("the first findings", () => published.has(uri));
    assert.equal(published.get(uri).filter((one) => one.severity === rpc.DiagnosticSeverity.Error).length, 0);
    const text = fs.readFileSync(at("parts/riser.withy"), "utf8").replace("width", "widht");
    await connection.sendNotification(rpc.DidChangeTextDocumentNotification.type, {
      textDocument: { uri, version: 2 },
      contentChanges: [{ text }],
    });
    const found = await until("the finding", () => published.get(uri).find((one) => one.code === "unknown-entry"));
    const before = text.slice(0, text.indexOf("widht"));
    const line = before.split("\n").length - 1;
    const column = before.length - before.lastIndexOf("\n") - 1;
    assert.deepEqual(found.range, { start: { line, character: column }, end: { line, character: column + 5 } });
    assert.equal(await close(), 0);
  },

  async hover_formatting_and_symbols_answer() {
    const { capabilities, connection, open, close } = await connect();
    for (const what of ["hoverProvider", "documentFormattingProvider", "documentSymbolProvider", "foldingRangeProvider"]) {
      assert.ok(capabilities[what], what);
    }
    await open("recipes/tent_card.withy");
    const textDocument = { uri: uriOf("recipes/tent_card.withy") };
    const lines = fs.readFileSync(at("recipes/tent_card.withy"), "utf8").split("\n");
    const line = lines.findIndex((text) => text.includes("transfer"));
    const position = { line, character: lines[line].indexOf("transfer") };
    const hover = await connection.sendRequest(rpc.HoverRequest.type, { textDocument, position });
    assert.match(hover.contents.value, /heater off to bend finished/);
    const symbols = await connection.sendRequest(rpc.DocumentSymbolRequest.type, { textDocument });
    assert.deepEqual(symbols.map((one) => one.name), ["tent_card_run", "entrance_card_run"]);
    const edits = await connection.sendRequest(rpc.DocumentFormattingRequest.type, {
      textDocument,
      options: { tabSize: 2, insertSpaces: true },
    });
    assert.deepEqual(edits ?? [], []);
    assert.equal(await close(), 0);
  },

  async only_hints_that_are_switched_on_are_shown() {
    const { connection, open, close } = await connect();
    await open("recipes/tent_card.withy");
    const textDocument = { uri: uriOf("recipes/tent_card.withy") };
    const range = { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } };
    const hints = await until("computed times", async () => {
      const found = await connection.sendRequest(rpc.InlayHintRequest.type, { textDocument, range });
      return found?.some((hint) => / s$/.test(hint.label)) && found;
    });
    const labels = hints.map((hint) => hint.label);
    assert.ok(labels.some((label) => /^blank \d/.test(label)), labels.join());
    assert.ok(!labels.some((label) => / A$/.test(label)), labels.join());
    assert.equal(await close(), 0);
  },

  async the_step_table_is_the_programs_own() {
    const table = await program.stepTable(settings, at("recipes/tent_card.withy"));
    assert.match(table, /^tent_card_run: tent_card on west\n/);
    assert.match(table, /swing arm front to its stop at 130 deg/);
    assert.match(table, /Local code and the sheet maker's data go before these figures\./);
    assert.doesNotMatch(table, /written:/);
    assert.ok(!fs.existsSync(at("out")) && !fs.existsSync(at("recipes/out")));
  },

  async findings_stand_where_no_table_can_be() {
    fs.writeFileSync(at("recipes/broken.withy"), "recipe broken for nothing on nowhere {}\n");
    assert.match(await program.stepTable(settings, at("recipes/broken.withy")), /nothing/);
    assert.deepEqual(await program.curves(settings, at("recipes/broken.withy")), []);
  },

  async each_bend_has_its_curve() {
    const curves = await program.curves(settings, at("recipes/tent_card.withy"));
    assert.deepEqual(
      curves.map(({ recipe, bend }) => `${recipe} ${bend}`),
      ["entrance_card_run ridge", "tent_card_run ridge"],
    );
    assert.ok(curves.every(({ drawing }) => /<svg[\s\S]*<\/svg>\s*$/.test(drawing)));
  },

  async compiling_writes_to_the_folder_that_is_set() {
    const result = await program.compile(settings, at("recipes/tent_card.withy"), "out", library);
    assert.ok(result.clean, result.text);
    assert.ok(fs.existsSync(at("out/tent_card/tent_card_run/steps.csv")) || fs.existsSync(at("out/recipes/tent_card/tent_card_run/steps.csv")));
  },

  async a_program_that_is_not_there_is_told_in_words() {
    await assert.rejects(
      program.stepTable({ ...settings, path: at("no-such-program") }, at("recipes/tent_card.withy")),
      /is not there\. Say in the settings where it lies\./,
    );
  },
};

(async () => {
  const wanted = process.env.CHECKS?.split(" ") ?? Object.keys(checks);
  for (const name of wanted) {
    await checks[name]();
    console.log(`ok ${name}`);
  }
  process.exit(0);
})().catch((error) => {
  console.error(error);
  process.exit(1);
});
