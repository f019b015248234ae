use std::cell::Cell;

use crate::lint::rules;
use crate::lint::rules::Check;
use crate::report::Class::{Caution, Danger, Hint, Notice, Warning};
use crate::report::{Class, Diagnostic, RuleInfo};
use crate::text::Span;

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
    /// Its page in Markdown: what it finds, what can happen, wrong, right, where the limit comes from.
    pub page: &'static str,
    /// The check; none for a rule that is not built yet.
    pub check: Option<Check>,
}

impl Rule {
    /// A finding of this rule.
    pub fn finding(&self, span: Span, headline: impl Into<String>) -> Diagnostic {
        Diagnostic::rule(self.name, self.class, span, headline)
    }

    /// Whether it is run: it is built, and no test has switched it off.
    pub fn runs(&self) -> bool {
        self.check.is_some() && OFF.get() != Some(self.name)
    }
}

/// The rule with this name.
pub fn rule(name: &str) -> Option<&'static Rule> {
    RULES.iter().find(|rule| rule.name == name)
}

/// What reports say about rules.
pub fn rule_infos() -> Vec<RuleInfo<'static>> {
    let info =
        |rule: &'static Rule| RuleInfo { name: rule.name, class: rule.class, summary: rule.summary, help: rule.page };
    RULES.iter().map(info).collect()
}

thread_local! {
    static OFF: Cell<Option<&'static str>> = const { Cell::new(None) };
}

/// Runs `work` with one rule switched off on this thread: for tests that show that a rule's fixtures hold it. It is
/// reached by no argument and no setting.
#[doc(hidden)]
pub fn without<T>(name: &str, work: impl FnOnce() -> T) -> T {
    let before = OFF.replace(rule(name).map(|rule| rule.name));
    let result = work();
    OFF.set(before);
    result
}

const fn later(
    name: &'static str,
    class: Class,
    group: &'static str,
    summary: &'static str,
    page: &'static str,
) -> Rule {
    Rule { name, class, group, summary, page, check: None }
}

/// Every rule, by group.
#[rustfmt::skip] // One row a rule reads as the table it is.
pub const RULES: &[Rule] = &[
    rules::fire_heat::RULE,
    rules::overlong_heat::RULE,
    rules::heat_beyond_limit::RULE,
    rules::missing_heat_time::RULE,
    rules::short_heat::RULE,
    rules::no_heat_window::RULE,
    rules::unproved_window::RULE,
    later("thin-margin", Notice, "heat", "The heat time is close to an end of its window.", include_str!("rules/thin_margin.md")),
    later("one-face-too-thick", Notice, "heat", "The sheet is too thick to be heated from one face.", include_str!("rules/one_face_too_thick.md")),
    later("narrow-heated-zone", Notice, "heat", "The heated zone is narrower than the bend needs.", include_str!("rules/narrow_heated_zone.md")),
    later("slow-transfer", Notice, "heat", "The sheet cools too far between heat and bend.", include_str!("rules/slow_transfer.md")),
    later("cold-start", Notice, "heat", "The shield is still warming up: first and later parts differ.", include_str!("rules/cold_start.md")),
    later("uneven-bends", Notice, "heat", "Like bends get unlike heat.", include_str!("rules/uneven_bends.md")),
    later("undried-sheet", Notice, "heat", "Damp sheet is heated.", include_str!("rules/undried_sheet.md")),
    later("film-in-heat", Caution, "heat", "Protective film is left in the heated zone.", include_str!("rules/film_in_heat.md")),
    later("heated-inside", Notice, "heat", "The one heated face ends up inside the bend.", include_str!("rules/heated_inside.md")),
    later("unattended-heat", Danger, "heat", "A line is hot while the operator is elsewhere.", include_str!("rules/unattended_heat.md")),
    rules::missing_set_time::RULE,
    rules::short_set::RULE,
    later("early-unclamp", Notice, "set", "The sheet is unclamped before the bend has set.", include_str!("rules/early_unclamp.md")),
    rules::hot_stack::RULE,
    rules::supply_overload::RULE,
    rules::continuous_overload::RULE,
    rules::missing_fuse::RULE,
    later("fuse-too-large", Warning, "supply", "The fuse does not protect the leads.", include_str!("rules/fuse_too_large.md")),
    later("fuse-too-small", Notice, "supply", "The fuse blows in use.", include_str!("rules/fuse_too_small.md")),
    later("lead-too-thin", Warning, "supply", "The leads carry more than they should.", include_str!("rules/lead_too_thin.md")),
    later("lead-drop", Notice, "supply", "The leads take much of the voltage.", include_str!("rules/lead_drop.md")),
    rules::not_extra_low_voltage::RULE,
    later("relay-wear", Caution, "supply", "Staged heat on a relay wears it out.", include_str!("rules/relay_wear.md")),
    later("gap-too-small", Danger, "wire", "A sagging sheet can touch the wire.", include_str!("rules/gap_too_small.md")),
    later("wire-sag", Warning, "wire", "The hot wire sags too far.", include_str!("rules/wire_sag.md")),
    rules::missing_shield::RULE,
    later("near-flammable", Danger, "wire", "Something that burns is too close to the wire.", include_str!("rules/near_flammable.md")),
    rules::wire_too_hot::RULE,
    later("wire-stress", Caution, "wire", "The spring pulls harder than the hot wire stands.", include_str!("rules/wire_stress.md")),
    later("spring-too-short", Warning, "wire", "The spring does not take up the wire's growth.", include_str!("rules/spring_too_short.md")),
    later("spring-slack", Warning, "wire", "The spring goes slack when the wire is hot.", include_str!("rules/spring_slack.md")),
    later("line-power-off-practice", Notice, "wire", "The line power is far from what is usual for this sheet.", include_str!("rules/line_power_off_practice.md")),
    later("wire-short-of-sheet", Notice, "wire", "The wire does not pass the sheet's edges far enough.", include_str!("rules/wire_short_of_sheet.md")),
    rules::leg_too_short::RULE,
    later("bends-too-close", Notice, "part", "Heated zones overlap.", include_str!("rules/bends_too_close.md")),
    later("tight-radius", Notice, "part", "The inside radius is smaller than the sheet stands.", include_str!("rules/tight_radius.md")),
    later("blank-too-large", Notice, "part", "The blank does not fit the stock sheet.", include_str!("rules/blank_too_large.md")),
    rules::fence_out_of_reach::RULE,
    rules::outside_allowance::RULE,
    later("long-line-bow", Notice, "part", "A long bend line bows as it cools.", include_str!("rules/long_line_bow.md")),
    rules::collision::RULE,
    rules::no_order::RULE,
    rules::needless_turn_over::RULE,
    rules::needless_swing_change::RULE,
    rules::missing_heat_limit::RULE,
    rules::missing_stop_button::RULE,
    rules::stop_not_hardwired::RULE,
    later("no-second-cut-off", Warning, "controller", "A switch that fails closed leaves the heater on.", include_str!("rules/no_second_cut_off.md")),
    later("missing-arm-switch", Warning, "controller", "The controller cannot see that an arm is down or home.", include_str!("rules/missing_arm_switch.md")),
    later("pin-clash", Warning, "controller", "One pin is used twice.", include_str!("rules/pin_clash.md")),
    later("program-too-large", Notice, "controller", "The program does not fit the controller.", include_str!("rules/program_too_large.md")),
    rules::uncalibrated_heater::RULE,
    later("unsourced-material", Notice, "library", "A material's values have no source.", include_str!("rules/unsourced_material.md")),
    rules::stale_acceptance::RULE,
    rules::idle_acceptance::RULE,
    later("unused-name", Hint, "library", "A declaration is used by nothing.", include_str!("rules/unused_name.md")),
    later("shadowed-name", Hint, "library", "A name hides one of the catalogue.", include_str!("rules/shadowed_name.md")),
    later("mixed-unit-systems", Hint, "library", "One declaration mixes inches and millimetres.", include_str!("rules/mixed_unit_systems.md")),
    later("over-precise", Hint, "library", "A figure has more digits than what is known supports.", include_str!("rules/over_precise.md")),
    rules::undocumented_part::RULE,
    later("duplicate-recipe", Hint, "library", "Two recipes say the same.", include_str!("rules/duplicate_recipe.md")),
    rules::idle_doc::RULE,
];
