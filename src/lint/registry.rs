use std::sync::RwLock;

use crate::lint::rules;
use crate::lint::rules::Check;
use crate::report::{Class, Diagnostic, RuleInfo};
use crate::text::Span;

/// A rule.
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
    /// The check.
    pub check: Check,
}

impl Rule {
    /// A finding of this rule.
    pub fn finding(&self, span: Span, headline: impl Into<String>) -> Diagnostic {
        Diagnostic::rule(self.name, self.class, span, headline)
    }

    /// Whether it is run: no test has switched it off.
    pub fn runs(&self) -> bool {
        OFF.read().is_ok_and(|off| *off != Some(self.name))
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

/// The rule that a test has switched off. For the whole process, since findings are made on many threads.
static OFF: RwLock<Option<&str>> = RwLock::new(None);

/// Runs `work` with one rule switched off: for tests that show that a rule's fixtures hold it. It is reached by no
/// argument and no setting.
#[doc(hidden)]
pub fn without<T>(name: &str, work: impl FnOnce() -> T) -> T {
    set_off(rule(name).map(|rule| rule.name));
    let result = work();
    set_off(None);
    result
}

fn set_off(name: Option<&'static str>) {
    if let Ok(mut off) = OFF.write() {
        *off = name;
    }
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
    rules::thin_margin::RULE,
    rules::one_face_too_thick::RULE,
    rules::narrow_heated_zone::RULE,
    rules::slow_transfer::RULE,
    rules::cold_start::RULE,
    rules::uneven_bends::RULE,
    rules::undried_sheet::RULE,
    rules::film_in_heat::RULE,
    rules::heated_inside::RULE,
    rules::unattended_heat::RULE,
    rules::missing_set_time::RULE,
    rules::short_set::RULE,
    rules::early_unclamp::RULE,
    rules::hot_stack::RULE,
    rules::supply_overload::RULE,
    rules::continuous_overload::RULE,
    rules::missing_fuse::RULE,
    rules::fuse_too_large::RULE,
    rules::fuse_too_small::RULE,
    rules::lead_too_thin::RULE,
    rules::lead_drop::RULE,
    rules::not_extra_low_voltage::RULE,
    rules::relay_wear::RULE,
    rules::gap_too_small::RULE,
    rules::wire_sag::RULE,
    rules::missing_shield::RULE,
    rules::near_flammable::RULE,
    rules::wire_too_hot::RULE,
    rules::wire_stress::RULE,
    rules::spring_too_short::RULE,
    rules::spring_slack::RULE,
    rules::line_power_off_practice::RULE,
    rules::wire_short_of_sheet::RULE,
    rules::leg_too_short::RULE,
    rules::bends_too_close::RULE,
    rules::tight_radius::RULE,
    rules::blank_too_large::RULE,
    rules::fence_out_of_reach::RULE,
    rules::outside_allowance::RULE,
    rules::long_line_bow::RULE,
    rules::collision::RULE,
    rules::no_order::RULE,
    rules::needless_turn_over::RULE,
    rules::needless_swing_change::RULE,
    rules::missing_heat_limit::RULE,
    rules::missing_stop_button::RULE,
    rules::stop_not_hardwired::RULE,
    rules::no_second_cut_off::RULE,
    rules::missing_arm_switch::RULE,
    rules::pin_clash::RULE,
    rules::program_too_large::RULE,
    rules::uncalibrated_heater::RULE,
    rules::unsourced_material::RULE,
    rules::stale_acceptance::RULE,
    rules::idle_acceptance::RULE,
    rules::unused_name::RULE,
    rules::shadowed_name::RULE,
    rules::mixed_unit_systems::RULE,
    rules::over_precise::RULE,
    rules::undocumented_part::RULE,
    rules::duplicate_recipe::RULE,
    rules::idle_doc::RULE,
];
