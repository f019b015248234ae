//! Collisions: cases whose answer a person can see, and random poses held against an independent library of plane
//! geometry.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../support/python.rs"]
mod python;
#[path = "../support/random.rs"]
mod random;
mod seen;
mod shapely;

use withy::physics::collide::{Above, Form, Pose, Section, Stop, Stretch, Swing};

/// A pose that was given in mm.
fn metres(pose: &Pose) -> Pose {
    let m = 1e-3;
    let stretch = |stretch: &Stretch| Stretch {
        name: stretch.name,
        form: match stretch.form {
            Form::Flat(length) => Form::Flat(length * m),
            Form::Bent(radius, angle) => Form::Bent(radius * m, angle),
        },
    };
    let swing = Swing { thickness: pose.swing.thickness * m, zone: pose.swing.zone * m, ..pose.swing };
    let all = |side: &[Stretch]| side.iter().map(stretch).collect();
    Pose { swing, fixed: all(&pose.fixed), moving: all(&pose.moving) }
}

/// A bench that was given in mm.
fn metres_of_bench(bench: &Section) -> Section {
    let m = 1e-3;
    Section {
        back: bench.back * m,
        front: bench.front * m,
        base: bench.base * m,
        inset: bench.inset * m,
        bar_depth: bench.bar_depth * m,
        bar_height: bench.bar_height * m,
        arm_depth: bench.arm_depth * m,
        arm: bench.arm * m,
        above: bench.above.map(|above| Above { opening: above.opening * m, gap: above.gap * m }),
        fence: bench.fence.map(|fence| Stop {
            at: fence.at * m,
            height: fence.height * m,
            thickness: fence.thickness * m,
        }),
        shift: bench.shift * m,
    }
}
