//! The entries that are more than a row of values: heat stages, the order of bends, expectations.

use crate::report::Diagnostic;
use crate::syntax::{Expr, ExprKind, Operator};
use crate::types::check::{Checker, Env};
use crate::types::pattern::Cursor;
use crate::types::schema::{EntrySchema, Part, Quantities};
use crate::types::value::{Slot, Stage};
use crate::types::wording;
use crate::units::Kind;

impl<'t> Checker<'_, 't> {
    pub(super) fn stages(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        if let Some(span) = cursor.take_word("computed") {
            return Some(Slot::Computed(span));
        }
        let time = Quantities { kind: Kind::Time, low: 0.0, high: 3600.0, unit: "s", known: false };
        let share = Quantities { kind: Kind::Ratio, low: 0.0, high: 100.0, unit: "%", known: false };
        let mut stages = Vec::new();
        let mut sound = true;
        let start = cursor.span();
        loop {
            let Some(expr) = cursor.expr() else { return self.unfit(env, schema, part, cursor) };
            cursor.advance();
            let length = self.fitting(env, schema, &time, expr);
            let mut level = Some(1.0);
            if cursor.take_word("at").is_some() {
                let Some(expr) = cursor.expr() else { return self.unfit(env, schema, part, cursor) };
                cursor.advance();
                level = self.fitting(env, schema, &share, expr).map(|level| level.value.nominal());
            } else if cursor.take_word("off").is_some() {
                level = Some(0.0);
            } else {
                cursor.take_word("full");
            }
            match (length, level) {
                (Some(time), Some(level)) => stages.push(Stage { time, level, span: expr.span().to(cursor.last) }),
                _ => sound = false,
            }
            if cursor.take_word("then").is_none() {
                break;
            }
        }
        let span = start.map_or(cursor.last, |start| start.to(cursor.last));
        sound.then_some(Slot::Stages(stages, span))
    }

    pub(super) fn order(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        if let Some(span) = cursor.take_word("computed") {
            return Some(Slot::Computed(span));
        }
        let start = cursor.span();
        let mut groups = vec![Vec::new()];
        loop {
            let Some(name) = self.local_name(cursor) else { return self.unfit(env, schema, part, cursor) };
            cursor.advance();
            if let Some(group) = groups.last_mut() {
                group.push(name);
            }
            if cursor.take_word("then").is_some() {
                groups.push(Vec::new());
            } else if cursor.take_word("with").is_none() {
                break;
            }
        }
        Some(Slot::Order(groups, start.map_or(cursor.last, |start| start.to(cursor.last))))
    }

    pub(super) fn expectation(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        let Some(left) = cursor.expr() else { return self.unfit(env, schema, part, cursor) };
        cursor.advance();
        if cursor.is_word("within") {
            cursor.advance();
            let Some(right) = cursor.expr() else { return self.unfit(env, schema, part, cursor) };
            cursor.advance();
            return Some(Slot::Expectation(left, Some(right), left.span().to(right.span())));
        }
        if let Some(fault) = comparison_missing(left, cursor) {
            while cursor.span().is_some() {
                cursor.advance();
            }
            self.report(env, fault);
            return None;
        }
        Some(Slot::Expectation(left, None, left.span()))
    }
}

/// Two values with nothing between them: `cycle_time 25 min`, which reads like `bend 2 …`, or `blank.length 380 mm`.
fn comparison_missing(left: &Expr, cursor: &Cursor<'_, '_>) -> Option<Diagnostic> {
    let is_range = |expr: &Expr| matches!(expr.kind(), ExprKind::Binary(_, Operator::Range, ..));
    match (left.kind(), cursor.expr()) {
        (ExprKind::Figure(word, Some(count), None), behind)
            if !matches!(cursor.files.slice(word), "bend" | "leg" | "arm") =>
        {
            let right = behind.map_or(count, |behind| count.to(behind.span()));
            Some(wording::comparison_missing(word, right, false))
        }
        (ExprKind::Binary(first, Operator::Range, ..), _) => match first.kind() {
            ExprKind::Figure(word, Some(count), None) => {
                Some(wording::comparison_missing(word, count.to(left.span().after()), true))
            }
            _ => None,
        },
        (_, Some(right)) => Some(wording::comparison_missing(left.span(), right.span(), is_range(right))),
        _ => None,
    }
}
