use crate::units::Dimension;

/// The named kinds of values that an entry can want.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// A length.
    Length,
    /// An area.
    Area,
    /// A duration.
    Time,
    /// An angle; it never mixes with a plain ratio.
    Angle,
    /// A plain number or a percentage.
    Ratio,
    /// A whole number of things.
    Count,
    /// A temperature on a scale, as opposed to a difference.
    Temperature,
    /// A difference of two temperatures.
    TemperatureDifference,
    /// An electric voltage.
    Voltage,
    /// An electric current.
    Current,
    /// An electric resistance.
    Resistance,
    /// A power.
    Power,
    /// Power per length of wire.
    LinePower,
    /// Power per area.
    SurfacePower,
    /// An energy.
    Energy,
    /// Resistance per length of wire.
    ResistancePerLength,
    /// A mass.
    Mass,
    /// Mass per volume.
    Density,
    /// A force.
    Force,
    /// Force per length a spring gives.
    Stiffness,
    /// Thermal conductivity.
    Conductivity,
    /// Energy per mass and temperature difference.
    SpecificHeat,
    /// Length per time.
    Speed,
    /// Electrical resistivity.
    Resistivity,
    /// Mass per length.
    MassPerLength,
    /// Relative change of length or resistance per temperature difference.
    Expansion,
    /// Power per area and temperature difference.
    HeatTransfer,
    /// Force per area.
    Stress,
    /// A text in quotes.
    Text,
    /// A calendar date.
    Date,
}

/// What is known about a kind, one row each.
struct Facts {
    word: &'static str,
    plain: &'static str,
    dimension: Option<Dimension>,
    examples: &'static [&'static str],
}

impl Kind {
    /// Every kind; of two with the same dimension the likelier comes first.
    pub const ALL: [Self; 30] = [
        Self::Length,
        Self::Area,
        Self::Time,
        Self::Angle,
        Self::Ratio,
        Self::Count,
        Self::TemperatureDifference,
        Self::Temperature,
        Self::Voltage,
        Self::Current,
        Self::Resistance,
        Self::Power,
        Self::LinePower,
        Self::SurfacePower,
        Self::Energy,
        Self::ResistancePerLength,
        Self::Mass,
        Self::Density,
        Self::Force,
        Self::Stiffness,
        Self::Conductivity,
        Self::SpecificHeat,
        Self::Speed,
        Self::Resistivity,
        Self::MassPerLength,
        Self::Expansion,
        Self::HeatTransfer,
        Self::Stress,
        Self::Text,
        Self::Date,
    ];

    /// The kind as source text writes it: `line_power`.
    pub fn word(self) -> &'static str {
        self.facts().word
    }

    /// The kind as messages write it: `line power`.
    pub fn plain(self) -> &'static str {
        self.facts().plain
    }

    /// What values of the kind measure; none for text and dates.
    pub fn dimension(self) -> Option<Dimension> {
        self.facts().dimension
    }

    /// Units to offer in a message, the likeliest first; empty where the kind is written without one.
    pub fn examples(self) -> &'static [&'static str] {
        self.facts().examples
    }

    /// The kind that source text calls `word`.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// The best name for what has this dimension, for messages; a bare temperature dimension is a difference.
    pub fn of_dimension(dimension: Dimension) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.dimension() == Some(dimension))
    }

    #[rustfmt::skip] // One row a kind reads as the table it is.
    fn facts(self) -> Facts {
        match self {
            Self::Length => row("length", "length", [1, 0, 0, 0, 0, 0], &["mm", "in"]),
            Self::Area => row("area", "area", [2, 0, 0, 0, 0, 0], &["mm2", "in2"]),
            Self::Time => row("time", "time", [0, 0, 1, 0, 0, 0], &["s", "min"]),
            Self::Angle => row("angle", "angle", [0, 0, 0, 0, 0, 1], &["deg"]),
            Self::Ratio => row("ratio", "ratio", [0; 6], &["%"]),
            Self::Count => row("count", "count", [0; 6], &[]),
            Self::Temperature => row("temperature", "temperature", [0, 0, 0, 0, 1, 0], &["degC", "degF"]),
            Self::TemperatureDifference => {
                row("temperature_difference", "temperature difference", [0, 0, 0, 0, 1, 0], &["K", "delta_degF"])
            }
            Self::Voltage => row("voltage", "voltage", [2, 1, -3, -1, 0, 0], &["V", "mV"]),
            Self::Current => row("current", "current", [0, 0, 0, 1, 0, 0], &["A", "mA"]),
            Self::Resistance => row("resistance", "resistance", [2, 1, -3, -2, 0, 0], &["ohm", "mohm"]),
            Self::Power => row("power", "power", [2, 1, -3, 0, 0, 0], &["W", "kW"]),
            Self::LinePower => row("line_power", "line power", [1, 1, -3, 0, 0, 0], &["W/in", "W/m"]),
            Self::SurfacePower => row("surface_power", "surface power", [0, 1, -3, 0, 0, 0], &["W/cm2", "W/in2"]),
            Self::Energy => row("energy", "energy", [2, 1, -2, 0, 0, 0], &["J", "Wh"]),
            Self::ResistancePerLength => {
                row("resistance_per_length", "resistance per length", [1, 1, -3, -2, 0, 0], &["ohm/m", "ohm/ft"])
            }
            Self::Mass => row("mass", "mass", [0, 1, 0, 0, 0, 0], &["kg", "lb"]),
            Self::Density => row("density", "density", [-3, 1, 0, 0, 0, 0], &["kg/m3", "lb/in3"]),
            Self::Force => row("force", "force", [1, 1, -2, 0, 0, 0], &["N", "lbf"]),
            Self::Stiffness => row("stiffness", "stiffness", [0, 1, -2, 0, 0, 0], &["N/mm", "lbf/in"]),
            Self::Conductivity => row("conductivity", "conductivity", [1, 1, -3, 0, -1, 0], &["W/(m K)"]),
            Self::SpecificHeat => row("specific_heat", "specific heat", [2, 0, -2, 0, -1, 0], &["J/(kg K)"]),
            Self::Speed => row("speed", "speed", [1, 0, -1, 0, 0, 0], &["mm/s", "in/s"]),
            Self::Resistivity => row("resistivity", "resistivity", [3, 1, -3, -2, 0, 0], &["ohm*m", "ohm*cmil/ft"]),
            Self::MassPerLength => row("mass_per_length", "mass per length", [-1, 1, 0, 0, 0, 0], &["kg/m", "lb/ft"]),
            Self::Expansion => row("expansion", "expansion", [0, 0, 0, 0, -1, 0], &["um/(m K)", "%/K"]),
            Self::HeatTransfer => row("heat_transfer", "heat transfer", [0, 1, -3, 0, -1, 0], &["W/(m2 K)"]),
            Self::Stress => row("stress", "stress", [-1, 1, -2, 0, 0, 0], &["MPa", "GPa"]),
            Self::Text => Facts { word: "text", plain: "text", dimension: None, examples: &[] },
            Self::Date => Facts { word: "date", plain: "date", dimension: None, examples: &[] },
        }
    }
}

const fn row(word: &'static str, plain: &'static str, powers: [i8; 6], examples: &'static [&'static str]) -> Facts {
    Facts { word, plain, dimension: Some(Dimension::of(powers)), examples }
}

#[cfg(test)]
mod tests {
    use crate::units::{Kind, Unit};

    #[test]
    fn every_example_unit_has_its_kinds_dimension() {
        for kind in Kind::ALL {
            for example in kind.examples() {
                let unit = Unit::parse(example).unwrap_or_else(|problem| panic!("{example}: {problem:?}"));
                assert_eq!(Some(unit.dimension()), kind.dimension(), "{example} for {kind:?}");
                assert_eq!(unit.is_point(), kind == Kind::Temperature, "{example} for {kind:?}");
            }
        }
    }

    #[test]
    fn words_lead_back_to_their_kind() {
        for kind in Kind::ALL {
            assert_eq!(Kind::from_word(kind.word()), Some(kind));
            assert_eq!(kind.plain(), kind.word().replace('_', " "));
        }
        assert_eq!(Kind::from_word("line power"), None);
    }

    #[test]
    fn a_shared_dimension_goes_to_the_likelier_kind() {
        let named = |kind: Kind| Kind::of_dimension(kind.dimension().unwrap());
        assert_eq!(named(Kind::Count), Some(Kind::Ratio));
        assert_eq!(named(Kind::Temperature), Some(Kind::TemperatureDifference));
        assert_eq!(named(Kind::SurfacePower), Some(Kind::SurfacePower));
    }
}
