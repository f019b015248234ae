//! The formulas of the flat blank: arc, setback, what a bend uses, and the offset of two bends.
//!
//! Angles in radians, turned from flat; lengths in any one unit. Plane geometry throughout; the neutral line's place is
//! the only thing that is not.

/// Length of a bend's arc along the neutral line: `θ (r + K h)`.
///
/// `neutral` is K, the neutral line's place from the inside as a share of the thickness: 0.5 where nothing thins. No
/// figure is published for hot-bent plastics; one measured at the bench goes first.
pub fn arc(angle: f64, radius: f64, thickness: f64, neutral: f64) -> f64 {
    angle * (radius + neutral * thickness)
}

/// Distance from the bend's tangent to the apex of the outside faces: `tan(θ/2) (r + h)`.
pub fn setback(angle: f64, radius: f64, thickness: f64) -> f64 {
    libm::tan(0.5 * angle) * (radius + thickness)
}

/// The same to the apex of the inside faces: `tan(θ/2) r`.
pub fn inside_setback(angle: f64, radius: f64) -> f64 {
    libm::tan(0.5 * angle) * radius
}

/// Length used by a bend: what the legs, measured to the outside apex, are longer than the blank: `2 · setback − arc`.
pub fn length_used(angle: f64, radius: f64, thickness: f64, neutral: f64) -> f64 {
    2.0 * setback(angle, radius, thickness) - arc(angle, radius, thickness, neutral)
}

/// Place of a bend line from the blank's edge, given the leg to the outside apex: the middle of the arc.
pub fn bend_line(leg: f64, angle: f64, radius: f64, thickness: f64, neutral: f64) -> f64 {
    leg - setback(angle, radius, thickness) + 0.5 * arc(angle, radius, thickness, neutral)
}

/// Inside radius that a softened strip of a given width takes when it is bent freely: `width / θ − K h`, never below nought.
///
/// The strip bends evenly because its whole width is soft; a first approximation without source.
pub fn free_radius(width: f64, angle: f64, thickness: f64, neutral: f64) -> f64 {
    (width / angle - neutral * thickness).max(0.0)
}

/// Strain of the outermost fibre of a bend whose neutral line is the middle: `h / (2 r + h)`.
pub fn outer_strain(radius: f64, thickness: f64) -> f64 {
    thickness / (2.0 * radius + thickness)
}

/// Overall offset of a Z whose two bends turn by the same angle, one up and one down: from the outer face of its first
/// leg to the outer face of its last, which is parallel to it.
///
/// `web` is the middle leg, measured along itself between the apexes of the outside faces. The first apex lies on one
/// face of the web and the second on the other, a thickness apart, so the offset is `web sin θ + h cos θ`.
pub fn z_offset(web: f64, angle: f64, thickness: f64) -> f64 {
    web * libm::sin(angle) + thickness * libm::cos(angle)
}

#[cfg(test)]
mod tests {
    use super::{arc, bend_line, free_radius, inside_setback, length_used, outer_strain, setback, z_offset};
    use std::f64::consts::{FRAC_PI_2, FRAC_PI_3};

    /// Walks a strip of fibres through bends point by point and returns where a fibre at `depth` above the lower face
    /// ends; `legs` are straight lengths between arcs, `bends` are angles, up positive.
    fn walk(legs: &[f64], bends: &[f64], radius: f64, thickness: f64, depth: f64) -> (f64, f64) {
        let steps = 20_000_u32;
        let (mut x, mut y, mut heading) = (0.0_f64, 0.0_f64, 0.0_f64);
        for (index, leg) in legs.iter().enumerate() {
            x += leg * libm::cos(heading);
            y += leg * libm::sin(heading);
            let Some(bend) = bends.get(index) else { continue };
            // The fibre walked is the lower face: outside of a bend up, inside of a bend down.
            let own = if *bend > 0.0 { radius + thickness } else { radius };
            let turn = bend / f64::from(steps);
            for _ in 0..steps {
                heading += 0.5 * turn;
                x += own * turn.abs() * libm::cos(heading);
                y += own * turn.abs() * libm::sin(heading);
                heading += 0.5 * turn;
            }
        }
        (x - depth * libm::sin(heading), y + depth * libm::cos(heading))
    }

    #[test]
    fn legs_to_the_outside_apex_come_out_of_a_walk_along_the_sheet() {
        let (radius, thickness, angle) = (6.0, 3.0, FRAC_PI_3);
        let (first, second) = (40.0, 30.0);
        let straight = |leg: f64| leg - setback(angle, radius, thickness);
        let (x, y) = walk(&[straight(first), straight(second)], &[angle], radius, thickness, 0.0);
        assert!((x - (first + second * libm::cos(angle))).abs() < 1e-6);
        assert!((y - second * libm::sin(angle)).abs() < 1e-6);
        let blank = straight(first) + straight(second) + arc(angle, radius, thickness, 0.5);
        assert!((first + second - length_used(angle, radius, thickness, 0.5) - blank).abs() < 1e-12);
    }

    #[test]
    fn the_offset_of_a_z_comes_out_of_a_walk_along_the_sheet() {
        let (radius, thickness, web) = (6.0, 3.0, 50.0);
        for angle in [0.4, FRAC_PI_3, FRAC_PI_2] {
            let straight = web - 2.0 * setback(angle, radius, thickness);
            let (_, y) = walk(&[20.0, straight, 20.0], &[angle, -angle], radius, thickness, thickness);
            assert!((y - z_offset(web, angle, thickness)).abs() < 1e-5, "{angle}: {y}");
        }
    }

    #[test]
    fn a_bend_line_is_the_middle_of_its_arc() {
        let (leg, angle, radius, thickness) = (40.0, FRAC_PI_2, 6.0, 3.0);
        let begins = leg - setback(angle, radius, thickness);
        let line = bend_line(leg, angle, radius, thickness, 0.5);
        assert!((line - begins - 0.5 * arc(angle, radius, thickness, 0.5)).abs() < 1e-12);
    }

    #[test]
    fn a_free_bend_gives_back_the_arc_it_was_made_of() {
        let radius = free_radius(11.8, FRAC_PI_2, 3.0, 0.5);
        assert!((arc(FRAC_PI_2, radius, 3.0, 0.5) - 11.8).abs() < 1e-12);
        assert!(free_radius(1.0, FRAC_PI_2, 3.0, 0.5).abs() < 1e-12);
        assert!((inside_setback(FRAC_PI_2, 6.0) - 6.0).abs() < 1e-12);
        assert!((outer_strain(6.0, 3.0) - 0.2).abs() < 1e-12);
    }
}
