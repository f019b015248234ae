use serde::{Deserialize, Serialize};

use crate::physics::collide::least::Least;
use crate::physics::collide::mover::{Mover, Sweep};
use crate::physics::collide::sheet::Form;
use crate::physics::collide::{Body, Convex, Motion, Piece, Section, Solid, Stretch, Swing, Thing, Touch, chain};

/// A sheet in the bench, some bends made and others not, while one bend is made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pose {
    /// The bend that is made.
    pub swing: Swing,
    /// The fixed side, from the heated zone outward.
    pub fixed: Vec<Stretch>,
    /// The moving side, from the heated zone outward.
    pub moving: Vec<Stretch>,
}

/// The shapes of a pose, made once.
struct Shapes {
    fixed: Vec<Piece>,
    moving: Vec<Piece>,
    /// How many stretches from the zone outward lie flat on the base, and on the arm.
    flat: [usize; 2],
}

/// How many stretches beyond what lies flat may touch what it lies on: the arc that begins there, and what follows it.
const RESTING: usize = 2;

impl Pose {
    /// Everything that comes closer than it may while the sheet lies flat and while the arm swings, the least gap of
    /// each pair. Contacts that are meant are none: a side on the base or arm, and under the clamp.
    pub fn touches(&self, section: &Section) -> Vec<Touch> {
        let mut least = Least::all();
        self.look(section, &mut least);
        least.touches()
    }

    /// The first collision, in a fixed order of looking: the sheet as it is laid in, then the swing. With `grazing`,
    /// also what only grazes.
    pub fn first_touch(&self, section: &Section, grazing: bool) -> Option<Touch> {
        let mut least = Least::first(grazing);
        self.look(section, &mut least);
        least.touches().into_iter().next()
    }

    /// The sheet's outline in polygons, with the arm at an angle: for pictures.
    pub fn outline(&self, angle: f64) -> Vec<Convex> {
        let shapes = self.shapes();
        let motion = self.swing.motion(angle);
        let of = |pieces: &[Piece], motion: &Motion| -> Vec<Convex> {
            pieces.iter().flat_map(|piece| piece.solid.shapes()).map(|shape| shape.moved(motion)).collect()
        };
        let mut outline = of(&shapes.fixed, &Motion::REST);
        outline.extend(self.swing.zone_shapes(angle));
        outline.extend(of(&shapes.moving, &motion));
        outline
    }

    /// The same with a sheet of another thickness that was cut and marked alike. Every bend keeps the length of its
    /// neutral line, so that thicker sheet is sharper inside.
    #[must_use]
    pub fn with_thickness(&self, thickness: f64) -> Self {
        let thinner = self.swing.neutral * (self.swing.thickness - thickness);
        let side = |stretches: &[Stretch]| -> Vec<Stretch> {
            let form = |form: Form| match form {
                Form::Flat(length) => Form::Flat(length),
                Form::Bent(radius, angle) => Form::Bent((radius + thinner).max(0.0), angle),
            };
            stretches.iter().map(|stretch| Stretch { form: form(stretch.form), ..*stretch }).collect()
        };
        Self { swing: Swing { thickness, ..self.swing }, fixed: side(&self.fixed), moving: side(&self.moving) }
    }

    /// From the bend line back over what lies flat on the base, m: what the clamp can press on.
    pub fn flat_behind(&self) -> f64 {
        let flat = self.fixed.iter().map_while(|stretch| match stretch.form {
            Form::Flat(length) => Some(length),
            Form::Bent(..) => None,
        });
        self.swing.zone / 2.0 + flat.sum::<f64>()
    }

    fn shapes(&self) -> Shapes {
        let start = self.swing.zone / 2.0;
        let mirror = Motion::REST.mirrored_at(0.0);
        let fixed = chain(&self.fixed, self.swing.thickness, start);
        let fixed = fixed.into_iter().map(|piece| Piece { solid: piece.solid.moved(&mirror), ..piece }).collect();
        let moving = chain(&self.moving, self.swing.thickness, start);
        Shapes { fixed, moving, flat: [flat(&self.fixed), flat(&self.moving)] }
    }

    fn look(&self, section: &Section, least: &mut Least) {
        let shapes = self.shapes();
        let thickness = self.swing.thickness;
        let base = section.base_bodies();
        let clamp = section.clamp(thickness);
        let arm = section.arm_body();
        let [flat_fixed, flat_moving] = shapes.flat;
        let bent = |piece: &&Piece, flat: usize| piece.stretch >= flat;
        let still = Mover::Still;
        for piece in shapes.fixed.iter().filter(|piece| bent(piece, flat_fixed)) {
            let thing = Thing::Fixed(piece.stretch);
            for body in &base {
                let resting = piece.stretch < flat_fixed + RESTING;
                least.look((thing, &piece.solid, still), (body.thing, &body.shape.into()), resting);
            }
            least.look((thing, &piece.solid, still), (clamp.thing, &clamp.shape.into()), false);
        }
        for piece in shapes.moving.iter().filter(|piece| bent(piece, flat_moving)) {
            let resting = piece.stretch < flat_moving + RESTING;
            least.look((Thing::Moving(piece.stretch), &piece.solid, still), (arm.thing, &arm.shape.into()), resting);
        }
        if let Some(above) = section.above_body(thickness) {
            let fixed = shapes.fixed.iter().filter(|piece| bent(piece, flat_fixed));
            let moving = shapes.moving.iter().filter(|piece| bent(piece, flat_moving));
            let fixed = fixed.map(|piece| (Thing::Fixed(piece.stretch), piece));
            let moving = moving.map(|piece| (Thing::Moving(piece.stretch), piece));
            for (thing, piece) in fixed.chain(moving) {
                least.look((thing, &piece.solid, still), (above.thing, &above.shape.into()), false);
            }
        }
        self.look_at_swing(&shapes, &base, &clamp, &arm, least);
        self.look_at_fence(section, &shapes, &clamp, &arm, least);
    }

    /// The fence stays where it is through the swing. The fixed side touches it, as it is meant to.
    fn look_at_fence(&self, section: &Section, shapes: &Shapes, clamp: &Body, arm: &Body, least: &mut Least) {
        let Some(fence) = section.fence_body() else { return };
        least.look((fence.thing, &fence.shape.into(), Mover::Still), (clamp.thing, &clamp.shape.into()), false);
        let sweep = Sweep::new(&self.swing);
        let side = Mover::Side(&sweep);
        for piece in &shapes.moving {
            least.look((Thing::Moving(piece.stretch), &piece.solid, side), (fence.thing, &fence.shape.into()), false);
        }
        least.look((arm.thing, &arm.shape.into(), side), (fence.thing, &fence.shape.into()), false);
    }

    fn look_at_swing(&self, shapes: &Shapes, base: &[Body], clamp: &Body, arm: &Body, least: &mut Least) {
        let [flat_fixed, flat_moving] = shapes.flat;
        let sweep = Sweep::new(&self.swing);
        let side = Mover::Side(&sweep);
        for piece in &shapes.moving {
            let moving = (Thing::Moving(piece.stretch), &piece.solid, side);
            least.look(moving, (clamp.thing, &clamp.shape.into()), false);
            let bent = piece.stretch >= flat_moving;
            if bent {
                for body in base {
                    let resting = piece.stretch < flat_moving + RESTING;
                    least.look(moving, (body.thing, &body.shape.into()), resting);
                }
            }
            for other in &shapes.fixed {
                // Two flat sides of one bend meet only beyond half a turn, which no arm swings.
                if bent || other.stretch >= flat_fixed {
                    least.look(moving, (Thing::Fixed(other.stretch), &other.solid), false);
                }
            }
        }
        let arm = (Thing::Arm, &arm.shape.into(), side);
        least.look(arm, (clamp.thing, &clamp.shape.into()), false);
        for piece in shapes.fixed.iter().filter(|piece| piece.stretch >= flat_fixed) {
            least.look(arm, (Thing::Fixed(piece.stretch), &piece.solid), false);
        }
        // The arc next to the zone may begin where the zone ends.
        least.look_at_zone(&self.swing, (clamp.thing, &clamp.shape.into()), false);
        for piece in shapes.fixed.iter().filter(|piece| piece.stretch > flat_fixed) {
            least.look_at_zone(&self.swing, (Thing::Fixed(piece.stretch), &piece.solid), false);
        }
        for piece in shapes.moving.iter().filter(|piece| piece.stretch > flat_moving) {
            least.look_at_zone(&self.swing, (Thing::Moving(piece.stretch), &piece.solid), true);
        }
    }
}

/// How many stretches lie flat before the first made bend.
fn flat(stretches: &[Stretch]) -> usize {
    stretches.iter().take_while(|stretch| matches!(stretch.form, Form::Flat(_))).count()
}

/// Two bends made at once, back to back, with the middle between them fixed: what the two moving sides and arms do to
/// each other and to each other's clamp at any pair of angles, since no hand swings two arms in step. The first thing
/// of each touch belongs to the first pose, but for the second clamp. `apart` is the distance of the bend lines, m.
pub fn cross(poses: [&Pose; 2], sections: [&Section; 2], apart: f64) -> Vec<Touch> {
    let mut least = Least::all();
    let shapes = poses.map(Pose::shapes);
    let bodies = |index: usize| {
        let mut bodies: Vec<(Thing, Solid)> = vec![(Thing::Arm, sections[index].arm_body().shape.into())];
        let pieces = shapes[index].moving.iter();
        bodies.extend(pieces.map(|piece| (Thing::Moving(piece.stretch), piece.solid.clone())));
        bodies
    };
    let sweeps = [Sweep::new(&poses[0].swing), Sweep::new(&poses[1].swing)];
    let across = Motion::REST.mirrored_at(-apart / 2.0);
    let [near, far] = [0, 1].map(bodies);
    for (index, moving) in [&near, &far].into_iter().enumerate() {
        let clamp = sections[1 - index].clamp(poses[1 - index].swing.thickness);
        let clamp = Solid::from(clamp.shape.moved(&across));
        for (thing, shape) in moving {
            least.look((*thing, shape, Mover::Side(&sweeps[index])), (Thing::Clamp, &clamp), false);
        }
    }
    for (thing, shape) in &near {
        for (other, other_shape) in &far {
            least.look_at_both((*thing, shape, &poses[0].swing), (*other, other_shape, &poses[1].swing), apart);
        }
    }
    least.touches()
}
