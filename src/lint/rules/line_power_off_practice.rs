use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::model::Heat;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "line-power-off-practice",
    class: Class::Notice,
    group: "wire",
    summary: "The line power is far from what is usual.",
    page: include_str!("line_power_off_practice.md"),
    check: Check::Recipe(check),
};

/// The usual first setting, W/m: 6.5 W/in for 3 mm sheet (common practice, no source).
const USUAL: f64 = 6.5 / 0.0254;

/// How far from it a line may be, as shares of it (our own choice).
const FROM: f64 = 0.6;
const TO: f64 = 1.6;

/// A line that heats far less or far more strongly than is usual, at the level at which it is used.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let mut told = Vec::new();
    for (index, (settings, electric)) in view.recipe.bends.iter().zip(view.electric).enumerate() {
        let heater = &view.recipe.bench.arms[settings.arm].heater;
        let Some(electric) = electric.as_ref().filter(|_| !told.contains(&heater.id)) else { continue };
        let stages = match &settings.heat {
            Heat::Stages(stages) => Some(&stages.value),
            _ => view.windows.get(index).and_then(|window| window.as_ref()?.heat.as_ref()),
        };
        let share = stages.map_or(1.0, |stages| stages.iter().map(|stage| stage.share).fold(0.0, f64::max));
        for line in &electric.lines {
            let power = Known::from(&line.line_power);
            let power = Known { nominal: share * power.nominal, low: share * power.low, high: share * power.high };
            let weak = power.nominal < FROM * USUAL;
            if !weak && power.nominal <= TO * USUAL {
                continue;
            }
            told.push(heater.id);
            let limit = if weak { FROM * USUAL } else { TO * USUAL };
            report.push(
                RULE.finding(view.recipe.span, format!("`{}` heats far {} than is usual", heater.name, if weak { "less" } else { "more" }))
                    .here("this recipe heats with it")
                    .also(heater.supply.voltage.span, "at this voltage")
                    .also(heater.length.span, "over this length")
                    .figure(figure("line power", power, "W/in", Some((limit, "6.5 W/in is the usual first setting; common practice, no source"))))
                    .help(if weak {
                        "Raise the voltage, or take a shorter or thicker wire: a weak line heats a wide zone and leaves it cold."
                    } else {
                        "Lower the voltage, take a longer or thinner wire, or heat at a share: a strong line blisters the face before the middle is soft."
                    }),
            );
            break;
        }
    }
}
