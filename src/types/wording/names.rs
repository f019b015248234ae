use crate::names::{Decl, DeclId, DeclKind, Names, nearest};
use crate::report::Diagnostic;
use crate::text::Span;
use crate::types::wording::{a, any_of};
use crate::units::Kind;

fn kinds_text(kinds: &[DeclKind]) -> String {
    any_of(&kinds.iter().map(|kind| kind.article()).collect::<Vec<_>>())
}

/// A name that means nothing, with all its uses.
pub fn unknown_name(
    name: &str,
    spans: &[Span],
    kinds: &[DeclKind],
    near: Option<&str>,
    others: &[String],
) -> Diagnostic {
    let first = spans[0];
    let wanted = if kinds.contains(&DeclKind::Let) { "a value".to_owned() } else { kinds_text(kinds) };
    let fault = Diagnostic::error("unknown-name", first, format!("there is no `{name}` here"))
        .here(format!("{wanted} of this name is wanted"));
    let fault = spans.iter().skip(1).fold(fault, |fault, span| fault.also(*span, "used here too"));
    match near {
        Some(near) => {
            let changes =
                spans.iter().map(|span| crate::report::Change { span: *span, text: near.to_owned() }).collect();
            let mut fault = fault;
            fault.edits.push(crate::report::Edit { title: format!("write `{near}`"), changes_control: false, changes });
            fault
        }
        None if AUTOMATIC.contains(&name) => {
            fault.help("Where the compiler is to find it, write `computed`, if the entry can be computed.")
        }
        None => {
            let fault = fault.help("Declare it in this file, or bring it in with `use \"…\"`.");
            // Any number of values may be known, and none of them is what was meant.
            if others.is_empty() || others.len() > LISTED || kinds.contains(&DeclKind::Let) {
                return fault;
            }
            let others: Vec<String> = others.iter().map(|other| format!("`{other}`")).collect();
            fault.note(format!("This file knows {}.", any_of(&others).replace(" or ", " and ")))
        }
    }
}

/// What people write for `computed`.
const AUTOMATIC: [&str; 5] = ["auto", "automatic", "calculate", "calculated", "compute"];

/// More names than this are no help in a message.
const LISTED: usize = 12;

/// A name that means something else.
pub fn wrong_kind_of_name(span: Span, decl: &Decl<'_>, kinds: &[DeclKind]) -> Diagnostic {
    let headline = format!("`{}` is {}, but {} is wanted here", decl.name, decl.kind.article(), kinds_text(kinds));
    let fault = Diagnostic::error("wrong-name", span, headline);
    if decl.catalogue { fault } else { fault.also(decl.name_span, "declared here") }
}

/// A declaration used as a value.
pub fn not_a_value(span: Span, decl: &Decl<'_>, wanted: Option<Kind>) -> Diagnostic {
    let wanted = wanted.map_or_else(|| "a value".to_owned(), |kind| a(kind.plain()));
    let headline = format!("`{}` is {}, but {wanted} is wanted here", decl.name, decl.kind.article());
    Diagnostic::error("wrong-name", span, headline).also(decl.name_span, "declared here")
}

/// `let` that needs itself.
pub fn circular_let(round: &[DeclId], names: &Names<'_>) -> Diagnostic {
    let decls: Vec<&Decl<'_>> = round.iter().map(|id| names.decl(*id)).collect();
    let shown: Vec<&str> = decls.iter().map(|decl| decl.name.as_str()).collect();
    let headline = format!("values need each other in a circle: {} → {}", shown.join(" → "), shown[0]);
    let fault = Diagnostic::error("circular-value", decls[0].name_span, headline)
        .here("the circle begins here")
        .help("One of them must be given as a number.");
    decls.iter().skip(1).fold(fault, |fault, decl| fault.also(decl.name_span, "and goes on here"))
}

/// `let` upon `let` upon `let` …
pub fn long_chain(decl: &Decl<'_>) -> Diagnostic {
    Diagnostic::error("long-chain", decl.name_span, "too many `let` build on each other")
        .here("more than 64 steps to get here")
}

/// A function that does not exist.
pub fn unknown_function(span: Span, word: &str, near: Option<&str>) -> Diagnostic {
    let fault = Diagnostic::error("unknown-function", span, format!("there is no function `{word}`"));
    match near {
        Some(near) => fault.edit(format!("write `{near}`"), span, near),
        None => fault.help("There are: abs, arc, cos, max, min, round, sin, sqrt and tan."),
    }
}

/// A call with other arguments than the function takes.
pub fn wrong_arguments(span: Span, word: &str, usage: &str) -> Diagnostic {
    Diagnostic::error("wrong-arguments", span, format!("`{word}` takes other arguments"))
        .here(format!("it is written `{usage}`"))
}

/// A figure that `expect` does not know.
pub fn unknown_figure(span: Span, text: &str, names: &[String]) -> Diagnostic {
    let near = nearest(text, names.iter().map(String::as_str)).map(str::to_owned);
    let fault = Diagnostic::error("unknown-figure", span, format!("there is no figure `{text}`"))
        .here("`expect` reads figures of the recipe, and values");
    match near {
        Some(near) => fault.edit(format!("write `{near}`"), span, near),
        None => fault.help(format!("Figures are: {}.", names.join(", "))),
    }
}

/// A figure of a bend or leg that does not exist.
pub fn figure_not_there(span: Span, why: &str) -> Diagnostic {
    Diagnostic::error("figure-not-there", span, why.to_owned())
}

/// A header that has another shape than its declaration's.
pub fn malformed_header(span: Span, kind: DeclKind, shape: &str) -> Diagnostic {
    Diagnostic::error("malformed-declaration", span, format!("this is not how {} begins", kind.article()))
        .here(format!("it is written `{shape}`"))
}

/// A recipe's header without one of its pieces. `place` is the place after which it is missed.
pub fn malformed_recipe(line: Span, problem: &RecipeProblem<'_>) -> Diagnostic {
    let shape = "recipe NAME for PART on BENCH { … }";
    let fault = |headline: &str| Diagnostic::error("malformed-declaration", line, headline);
    match problem {
        RecipeProblem::Copy(word) => Diagnostic::error("malformed-declaration", *word, "recipes cannot be copied")
            .here("`from` copies other declarations, but no recipe")
            .help(format!("Write it as `{shape}`, with settings of its own.")),
        RecipeProblem::NoPart => fault("this recipe names no part: `for …` is missing")
            .here("for which part is it?")
            .help(format!("It is written `{shape}`.")),
        RecipeProblem::NoBench(benches) => {
            let fault = fault("this recipe names no bench: `on …` is missing").here("on which bench is it made?");
            match benches {
                [] => fault.help(format!("It is written `{shape}`.")),
                benches => benches.iter().take(3).fold(fault, |fault, bench| {
                    fault.control_edit(format!("write `on {bench}`"), line.after(), format!(" on {bench}"))
                }),
            }
        }
        RecipeProblem::Other => {
            let whole = "recipe NAME for PART(…) [with sheet SHEET] on BENCH { … }";
            fault("this is not how a recipe begins").here(format!("it is written `{whole}`"))
        }
    }
}

/// What is wrong with a recipe's header.
pub enum RecipeProblem<'n> {
    /// It copies another recipe, here.
    Copy(Span),
    /// No part is named.
    NoPart,
    /// No bench is named; the benches that the file sees.
    NoBench(&'n [&'n str]),
    /// Anything else.
    Other,
}

/// `dust_cover(160 mm)`: a value without the name of its parameter; `fitting` are the parameters of its kind.
pub fn parameter_without_name(span: Span, text: &str, part: &Decl<'_>, fitting: &[&str]) -> Diagnostic {
    let headline = format!("each value for `{}` needs the name of its parameter", part.name);
    let fault = Diagnostic::error("wrong-arguments", span, headline).here("for which parameter?");
    match fitting {
        [] => fault.help(format!("It is written `{}(NAME = VALUE)`.", part.name)),
        [first, ..] => fault.edit(format!("write `{first} = {text}`"), span.before(), format!("{first} = ")),
    }
}

/// A kind that does not exist.
pub fn unknown_kind(span: Span, word: &str) -> Diagnostic {
    let words = Kind::ALL.map(Kind::word);
    let fault = Diagnostic::error("unknown-kind", span, format!("there is no kind `{word}`"))
        .here("a parameter has a kind, such as `length` or `angle`");
    match nearest(word, words) {
        Some(near) => fault.edit(format!("write `{near}`"), span, near),
        None => fault,
    }
}

/// A value for a parameter that the part does not have.
pub fn no_such_parameter(span: Span, word: &str, part: &Decl<'_>, names: &[&str]) -> Diagnostic {
    let fault = Diagnostic::error("no-such-parameter", span, format!("`{}` has no parameter `{word}`", part.name))
        .also(part.name_span, "the part");
    match nearest(word, names.iter().copied()) {
        Some(near) => fault.edit(format!("write `{near}`"), span, near),
        None if names.is_empty() => fault.help("The part has no parameters: leave out the parentheses."),
        None => fault.help(format!("Its parameters are: {}.", names.join(", "))),
    }
}

/// A parameter that has neither a value nor a default.
pub fn parameter_missing(span: Span, names: &[&str], part: &Decl<'_>) -> Diagnostic {
    let list = any_of(&names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>()).replace(" or ", " and ");
    Diagnostic::error("parameter-missing", span, format!("`{}` needs a value for {list}", part.name))
        .here("no value is given here")
        .also(part.name_span, "it has no default")
        .help(format!("Write `{}({} = …)`.", part.name, names.first().unwrap_or(&"")))
}

/// The same parameter twice.
pub fn parameter_twice(span: Span, name: &str, first: Span) -> Diagnostic {
    Diagnostic::error("declared-twice", span, format!("the parameter `{name}` is there twice"))
        .here("here again")
        .also(first, "first here")
}
