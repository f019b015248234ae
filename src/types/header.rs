//! What stands between the head of a declaration and its block.

use crate::names::{Decl, DeclId, DeclKind};
use crate::report::Diagnostic;
use crate::syntax::{Arg, Argument, Entry, Expr, ExprKind, Path};
use crate::text::Span;
use crate::types::check::{Checker, Env};
use crate::types::figures::stand_in;
use crate::types::value::Parameter;
use crate::types::wording::{self, RecipeProblem};
use crate::units::{Kind, Quantity};

/// The header of a recipe: `recipe NAME for PART(…) [with sheet SHEET] on BENCH`.
#[derive(Clone, Debug)]
pub struct RecipeHeader {
    /// The part.
    pub part: DeclId,
    /// Values for its parameters.
    pub parameters: Vec<Parameter>,
    /// The sheet that replaces the part's.
    pub sheet: Option<(DeclId, Span)>,
    /// The bench.
    pub bench: DeclId,
}

/// The expression of `let NAME = …`.
pub fn let_expression(entry: &Entry) -> Option<&Expr> {
    match entry.args() {
        [_, Arg::Equals(_), Arg::Expr(value)] if entry.block().is_none() => Some(value),
        _ => None,
    }
}

impl<'t> Checker<'_, 't> {
    /// Checks the header of a declaration that is neither a part nor a recipe.
    pub fn header(&mut self, decl: &Decl<'t>) {
        if decl.entry.broken() {
            return;
        }
        let env = Env::of(decl);
        let (line, args) = (decl.entry.line(), decl.entry.args());
        match decl.kind {
            DeclKind::Part | DeclKind::Recipe => {}
            DeclKind::Let => {
                if let_expression(decl.entry).is_none() {
                    self.report(env, wording::malformed_header(line, decl.kind, "let NAME = VALUE"));
                }
            }
            DeclKind::Batch => {
                if args.len() != 1 {
                    self.report(env, wording::malformed_header(line, decl.kind, "batch NAME { … }"));
                }
            }
            kind => {
                self.copy_header(
                    decl,
                    &args[1.min(args.len())..],
                    &format!("{} NAME [from OTHER] {{ … }}", kind.word()),
                );
            }
        }
    }

    /// `[from OTHER]` after the name.
    fn copy_header(&mut self, decl: &Decl<'t>, rest: &'t [Arg], shape: &str) {
        let env = Env::of(decl);
        match rest {
            [] => {}
            [Arg::Word(word), Arg::Expr(other)]
                if self.files.slice(*word) == "from"
                    && let Some(path) = other.path() =>
            {
                self.reference(env, path, &[decl.kind]);
            }
            _ => self.report(env, wording::malformed_header(decl.entry.line(), decl.kind, shape)),
        }
    }

    /// The parameters of a part with their defaults; a broken one has no value.
    pub fn part_header(&mut self, decl: &Decl<'t>) -> Option<Vec<Parameter>> {
        let env = Env::of(decl);
        if decl.entry.broken() {
            return None;
        }
        let args = decl.entry.args();
        self.copy_header(
            decl,
            args.get(1..).unwrap_or(&[]),
            "part NAME(PARAMETER: KIND = VALUE, …) [from OTHER] { … }",
        );
        let Some((_, arguments)) = args.first().and_then(Arg::expr).and_then(Expr::call) else {
            return Some(Vec::new());
        };
        let mut parameters: Vec<Parameter> = Vec::new();
        for argument in arguments {
            let parameter = self.parameter(env, argument, &parameters);
            parameters.extend(parameter);
        }
        Some(parameters)
    }

    fn parameter(&mut self, env: Env<'_>, argument: &Argument, before: &[Parameter]) -> Option<Parameter> {
        let (Some(span), Some(kind_span)) = (argument.name, argument.kind) else {
            let shape = "NAME: KIND = VALUE";
            self.report(env, wording::malformed_header(argument.span, DeclKind::Part, shape));
            return None;
        };
        let (name, word) = (self.files.slice(span).to_owned(), self.files.slice(kind_span));
        if let Some(first) = before.iter().find(|parameter| parameter.name == name) {
            self.report(env, wording::parameter_twice(span, &name, first.span));
            return None;
        }
        let found = Kind::from_word(word).and_then(|kind| Some((kind, stand_in(kind)?)));
        let Some((kind, stand_in)) = found else {
            self.report(env, wording::unknown_kind(kind_span, word));
            return Some(Parameter { name, span, kind: None, value: None, open: false });
        };
        let Some(expr) = &argument.value else {
            return Some(Parameter { name, span, kind: Some(kind), value: Some(stand_in), open: true });
        };
        let value = self.of_kind(env, &name, kind, expr);
        Some(Parameter { name, span, kind: Some(kind), value, open: false })
    }

    /// A value for something of this kind; none where it is of another, which was reported.
    fn of_kind(&mut self, env: Env<'_>, name: &str, kind: Kind, expr: &Expr) -> Option<Quantity> {
        let value = self.quantity(env, expr, Some(kind))?;
        if value.is(kind) {
            return Some(value);
        }
        let fault = wording::wrong_kind(name, kind, &value, expr, self.files);
        self.report(env, fault);
        None
    }

    /// The header of a recipe; none where something in it is wrong, which was reported.
    pub fn recipe_header(&mut self, decl: &Decl<'t>) -> Option<RecipeHeader> {
        if decl.entry.broken() {
            return None;
        }
        let env = Env::of(decl);
        let args = decl.entry.args();
        let word = |arg: &Arg, word: &str| matches!(arg, Arg::Word(span) if self.files.slice(*span) == word);
        let shaped = match args {
            [_, for_word, Arg::Expr(part), rest @ ..] if word(for_word, "for") => match rest {
                [on, Arg::Expr(bench)] if word(on, "on") => Some((part, None, bench)),
                [with, Arg::Expr(sheet_word), Arg::Expr(sheet), on, Arg::Expr(bench)]
                    if word(with, "with") && self.files.slice(sheet_word.span()) == "sheet" && word(on, "on") =>
                {
                    Some((part, Some(sheet), bench))
                }
                _ => None,
            },
            _ => None,
        };
        let shape = "recipe NAME for PART(…) [with sheet SHEET] on BENCH { … }";
        let Some((part, sheet, bench)) = shaped else {
            self.malformed_recipe(env, decl);
            return None;
        };
        let none: &[Argument] = &[];
        let (part_path, values) = match part.kind() {
            ExprKind::Path(path) => (self.reference(env, path, &[DeclKind::Part]), none),
            ExprKind::Call(name, values) => (self.reference(env, Path::word(name), &[DeclKind::Part]), values),
            _ => {
                self.report(env, wording::malformed_header(part.span(), decl.kind, shape));
                return None;
            }
        };
        let sheet = sheet.map(|sheet| Some((self.named(env, sheet, DeclKind::Sheet, shape)?, sheet.span())));
        let bench = self.named(env, bench, DeclKind::Bench, shape);
        let part_id = part_path?;
        let parameters = self.arguments(env, part_id, values, part.span());
        let sheet = match sheet {
            Some(found) => Some(found?),
            None => None,
        };
        Some(RecipeHeader { part: part_id, parameters: parameters?, sheet, bench: bench? })
    }

    /// Says which piece of a recipe's header is missing.
    fn malformed_recipe(&mut self, env: Env<'_>, decl: &Decl<'t>) {
        let place = |word: &str| {
            let mut words = decl.entry.args().iter().filter_map(|arg| match arg {
                Arg::Word(span) => Some(*span),
                _ => None,
            });
            words.find(|span| self.files.slice(*span) == word)
        };
        let visible = self.names.visible(decl.file);
        let benches: Vec<&str> = visible
            .iter()
            .filter(|(_, id)| self.names.decl(**id).kind == DeclKind::Bench)
            .map(|(name, _)| name.as_str())
            .collect();
        let problem = match (place("from"), place("for"), place("on")) {
            (Some(from), None, _) => RecipeProblem::Copy(from),
            (_, None, _) => RecipeProblem::NoPart,
            (_, Some(_), None) => RecipeProblem::NoBench(&benches),
            _ => RecipeProblem::Other,
        };
        let fault = wording::malformed_recipe(decl.entry.line(), &problem);
        self.report(env, fault);
    }

    fn named(&mut self, env: Env<'_>, expr: &Expr, kind: DeclKind, shape: &str) -> Option<DeclId> {
        if let Some(path) = expr.path() {
            return self.reference(env, path, &[kind]);
        }
        self.report(env, wording::malformed_header(expr.span(), DeclKind::Recipe, shape));
        None
    }

    /// A value without a name, with the parameters that it could be for.
    fn unnamed_argument(
        &mut self,
        env: Env<'_>,
        argument: &Argument,
        part: &Decl<'_>,
        parameters: &[Parameter],
        set: &[(String, Span)],
    ) -> Diagnostic {
        let value = argument.value.as_ref().filter(|_| argument.name.is_none());
        let value = value.and_then(|value| self.literal(env, value));
        let free = parameters.iter().filter(|parameter| !set.iter().any(|(name, _)| *name == parameter.name));
        let fitting: Vec<&str> = free
            .filter(|parameter| value.as_ref().zip(parameter.kind).is_some_and(|(value, kind)| value.is(kind)))
            .map(|parameter| parameter.name.as_str())
            .collect();
        wording::parameter_without_name(argument.span, self.files.slice(argument.span), part, &fitting)
    }

    /// The part's parameters with the values that a recipe gives them.
    fn arguments(&mut self, env: Env<'_>, part: DeclId, given: &[Argument], span: Span) -> Option<Vec<Parameter>> {
        let decl = self.names.decl(part);
        // What is wrong with the part's own header is reported where the part is checked.
        let mut parameters = self.silently(|checker| checker.part_header(decl))?;
        let mut set: Vec<(String, Span)> = Vec::new();
        let mut sound = true;
        for argument in given {
            let (Some(name_span), None, Some(expr)) = (argument.name, argument.kind, &argument.value) else {
                let fault = self.unnamed_argument(env, argument, decl, &parameters, &set);
                self.report(env, fault);
                sound = false;
                continue;
            };
            let name = self.files.slice(name_span).to_owned();
            if let Some(first) = set.iter().find(|(known, _)| *known == name) {
                self.report(env, wording::parameter_twice(name_span, &name, first.1));
                sound = false;
                continue;
            }
            let names: Vec<&str> = parameters.iter().map(|parameter| parameter.name.as_str()).collect();
            let Some(place) = names.iter().position(|known| *known == name) else {
                let fault = wording::no_such_parameter(name_span, &name, decl, &names);
                self.report(env, fault);
                sound = false;
                continue;
            };
            set.push((name.clone(), name_span));
            if let Some(kind) = parameters[place].kind {
                parameters[place].value = self.of_kind(env, &name, kind, expr);
                parameters[place].open = false;
            }
        }
        sound &= parameters.iter().all(|parameter| parameter.value.is_some());
        let open: Vec<&str> =
            parameters.iter().filter(|parameter| parameter.open).map(|parameter| parameter.name.as_str()).collect();
        if sound && !open.is_empty() {
            let fault = wording::parameter_missing(span, &open, decl);
            self.report(env, fault);
            return None;
        }
        sound.then_some(parameters)
    }
}
