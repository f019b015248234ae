//! The language's texts: its grammar against its parser, and what holds for the parser and the formatter on any text.

// The lint's own exceptions for tests do not reach helpers of an integration test.
#![allow(clippy::unwrap_used, clippy::panic)]

mod again;
mod ebnf;
mod editors;
mod format;
mod grammar;
mod properties;
mod queries;
mod recogniser;
mod samples;
mod sentences;
mod tree_sitter;
mod textmate;
mod words;
