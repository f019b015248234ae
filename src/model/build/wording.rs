//! The one place where this stage's messages are worded.

use crate::report::Diagnostic;
use crate::text::Span;
use crate::types::all_of;

fn marked(names: &[String]) -> Vec<String> {
    names.iter().map(|name| format!("`{name}`")).collect()
}

pub fn thickness_needs_tolerance(span: Span, material: &str) -> Diagnostic {
    Diagnostic::error("missing-tolerance", span, format!("no sheet standard is known for `{material}`"))
        .here("so the thickness needs a tolerance of its own")
        .help("Measure the sheet at several places, or ask its maker, and write for example `3 mm ± 0.2 mm`.")
}

pub fn two_lines_need_wiring(span: Span) -> Diagnostic {
    Diagnostic::error("missing-entry", span, "a heater with two lines needs `wired`")
        .here("are they wired in parallel or in series?")
        .help("Write `wired parallel` or `wired series`: it decides which power each line gets.")
}

pub fn wiring_without_two_lines(span: Span) -> Diagnostic {
    Diagnostic::error("misfit", span, "`wired` is for a heater with two lines, but here is one")
        .here("remove it, or add the other line")
}

pub fn lot_is_other_sheet(span: Span, lot: &str, lot_sheet: &str, recipe: &str, sheet: &str) -> Diagnostic {
    Diagnostic::error("other-sheet", span, format!("`{lot}` is `{lot_sheet}`, but `{recipe}` is made of `{sheet}`"))
        .here("the sheet of this lot is another one")
        .help("Take a lot of the recipe's sheet, or write a recipe `with sheet …` for this one.")
}

/// `its only arm is …` or `its arms are …`.
fn those_there(what: &str, names: &[String]) -> String {
    let list = all_of(&marked(names));
    if names.len() == 1 { format!("Its only {what} is {list}.") } else { format!("Its {what}s are {list}.") }
}

pub fn unknown_arm(span: Span, name: &str, arms: &[String], bench: &str, near: Option<&str>) -> Diagnostic {
    let fault = Diagnostic::error("unknown-name", span, format!("the bench `{bench}` has no arm `{name}`"));
    match (near, arms) {
        (Some(near), _) => fault.edit(format!("write `{near}`"), span, near),
        (None, [only]) => fault.help(those_there("arm", arms)).edit(format!("write `{only}`"), span, only),
        (None, _) => fault.help(those_there("arm", arms)),
    }
}

/// Bends for which no `on` names an arm. `place` is where the first of them is set, `inside` where an entry for
/// every bend can be written, with the blanks that stand before the entries there.
pub fn arm_needed(
    place: Span,
    bends: &[String],
    bench: &str,
    arms: &[String],
    inside: Option<(Span, &str)>,
) -> Diagnostic {
    let headline = match bends {
        [only] => format!("which arm makes bend `{only}`?"),
        _ => format!("which arm makes the bends {}?", all_of(&marked(bends))),
    };
    let fault = Diagnostic::error("missing-entry", place, headline)
        .here("no `on` says it")
        .note(format!("The bench `{bench}` has the arms {}.", all_of(&marked(arms))));
    let Some((at, blanks)) = inside else {
        let arm = arms.first().map_or("", String::as_str);
        return fault.help(format!("Write `on {arm}` in the bend's block, or once in `every bend {{ … }}`."));
    };
    let ending = if blanks.contains('\n') { "" } else { "," };
    arms.iter().fold(fault, |fault, arm| {
        fault.control_edit(format!("write `on {arm}` for every bend"), at, format!("{blanks}on {arm}{ending}"))
    })
}

pub fn unknown_bend(span: Span, name: &str, bends: &[String], part: &str, near: Option<&str>) -> Diagnostic {
    let fault = Diagnostic::error("unknown-name", span, format!("the part `{part}` has no bend `{name}`"));
    match near {
        Some(near) => fault.edit(format!("write `{near}`"), span, near),
        None if bends.is_empty() => fault.help("The part has no bends at all."),
        None => fault.help(those_there("bend", bends)),
    }
}

pub fn same_bend_twice(span: Span, name: &str, first: Span) -> Diagnostic {
    Diagnostic::error("repeated-entry", span, format!("bend `{name}` is there twice"))
        .here("by its name here, by its number there, or twice the same")
        .also(first, "first here")
}

pub fn order_needed(span: Span, bends: &[String]) -> Diagnostic {
    let chain: Vec<&str> = bends.iter().map(String::as_str).collect();
    Diagnostic::error("missing-entry", span, "a recipe with several bends needs their `order`")
        .here("no `order` says which bend is made first")
        .help(format!("For example: `order {}`, if that is how it is made.", chain.join(" then ")))
}

pub fn order_incomplete(span: Span, missing: &[String]) -> Diagnostic {
    let more = format!(" then {}", missing.join(" then "));
    let headline = format!("the order leaves out {}", all_of(&marked(missing)));
    Diagnostic::error("incomplete-order", span, headline).here("every bend of the part stands here once").edit(
        format!("add `{}` at its end", more.trim_start()),
        span.after(),
        more,
    )
}

pub fn twice_in_order(span: Span, name: &str, first: Span) -> Diagnostic {
    Diagnostic::error("repeated-entry", span, format!("bend `{name}` is twice in the order"))
        .here("here again")
        .also(first, "first here")
        .help("Leave one of the two out.")
}

/// `before` is the name just before it, where that is the other bend.
pub fn together_on_one_arm(span: Span, names: &[String], arm: &str, before: Option<Span>) -> Diagnostic {
    let fault = Diagnostic::error(
        "together-on-one-arm",
        span,
        format!("{} are made at once, but both on arm `{arm}`", all_of(&marked(names))),
    )
    .here("`with` joins bends on different arms")
    .help("Make them one after the other, or give one of them another arm.");
    match before {
        Some(before) => fault.edit("join them with `then`", before.after().to(span.before()), " then "),
        None => fault,
    }
}

pub fn face_against_direction(span: Span, face: &str, other: &str, up: bool) -> Diagnostic {
    let way = if up { "up" } else { "down" };
    Diagnostic::error("impossible-face", span, format!("this bend goes {way}, so it cannot be made with `face {face}`"))
        .here("arms only swing up")
        .edit(format!("write `face {other}`"), span, other)
}

pub fn empty_profile(span: Span) -> Diagnostic {
    Diagnostic::error("empty-profile", span, "this profile has no leg")
        .here("it begins with a leg")
        .help("For example: `leg 120 mm`, then `bend up 90 deg radius 6 mm`, then `leg 60 mm`.")
}

pub fn profile_alternates(span: Span, found: &str, wanted: &str) -> Diagnostic {
    Diagnostic::error("profile-order", span, format!("this {found} follows another {found}"))
        .here(format!("a {wanted} is missing before it"))
        .help("Legs and bends take turns; a profile begins and ends with a leg.")
}

pub fn profile_ends_with_bend(span: Span) -> Diagnostic {
    Diagnostic::error("profile-order", span, "a profile begins and ends with a leg, not with a bend")
        .here("at this end, a leg is missing")
        .help("Write the flat that is left there, for example `leg 20 mm`.")
}

pub fn profile_too_long(span: Span, most: usize) -> Diagnostic {
    Diagnostic::error("overlong-profile", span, format!("this profile has more than {most} bends"))
        .here("repeated too often")
}

pub fn bend_name_twice(span: Span, name: &str, first: Span) -> Diagnostic {
    Diagnostic::error("declared-twice", span, format!("two bends are called `{name}`"))
        .here("here again")
        .also(first, "first here")
        .help("A bend that is repeated gets its own name from `repeat … as NAME`.")
}

pub fn several_unnamed_in_repeat(span: Span, name: &str) -> Diagnostic {
    Diagnostic::error("ambiguous-repeat", span, format!("`{name}[1]` could be any of several bends"))
        .here("this stretch has more than one bend without a name")
        .help(format!("Name them with `as`: a bend called `crest` becomes `{name}[1].crest`."))
}

pub fn arm_not_on_bench(
    span: Span,
    controller: &str,
    arm: &str,
    bench: &str,
    arms: &[String],
    near: Option<&str>,
) -> Diagnostic {
    let headline = format!("`{controller}` reads arm `{arm}`, but the bench `{bench}` has no such arm");
    let fault = Diagnostic::error("unknown-name", span, headline);
    match near {
        Some(near) => fault.edit(format!("write `{near}`"), span, near),
        None => fault.help(those_there("arm", arms)),
    }
}

pub fn relay_takes_no_part_power(span: Span, heater: &str, switch: Span) -> Diagnostic {
    Diagnostic::error(
        "part-power-on-relay",
        span,
        format!("`{heater}` is switched by a relay, which takes no part power"),
    )
    .here("a relay is on or off")
    .also(switch, "this heater")
    .help("Heat at full power and off in turns, or use a solid-state switch.")
}

pub fn no_heat_at_all(span: Span) -> Diagnostic {
    Diagnostic::error("no-heat", span, "this bend is heated for no time at all")
        .here("a bend needs heat")
        .help("Give a time above 0 s, or write `heat computed`.")
}
