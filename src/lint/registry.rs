use crate::lint::rules;
use crate::lint::rules::Check;
use crate::report::Class::{Caution, Danger, Hint, Notice, Warning};
use crate::report::{Class, RuleInfo};

/// A rule: every name of the catalogue is known from the start, so that an acceptance of a rule that a later
/// version brings is no mistake.
#[derive(Debug)]
pub struct Rule {
    /// Its name, as it reads after `accept`.
    pub name: &'static str,
    /// What can happen.
    pub class: Class,
    /// The group it belongs to.
    pub group: &'static str,
    /// One line that says what it finds.
    pub summary: &'static str,
    /// The check; none for a rule that is not built yet.
    pub check: Option<Check>,
}

/// The rule with this name.
pub fn rule(name: &str) -> Option<&'static Rule> {
    RULES.iter().find(|rule| rule.name == name)
}

/// What reports say about rules.
pub fn rule_infos() -> Vec<RuleInfo<'static>> {
    let info = |rule: &'static Rule| RuleInfo {
        name: rule.name,
        class: rule.class,
        summary: rule.summary,
        help: rule.summary,
    };
    RULES.iter().map(info).collect()
}

const fn later(name: &'static str, class: Class, group: &'static str, summary: &'static str) -> Rule {
    Rule { name, class, group, summary, check: None }
}

const fn built(name: &'static str, class: Class, group: &'static str, summary: &'static str, check: Check) -> Rule {
    Rule { name, class, group, summary, check: Some(check) }
}

/// Every rule, by group.
#[rustfmt::skip] // One row a rule reads as the table it is.
pub const RULES: &[Rule] = &[
    built("fire-heat", Danger, "heat", "The worst case passes the temperature at which the sheet decomposes.", Check::Recipe(rules::fire_heat::check)),
    built("overlong-heat", Warning, "heat", "The worst case passes the ceiling: blisters and fumes.", Check::Recipe(rules::overlong_heat::check)),
    built("heat-beyond-limit", Warning, "heat", "The heat is longer than the controller allows.", Check::Recipe(rules::heat_beyond_limit::check)),
    built("missing-heat-time", Warning, "heat", "A bend has no heat time.", Check::Recipe(rules::missing_heat_time::check)),
    built("short-heat", Notice, "heat", "The bend is too cold: stress stays in it.", Check::Recipe(rules::short_heat::check)),
    built("no-heat-window", Notice, "heat", "No heat time is both long and short enough.", Check::Recipe(rules::no_heat_window::check)),
    built("unproved-window", Notice, "heat", "The window is open at the nominal only.", Check::Recipe(rules::unproved_window::check)),
    later("thin-margin", Notice, "heat", "The heat time is close to an end of its window."),
    later("one-face-too-thick", Notice, "heat", "The sheet is too thick to be heated from one face."),
    later("narrow-heated-zone", Notice, "heat", "The heated zone is narrower than the bend needs."),
    later("slow-transfer", Notice, "heat", "The sheet cools too far between heat and bend."),
    later("cold-start", Notice, "heat", "The shield is still warming up: first and later parts differ."),
    later("uneven-bends", Notice, "heat", "Like bends get unlike heat."),
    later("undried-sheet", Notice, "heat", "Damp sheet is heated."),
    later("film-in-heat", Caution, "heat", "Protective film is left in the heated zone."),
    later("heated-inside", Notice, "heat", "The one heated face ends up inside the bend."),
    later("unattended-heat", Danger, "heat", "A line is hot while the operator is elsewhere."),
    built("missing-set-time", Warning, "set", "A bend has no set time.", Check::Recipe(rules::missing_set_time::check)),
    built("short-set", Caution, "set", "The bend is released hot and soft.", Check::Recipe(rules::short_set::check)),
    later("early-unclamp", Notice, "set", "The sheet is unclamped before the bend has set."),
    built("hot-stack", Notice, "set", "The next clamp presses a zone that is still soft.", Check::Recipe(rules::hot_stack::check)),
    built("supply-overload", Warning, "supply", "More is drawn from a supply than it is rated for.", Check::Recipe(rules::supply_overload::check)),
    built("continuous-overload", Caution, "supply", "More is drawn than the supply can give for long.", Check::Recipe(rules::continuous_overload::check)),
    built("missing-fuse", Danger, "supply", "A supply or heater has no fuse.", Check::Bench(rules::missing_fuse::check)),
    later("fuse-too-large", Warning, "supply", "The fuse does not protect the leads."),
    later("fuse-too-small", Notice, "supply", "The fuse blows in use."),
    later("lead-too-thin", Warning, "supply", "The leads carry more than they should."),
    later("lead-drop", Notice, "supply", "The leads take much of the voltage."),
    built("not-extra-low-voltage", Danger, "supply", "The voltage is above what may be touched.", Check::Bench(rules::not_extra_low_voltage::check)),
    later("relay-wear", Caution, "supply", "Staged heat on a relay wears it out."),
    later("gap-too-small", Danger, "wire", "A sagging sheet can touch the wire."),
    later("wire-sag", Warning, "wire", "The hot wire sags too far."),
    built("missing-shield", Danger, "wire", "A heater has no shield.", Check::Bench(rules::missing_shield::check)),
    later("near-flammable", Danger, "wire", "Something that burns is too close to the wire."),
    built("wire-too-hot", Caution, "wire", "The wire runs hotter than its alloy stands.", Check::Recipe(rules::wire_too_hot::check)),
    later("wire-stress", Caution, "wire", "The spring pulls harder than the hot wire stands."),
    later("spring-too-short", Warning, "wire", "The spring does not take up the wire's growth."),
    later("spring-slack", Warning, "wire", "The spring goes slack when the wire is hot."),
    later("line-power-off-practice", Notice, "wire", "The line power is far from what is usual for this sheet."),
    later("wire-short-of-sheet", Notice, "wire", "The wire does not pass the sheet's edges far enough."),
    built("leg-too-short", Notice, "part", "The side to be clamped is too short for the clamp.", Check::Recipe(rules::leg_too_short::check)),
    later("bends-too-close", Notice, "part", "Heated zones overlap."),
    later("tight-radius", Notice, "part", "The inside radius is smaller than the sheet stands."),
    later("blank-too-large", Notice, "part", "The blank does not fit the stock sheet."),
    built("fence-out-of-reach", Notice, "part", "The fence cannot be set where the bend needs it.", Check::Recipe(rules::fence_out_of_reach::check)),
    built("outside-allowance", Notice, "part", "What is known of a leg exceeds what the drawing allows.", Check::Recipe(rules::outside_allowance::check)),
    later("long-line-bow", Notice, "part", "A long bend line bows as it cools."),
    built("collision", Caution, "order", "The sheet hits the bench or itself.", Check::Recipe(rules::collision::check)),
    built("no-order", Notice, "order", "No order of the bends can be made.", Check::Recipe(rules::no_order::check)),
    built("needless-turn-over", Hint, "order", "Another order turns the sheet over less often.", Check::Recipe(rules::needless_turn_over::check)),
    built("needless-swing-change", Hint, "order", "Another order changes the swing less often.", Check::Recipe(rules::needless_swing_change::check)),
    built("missing-heat-limit", Danger, "controller", "The controller has no limit for the time a heater is on.", Check::Bench(rules::missing_heat_limit::check)),
    built("missing-stop-button", Danger, "controller", "The controller has no stop button.", Check::Bench(rules::missing_stop_button::check)),
    built("stop-not-hardwired", Danger, "controller", "The stop button does not itself break the heaters' supply.", Check::Bench(rules::stop_not_hardwired::check)),
    later("no-second-cut-off", Warning, "controller", "A switch that fails closed leaves the heater on."),
    later("missing-arm-switch", Warning, "controller", "The controller cannot see that an arm is down or home."),
    later("pin-clash", Warning, "controller", "One pin is used twice."),
    later("program-too-large", Notice, "controller", "The program does not fit the controller."),
    built("uncalibrated-heater", Notice, "library", "A heater was not calibrated by trial strips.", Check::Recipe(rules::uncalibrated_heater::check)),
    later("unsourced-material", Notice, "library", "A material's values have no source."),
    built("stale-acceptance", Notice, "library", "An acceptance is past its date.", Check::Acceptance),
    built("idle-acceptance", Hint, "library", "An acceptance silences nothing.", Check::Acceptance),
    later("unused-name", Hint, "library", "A declaration is used by nothing."),
    later("shadowed-name", Hint, "library", "A name hides one of the catalogue."),
    later("mixed-unit-systems", Hint, "library", "One declaration mixes inches and millimetres."),
    later("over-precise", Hint, "library", "A figure has more digits than what is known supports."),
    built("undocumented-part", Hint, "library", "A part has no doc comment.", Check::Declaration(rules::undocumented_part::check)),
    later("duplicate-recipe", Hint, "library", "Two recipes say the same."),
    built("idle-doc", Hint, "library", "A doc comment stands above nothing.", Check::Tree),
];
