// The extension: starts `withy language-server`, hands it the settings, and shows what the program computes.
"use strict";

const path = require("path");
const vscode = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");
const program = require("./program");

const TABLES = "withy-table";

let client;
// What the client and the server say of themselves, and what the program says when it compiles.
let log;
let output;

function settings() {
  const section = vscode.workspace.getConfiguration("withy");
  const hint = (kind) => section.get(`hints.${kind}`, true);
  return {
    path: section.get("path") || "withy",
    outputFolder: section.get("outputFolder") || "out",
    hints: { times: hint("times"), blank: hint("blank"), current: hint("current") },
  };
}

async function start() {
  const wanted = settings();
  client = new LanguageClient("withy", "Withy", program.server(wanted), {
    documentSelector: [{ language: "withy" }],
    initializationOptions: program.wishes(wanted),
    outputChannel: log,
    // The server watches the files itself, through the editor; it only hears of settings this way.
    synchronize: { configurationSection: "withy" },
  });
  try {
    await client.start();
  } catch (error) {
    client = undefined;
    log.error(String(error));
    const change = "Open the settings";
    const message = `The language server could not be started: “${wanted.path} language-server”. Install withy, or say where it lies.`;
    if ((await vscode.window.showErrorMessage(message, change)) === change) {
      await vscode.commands.executeCommand("workbench.action.openSettings", "withy.path");
    }
  }
}

async function stop() {
  const running = client;
  client = undefined;
  await running?.stop();
}

/** Runs a command on the file in front; it is saved first, since the program reads the disk. */
function onFile(action) {
  return async () => {
    const document = vscode.window.activeTextEditor?.document;
    if (document?.languageId !== "withy") {
      vscode.window.showInformationMessage("Open a file of a recipe first.");
      return;
    }
    if (document.isUntitled || (document.isDirty && !(await document.save()))) {
      vscode.window.showInformationMessage("Save the file first: the program reads it from the disk.");
      return;
    }
    try {
      const location = { location: vscode.ProgressLocation.Window, title: "Withy" };
      await vscode.window.withProgress(location, () => action(document.uri));
    } catch (error) {
      vscode.window.showErrorMessage(error.message);
    }
  };
}

async function compile(uri) {
  const wanted = settings();
  const folder = vscode.workspace.getWorkspaceFolder(uri)?.uri.fsPath ?? path.dirname(uri.fsPath);
  const result = await program.compile(wanted, uri.fsPath, wanted.outputFolder, folder);
  output.append(result.text + result.remarks);
  output.show(true);
}

/** Step tables stand in documents that cannot be written to, one for each file; showing one again makes it anew. */
class Tables {
  #changed = new vscode.EventEmitter();
  #texts = new Map();
  onDidChange = this.#changed.event;

  provideTextDocumentContent(uri) {
    return this.#texts.get(uri.toString());
  }

  async show(file) {
    const name = path.basename(file.fsPath, ".withy");
    const uri = vscode.Uri.from({ scheme: TABLES, path: `/${name} step table`, query: file.toString() });
    this.#texts.set(uri.toString(), await program.stepTable(settings(), file.fsPath));
    this.#changed.fire(uri);
    const options = { preview: false, viewColumn: vscode.ViewColumn.Beside };
    await vscode.window.showTextDocument(await vscode.workspace.openTextDocument(uri), options);
  }
}

async function showCurve(uri) {
  const curves = await program.curves(settings(), uri.fsPath);
  if (curves.length === 0) {
    vscode.window.showInformationMessage("Nothing is computed for this file; the list of problems says why.");
    return;
  }
  const items = curves.map((curve) => ({ label: curve.bend, description: curve.recipe, curve }));
  const chosen = items.length === 1 ? items[0] : await vscode.window.showQuickPick(items, { placeHolder: "Which bend?" });
  if (!chosen) return;
  const title = `${chosen.label} (${chosen.description})`;
  const panel = vscode.window.createWebviewPanel("withy.curve", title, vscode.ViewColumn.Beside, {});
  panel.webview.html = page(chosen.curve.drawing);
}

/** The drawing on white, as on paper; nothing is loaded and nothing runs. */
function page(drawing) {
  const policy = "default-src 'none'; style-src 'unsafe-inline'";
  return `<!DOCTYPE html><html><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="${policy}">
<style>body { background: white; margin: 1em } svg { max-width: 100%; height: auto }</style></head>
<body>${drawing.replace(/^<\?xml[^>]*\?>/, "")}</body></html>`;
}

async function activate(context) {
  log = vscode.window.createOutputChannel("Withy language server", { log: true });
  output = vscode.window.createOutputChannel("Withy");
  const tables = new Tables();
  context.subscriptions.push(
    log,
    output,
    vscode.workspace.registerTextDocumentContentProvider(TABLES, tables),
    vscode.commands.registerCommand("withy.compile", onFile(compile)),
    vscode.commands.registerCommand("withy.showStepTable", onFile((uri) => tables.show(uri))),
    vscode.commands.registerCommand("withy.showCurve", onFile(showCurve)),
    vscode.commands.registerCommand("withy.restart", async () => {
      await stop();
      await start();
    }),
    vscode.workspace.onDidChangeConfiguration(async (change) => {
      if (change.affectsConfiguration("withy.path")) {
        await stop();
        await start();
      }
    }),
  );
  await start();
}

module.exports = { activate, deactivate: stop };
