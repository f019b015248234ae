//! The value of an expression. What is wrong is reported where it stands, and then gives no value, so that
//! nothing follows from it.

use crate::names::{DeclKind, Found};
use crate::syntax::{Expr, ExprKind, Measure, Number, Operator, Path, UnitSyntax};
use crate::text::Span;
use crate::types::check::{Checker, Env};
use crate::types::figures::FigureValue;
use crate::types::wording;
use crate::units::{Kind, Literal, Quantity, QuantityError, SourceId, Unit, UnitProblem, Verdict, lookup};

/// What an expression can come to.
#[derive(Clone, Debug)]
pub enum Value {
    /// A quantity.
    Quantity(Quantity),
    /// The outcome of a comparison.
    Truth(Verdict),
}

impl Checker<'_, '_> {
    /// The quantity an expression comes to; none if it has none, which was reported.
    pub fn quantity(&mut self, env: Env<'_>, expr: &Expr, wanted: Option<Kind>) -> Option<Quantity> {
        match self.value(env, expr, wanted)? {
            Value::Quantity(quantity) => Some(quantity),
            Value::Truth(_) => {
                self.report(env, wording::truth_as_quantity(expr.span(), wanted));
                None
            }
        }
    }

    /// The value of an expression; none if it has none, which was reported.
    pub fn value(&mut self, env: Env<'_>, expr: &Expr, wanted: Option<Kind>) -> Option<Value> {
        match expr.kind() {
            ExprKind::Measure(measure) => self.measure(env, measure, wanted, None).map(Value::Quantity),
            ExprKind::Paren(inner) => self.value(env, inner, wanted),
            ExprKind::Path(path) => self.path(env, path, wanted),
            ExprKind::Figure(..) => self.figure(env, expr, wanted),
            ExprKind::Negate(inner) => {
                let value = self.quantity(env, inner, wanted)?;
                self.done(env, value.neg(), expr.span(), &[inner])
            }
            ExprKind::Binary(left, operator, at, right) => self.binary(env, expr, (left, operator, at, right), wanted),
            ExprKind::Deviating(nominal, pair, unit) => self.deviating(env, expr, nominal, pair, unit, wanted),
            ExprKind::Deviations(..) => {
                self.report(env, wording::deviations_alone(expr.span()));
                None
            }
            ExprKind::Call(name, arguments) => self.call(env, expr.span(), name, arguments, wanted),
            ExprKind::Choice(test, yes, no) => self.choice(env, expr, (test, yes, no), wanted),
        }
    }

    fn done(
        &mut self,
        env: Env<'_>,
        result: Result<Quantity, QuantityError>,
        span: Span,
        operands: &[&Expr],
    ) -> Option<Value> {
        match result {
            Ok(quantity) => Some(Value::Quantity(quantity)),
            Err(error) => {
                self.fail(env, &error, span, operands);
                None
            }
        }
    }

    fn fail(&mut self, env: Env<'_>, error: &QuantityError, span: Span, operands: &[&Expr]) {
        // With a stand-in for a parameter that has no value yet, only kinds can be judged.
        let about_numbers = matches!(
            error,
            QuantityError::Bounds(..) | QuantityError::Reversed(_) | QuantityError::NegativeTolerance(_)
        );
        if !(about_numbers && env.has_open_parameters()) {
            let fault = wording::operation(error, span, operands, self.files);
            self.report(env, fault);
        }
    }

    fn binary(
        &mut self,
        env: Env<'_>,
        expr: &Expr,
        (left, operator, at, right): (&Expr, Operator, Span, &Expr),
        wanted: Option<Kind>,
    ) -> Option<Value> {
        let hint = match operator {
            Operator::Add | Operator::Subtract | Operator::PlusMinus | Operator::Range => wanted,
            _ => None,
        };
        match operator {
            Operator::Range => return self.range(env, expr, left, right, hint),
            Operator::PlusMinus => return self.plus_minus(env, expr, left, right, hint),
            Operator::Power => return self.power(env, expr, left, right, wanted),
            _ => {}
        }
        let a = self.quantity(env, left, hint);
        let b = self.quantity(env, right, hint);
        let (a, b) = (a?, b?);
        let operands = [left, right];
        let result = match operator {
            Operator::Add => a.add(&b),
            Operator::Subtract => a.sub(&b),
            Operator::Multiply => a.mul(&b),
            Operator::Divide => a.div(&b),
            _ => return self.compare(env, (&a, operator, &b), at, &operands),
        };
        self.done(env, result, at, &operands)
    }

    fn compare(
        &mut self,
        env: Env<'_>,
        (a, operator, b): (&Quantity, Operator, &Quantity),
        at: Span,
        operands: &[&Expr],
    ) -> Option<Value> {
        let result = match operator {
            Operator::Less => a.compare_less(b),
            Operator::LessOrEqual => a.compare_at_most(b),
            Operator::Greater => b.compare_less(a),
            Operator::GreaterOrEqual => b.compare_at_most(a),
            Operator::Equal => a.compare_equal(b),
            _ => a.compare_equal(b).map(opposite),
        };
        match result {
            Ok(verdict) => Some(Value::Truth(verdict)),
            Err(error) => {
                self.fail(env, &error, at, operands);
                None
            }
        }
    }

    fn power(
        &mut self,
        env: Env<'_>,
        expr: &Expr,
        base: &Expr,
        exponent: &Expr,
        wanted: Option<Kind>,
    ) -> Option<Value> {
        let negative = matches!(exponent.kind(), ExprKind::Measure(measure) if measure.number.negative);
        let whole = match exponent.kind() {
            ExprKind::Measure(Measure { number, unit: None }) if number.fraction.is_none() => {
                number.whole.and_then(|span| Literal::parse(self.files.slice(span)).ok()?.whole())
            }
            _ => None,
        };
        let Some(count) = whole.and_then(|whole| i32::try_from(whole).ok()) else {
            self.report(env, wording::power_not_whole(exponent.span()));
            return None;
        };
        if let ExprKind::Measure(Measure { number, unit: Some(unit) }) = base.kind() {
            let fault = wording::power_of_unit(expr.span(), number.span, unit, count, self.files);
            self.report(env, fault);
            return None;
        }
        let base_value = self.quantity(env, base, None)?;
        let _ = wanted;
        self.done(env, base_value.power(if negative { -count } else { count }), expr.span(), &[base])
    }

    fn choice(
        &mut self,
        env: Env<'_>,
        expr: &Expr,
        (test, yes, no): (&Expr, &Expr, &Expr),
        wanted: Option<Kind>,
    ) -> Option<Value> {
        let truth = self.value(env, test, None);
        let yes_value = self.quantity(env, yes, wanted);
        let no_value = self.quantity(env, no, wanted);
        let verdict = match truth? {
            Value::Truth(verdict) => verdict,
            Value::Quantity(_) => {
                self.report(env, wording::quantity_as_truth(test.span()));
                return None;
            }
        };
        let (yes_value, no_value) = (yes_value?, no_value?);
        // Both sides must be of one kind, whichever is taken.
        let both = yes_value.hull(&no_value);
        match (verdict, both) {
            (_, Err(error)) => {
                self.fail(env, &error, expr.span(), &[yes, no]);
                None
            }
            (Verdict::Always, Ok(_)) => Some(Value::Quantity(yes_value)),
            (Verdict::Never, Ok(_)) => Some(Value::Quantity(no_value)),
            (Verdict::Undecided, Ok(hull)) => Some(Value::Quantity(hull)),
        }
    }

    /// `18..27 degC`: one unit at the end serves both.
    fn range(&mut self, env: Env<'_>, expr: &Expr, low: &Expr, high: &Expr, wanted: Option<Kind>) -> Option<Value> {
        let unit = trailing_unit(high);
        let a = self.operand(env, low, unit, wanted);
        let b = self.quantity(env, high, wanted);
        let source = self.source(env, expr.span());
        self.done(env, Quantity::range(&a?, &b?, source), expr.span(), &[low, high])
    }

    fn plus_minus(
        &mut self,
        env: Env<'_>,
        expr: &Expr,
        nominal: &Expr,
        plus: &Expr,
        wanted: Option<Kind>,
    ) -> Option<Value> {
        let unit = trailing_unit(plus).filter(|unit| self.files.slice(unit.span) != "%");
        let a = self.operand(env, nominal, unit, wanted);
        let b = match plus.kind() {
            ExprKind::Measure(measure) => self.measure(env, measure, None, Some(Reading::Difference)),
            _ => self.quantity(env, plus, None),
        };
        let (a, b) = (a?, b?);
        if b.percent && a.percent {
            self.report(env, wording::share_of_share(expr.span(), &a, &b, wanted));
            return None;
        }
        if b.percent
            && a.point
            && let Some(unit) = self.written_unit(env, nominal)
        {
            let written = self.files.slice(nominal.span());
            self.report(env, wording::share_of_temperature(expr.span(), written, &a, &b, &unit));
            return None;
        }
        let source = self.source(env, expr.span());
        let result = if b.percent { Quantity::relative(&a, &b, source) } else { Quantity::symmetric(&a, &b, source) };
        self.done(env, result, expr.span(), &[nominal, plus])
    }

    fn deviating(
        &mut self,
        env: Env<'_>,
        expr: &Expr,
        nominal: &Expr,
        pair: Span,
        unit: Option<UnitSyntax<'_>>,
        wanted: Option<Kind>,
    ) -> Option<Value> {
        let a = self.operand(env, nominal, unit, wanted);
        let (plus, minus) = self.deviations(env, pair, unit)?;
        let source = self.source(env, expr.span());
        self.done(env, Quantity::one_sided(&a?, &plus, &minus, source), expr.span(), &[nominal])
    }

    /// The two deviations of `+0.2/-0.5 mm`, both without sign.
    pub fn deviations(
        &mut self,
        env: Env<'_>,
        pair: Span,
        unit: Option<UnitSyntax<'_>>,
    ) -> Option<(Quantity, Quantity)> {
        let text = self.files.slice(pair);
        let (plus, minus) = text.strip_prefix('+')?.split_once("/-")?;
        let unit = match unit {
            Some(unit) => self.unit(env, unit, None)?.as_difference(),
            None => Unit::one(),
        };
        let mut read = |text: &str| match Literal::parse(text).and_then(|number| Quantity::read(&number, &unit)) {
            Ok(quantity) => Some(quantity),
            Err(problem) => {
                self.report(env, wording::bad_number(pair, problem));
                None
            }
        };
        Some((read(plus)?, read(minus)?))
    }

    /// An operand to which the unit at the end of the whole belongs, if it has none of its own.
    fn operand(
        &mut self,
        env: Env<'_>,
        expr: &Expr,
        unit: Option<UnitSyntax<'_>>,
        wanted: Option<Kind>,
    ) -> Option<Quantity> {
        match (expr.kind(), unit) {
            (ExprKind::Measure(Measure { number, unit: None }), Some(unit)) => {
                let unit = self.unit(env, unit, wanted)?;
                self.number(env, number, &unit)
            }
            _ => self.quantity(env, expr, wanted),
        }
    }

    fn measure(
        &mut self,
        env: Env<'_>,
        measure: Measure<'_>,
        wanted: Option<Kind>,
        reading: Option<Reading>,
    ) -> Option<Quantity> {
        let unit = match measure.unit {
            Some(unit) => self.unit(env, unit, wanted)?,
            None => Unit::one(),
        };
        let unit = if reading.is_some() { unit.as_difference() } else { unit };
        self.number(env, measure.number, &unit)
    }

    fn number(&mut self, env: Env<'_>, number: Number, unit: &Unit) -> Option<Quantity> {
        let part = |span: Span| self.files.slice(span);
        let literal = match (number.whole, number.fraction) {
            (Some(whole), Some(fraction)) => Literal::mixed(part(whole), part(fraction)),
            (Some(one), None) | (None, Some(one)) => Literal::parse(part(one)),
            (None, None) => return None,
        };
        let signed = literal.map(|literal| if number.negative { literal.negated() } else { literal });
        match signed.and_then(|literal| Quantity::read(&literal, unit)) {
            Ok(quantity) => Some(quantity),
            Err(problem) => {
                self.report(env, wording::bad_number(number.span, problem));
                None
            }
        }
    }

    /// The unit that is written; `wanted` only helps to say what was probably meant.
    pub fn unit(&mut self, env: Env<'_>, syntax: UnitSyntax<'_>, wanted: Option<Kind>) -> Option<Unit> {
        let mut product = Unit::one();
        let single = syntax.single().is_some();
        for (index, (word, power)) in syntax.factors().enumerate() {
            let text = self.files.slice(word);
            let Some(unit) = lookup(text) else {
                let alone = single.then_some(wanted).flatten();
                self.report(env, wording::unknown_unit(word, text, alone));
                return None;
            };
            let unit = Unit::single(unit);
            if single {
                return Some(unit);
            }
            let step = if power < 0 { product.over(&unit) } else { product.times(&unit) };
            match step {
                Ok(step) if index > 0 || !unit.is_point() => product = step,
                Err(UnitProblem::TooSteep) => {
                    self.report(env, wording::steep_unit(syntax.span));
                    return None;
                }
                _ => {
                    self.report(env, wording::point_in_product(word, text));
                    return None;
                }
            }
        }
        Some(product)
    }

    /// The unit in which the author wrote an expression, if its last number has one.
    pub fn written_unit(&mut self, env: Env<'_>, expr: &Expr) -> Option<Unit> {
        match expr.kind() {
            ExprKind::Measure(measure) => self.unit(env, measure.unit?, None),
            ExprKind::Binary(left, _, _, right) => {
                self.written_unit(env, right).or_else(|| self.written_unit(env, left))
            }
            ExprKind::Paren(inner) | ExprKind::Negate(inner) => self.written_unit(env, inner),
            _ => None,
        }
    }

    fn path(&mut self, env: Env<'_>, path: Path<'_>, wanted: Option<Kind>) -> Option<Value> {
        if let Some(figures) = env.figures
            && let Some(found) = figures.by_path(path, self.files)
        {
            return self.found_figure(env, found, path.span);
        }
        let words: Vec<&str> = path.words().map(|word| self.files.slice(word)).collect();
        if let [word] = words.as_slice()
            && let Some(parameter) = env.parameters.iter().find(|parameter| parameter.name == *word)
        {
            return parameter.value.clone().map(Value::Quantity);
        }
        match self.names.find(env.file, &words) {
            Found::Broken => None,
            Found::Missing => {
                if let Some(figures) = env.figures {
                    self.report(env, wording::unknown_figure(path.span, self.files.slice(path.span), &figures.names()));
                } else {
                    self.miss(env, &words, path.span, &[DeclKind::Let]);
                }
                None
            }
            Found::Decl(id) if self.names.decl(id).kind == DeclKind::Let => self.let_value(id),
            Found::Decl(id) => {
                let decl = self.names.decl(id);
                self.report(env, wording::not_a_value(path.span, decl, wanted));
                None
            }
        }
    }

    fn figure(&mut self, env: Env<'_>, expr: &Expr, _wanted: Option<Kind>) -> Option<Value> {
        let figures = env.figures?;
        if let Some(found) = figures.by_subject(expr, self.files) {
            return self.found_figure(env, found, expr.span());
        }
        self.report(env, wording::unknown_figure(expr.span(), self.files.slice(expr.span()), &figures.names()));
        None
    }

    fn found_figure(&mut self, env: Env<'_>, found: FigureValue, span: Span) -> Option<Value> {
        match found {
            FigureValue::Known(quantity) => Some(Value::Quantity(quantity)),
            FigureValue::Silent => None,
            FigureValue::Wrong(why) => {
                self.report(env, wording::figure_not_there(span, &why));
                None
            }
        }
    }
}

/// How a number with `degC` or `degF` is read.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Reading {
    /// After `±`.
    Difference,
}

fn opposite(verdict: Verdict) -> Verdict {
    match verdict {
        Verdict::Always => Verdict::Never,
        Verdict::Never => Verdict::Always,
        Verdict::Undecided => Verdict::Undecided,
    }
}

fn trailing_unit(expr: &Expr) -> Option<UnitSyntax<'_>> {
    match expr.kind() {
        ExprKind::Measure(measure) => measure.unit,
        _ => None,
    }
}

impl Env<'_> {
    /// The unknown that a literal of this environment's declaration stands for: the declaration and the place.
    /// A copy has a declaration of its own, hence unknowns of its own.
    pub(super) fn source(self, span: Span) -> SourceId {
        SourceId::new(self.owner.0, span.file.0, span.start)
    }
}
