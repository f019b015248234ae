//! Editors that have no grammar of their own kind colour by lists of words: they are those of the compiler's tables.

use withy::syntax::DECLARATIONS;
use withy::types::FUNCTIONS;

use crate::textmate::{heads, one_of};
use crate::words::{between, in_step, quoted, read, reserved, units};

/// Words of more than one kind are left to what is said later: a head of an entry may be a reserved word elsewhere.
struct Words {
    heads: Vec<&'static str>,
    reserved: Vec<String>,
    functions: Vec<&'static str>,
}

fn words() -> Words {
    let reserved: Vec<String> = reserved().into_iter().collect();
    let plain = |word: &&str| !reserved.iter().any(|reserved| reserved == word);
    Words {
        heads: heads().into_iter().filter(plain).collect(),
        functions: FUNCTIONS.iter().map(|function| function.0).collect(),
        reserved,
    }
}

#[test]
fn the_words_of_vim_are_in_step() {
    let path = "editors/vim/syntax/withy.vim";
    let Words { heads, reserved, functions } = words();
    let alternatives = |words: Vec<&str>| {
        let mut words = words;
        words.sort_by_key(|word| (std::cmp::Reverse(word.len()), *word));
        words.join("\\\\|")
    };
    let units = alternatives(units().into_iter().collect());
    let fresh = format!(
        "syntax match withyHead /\\%(^\\|[{{,]\\)\\@1<=\\s*\\%({})\\>/\n\
         syntax keyword withyReserved {}\n\
         syntax match withyFunction /\\<\\%({})\\ze(/\n\
         syntax match withyUnit /\\%(\\d\\s*\\|[/*·]\\)\\@3<=\\%({})\\k\\@!/\n\
         syntax match withyDeclaration /^\\%({})\\>/ nextgroup=withyDeclared skipwhite\n",
        close(&alternatives(heads)),
        reserved.join(" "),
        close(&alternatives(functions)),
        close(&units),
        close(&alternatives(DECLARATIONS.to_vec())),
    );
    in_step(path, &between(&read(path), "\"", "words", &fresh));
}

/// Vim closes a group with `\)`.
fn close(alternatives: &str) -> String {
    format!("{}\\", alternatives.replace("\\\\|", "\\|").replace('/', "\\/"))
}

#[test]
fn the_words_of_emacs_are_in_step() {
    let path = "editors/emacs/withy-mode.el";
    let Words { heads, reserved, functions } = words();
    let list = |name: &str, words: String| format!("(defconst withy--{name} '({words}))\n");
    let fresh = [
        list("declarations", quoted(DECLARATIONS, " ")),
        list("heads", quoted(heads, " ")),
        list("reserved", quoted(reserved, " ")),
        list("units", quoted(units(), " ")),
        list("functions", quoted(functions, " ")),
    ];
    in_step(path, &between(&read(path), ";;", "words", &fresh.concat()));
}

#[test]
fn the_words_of_kakoune_are_in_step() {
    let path = "editors/kakoune/withy.kak";
    let Words { heads, reserved, functions } = words();
    let rule = |name: &str, pattern: String| format!("add-highlighter shared/withy/code/{name} regex {pattern}\n");
    let fresh = [
        rule("head", format!("'(?:^|[{{,])\\h*({})\\b' 1:variable", one_of(heads))),
        rule("reserved", format!("'\\b{}\\b' 0:keyword", one_of(reserved.iter().map(String::as_str)))),
        rule("function", format!("'\\b({})\\(' 1:function", one_of(functions))),
        rule("unit", format!("'[0-9]\\h*({})(?!\\w)' 1:type", one_of(units()))),
        rule("declaration", format!("'^({})\\b\\h*(\\w+)?' 1:keyword 2:type", one_of(DECLARATIONS))),
    ];
    in_step(path, &between(&read(path), "#", "words", &fresh.concat()));
}

/// Helix has names of its own for what is coloured.
#[test]
fn the_queries_of_helix_are_in_step() {
    let names = [
        ("@comment.documentation", "@comment.line.documentation"),
        ("@number", "@constant.numeric"),
        ("@property", "@variable.other.member"),
        ("@string.escape", "@constant.character.escape"),
        ("@string.special", "@constant"),
    ];
    let ours = read("grammar/tree-sitter-withy/queries/highlights.scm");
    let theirs = names.iter().fold(ours, |text, (ours, theirs)| text.replace(ours, theirs));
    in_step("editors/helix/queries/highlights.scm", &theirs);
    in_step("editors/helix/queries/locals.scm", &read("grammar/tree-sitter-withy/queries/locals.scm"));
}
