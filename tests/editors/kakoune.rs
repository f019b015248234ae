//! Kakoune, without a screen: it knows the kind of file, reads its highlighters without a complaint, and indents.

use crate::home::{Home, shown};
use crate::program;

const SCRIPT: &str = "\
    edit bench/west.withy
    echo -to-file kind %sh{ echo $kak_opt_filetype:$kak_opt_comment_line }
    execute-keys -with-hooks 'gjo' 'new {' '<ret>' 'inner<esc>'
    write new.withy
    buffer *debug*
    write -force remarks
    quit!";

#[test]
fn kakoune_knows_the_kind_of_file_and_indents() {
    let home = Home::with(&["kakoune"]);
    let mut kakoune = home.command(&program("WITHY_KAKOUNE", "kak"));
    let output =
        kakoune.args(["-ui", "dummy", "-e", SCRIPT]).output().expect("Kakoune is missing: `tests/run` installs it");
    assert!(output.status.success(), "{}", shown(&output));
    assert_eq!(home.text("kind").trim(), "withy:#");
    assert!(home.text("new.withy").ends_with("new {\n  inner\n"), "{}", home.text("new.withy"));
    let remarks = home.text("remarks");
    assert!(!remarks.contains("withy"), "{remarks}");
}
