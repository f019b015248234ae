use crate::emit::schedule::{Scheduled, peak_currents};
use crate::emit::shown::{Units, figure, judged, known, time};
use crate::emit::table::{margin, per_inch, proved_range, window_range};
use crate::model::{Heat, Level, SetTime};
use crate::names::DeclId;
use crate::plan::RecipePlan;
use crate::text::{ChangedLines, FileId, Follows, Span};
use crate::units::{Kind, show_rounded};

/// What a person wants to know of a recipe beside its text: the same figures as in the step table, as short words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecipeNote {
    /// The recipe.
    pub recipe: DeclId,
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// `383.1 mm (known …) × 180 mm`
    pub blank: String,
    /// The blank's length alone.
    pub blank_length: String,
    /// From load to unload.
    pub cycle: String,
    /// The most from each supply: `10.8 A (…) from rail_12v`.
    pub currents: Vec<String>,
    /// Its bends, in the order of the profile.
    pub bends: Vec<BendNote>,
}

impl Follows for RecipeNote {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        self.span.follow(file, lines)
            && self.bends.iter_mut().all(|bend| {
                bend.settings.follow(file, lines)
                    && bend.heat_computed.follow(file, lines)
                    && bend.set_computed.follow(file, lines)
            })
    }
}

/// What a person wants to know of one bend.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BendNote {
    /// Its name or number.
    pub label: String,
    /// Where its settings stand.
    pub settings: Span,
    /// The heat as it is written in the language.
    pub heat: String,
    /// Where `computed` stands, if the heat is.
    pub heat_computed: Option<Span>,
    /// The set time as it is written in the language.
    pub set: String,
    /// Where `computed` stands, if the set time is.
    pub set_computed: Option<Span>,
    /// From ready to over, if all is as expected.
    pub window: String,
    /// The same over all that is not known.
    pub proved: String,
    /// From the heat time to the nearer end.
    pub margin: String,
    /// The verdict on the heat time.
    pub verdict: &'static str,
    /// Of each line, hot and steady at full power, as the trade says it.
    pub line_power: String,
    /// Of the heater, hot and steady at full power, with what is known of it.
    pub current: String,
    /// The nominal alone.
    pub hot_current: String,
    /// The wire's temperature.
    pub wire: String,
}

/// The note of a planned recipe.
pub fn recipe_note(plan: &RecipePlan, span: Span, units: Units) -> RecipeNote {
    let length = units.known_length(&plan.blank.length);
    RecipeNote {
        recipe: plan.recipe.id,
        name: plan.recipe.name.clone(),
        span,
        blank: format!("{length} × {}", units.length(plan.blank.width)),
        blank_length: units.length(plan.blank.length.nominal()),
        cycle: time(plan.cycle_time),
        currents: peak_currents(&Scheduled::recipe(plan)),
        bends: (0..plan.bends.len()).filter_map(|bend| bend_note(plan, bend)).collect(),
    }
}

fn bend_note(plan: &RecipePlan, index: usize) -> Option<BendNote> {
    let (bend, settings) = (plan.bends.get(index)?, plan.recipe.bends.get(index)?);
    let total: f64 = bend.heat.iter().map(|level| level.time).sum();
    let window = bend.thermal.as_ref().map(|thermal| &thermal.window);
    let or_dash = |shown: Option<String>| shown.unwrap_or_else(|| "-".to_owned());
    let powers: Vec<String> = bend.electric.lines.iter().map(|line| per_inch(line.line_power.nominal())).collect();
    Some(BendNote {
        label: plan.recipe.part.bend_label(index),
        settings: settings.span,
        heat: stages(&bend.heat),
        heat_computed: match settings.heat {
            Heat::Computed(span) => Some(span),
            Heat::Stages(_) | Heat::Missing => None,
        },
        set: figure(Kind::Time, bend.set, 6),
        set_computed: match settings.set {
            SetTime::Computed(span) => Some(span),
            SetTime::Given(_) | SetTime::Missing => None,
        },
        window: or_dash(window.map(window_range)),
        proved: or_dash(window.map(proved_range)),
        margin: or_dash(window.map(|window| margin(window, total))),
        verdict: window.map_or("not computed", |window| judged(window, total)),
        line_power: powers.join(" and "),
        current: known(Kind::Current, &bend.electric.current, 3),
        hot_current: figure(Kind::Current, bend.electric.current.nominal(), 3),
        wire: bend
            .electric
            .lines
            .first()
            .map(|line| figure(Kind::Temperature, line.temperature, 3))
            .unwrap_or_default(),
    })
}

/// `148 s`, `30 s then 45 s at 55 %`, as an entry `heat` takes it.
fn stages(levels: &[Level]) -> String {
    let stage = |level: &Level| {
        let time = figure(Kind::Time, level.time, 6);
        match level.share {
            share if share >= 1.0 => time,
            share if share <= 0.0 => format!("{time} off"),
            share => format!("{time} at {}", percent(share)),
        }
    };
    levels.iter().map(stage).collect::<Vec<_>>().join(" then ")
}

fn percent(share: f64) -> String {
    crate::units::Unit::parse("%").map_or_else(|_| String::new(), |unit| show_rounded(share, &unit, 6))
}
