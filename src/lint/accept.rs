//! `accept RULE because "…" until DATE`.

use crate::lint::registry::{RULES, rule};
use crate::lint::rules::{idle_acceptance, stale_acceptance};
use crate::lint::run::Finding;
use crate::model::Acceptance;
use crate::names::{DeclId, nearest};
use crate::report::{self, Class, Diagnostic};
use crate::text::Span;
use crate::types::{CheckedBlock, Date};

/// Every acceptance in a declaration's block, with the block in which it holds.
pub fn acceptances(owner: DeclId, block: &CheckedBlock<'_>, place: Span) -> Vec<Acceptance> {
    let mut found = Vec::new();
    collect(owner, block, (place, true), &mut found);
    found
}

fn collect(owner: DeclId, block: &CheckedBlock<'_>, (place, whole): (Span, bool), found: &mut Vec<Acceptance>) {
    for entry in &block.entries {
        if let Some((name, span)) = entry.rule("rule") {
            found.push(Acceptance {
                rule: name.to_owned(),
                span,
                because: entry.text("reason").unwrap_or_default().to_owned(),
                until: entry.date("until").map(|date| date.0),
                scope: place,
                whole,
                owner,
            });
        }
        if let Some(inner) = &entry.block {
            let place = inner.span.map_or(entry.span, |span| entry.span.to(span));
            collect(owner, inner, (place, false), found);
        }
    }
}

/// Marks what is accepted, and reports acceptances that are wrong, stale or idle. `users` gives the recipes that
/// use a declaration; `today` is none where dates do not count.
pub fn apply(
    findings: Vec<Finding>,
    acceptances: &[Acceptance],
    users: impl Fn(DeclId) -> Vec<DeclId>,
    today: Option<Date>,
) -> Vec<Diagnostic> {
    let mut used = vec![false; acceptances.len()];
    let mut result = Vec::new();
    for mut finding in findings {
        let name = finding.diagnostic.name();
        if finding.diagnostic.class() != Some(Class::Danger) && !finding.diagnostic.is_error() {
            let fitting: Vec<usize> = (0..acceptances.len()).filter(|index| acceptances[*index].rule == name).collect();
            let direct = fitting
                .iter()
                .copied()
                .filter(|index| covers(&acceptances[*index], &finding))
                .min_by_key(|index| acceptances[*index].scope.end - acceptances[*index].scope.start);
            let by_users = || {
                let users = users(finding.owner);
                let of = |user: &DeclId| fitting.iter().copied().find(|index| acceptances[*index].owner == *user);
                let all: Option<Vec<usize>> = users.iter().map(of).collect();
                all.filter(|all| !all.is_empty())
            };
            let covering = direct.map(|index| vec![index]).or_else(by_users).unwrap_or_default();
            if let Some(first) = covering.first() {
                let acceptance = &acceptances[*first];
                finding.diagnostic.accepted = Some(report::Acceptance {
                    because: acceptance.because.clone(),
                    until: acceptance.until.map(|date| date.to_string()),
                });
            }
            for index in covering {
                used[index] = true;
            }
        }
        result.push(finding.diagnostic);
    }
    for (acceptance, used) in acceptances.iter().zip(used) {
        result.extend(wrong(acceptance, used, today));
    }
    result
}

/// What is wrong with acceptances whatever the rules find: a name, a danger, a missing reason.
pub fn misnamed(acceptances: &[Acceptance]) -> Vec<Diagnostic> {
    acceptances.iter().filter_map(|acceptance| wrong(acceptance, true, None)).collect()
}

fn covers(acceptance: &Acceptance, finding: &Finding) -> bool {
    let inside = |span: Span| {
        let scope = acceptance.scope;
        span.file == scope.file && span.start >= scope.start && span.end <= scope.end
    };
    finding.diagnostic.labels.iter().filter(|label| label.primary).any(|label| inside(label.span))
        || (acceptance.owner == finding.owner
            && (acceptance.whole || finding.diagnostic.labels.iter().any(|label| inside(label.span))))
}

/// What is wrong with an acceptance itself.
fn wrong(acceptance: &Acceptance, used: bool, today: Option<Date>) -> Option<Diagnostic> {
    let name = &acceptance.rule;
    let Some(rule) = rule(name) else {
        let fault = Diagnostic::error("unknown-rule", acceptance.span, format!("there is no rule `{name}`"));
        return Some(match nearest(name, RULES.iter().map(|rule| rule.name)) {
            Some(near) => fault.edit(format!("write `{near}`"), acceptance.span, near),
            None => fault.help("`withy rules` lists all rules."),
        });
    };
    if rule.class == Class::Danger {
        return Some(
            Diagnostic::error("danger-accepted", acceptance.span, format!("`{name}` cannot be accepted"))
                .here("it warns of fire or shock that is likely to hurt someone")
                .help("Mend what it finds instead."),
        );
    }
    if acceptance.because.trim().is_empty() {
        return Some(
            Diagnostic::error("missing-reason", acceptance.span, format!("accepting `{name}` needs a reason"))
                .here("the text after `because` says nothing"),
        );
    }
    if let (Some(until), Some(today)) = (acceptance.until, today)
        && until < today
    {
        if !stale_acceptance::RULE.runs() {
            return None;
        }
        return Some(
            stale_acceptance::RULE
                .finding(acceptance.span, format!("the acceptance of `{name}` ended on {until}"))
                .here(format!("today is {today}"))
                .help("Mend what it silences, or give a new date with the reason."),
        );
    }
    (!used && rule.check.is_some() && idle_acceptance::RULE.runs()).then(|| {
        idle_acceptance::RULE
            .finding(acceptance.span, format!("nothing here needs `{name}` to be accepted"))
            .here("it silences no finding")
            .help("Remove it.")
    })
}
