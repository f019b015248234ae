//! The tree-sitter grammar of the Withy recipe language, for programs in Rust that use the `tree-sitter` library.

use tree_sitter_language::LanguageFn;

unsafe extern "C" {
    fn tree_sitter_withy() -> *const ();
}

/// The language, for `tree_sitter::Parser::set_language`.
// SAFETY: the function is made by tree-sitter's generator and gives a pointer to tables that are never changed.
pub const LANGUAGE: LanguageFn = unsafe { LanguageFn::from_raw(tree_sitter_withy) };

/// What colours a text.
pub const HIGHLIGHTS_QUERY: &str = include_str!("../../queries/highlights.scm");
/// Which names belong together.
pub const LOCALS_QUERY: &str = include_str!("../../queries/locals.scm");
/// Where texts of another language stand.
pub const INJECTIONS_QUERY: &str = include_str!("../../queries/injections.scm");
