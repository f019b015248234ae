//! Helix is not to be had from the registries: what its steps put in place is well-formed, and fits the grammar.

use std::path::PathBuf;

use toml::Table;
use tree_sitter::Query;

use crate::at;
use crate::home::Home;

#[test]
fn what_helix_is_given_is_well_formed() {
    let home = Home::with(&["helix"]);
    let settings = home.library.with_file_name(".config/helix");
    let languages: Table = std::fs::read_to_string(settings.join("languages.toml")).unwrap().parse().unwrap();
    let server = &languages["language-server"]["withy"];
    assert_eq!((server["command"].as_str(), server["args"][0].as_str()), (Some("withy"), Some("language-server")));
    assert_eq!(languages["language"][0]["file-types"][0].as_str(), Some("withy"));
    let grammar = PathBuf::from(languages["grammar"][0]["source"]["path"].as_str().unwrap());
    assert_eq!(grammar, at("grammar/tree-sitter-withy"));
    assert!(grammar.join("src/parser.c").is_file());
    let mut queries = 0;
    for entry in std::fs::read_dir(settings.join("runtime/queries/withy")).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        Query::new(&tree_sitter_withy::LANGUAGE.into(), &text)
            .unwrap_or_else(|why| panic!("{}: {why}", path.display()));
        queries += 1;
    }
    assert_eq!(queries, 4);
}

#[test]
fn what_kak_lsp_is_given_is_well_formed() {
    let settings: Table = std::fs::read_to_string(at("editors/kakoune/kak-lsp.toml")).unwrap().parse().unwrap();
    let server = &settings["language_server"]["withy"];
    assert_eq!((server["command"].as_str(), server["args"][0].as_str()), (Some("withy"), Some("language-server")));
    assert_eq!(server["filetypes"][0].as_str(), Some("withy"));
}
