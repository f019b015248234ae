//! Profiles with their repeats written out.

use std::f64::consts::PI;

use crate::model::build::wording;
use crate::model::{Bend, Direction, Given, Leg, Radius};
use crate::report::Diagnostic;
use crate::text::Span;
use crate::types::{CheckedBlock, CheckedEntry};

/// More bends than this are a mistake in a count.
const MOST_BENDS: usize = 100;

/// The legs and bends of a profile: one more leg than bends.
pub fn write_out(block: &CheckedBlock<'_>, place: Span) -> Result<(Vec<Leg>, Vec<Bend>), Vec<Diagnostic>> {
    let mut pieces = Vec::new();
    let mut faults = Vec::new();
    stretch(block, "", &mut pieces, &mut faults);
    if pieces.len() > 2 * MOST_BENDS + 1 {
        return Err(vec![wording::profile_too_long(place, MOST_BENDS)]);
    }
    check_turns(&pieces, place, &mut faults);
    check_names(&pieces, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut legs = Vec::new();
    let mut bends = Vec::new();
    for (piece, _) in pieces {
        match piece {
            Piece::Leg(leg) => legs.push(leg),
            Piece::Bend(bend) => bends.push(bend),
        }
    }
    Ok((legs, bends))
}

enum Piece {
    Leg(Leg),
    Bend(Bend),
}

fn stretch(block: &CheckedBlock<'_>, prefix: &str, pieces: &mut Vec<(Piece, Span)>, faults: &mut Vec<Diagnostic>) {
    for entry in &block.entries {
        // A profile that is already too long is not written out any further.
        if pieces.len() > 2 * MOST_BENDS + 1 {
            return;
        }
        match entry.schema.word {
            "leg" => pieces.extend(leg(entry).map(|leg| (Piece::Leg(leg), entry.span))),
            "bend" => pieces.extend(bend(entry, prefix).map(|bend| (Piece::Bend(bend), entry.span))),
            "repeat" => repeat(entry, prefix, pieces, faults),
            _ => {}
        }
    }
}

fn repeat(entry: &CheckedEntry<'_>, prefix: &str, pieces: &mut Vec<(Piece, Span)>, faults: &mut Vec<Diagnostic>) {
    let (Some((times, _)), Some(block)) = (entry.count("times"), entry.block.as_ref()) else { return };
    let name = entry.name("name").map(|(name, span)| (name.to_string(), span));
    let unnamed = block.entries_of("bend").filter(|bend| bend.name("name").is_none()).count();
    if let Some((name, span)) = &name
        && unnamed > 1
    {
        faults.push(wording::several_unnamed_in_repeat(*span, name));
        return;
    }
    for turn in 1..=times {
        let prefix = match &name {
            Some((name, _)) => format!("{prefix}{name}[{turn}]."),
            None => prefix.to_owned(),
        };
        stretch(block, &prefix, pieces, faults);
    }
}

fn leg(entry: &CheckedEntry<'_>) -> Option<Leg> {
    let (length, span) = entry.quantity("length")?;
    Some(Leg { length: Given { value: length.value.nominal(), span }, allowed: entry.allowance("allowed") })
}

fn bend(entry: &CheckedEntry<'_>, prefix: &str) -> Option<Bend> {
    let angle = match (entry.quantity("turned"), entry.quantity("included")) {
        (Some((turned, span)), _) => Given { value: turned.value.nominal(), span },
        (None, Some((included, span))) => Given { value: PI - included.value.nominal(), span },
        _ => return None,
    };
    let own = entry.name("name").map(|(name, _)| name.to_string());
    let name = match own {
        Some(own) => Some(format!("{prefix}{own}")),
        None => prefix.strip_suffix('.').map(str::to_owned),
    };
    Some(Bend {
        name,
        direction: if entry.word("direction")?.0 == "up" { Direction::Up } else { Direction::Down },
        angle,
        allowed: entry.allowance("allowed"),
        radius: match entry.quantity("radius") {
            Some((radius, _)) => Radius::Formed(radius.value.nominal()),
            None => Radius::Free,
        },
        span: entry.span,
    })
}

fn check_turns(pieces: &[(Piece, Span)], place: Span, faults: &mut Vec<Diagnostic>) {
    if pieces.is_empty() {
        faults.push(wording::empty_profile(place));
    }
    for end in [pieces.first(), pieces.last()].into_iter().flatten() {
        if matches!(end.0, Piece::Bend(_)) {
            faults.push(wording::profile_ends_with_bend(end.1));
        }
    }
    for pair in pieces.windows(2) {
        match (&pair[0].0, &pair[1].0) {
            (Piece::Leg(_), Piece::Leg(_)) => faults.push(wording::profile_alternates(pair[1].1, "leg", "bend")),
            (Piece::Bend(_), Piece::Bend(_)) => faults.push(wording::profile_alternates(pair[1].1, "bend", "leg")),
            _ => {}
        }
    }
    faults.dedup();
}

fn check_names(pieces: &[(Piece, Span)], faults: &mut Vec<Diagnostic>) {
    let mut seen: std::collections::BTreeMap<&str, Span> = std::collections::BTreeMap::new();
    for (piece, span) in pieces {
        let Piece::Bend(Bend { name: Some(name), .. }) = piece else { continue };
        if let Some(first) = seen.insert(name, *span) {
            faults.push(wording::bend_name_twice(*span, name, first));
        }
    }
}
