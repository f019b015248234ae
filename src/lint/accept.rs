//! `accept RULE because "…" until DATE`.

use std::collections::{BTreeMap, BTreeSet};

use crate::lint::levels::Levels;
use crate::lint::registry::{RULES, rule};
use crate::lint::rules::{idle_acceptance, stale_acceptance};
use crate::lint::run::Finding;
use crate::model::{Acceptance, Reach};
use crate::names::{DeclId, nearest};
use crate::report::{self, Class, Diagnostic, Kept};
use crate::text::{FileId, Files, Span};
use crate::types::{CheckedBlock, Date};

/// Every acceptance that a declaration's block says itself, with the block in which it holds. A copy does not take over
/// those of its original: they were weighed for that one.
pub fn acceptances(owner: DeclId, block: &CheckedBlock<'_>, place: Span, files: &Files) -> Vec<Acceptance> {
    let mut found = Vec::new();
    Collector { owner, place, files }.collect(block, place, Reach::Declaration, &mut found);
    found
}

struct Collector<'a> {
    owner: DeclId,
    place: Span,
    files: &'a Files,
}

impl Collector<'_> {
    fn collect(&self, block: &CheckedBlock<'_>, scope: Span, reach: Reach, found: &mut Vec<Acceptance>) {
        for entry in block.entries.iter().filter(|entry| inside(entry.span, self.place)) {
            if let Some((name, span)) = entry.rule("rule") {
                found.push(Acceptance {
                    rule: name.to_owned(),
                    span,
                    because: entry.text("reason").unwrap_or_default().to_owned(),
                    until: entry.date("until").map(|date| date.0),
                    entry: with_line(entry.span, self.files),
                    scope,
                    reach,
                    owner: self.owner,
                });
            }
            if let Some(inner) = &entry.block {
                let scope = inner.span.map_or(entry.span, |span| entry.span.to(span));
                let reach = if entry.schema.word == "every" { Reach::Bends } else { Reach::Block };
                self.collect(inner, scope, reach, found);
            }
        }
    }
}

fn inside(inner: Span, outer: Span) -> bool {
    inner.file == outer.file && inner.start >= outer.start && inner.end <= outer.end
}

/// What to take out of a text so that an entry is gone: with its line where nothing else stands there, else with the
/// comma that parts it from its neighbour.
fn with_line(entry: Span, files: &Files) -> Span {
    let text = files.get(entry.file).text();
    let (Some(before), Some(after)) = (text.get(..entry.start as usize), text.get(entry.end as usize..)) else {
        return entry;
    };
    let head = before.trim_end_matches([' ', '\t']);
    let tail = after.trim_start_matches([' ', '\t']);
    let at = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
    let ends = |rest: &str| at(text.len() - rest.len());
    let next_line = ["\r\n", "\n"].into_iter().find_map(|end| tail.strip_prefix(end));
    match (head.is_empty() || head.ends_with('\n'), next_line, tail.strip_prefix(','), head.strip_suffix(',')) {
        (true, Some(rest), ..) => Span::new(entry.file, at(head.len()), ends(rest)),
        (_, _, Some(rest), _) => Span::new(entry.file, entry.start, ends(rest.trim_start_matches([' ', '\t']))),
        (_, _, _, Some(rest)) => Span::new(entry.file, at(rest.len()), entry.end),
        _ => entry,
    }
}

/// Marks what is accepted, and tells what is wrong with acceptances: those that are wrong, stale or idle. `users` gives
/// the recipes that use a declaration; `today` is none where dates do not count.
pub fn apply<F: Kept>(
    findings: Vec<Finding<F>>,
    acceptances: &[Acceptance],
    users: impl Fn(DeclId) -> Vec<DeclId>,
    today: Option<Date>,
    levels: &Levels,
) -> (Vec<F>, Vec<Diagnostic>) {
    let index = Index::new(acceptances);
    let mut used = vec![false; acceptances.len()];
    let marked = findings.into_iter().filter_map(|finding| {
        let Covering { holding, stale } = if finding.kept.subject().class() == Some(Class::Danger) {
            Covering::default()
        } else {
            index.covering(&finding, &users, today)
        };
        for index in &holding {
            used[*index] = true;
        }
        let kept = finding.kept;
        if let Some(first) = holding.first() {
            let acceptance = &acceptances[*first];
            kept.accepted(report::Acceptance {
                because: acceptance.because.clone(),
                until: acceptance.until.map(|date| date.to_string()),
            })
        } else if let Some(stale) = stale {
            Some(kept.also(acceptances[stale].span, "accepted here, but no longer"))
        } else {
            Some(kept)
        }
    });
    let marked = marked.collect();
    let faults = acceptances.iter().zip(used).filter_map(|(acceptance, used)| wrong(acceptance, used, today, levels));
    (marked, faults.filter_map(|fault| levels.apply(fault)).collect())
}

/// The acceptances that cover a finding, by their numbers.
#[derive(Default)]
struct Covering {
    /// Those that silence it.
    holding: Vec<usize>,
    /// One that would if its date had not passed.
    stale: Option<usize>,
}

/// Acceptances by what they may cover: a library has thousands.
struct Index<'a> {
    all: &'a [Acceptance],
    by_file: BTreeMap<(&'a str, FileId), Vec<usize>>,
    by_owner: BTreeMap<(&'a str, DeclId), Vec<usize>>,
}

impl<'a> Index<'a> {
    fn new(all: &'a [Acceptance]) -> Self {
        let mut index = Self { all, by_file: BTreeMap::new(), by_owner: BTreeMap::new() };
        for (number, acceptance) in all.iter().enumerate() {
            let rule = acceptance.rule.as_str();
            index.by_file.entry((rule, acceptance.scope.file)).or_default().push(number);
            index.by_owner.entry((rule, acceptance.owner)).or_default().push(number);
        }
        index
    }

    /// What covers a finding: the nearest acceptance that holds; else those of all recipes that use what it is about.
    fn covering<F: Kept>(
        &self,
        finding: &Finding<F>,
        users: impl Fn(DeclId) -> Vec<DeclId>,
        today: Option<Date>,
    ) -> Covering {
        let stale = |number: &usize| is_stale(&self.all[*number], today);
        let nearness = |number: &usize| {
            let Acceptance { reach, scope, .. } = &self.all[*number];
            (*reach, scope.end - scope.start, *number)
        };
        let mut direct = self.covering_directly(finding);
        direct.sort_by_key(nearness);
        direct.dedup();
        if let Some(first) = direct.first() {
            let holding = direct.iter().copied().find(|number| !stale(number));
            return Covering { holding: holding.into_iter().collect(), stale: Some(*first).filter(stale) };
        }
        let name = finding.kept.subject().name();
        let of = |user: &DeclId| {
            let own = self.by_owner.get(&(name, *user))?;
            own.iter().copied().find(|number| self.all[*number].reach == Reach::Declaration)
        };
        let all = users(finding.owner).iter().map(of).collect::<Option<Vec<usize>>>().unwrap_or_default();
        match all.iter().copied().find(stale) {
            None => Covering { holding: all, stale: None },
            stale => Covering { holding: Vec::new(), stale },
        }
    }

    fn covering_directly<F: Kept>(&self, finding: &Finding<F>) -> Vec<usize> {
        let name = finding.kept.subject().name();
        let files: BTreeSet<FileId> = finding.kept.places().map(|place| place.file).collect();
        let here = files.into_iter().filter_map(|file| self.by_file.get(&(name, file)));
        let own = self.by_owner.get(&(name, finding.owner));
        let near = here.chain(own).flatten().copied();
        near.filter(|number| covers(&self.all[*number], finding)).collect()
    }
}

fn is_stale(acceptance: &Acceptance, today: Option<Date>) -> bool {
    matches!((acceptance.until, today), (Some(until), Some(today)) if until < today)
}

/// What is wrong with acceptances whatever the rules find: a name, a danger, a missing reason.
pub fn misnamed(acceptances: &[Acceptance], levels: &Levels) -> Vec<Diagnostic> {
    acceptances.iter().filter_map(|acceptance| wrong(acceptance, true, None, levels)).collect()
}

fn covers<F: Kept>(acceptance: &Acceptance, finding: &Finding<F>) -> bool {
    finding.kept.places().any(|place| inside(place, acceptance.scope))
        || (acceptance.owner == finding.owner && acceptance.reach != Reach::Block)
}

/// What is wrong with an acceptance itself.
fn wrong(acceptance: &Acceptance, used: bool, today: Option<Date>, levels: &Levels) -> Option<Diagnostic> {
    let name = &acceptance.rule;
    let Some(rule) = rule(name) else {
        let fault = Diagnostic::error("unknown-rule", acceptance.span, format!("there is no rule `{name}`"));
        return Some(match nearest(name, RULES.iter().map(|rule| rule.name)) {
            Some(near) => fault.edit(format!("write `{near}`"), acceptance.span, near),
            None => fault.help("`withy rules` lists all rules."),
        });
    };
    let class = levels.class(rule);
    if class == Some(Class::Danger) {
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
    if let (true, Some(until), Some(today)) = (is_stale(acceptance, today), acceptance.until, today) {
        if !stale_acceptance::RULE.runs() {
            return None;
        }
        return Some(
            stale_acceptance::RULE
                .finding(acceptance.span, format!("the acceptance of `{name}` ended on {until}"))
                .here(format!("today is {today}; it silences nothing any more"))
                .help("Mend what it silenced, or weigh it again and give a new date with the reason.")
                .edit("take it out", acceptance.entry, ""),
        );
    }
    // A rule that is off in this library finds nothing to be silenced.
    (!used && class.is_some() && idle_acceptance::RULE.runs()).then(|| {
        idle_acceptance::RULE
            .finding(acceptance.span, format!("nothing here needs `{name}` to be accepted"))
            .here("it silences no finding")
            .edit("take it out", acceptance.entry, "")
    })
}
