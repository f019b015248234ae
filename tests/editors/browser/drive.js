// Drives the editor in the browser as a person would, and takes the pictures that are to be looked at. Arguments: the
// folder for everything, where the editor lies, the program.
"use strict";

const assert = require("node:assert/strict");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");
const { spawn, spawnSync } = require("node:child_process");

const [place, editor, program] = process.argv.slice(2);
const { chromium } = require(path.join(place, "editor/node_modules/playwright-core"));
const root = path.join(__dirname, "../../..");
const PORT = 18091;
const URL = `http://127.0.0.1:${PORT}`;

/** A home folder with nothing in it but a library and the extension. */
function prepare() {
  const home = fs.mkdtempSync(path.join(os.tmpdir(), "withy-browser-"));
  const library = path.join(home, "library");
  for (const part of ["bench", "parts", "recipes", "stock", "withy.toml"]) {
    fs.cpSync(path.join(root, "examples", part), path.join(library, part), { recursive: true });
  }
  // What belongs to the machine stands apart, since the editor runs on another one than its window.
  fs.mkdirSync(path.join(home, "data/Machine"), { recursive: true });
  fs.writeFileSync(path.join(home, "data/Machine/settings.json"), JSON.stringify({ "withy.path": program }));
  const settings = {
    "security.workspace.trust.enabled": false,
    "workbench.startupEditor": "none",
    "telemetry.telemetryLevel": "off",
    "update.mode": "none",
    "extensions.autoCheckUpdates": false,
    "workbench.colorTheme": "Default Light Modern",
    "editor.minimap.enabled": false,
    "chat.disableAIFeatures": true,
    "files.simpleDialog.enable": true,
  };
  fs.mkdirSync(path.join(home, "data/User"), { recursive: true });
  fs.writeFileSync(path.join(home, "data/User/settings.json"), JSON.stringify(settings));
  return { home, library };
}

function serve(home) {
  const common = [path.join(editor, "out/node/entry.js"), "--user-data-dir", path.join(home, "data"), "--extensions-dir", path.join(home, "extensions")];
  const environment = { ...process.env, HOME: home };
  const vsix = path.join(root, "editors/vscode/dist/withy.vsix");
  const installed = spawnSync("node", [...common, "--install-extension", vsix], { env: environment, encoding: "utf8" });
  assert.match(installed.stdout, /successfully installed/, installed.stdout + installed.stderr);
  const log = fs.openSync(path.join(place, "server.log"), "w");
  const args = [...common, "--auth", "none", "--disable-telemetry", "--disable-update-check", "--bind-addr", `127.0.0.1:${PORT}`];
  return spawn("node", args, { env: environment, stdio: ["ignore", log, log] });
}

async function ready() {
  for (let tries = 0; tries < 240; tries += 1) {
    const answer = await fetch(`${URL}/healthz`).catch(() => undefined);
    if (answer?.ok) return;
    await new Promise((resolve) => setTimeout(resolve, 500));
  }
  throw new Error("the editor does not answer");
}

async function drive(library) {
  const browser = await chromium.launch({
    executablePath: "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
  });
  const page = await browser.newPage({ viewport: { width: 1360, height: 860 } });
  page.setDefaultTimeout(180_000);
  const picture = (name) => page.screenshot({ path: path.join(place, `${name}.png`) });
  const command = async (name) => {
    await page.keyboard.press("F1");
    await page.locator(".quick-input-widget input").first().fill(`>${name}`);
    await page.locator(".quick-input-list .monaco-list-row").first().waitFor();
    await page.keyboard.press("Enter");
  };
  const open = async (name) => {
    await page.keyboard.press("Control+p");
    await page.locator(".quick-input-widget input").first().fill(name);
    await page.locator(".quick-input-list .monaco-list-row").first().waitFor();
    await page.waitForTimeout(1000);
    await page.keyboard.press("Enter");
    await page.locator(".view-lines").first().waitFor();
  };
  try {
    await page.goto(`${URL}/?folder=${encodeURIComponent(library)}`);
    await page.locator(".monaco-workbench").waitFor();
    await page.waitForTimeout(4000);

    await open("recipes/tent_card.withy");
    // Computed times stand between the words: the server has answered, and its figures have come.
    await page.getByText("114 s").first().waitFor();
    assert.ok((await page.locator(".view-lines [class*='mtk']").count()) > 50, "the file is coloured");
    await picture("1-hints");

    await page.locator(".view-lines").getByText("ambient", { exact: false }).first().dblclick();
    await page.keyboard.type("ambeint");
    await page.locator(".squiggly-error").first().waitFor();
    await command("Problems: Focus on Problems View");
    await page.getByText("is no entry of a recipe").first().waitFor();
    await picture("2-finding");
    await page.locator(".view-lines").getByText("ambeint").first().click();
    await page.keyboard.press("Control+.");
    await page.locator(".action-widget").getByText("ambient").first().waitFor();
    await picture("3-mends");
    await page.keyboard.press("Enter");
    await page.locator(".squiggly-error").first().waitFor({ state: "detached" });
    await page.keyboard.press("Control+s");

    await page.locator(".view-lines").getByText("transfer").first().hover();
    await page.locator(".monaco-hover").getByText("heater off to bend finished").first().waitFor();
    await picture("4-hover");
    await page.keyboard.press("Escape");

    await command("Withy: Show the step table");
    await page.locator(".tab").getByText("step table").first().waitFor();
    await page.getByText("swing arm front to its stop", { exact: false }).first().waitFor();
    await picture("5-step-table");

    await page.locator(".tab").getByText("tent_card.withy", { exact: true }).first().click();
    await command("Withy: Show the curve of a bend");
    await page.locator(".quick-input-list").getByText("tent_card_run", { exact: false }).first().waitFor();
    await page.keyboard.press("Enter");
    await page.locator(".tab").getByText("ridge", { exact: false }).first().waitFor();
    await page.waitForTimeout(4000);
    const drawings = await Promise.all(page.frames().map((frame) => frame.locator("body > svg").count().catch(() => 0)));
    assert.ok(drawings.some((count) => count > 0), "the curve is drawn");
    await picture("6-curve");
  } catch (error) {
    await picture("failed");
    throw error;
  } finally {
    await browser.close();
  }
  const saved = fs.readFileSync(path.join(library, "recipes/tent_card.withy"), "utf8");
  assert.equal(saved, fs.readFileSync(path.join(root, "examples/recipes/tent_card.withy"), "utf8"));
}

(async () => {
  const { home, library } = prepare();
  const server = serve(home);
  try {
    await ready();
    await drive(library);
    console.log(`all came out; look at ${place}/*.png`);
  } finally {
    server.kill();
    fs.rmSync(home, { recursive: true, force: true });
  }
})().catch((error) => {
  console.error(error);
  process.exit(1);
});
