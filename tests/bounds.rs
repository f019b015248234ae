//! Bounds of the examples' blanks and line powers, held against a second, plain calculation: no sample of what is
//! unknown falls outside them, and they are hardly wider than what samples and corners reach. Blank lengths also come
//! out of a line that is laid point by point.

use std::f64::consts::{FRAC_PI_4, PI};

use withy::library::Plan;
use withy::model::{Alloy, Curve, Heater, MeasuredTo, Part, Wiring};
use withy::physics::table::Table;
use withy::physics::wire::{self, Wire};
use withy::plan::RecipePlan;
use withy::units::{Bounded, Known};

use crate::common::{checked, deep, examples, memory};

/// Bounds may be so much wider than what is reached.
const SLACK: f64 = 1.05;

/// Rounding in the plain calculation, relative.
const ROUNDING: f64 = 1e-12;

/// The plans of all recipes, and of all runs of batches, with what they are called.
fn plans() -> Vec<(String, RecipePlan)> {
    let files = examples();
    let names: Vec<&str> = files.keys().map(String::as_str).collect();
    let (_, checked) = checked(&memory(&files), &names);
    let mut plans = Vec::new();
    for made in checked.made {
        match made.plan.unwrap_or_else(|| panic!("{} has no plan", made.name)) {
            Plan::Recipe(plan) => plans.push((made.name, *plan)),
            Plan::Batch(plan) => {
                for (index, run) in plan.runs.into_iter().enumerate() {
                    plans.push((format!("{} run {}", made.name, index + 1), run.plan));
                }
            }
        }
    }
    assert!(plans.len() >= 7, "{}", plans.len());
    plans
}

/// Numbers from 0 to 1 that are the same in every run (xorshift64*, Vigna 2016, from memory).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// What is unknown: from where to where.
fn span(value: &Bounded) -> (f64, f64) {
    (value.low(), value.high())
}

/// A place between two ends.
fn at((low, high): (f64, f64), share: f64) -> f64 {
    (low + (high - low) * share).clamp(low, high)
}

/// Holds bounds against a calculation: `of` takes a share from 0 to 1 for each of `count` unknowns.
fn hold(what: &str, bounds: &Bounded, count: usize, samples: usize, of: impl Fn(&[f64]) -> f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut check = |shares: &[f64]| {
        let value = of(shares);
        let room = ROUNDING * value.abs();
        assert!(
            value >= bounds.low() - room && value <= bounds.high() + room,
            "{what}: {value} at {shares:?} is outside {}..{}",
            bounds.low(),
            bounds.high()
        );
        (low, high) = (low.min(value), high.max(value));
    };
    for corner in 0..1_usize << count {
        let shares: Vec<f64> = (0..count).map(|unknown| (corner >> unknown & 1) as f64).collect();
        check(&shares);
    }
    let mut numbers = Numbers(0x9e37_79b9_7f4a_7c15);
    for _ in 0..samples {
        let shares: Vec<f64> = (0..count).map(|_| numbers.next()).collect();
        check(&shares);
    }
    let (width, reached) = (bounds.high() - bounds.low(), high - low);
    assert!(
        width <= SLACK * reached + ROUNDING * bounds.high().abs(),
        "{what}: {}..{} is {:.3} times as wide as {low}..{high}",
        bounds.low(),
        bounds.high(),
        width / reached
    );
}

#[test]
fn blanks_are_bounded_soundly_and_tightly() {
    let samples = if deep() { 100_000 } else { 2_000 };
    for (name, plan) in plans() {
        let part = &plan.recipe.part;
        let thickness = span(&part.sheet.thickness.value);
        let neutral = span(&part.sheet.material.neutral_line);
        hold(&format!("the blank of {name}"), &plan.blank.length, 2, samples, |shares| {
            blank_length(part, &radii(&plan), at(thickness, shares[0]), at(neutral, shares[1]))
        });
    }
}

/// The inside radii: given, or as they follow from the softened width, which is not what is checked here.
fn radii(plan: &RecipePlan) -> Vec<f64> {
    plan.blank.lines.iter().map(|line| line.radius).collect()
}

/// Legs, and for each bend its arc less what it takes from its two legs.
fn blank_length(part: &Part, radii: &[f64], thickness: f64, neutral: f64) -> f64 {
    let legs: f64 = part.legs.iter().map(|leg| leg.length.value).sum();
    let bends = part.bends.iter().zip(radii).map(|(bend, &radius)| {
        let face = match part.measured_to {
            MeasuredTo::Outside => radius + thickness,
            MeasuredTo::Inside => radius,
            MeasuredTo::Neutral => radius + neutral * thickness,
        };
        let angle = bend.angle.value;
        angle * (radius + neutral * thickness) - 2.0 * libm::tan(angle / 2.0) * face
    });
    legs + bends.sum::<f64>()
}

#[test]
fn blanks_agree_with_a_line_laid_point_by_point() {
    for (name, plan) in plans() {
        let part = &plan.recipe.part;
        let length = laid_length(
            part,
            &radii(&plan),
            part.sheet.thickness.value.nominal(),
            part.sheet.material.neutral_line.nominal(),
        );
        let difference = (plan.blank.length.nominal() - length).abs();
        assert!(difference < 1e-8 * length, "{name}: {length} m by points, {} m", plan.blank.length.nominal());
    }
}

/// Lays the neutral line of the bent sheet: each leg between the places where arcs touch it, each arc as many short
/// chords. Where an arc touches its legs is found by halving, not by the formula that the compiler uses.
fn laid_length(part: &Part, radii: &[f64], thickness: f64, neutral: f64) -> f64 {
    const CHORDS: u32 = 100_000;
    let mut taken = Vec::new();
    let mut total = 0.0;
    for (bend, &radius) in part.bends.iter().zip(radii) {
        let face = match part.measured_to {
            MeasuredTo::Outside => radius + thickness,
            MeasuredTo::Inside => radius,
            MeasuredTo::Neutral => radius + neutral * thickness,
        };
        taken.push(touching(bend.angle.value, face));
        let own = radius + neutral * thickness;
        let point = |step: u32| {
            let turned = bend.angle.value * f64::from(step) / f64::from(CHORDS);
            (own * libm::sin(turned), own * (1.0 - libm::cos(turned)))
        };
        total += (0..CHORDS)
            .map(|step| {
                let (from, to) = (point(step), point(step + 1));
                libm::hypot(to.0 - from.0, to.1 - from.1)
            })
            .sum::<f64>();
    }
    for (index, leg) in part.legs.iter().enumerate() {
        let before = index.checked_sub(1).map_or(0.0, |bend| taken[bend]);
        total += leg.length.value - before - taken.get(index).copied().unwrap_or(0.0);
    }
    total
}

/// How far from the apex of two lines, which turn by `angle`, a circle of radius `radius` touches them: the circle
/// that touches the first line there is as far from the second as its radius.
fn touching(angle: f64, radius: f64) -> f64 {
    // The apex is the origin, the first line lies along x from the left, the second leaves at `angle`.
    let distance_to_second = |from_apex: f64| {
        let centre = (-from_apex, radius);
        (centre.0 * libm::sin(angle) - centre.1 * libm::cos(angle)).abs()
    };
    let (mut near, mut far) = (0.0, 1e3 * radius);
    for _ in 0..200 {
        let middle = f64::midpoint(near, far);
        // Close to the apex the circle crosses the second line.
        if distance_to_second(middle) < radius || middle * libm::sin(angle) + radius * libm::cos(angle) < 0.0 {
            near = middle;
        } else {
            far = middle;
        }
    }
    f64::midpoint(near, far)
}

#[test]
fn line_powers_are_bounded_soundly_and_tightly() {
    let samples = if deep() { 100_000 } else { 1_000 };
    let mut seen = Vec::new();
    for (_, plan) in plans() {
        for (bend, settings) in plan.bends.iter().zip(&plan.recipe.bends) {
            let heater = &plan.recipe.bench.arms[settings.arm].heater;
            let ambient = plan.recipe.ambient.value.nominal();
            if seen.contains(&(heater.id, ambient.to_bits())) {
                continue;
            }
            seen.push((heater.id, ambient.to_bits()));
            let alike = heater.lines.iter().all(|line| line.wire.id == heater.lines[0].wire.id);
            // Unknown: voltage, length, three of the leads, then five for each stock of wire.
            let count = 5 + 5 * if alike { 1 } else { heater.lines.len() };
            for (index, line) in bend.electric.lines.iter().enumerate() {
                let what = format!("the power of line {} of {}", index + 1, heater.name);
                hold(&what, &line.line_power, count, samples, |shares| {
                    line_power(heater, ambient, shares, alike, index)
                });
            }
        }
    }
    assert!(seen.len() >= 4, "{}", seen.len());
}

/// Power per length of one line with every unknown fixed. The wire is as hot as its own power makes it; how hot, the
/// physics says, since that is not what is checked here.
fn line_power(heater: &Heater, ambient: f64, shares: &[f64], alike: bool, index: usize) -> f64 {
    let known = |value: &Bounded, share: f64| at(span(value), share);
    let volts = known(&heater.supply.voltage.value, shares[0]);
    let length = known(&heater.length.value, shares[1]);
    let leads = if heater.supply.at_wire {
        0.0
    } else {
        2.0 * known(&heater.leads.metal.resistivity, shares[2]) * known(&heater.leads.length.value, shares[3])
            / known(&heater.leads.area.value, shares[4])
    };
    let stock = |line: usize| if alike { &shares[5..10] } else { &shares[5 + 5 * line..10 + 5 * line] };
    let alloys: Vec<_> = heater.lines.iter().map(|line| nominal_alloy(&line.wire.alloy)).collect();
    let cold: Vec<f64> = heater
        .lines
        .iter()
        .enumerate()
        .map(|(line, own)| {
            if let Some(measured) = &own.wire.measured {
                // Brought from the temperature of the measurement to 20 degC, and to the heater's length.
                let warm = own.wire.alloy.hot_factor.nominal_at(measured.temperature.nominal()).unwrap();
                let piece = known(&measured.length, stock(line)[4]);
                return known(&measured.resistance, stock(line)[0]) / warm * length / piece;
            }
            let diameter = known(&own.wire.diameter.value, stock(line)[1]);
            known(&own.wire.alloy.resistivity.value, stock(line)[0]) * length / (FRAC_PI_4 * diameter * diameter)
        })
        .collect();
    let mut temperatures = vec![1000.0; cold.len()];
    let mut powers = vec![0.0; cold.len()];
    for _ in 0..60 {
        let hot: Vec<f64> = (0..cold.len())
            .map(|line| {
                cold[line] * factor(&heater.lines[line].wire.alloy.hot_factor, temperatures[line], stock(line)[2])
            })
            .collect();
        powers = match (heater.wiring, hot.as_slice()) {
            (Wiring::Parallel, [first, second]) => {
                let together = first * second / (first + second);
                let across = volts * together / (leads + together);
                vec![across * across / first, across * across / second]
            }
            _ => {
                let current = volts / (leads + hot.iter().sum::<f64>());
                hot.iter().map(|resistance| current * current * resistance).collect()
            }
        };
        let next: Vec<f64> = (0..cold.len())
            .map(|line| {
                let wire = Wire {
                    alloy: &alloys[line],
                    diameter: known(&heater.lines[line].wire.diameter.value, stock(line)[1]),
                    length,
                    resistance: cold[line],
                    emissivity: known(&heater.lines[line].wire.alloy.emissivity.value, stock(line)[3]),
                };
                wire.temperature_at_power(powers[line] / length, ambient).unwrap()
            })
            .collect();
        let change = next.iter().zip(&temperatures).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        temperatures = next;
        if change < 1e-9 {
            break;
        }
    }
    powers[index] / length
}

/// The alloy for the physics, at its nominal.
fn nominal_alloy(alloy: &Alloy) -> wire::Alloy {
    let table =
        |curve: &Curve| Table::new(curve.points.iter().map(|(at, value)| (*at, value.nominal())).collect()).unwrap();
    wire::Alloy {
        resistivity: Known::from(&alloy.resistivity.value),
        resistance_factor: table(&alloy.hot_factor),
        specific_heat: table(&alloy.specific_heat),
        mean_expansion: table(&alloy.mean_expansion),
        emissivity: Known::from(&alloy.emissivity.value),
        density: Known::from(&alloy.density.value),
        max_temperature: alloy.limit.value.nominal(),
    }
}

/// The hot factor at a temperature, between its own bounds.
fn factor(curve: &Curve, temperature: f64, share: f64) -> f64 {
    let value = |index: usize| at(span(&curve.points[index].1), share);
    let last = curve.points.len() - 1;
    match curve.points.iter().position(|point| point.0 >= temperature) {
        Some(0) => value(0),
        None => value(last),
        Some(after) => {
            let (from, to) = (curve.points[after - 1].0, curve.points[after].0);
            value(after - 1) + (value(after) - value(after - 1)) * (temperature - from) / (to - from)
        }
    }
}

#[test]
fn wrong_bounds_would_be_noticed() {
    let source = withy::units::SourceId(1);
    let bounds = |low: f64, high: f64| Bounded::known(1.0, low, high, source).unwrap();
    let noticed =
        |bounds: &Bounded, of: fn(&[f64]) -> f64| std::panic::catch_unwind(|| hold("x", bounds, 1, 1_000, of)).is_err();
    assert!(!noticed(&bounds(0.0, 2.0), |shares| 2.0 * shares[0]));
    assert!(noticed(&bounds(0.0, 1.9), |shares| 2.0 * shares[0]), "too narrow");
    assert!(noticed(&bounds(-0.2, 2.0), |shares| 2.0 * shares[0]), "too wide");
    // Between the corners: a parabola whose top no corner reaches.
    assert!(noticed(&bounds(0.5, 1.5), |shares| 1.0 + 4.0 * shares[0] * (1.0 - shares[0])));
    assert!((touching(PI / 2.0, 6.0) - 6.0).abs() < 1e-9);
    assert!((touching(PI / 3.0, 6.0) - 6.0 * libm::tan(PI / 6.0)).abs() < 1e-9);
}
