//! Whether a sheet can be bent on a bench: true shapes in the cross-section, swept without gaps.
//!
//! Everything lies in one plane, in m. The bend line is x = 0; the fixed side lies at x < 0 on the base, whose surface
//! is y = 0; the moving side lies at x > 0 on the arm and swings up with it. Angles are in rad. Shapes never lack
//! anything of the real one: an arc is covered by polygons that stand out by at most [`COVER`].

mod convex;
mod least;
mod mover;
mod point;
mod pose;
mod section;
mod sheet;
mod solid;
mod swing;
mod touch;

pub use convex::Convex;
pub use point::{Motion, Point};
pub use pose::{Pose, cross};
pub use section::{Above, Body, Section, Stop};
pub use sheet::{COVER, Form, Piece, Stretch, chain};
pub use solid::Solid;
pub use swing::Swing;
pub use touch::{GRAZING, RESOLUTION, Thing, Touch};
