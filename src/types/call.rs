//! The functions of the language.

use crate::names::nearest;
use crate::syntax::{Argument, Expr};
use crate::text::Span;
use crate::types::check::{Checker, Env};
use crate::types::eval::Value;
use crate::types::wording;
use crate::units::{Kind, Quantity};

/// Every function: its name, its arguments, what it does.
pub const FUNCTIONS: [(&str, &str, &str); 9] = [
    ("abs", "abs(x)", "the value without its sign"),
    ("arc", "arc(angle, radius)", "the length of an arc"),
    ("cos", "cos(angle)", "the cosine of an angle"),
    ("max", "max(a, b, …)", "the largest of several"),
    ("min", "min(a, b, …)", "the smallest of several"),
    ("round", "round(x, to)", "the nearest multiple of `to`"),
    ("sin", "sin(angle)", "the sine of an angle"),
    ("sqrt", "sqrt(x)", "the square root"),
    ("tan", "tan(angle)", "the tangent of an angle"),
];

impl Checker<'_, '_> {
    pub(super) fn call(
        &mut self,
        env: Env<'_>,
        span: Span,
        name: Span,
        arguments: &[Argument],
        wanted: Option<Kind>,
    ) -> Option<Value> {
        let word = self.files.slice(name);
        let Some(usage) = FUNCTIONS.iter().find(|function| function.0 == word).map(|function| function.1) else {
            let near = nearest(word, FUNCTIONS.iter().map(|function| function.0));
            self.report(env, wording::unknown_function(name, word, near));
            return None;
        };
        let mut values = Vec::new();
        let mut operands: Vec<&Expr> = Vec::new();
        for argument in arguments {
            let (None, None, Some(value)) = (argument.name, argument.kind, &argument.value) else {
                self.report(env, wording::wrong_arguments(argument.span, word, usage));
                return None;
            };
            operands.push(value);
            values.push(self.quantity(env, value, wanted.filter(|_| matches!(word, "min" | "max" | "abs" | "round"))));
        }
        let values: Vec<Quantity> = values.into_iter().collect::<Option<_>>()?;
        let result = match (word, values.as_slice()) {
            ("abs", [x]) => x.abs(),
            ("sqrt", [x]) => x.sqrt(),
            ("sin", [x]) => x.sin(),
            ("cos", [x]) => x.cos(),
            ("tan", [x]) => x.tan(),
            ("arc", [angle, radius]) => angle.arc(radius),
            ("round", [x, to]) => x.round_to(to),
            ("min", [first, rest @ ..]) if !rest.is_empty() => {
                rest.iter().try_fold(first.clone(), |least, next| least.min(next))
            }
            ("max", [first, rest @ ..]) if !rest.is_empty() => {
                rest.iter().try_fold(first.clone(), |most, next| most.max(next))
            }
            _ => {
                self.report(env, wording::wrong_arguments(span, word, usage));
                return None;
            }
        };
        match result {
            Ok(quantity) => Some(Value::Quantity(quantity)),
            Err(error) => {
                let fault = wording::operation(&error, span, &operands, self.files);
                self.report(env, fault);
                None
            }
        }
    }
}
