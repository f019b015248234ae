use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::BenchUse;
use crate::model::Surface;
use crate::physics::coupling::settled_shield;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "near-flammable",
    class: Class::Danger,
    group: "wire",
    summary: "Something that burns is too close to the wire.",
    page: include_str!("near_flammable.md"),
    check: Check::Bench(check),
};

/// What wood and cloth stand for long, K: 90 degC (common practice for wood beside heaters, from memory).
const LIMIT: f64 = 363.15;

/// Wood or cloth beside a shield that gets hot enough to char it while the line is on.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let base = bench.bench.base.surface;
    for arm in &bench.bench.arms {
        let Some(used) = bench.used.iter().find(|used| used.heater.id == arm.heater.id) else { continue };
        let burns = [arm.surface, base].into_iter().find(|surface| matches!(surface, Surface::Wood | Surface::Cloth));
        let (Some(surface), true) = (burns, arm.heater.shield.is_some()) else { continue };
        let Some((line, hot)) = used.lines().next() else { continue };
        let (diameter, emissivity) = (line.wire.diameter.value.nominal(), line.wire.alloy.emissivity.value.nominal());
        let (gap, channel) = (line.gap.value.nominal(), arm.heater.channel.value.nominal());
        let shield = settled_shield(diameter, emissivity, hot.temperature.nominal, (gap, channel), bench.room.high);
        if shield.nominal <= LIMIT {
            continue;
        }
        let name = if surface == Surface::Wood { "wood" } else { "cloth" };
        let shield: Known = shield;
        report.push(
            RULE.finding(arm.heater.channel.span, format!("the shield of `{}` gets hot enough to char {name}", arm.heater.name))
                .here("the shield stands here")
                .also(arm.span, format!("and {name} beside it"))
                .figure(figure("shield, if the line stays on", shield, "degC", Some((LIMIT, "wood beside heaters for long; from memory"))))
                .note("What a shield loses to the bench is assumed, 1 W/(m K): measure yours with the line on for ten minutes.")
                .help("Line bench and arm with metal on standoffs (`surface metal`), widen the channel, or heat less strongly."),
        );
    }
}
