//! Each request, on a recipe with letters before it that take several bytes and one or two units of UTF-16.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use withy::library::formatted;

use crate::client::{BOTH, Client, Columns, library, uri};

/// A library, and a recipe in it in which wide letters stand before what is asked about.
struct Shop {
    _folder: tempfile::TempDir,
    root: PathBuf,
    recipe: PathBuf,
    text: String,
}

fn shop() -> Shop {
    let (folder, root) = library();
    let recipe = root.join("recipes/dust_cover.withy");
    let text = std::fs::read_to_string(&recipe).unwrap();
    let wide = "accept thin-margin because \"22 °C, 8 µm, 1 Ω, 𝛺\", ";
    let text = text.replace("  bend lip {", &format!("  {wide}bend lip {{"));
    let text = text.replace("18..27 degC", "18..27 °C, film peeled");
    assert!(text.contains(wide) && text.contains("°C, film"), "{text}");
    std::fs::write(&recipe, &text).unwrap();
    Shop { _folder: folder, root, recipe, text }
}

fn each(test: impl Fn(&Shop, &mut Client)) {
    for columns in BOTH {
        let shop = shop();
        let mut client = Client::start(columns);
        client.open(&shop.recipe, &shop.text);
        test(&shop, &mut client);
        client.end();
    }
}

/// The byte behind the first letter of a piece of text.
fn inside(text: &str, piece: &str) -> usize {
    text.find(piece).unwrap_or_else(|| panic!("no {piece}")) + 1
}

fn hover(client: &mut Client, path: &Path, byte: usize) -> (String, Value) {
    let params = client.at(path, byte);
    let hover = client.ask("textDocument/hover", params);
    (hover["contents"]["value"].as_str().unwrap_or("").to_owned(), hover["range"].clone())
}

#[test]
fn hover_tells_meaning_figures_and_the_other_units() {
    each(|shop, client| {
        let (path, text) = (&shop.recipe, &shop.text);
        let (shown, range) = hover(client, path, inside(text, "lip {"));
        for word in ["window", "verdict", "margin", "line power", "current", "W/in", "148 s"] {
            assert!(shown.contains(word), "{word}: {shown}");
        }
        assert_eq!(client.slice(text, &range), "lip");
        let (shown, range) = hover(client, path, inside(text, "transfer 3 s"));
        assert!(shown.contains("transfer TIME") && shown.contains("heater off to bend finished"), "{shown}");
        assert_eq!(client.slice(text, &range), "transfer");
        let (shown, range) = hover(client, path, inside(text, "18..27"));
        assert!(shown.contains("`64.4..80.6 degF`"), "{shown}");
        assert_eq!(client.slice(text, &range), "18..27 °C");
        let (shown, _) = hover(client, path, inside(text, "thin-margin"));
        assert!(shown.contains("## What it finds"), "{shown}");
        let (shown, _) = hover(client, path, inside(text, "dust_cover_run"));
        assert!(shown.contains("blank") && shown.contains("peak current") && shown.contains("rail_12v"), "{shown}");
        let (shown, _) = hover(client, path, inside(text, "recipe dust"));
        assert!(shown.contains("How a part is made on a bench"), "{shown}");
        assert_eq!(hover(client, path, 0).0, "", "nothing is known of the edition");
    });
}

#[test]
fn quantities_are_shown_in_the_other_system_with_their_bounds() {
    let shop = shop();
    let path = shop.root.join("stock/more.withy");
    let text = "sheet x {\n  material cast_acrylic # µ\n  thickness 1/8 in ± 0.1 mm, colour clear\n}\n";
    let mut client = Client::start(Columns::Utf16);
    client.open(&path, text);
    let (shown, range) = hover(&mut client, &path, inside(text, "1/8 in"));
    // 1/8 in is 3.175 mm exactly: the international inch of 1959, 25.4 mm.
    assert!(shown.contains("known to `3.075..3.275 mm`") && shown.contains("`0.12106..0.12894 in`"), "{shown}");
    assert_eq!(client.slice(text, &range), "1/8 in ± 0.1 mm");
    client.end();
}

fn offered(client: &mut Client, path: &Path, byte: usize) -> Vec<Value> {
    let params = client.at(path, byte);
    client.ask("textDocument/completion", params)["items"].as_array().unwrap().clone()
}

fn labels(items: &[Value]) -> Vec<&str> {
    items.iter().map(|item| item["label"].as_str().unwrap()).collect()
}

/// Writes `piece` where `after` ends, asks there, and takes it out again.
fn completed(client: &mut Client, path: &Path, after: &str, piece: &str) -> Vec<String> {
    let at = client.text(path).find(after).unwrap_or_else(|| panic!("no {after}")) + after.len();
    client.edit(path, at, at, piece);
    let items = offered(client, path, at + piece.trim_end_matches('\n').len());
    client.edit(path, at, at + piece.len(), "");
    labels(&items).into_iter().map(str::to_owned).collect()
}

#[test]
fn completion_offers_what_fits() {
    each(|shop, client| {
        let path = &shop.recipe;
        let lip = "bend lip { ";
        assert_eq!(completed(client, path, lip, "heat 12 ")[..2], ["s", "min"]);
        assert_eq!(completed(client, path, lip, "swing 12 ")[0], "deg");
        assert_eq!(completed(client, path, lip, "on "), ["left", "right"]);
        assert_eq!(completed(client, path, lip, "heat "), ["computed"]);
        let entries = completed(client, path, lip, "f");
        assert!(entries.contains(&"fence".to_owned()) && !entries.contains(&"set".to_owned()), "{entries:?}");
        assert_eq!(completed(client, path, lip, "fence "), ["front", "back"]);
        let end = "blank.length within 375..395 mm\n";
        let figures = completed(client, path, end, "  expect \n");
        assert!(figures.contains(&"cycle_time".to_owned()) && figures.contains(&"bend".to_owned()), "{figures:?}");
        assert_eq!(completed(client, path, end, "  expect bend \n"), ["front", "back", "lip"]);
        let rules = completed(client, path, end, "  accept unproved-w\n");
        assert!(rules.contains(&"unproved-window".to_owned()) && !rules.contains(&"fire-heat".to_owned()), "{rules:?}");
        let names = completed(client, path, end, "}\nsheet other {\n  material \n");
        assert!(names.contains(&"cast_acrylic".to_owned()) && !names.contains(&"copper".to_owned()), "{names:?}");
        let missing = completed(client, path, end, "}\nsheet other {\n  colour clear\n  \n");
        assert_eq!(missing[..2], ["material", "thickness"], "what must be there comes first: {missing:?}");
        let used = completed(client, path, "language 1\n", "use \"../st\n");
        assert!(used.contains(&"../stock/acrylic.withy".to_owned()), "{used:?}");
        assert_eq!(client.text(path), shop.text);
    });
}

#[test]
fn items_of_the_catalogue_come_with_their_figures() {
    let shop = shop();
    let path = shop.root.join("stock/more.withy");
    let text = "sheet x {\n  material \n}\n";
    let mut client = Client::start(Columns::Bytes);
    client.open(&path, text);
    let items = offered(&mut client, &path, inside(text, "material") + "material".len());
    let acrylic = items.iter().find(|item| item["label"] == "cast_acrylic").unwrap();
    let about = acrylic["documentation"]["value"].as_str().unwrap();
    assert!(about.contains("forming") && about.contains("degC"), "{about}");
    client.end();
}

/// Places by file name and what stands there.
fn places(client: &Client, shop: &Shop, locations: &Value) -> Vec<(String, String)> {
    let place = |location: &Value| {
        let path = url::Url::parse(location["uri"].as_str().unwrap()).unwrap().to_file_path().unwrap();
        let text = if path == shop.recipe { shop.text.clone() } else { std::fs::read_to_string(&path).unwrap() };
        let name = path.strip_prefix(&shop.root).unwrap().to_str().unwrap().to_owned();
        (name, client.slice(&text, &location["range"]).to_owned())
    };
    locations.as_array().unwrap().iter().map(place).collect()
}

#[test]
fn names_lead_to_their_definition_and_their_uses() {
    each(|shop, client| {
        let (path, text) = (&shop.recipe, &shop.text);
        for (piece, file, word) in [
            ("lip {", "parts/dust_cover.withy", "lip"),
            ("dust_cover on", "parts/dust_cover.withy", "dust_cover"),
            ("north {", "bench/north.withy", "north"),
            ("left\n", "bench/north.withy", "left"),
            ("../bench", "bench/north.withy", ""),
        ] {
            let params = client.at(path, inside(text, piece));
            let found = client.ask("textDocument/definition", params);
            assert_eq!(places(client, shop, &json!([found])), [(file.to_owned(), word.to_owned())], "{piece}");
        }
        let mut params = client.at(path, inside(text, "lip {"));
        params["context"] = json!({ "includeDeclaration": true });
        let found = client.ask("textDocument/references", params);
        let found = places(client, shop, &found);
        assert!(found.iter().all(|place| place.1 == "lip"), "{found:?}");
        for file in ["parts/dust_cover.withy", "recipes/dust_cover.withy", "recipes/tall_cover.withy"] {
            assert!(found.iter().any(|place| place.0 == file), "{file}: {found:?}");
        }
        let params = client.at(path, inside(text, "lip {"));
        let marked = client.ask("textDocument/documentHighlight", params);
        let marked: Vec<&str> =
            marked.as_array().unwrap().iter().map(|mark| client.slice(text, &mark["range"])).collect();
        assert_eq!(marked, ["lip", "lip"]);
    });
}

#[test]
fn a_name_is_changed_everywhere_or_not_at_all() {
    each(|shop, client| {
        let (path, text) = (&shop.recipe, &shop.text);
        let params = client.at(path, inside(text, "lip {"));
        let range = client.ask("textDocument/prepareRename", params.clone());
        assert_eq!(client.slice(text, &range), "lip");
        let mut params = params;
        params["newName"] = json!("edge");
        let edit = client.ask("textDocument/rename", params.clone());
        let mut changed = 0;
        for (uri, edits) in edit["changes"].as_object().unwrap() {
            let path = url::Url::parse(uri).unwrap().to_file_path().unwrap();
            let before = std::fs::read_to_string(&path).unwrap();
            let after = client.edited(&before, edits);
            std::fs::write(&path, after).unwrap();
            changed += 1;
        }
        assert!(changed >= 3, "{edit}");
        client.replace(path, &std::fs::read_to_string(path).unwrap());
        let after = client.findings(path);
        assert!(after.iter().all(|finding| finding["code"] != "unknown-bend"), "{after:?}");
        assert!(!client.text(path).contains("bend lip"), "the settings follow");
        for name in ["front", "3rd", "computed", "Edge", "a b", ""] {
            let mut params = client.at(path, inside(client.text(path), "edge {"));
            params["newName"] = json!(name);
            let (code, why) = client.try_ask("textDocument/rename", params).unwrap_err();
            assert_eq!(code, -32_803, "{name}: {why}");
        }
        let nowhere = client.at(path, inside(client.text(path), "heat computed"));
        assert_eq!(client.ask("textDocument/prepareRename", nowhere), Value::Null);
    });
}

#[test]
fn the_outline_names_what_is_declared() {
    each(|shop, client| {
        let document = json!({ "textDocument": { "uri": uri(&shop.recipe) } });
        let symbols = client.ask("textDocument/documentSymbol", document.clone());
        let recipe = symbols.as_array().unwrap().iter().find(|symbol| symbol["name"] == "dust_cover_run").unwrap();
        let inner: Vec<&str> =
            recipe["children"].as_array().unwrap().iter().map(|child| child["name"].as_str().unwrap()).collect();
        assert_eq!(inner, ["every bend", "bend front", "bend lip"]);
        let lip = &recipe["children"][2];
        assert_eq!(client.slice(&shop.text, &lip["selectionRange"]), "lip");
        assert!(client.slice(&shop.text, &lip["range"]).starts_with("bend lip {"));
        let found = client.ask("workspace/symbol", json!({ "query": "tallcov" }));
        let names: Vec<&str> =
            found.as_array().unwrap().iter().map(|symbol| symbol["name"].as_str().unwrap()).collect();
        assert!(names.contains(&"tall_cover"), "{names:?}");
        let folds = client.ask("textDocument/foldingRange", document.clone());
        let line = shop.text[..shop.text.find("recipe dust").unwrap()].matches('\n').count();
        assert!(folds.as_array().unwrap().iter().any(|fold| fold["startLine"] == line), "{folds}");
        let links = client.ask("textDocument/documentLink", document);
        let first = &links[0];
        assert_eq!(client.slice(&shop.text, &first["range"]), "../bench/north.withy");
        assert_eq!(first["target"], uri(&shop.root.join("bench/north.withy")));
    });
}

#[test]
fn a_selection_grows_from_the_word_to_the_text() {
    each(|shop, client| {
        let at = client.position(&shop.recipe, inside(&shop.text, "lip {"));
        let params = json!({ "textDocument": { "uri": uri(&shop.recipe) }, "positions": [at] });
        let answer = client.ask("textDocument/selectionRange", params);
        let mut step = &answer[0];
        let mut grown = Vec::new();
        while !step.is_null() {
            grown.push(client.slice(&shop.text, &step["range"]).to_owned());
            step = &step["parent"];
        }
        assert_eq!(grown[..2], ["lip", "bend lip"]);
        assert!(grown[2].starts_with("bend lip {") && grown[2].ends_with('}'), "{grown:?}");
        assert_eq!(grown.last(), Some(&shop.text));
        assert!(grown.windows(2).all(|pair| pair[0].len() < pair[1].len()));
    });
}

#[test]
fn words_have_their_colours() {
    each(|shop, client| {
        let document = json!({ "uri": uri(&shop.recipe) });
        let answer = client.ask("textDocument/semanticTokens/full", json!({ "textDocument": document }));
        let data: Vec<u64> = answer["data"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap()).collect();
        let (mut line, mut column) = (0, 0);
        let mut found = Vec::new();
        for token in data.chunks(5) {
            column = if token[0] == 0 { column + token[1] } else { token[1] };
            line += token[0];
            let start = client.byte(&shop.text, &json!({ "line": line, "character": column }));
            let end = client.byte(&shop.text, &json!({ "line": line, "character": column + token[2] }));
            found.push((&shop.text[start..end], token[3]));
        }
        // By the legend: keyword 1, property 2, enum member 3, class 4, variable 5, decorator 9, number 10, type 11.
        for expected in [
            ("recipe", 1),
            ("ambient", 2),
            ("peeled", 3),
            ("north", 4),
            ("lip", 5),
            ("thin-margin", 9),
            ("148", 10),
            ("°C", 11),
            ("\"22 °C, 8 µm, 1 Ω, 𝛺\"", 12),
        ] {
            assert!(found.contains(&expected), "{expected:?}: {found:?}");
        }
        let computed: Vec<u64> = found.iter().filter(|word| word.0 == "computed").map(|word| word.1).collect();
        assert_eq!(computed, [1; 2], "behind `heat` and `set` alike");
        let words = shop.text.split_whitespace().count();
        assert!(found.len() > words / 2, "{} of {words} words", found.len());
        let range = json!({ "start": { "line": 7, "character": 0 }, "end": { "line": 8, "character": 0 } });
        let part = client.ask("textDocument/semanticTokens/range", json!({ "textDocument": document, "range": range }));
        assert!(part["data"].as_array().unwrap().len() < data.len());
    });
}

#[test]
fn formatting_brings_a_text_or_some_lines_into_the_one_style() {
    each(|shop, client| {
        let path = &shop.recipe;
        let untidy =
            shop.text.replace("    set computed", "        set    computed").replace("  order lip", "order   lip");
        client.replace(path, &untidy);
        let options = json!({ "tabSize": 2, "insertSpaces": true });
        let document = json!({ "uri": uri(path) });
        let edits = client.ask("textDocument/formatting", json!({ "textDocument": document, "options": options }));
        assert_eq!(client.edited(&untidy, &edits), formatted("", &untidy).text.unwrap());
        let at = inside(&untidy, "set    computed");
        let range = json!({ "start": client.position(path, at), "end": client.position(path, at) });
        let params = json!({ "textDocument": document, "range": range, "options": options });
        let edits = client.ask("textDocument/rangeFormatting", params);
        let part = client.edited(&untidy, &edits);
        assert!(part.contains("    set computed") && part.contains("order   lip"), "{part}");
    });
}

/// The actions at a piece of text: titles, and the text after each.
fn acted(client: &mut Client, path: &Path, piece: &str) -> Vec<(String, String)> {
    let at = client.position(path, inside(client.text(path), piece));
    let params = json!({
        "textDocument": { "uri": uri(path) },
        "range": { "start": at, "end": at },
        "context": { "diagnostics": [] },
    });
    let actions = client.ask("textDocument/codeAction", params);
    let text = client.text(path).to_owned();
    let name = uri(path);
    let acted = |action: &Value| {
        let after = client.edited(&text, &action["edit"]["changes"][&name]);
        (action["title"].as_str().unwrap().to_owned(), after)
    };
    actions.as_array().unwrap().iter().map(acted).collect()
}

#[test]
fn actions_mend_accept_fill_in_and_convert() {
    each(|shop, client| {
        let path = &shop.recipe;
        let (title, after) = acted(client, path, "heat computed").remove(0);
        assert!(title.starts_with("write the computed time: `heat ") && !after.contains("heat computed"), "{title}");
        let all = acted(client, path, "18..27");
        assert!(all.iter().any(|(_, after)| after.contains("ambient 64.4..80.6 degF, film")), "{all:?}");
        // A slip is mended, with the letters before it.
        let wrong = shop.text.replace("transfer 3 s", "transfr 3 s");
        client.replace(path, &wrong);
        let all = acted(client, path, "transfr");
        assert!(all.iter().any(|(_, after)| *after == shop.text), "{all:?}");
        // What is overheated can be accepted, but only with a reason that the author writes.
        let line = "  accept unproved-window because \"a starting point for the trial strips\" until 2027-06-30\n";
        let open = shop.text.replace(line, "");
        assert_ne!(open, shop.text);
        client.replace(path, &open);
        client.findings(path);
        let place = client.findings(path).into_iter().find(|finding| finding["code"] == "unproved-window").unwrap();
        let piece = client.slice(&open, &place["range"]).to_owned();
        let all = acted(client, path, &piece);
        let (title, after) = all.into_iter().find(|(title, _)| title.starts_with("accept `unproved-window`")).unwrap();
        assert!(after.contains("accept unproved-window because \"\""), "{title}: {after}");
        client.replace(path, &after);
        let codes: Vec<Value> = client.findings(path).iter().map(|finding| finding["code"].clone()).collect();
        assert!(codes.contains(&json!("missing-reason")), "{codes:?}");
    });
}

#[test]
fn dangers_cannot_be_accepted() {
    let shop = shop();
    let mut client = Client::start(Columns::Utf16);
    client.open(&shop.recipe, &shop.text.replace("heat 148 s", "heat 900 s"));
    let found = client.findings(&shop.recipe);
    assert!(found.iter().any(|finding| finding["data"]["class"] == "danger"), "{found:?}");
    let all = acted(&mut client, &shop.recipe, "heat 900 s");
    assert!(!all.iter().any(|(title, _)| title.contains("accept `fire-heat`")), "{all:?}");
    client.end();
}

fn hinted(client: &mut Client, path: &Path) -> Vec<String> {
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 999, "character": 0 } });
    client.findings(path);
    let hints = client.ask("textDocument/inlayHint", json!({ "textDocument": { "uri": uri(path) }, "range": range }));
    let text = client.text(path).to_owned();
    let hint = |hint: &Value| {
        let at = client.byte(&text, &hint["position"]);
        let word = text[..at].rsplit(' ').next().unwrap();
        format!("{word} {}", hint["label"].as_str().unwrap())
    };
    hints.as_array().unwrap().iter().map(hint).collect()
}

#[test]
fn hints_stand_behind_their_words_and_can_be_switched_off() {
    each(|shop, client| {
        let hints = hinted(client, &shop.recipe);
        let has = |start: &str| hints.iter().any(|hint| hint.starts_with(start));
        assert!(has("dust_cover_run blank ") && has("left ") && has("computed "), "{hints:?}");
    });
    let kinds = [("times", "computed "), ("blank", "dust_cover_run blank"), ("current", "left ")];
    for (kind, start) in kinds {
        let shop = shop();
        let mut client = Client::with(Columns::Utf16, json!({}), &json!({ "hints": { kind: false } }));
        client.open(&shop.recipe, &shop.text);
        let hints = hinted(&mut client, &shop.recipe);
        assert!(!hints.iter().any(|hint| hint.starts_with(start)), "{kind}: {hints:?}");
        assert!(hints.len() >= 2, "the others stay: {hints:?}");
        // A setting that changes counts at once.
        client.tell("workspace/didChangeConfiguration", json!({ "settings": { "withy": { "hints": {} } } }));
        let hints = hinted(&mut client, &shop.recipe);
        assert!(hints.iter().any(|hint| hint.starts_with(start)), "{kind}: {hints:?}");
        client.end();
    }
}

#[test]
fn a_call_tells_its_parameters() {
    each(|shop, client| {
        let text = shop.text.replace("for dust_cover on", "for dust_cover(height = round(140 mm, 1 mm)) on");
        client.replace(&shop.recipe, &text);
        let params = client.at(&shop.recipe, inside(&text, "height = "));
        let help = client.ask("textDocument/signatureHelp", params);
        assert_eq!(help["signatures"][0]["label"], "dust_cover(height: length = 140 mm)");
        assert_eq!(help["activeParameter"], 0);
        let params = client.at(&shop.recipe, inside(&text, " 1 mm))"));
        let help = client.ask("textDocument/signatureHelp", params);
        assert_eq!(help["signatures"][0]["label"], "round(x, to)");
        assert_eq!(help["activeParameter"], 1);
        let params = client.at(&shop.recipe, inside(&text, "ambient"));
        assert_eq!(client.ask("textDocument/signatureHelp", params), Value::Null);
    });
}

#[test]
fn findings_come_unasked_with_their_places_and_pages() {
    each(|shop, client| {
        // A bench that is changed and not saved is held against the recipes that use it.
        let bench = shop.root.join("bench/north.withy");
        let text = std::fs::read_to_string(&bench).unwrap();
        assert!(client.findings(&shop.recipe).iter().all(|finding| finding["code"] != "supply-overload"));
        client.notes.clear();
        client.open(&bench, &text);
        client.replace(&bench, &text.replace("rated 30 A", "rated 9 A"));
        let found = loop {
            let note = client.next_note();
            assert_eq!(note.method, "textDocument/publishDiagnostics");
            let findings = note.params["diagnostics"].as_array().unwrap().clone();
            if let Some(found) = findings.into_iter().find(|finding| finding["code"] == "supply-overload") {
                break found;
            }
        };
        assert!(!found["relatedInformation"].as_array().unwrap().is_empty(), "{found}");
        assert!(found["codeDescription"]["href"].as_str().unwrap().ends_with("supply-overload.md"), "{found}");
        let page = url::Url::parse(found["codeDescription"]["href"].as_str().unwrap()).unwrap().to_file_path().unwrap();
        assert!(std::fs::read_to_string(page).unwrap().contains("## What it finds"));
        // Once it is closed without being saved, what lies on disk counts.
        client.close(&bench);
        let after = client.findings(&shop.recipe);
        assert!(after.iter().all(|finding| finding["code"] != "supply-overload"), "{after:?}");
    });
}

/// The findings of a text as they are next sent.
fn next_findings(client: &mut Client, path: &Path, version: i32) -> Vec<Value> {
    loop {
        let params = client.next_note().params;
        if params["uri"] == uri(path) && params["version"] == version {
            return params["diagnostics"].as_array().unwrap().clone();
        }
    }
}

#[test]
fn findings_stay_with_their_words_until_they_are_computed_anew() {
    each(|shop, client| {
        client.replace(&shop.recipe, &shop.text.replace("heat 148 s", "heat 348 s"));
        let before = client.findings(&shop.recipe);
        assert!(before.iter().any(|finding| finding["code"] == "fire-heat"), "{before:?}");
        client.notes.clear();
        client.edit(&shop.recipe, 0, 0, "# µ\n");
        let mut moved = before.clone();
        for finding in &mut moved {
            let ranges = [&["range", "start"], &["range", "end"]];
            for range in ranges {
                let line = finding[range[0]][range[1]]["line"].as_u64().unwrap();
                finding[range[0]][range[1]]["line"] = json!(line + 1);
            }
            let others = finding.get_mut("relatedInformation").and_then(Value::as_array_mut);
            for other in others.into_iter().flatten() {
                let own = other["location"]["uri"] == uri(&shop.recipe);
                for end in ["start", "end"] {
                    let line = other["location"]["range"][end]["line"].as_u64().unwrap();
                    other["location"]["range"][end]["line"] = json!(line + u64::from(own));
                }
            }
        }
        assert_eq!(next_findings(client, &shop.recipe, 3), moved);
        assert_eq!(client.findings(&shop.recipe), moved, "nothing else came of it");
    });
}

#[test]
fn what_is_known_better_is_not_told_twice_meanwhile() {
    each(|shop, client| {
        // Only what is computed on the side looks for who declares the name.
        client.replace(&shop.recipe, &shop.text.replace("use \"../bench/north.withy\"\n", ""));
        let about = |findings: &[Value]| findings.iter().filter(|finding| finding["code"] == "unknown-name").count();
        let computed = client.findings(&shop.recipe);
        let wanted = about(&computed);
        assert!(
            wanted > 0 && computed.iter().any(|finding| finding["message"].as_str().unwrap().contains("declares it"))
        );
        client.notes.clear();
        client.edit(&shop.recipe, 0, 0, "# µ\n");
        assert_eq!(about(&next_findings(client, &shop.recipe, 3)), wanted);
    });
}

#[test]
fn a_client_that_asks_is_told_to_ask_again_and_is_sent_nothing() {
    let shop = shop();
    let capabilities = json!({
        "textDocument": { "diagnostic": {} },
        "workspace": { "diagnostics": { "refreshSupport": true } },
    });
    let mut client = Client::with(Columns::Utf16, capabilities, &Value::Null);
    client.open(&shop.recipe, &shop.text.replace("heat 148 s", "heat 900 s"));
    let found = client.findings(&shop.recipe);
    assert!(found.iter().any(|finding| finding["code"] == "fire-heat"), "{found:?}");
    assert!(client.notes.is_empty(), "{:?}", client.notes);
    assert!(client.asked.iter().any(|request| request.method == "workspace/diagnostic/refresh"));
    client.end();
}

#[test]
fn a_text_without_a_file_is_checked_too() {
    let mut client = Client::start(Columns::Utf16);
    let text = "sheet x {\n  thicknes 3 mm\n}\n";
    client.tell(
        "textDocument/didOpen",
        json!({ "textDocument": { "uri": "untitled:Untitled-1", "languageId": "withy", "version": 1, "text": text } }),
    );
    let note = client.next_note();
    assert_eq!(note.params["uri"], "untitled:Untitled-1");
    let findings = note.params["diagnostics"].as_array().unwrap();
    assert!(findings.iter().any(|finding| finding["code"] == "unknown-entry"), "{findings:?}");
    client.end();
}
