//! Cases whose answer a person can see (worked by hand; each figure stands beside its case). Lengths in mm.

use std::f64::consts::FRAC_PI_2;

use crate::{metres, metres_of_bench};
use withy::physics::collide::{Above, Form, Pose, Section, Stop, Stretch, Swing, Thing, Touch, cross};

const RADIUS: f64 = 6.0;

/// A base of 300, a bar from 15 to 45 behind the line and 20 high, an arm of 60 by 18 at the base's front edge.
const BENCH: Section = Section {
    back: 300.0,
    front: 0.0,
    base: 36.0,
    inset: 15.0,
    bar_depth: 30.0,
    bar_height: 20.0,
    arm_depth: 60.0,
    arm: 18.0,
    above: None,
    fence: None,
    shift: 0.0,
};

fn up(degrees: f64) -> Form {
    Form::Bent(RADIUS, degrees.to_radians())
}

fn side(forms: &[Form]) -> Vec<Stretch> {
    forms.iter().enumerate().map(|(name, form)| Stretch { name, form: *form }).collect()
}

/// A sheet of 3 with a bend of the given angle and an inside radius of 6.
fn pose(degrees: f64, fixed: &[Form], moving: &[Form]) -> Pose {
    let angle = degrees.to_radians();
    let swing = Swing { thickness: 3.0, neutral: 0.5, zone: angle * (RADIUS + 1.5), angle };
    Pose { swing, fixed: side(fixed), moving: side(moving) }
}

fn scaled(pose: &Pose) -> (Pose, Section) {
    (metres(pose), metres_of_bench(&BENCH))
}

fn touches(pose: &Pose) -> Vec<Touch> {
    let (pose, bench) = scaled(pose);
    pose.touches(&bench)
}

/// What collides, as pairs of things.
fn hits(pose: &Pose) -> Vec<(Thing, Thing)> {
    touches(pose).iter().filter(|touch| touch.collides).map(|touch| (touch.first, touch.second)).collect()
}

use Form::Flat;

#[test]
fn a_plain_angle_is_free() {
    assert_eq!(touches(&pose(90.0, &[Flat(100.0)], &[Flat(80.0)])), []);
}

#[test]
fn a_u_is_free_until_its_walls_cross() {
    // Two walls of 90 deg on a floor stand side by side, however deep.
    assert_eq!(touches(&pose(90.0, &[Flat(100.0), up(90.0), Flat(250.0)], &[Flat(250.0)])), []);
    // At 120 deg the second wall leans inward and meets the first: the floor is about 115 wide, a wall of 250 leans over
    // by 125.
    let deep = pose(120.0, &[Flat(100.0), up(90.0), Flat(250.0)], &[Flat(250.0)]);
    assert!(hits(&deep).contains(&(Thing::Moving(0), Thing::Fixed(2))));
    // Low walls lean over without meeting: 60 of them lean over by 30.
    assert!(
        !hits(&pose(120.0, &[Flat(100.0), up(90.0), Flat(60.0)], &[Flat(60.0)]))
            .contains(&(Thing::Moving(0), Thing::Fixed(2)))
    );
}

#[test]
fn a_flange_where_the_clamp_must_sit_is_a_collision() {
    // The wall behind the line stands at about 20 + 5.9 + 6, in the middle of the bar (15 to 45).
    let stands = pose(90.0, &[Flat(20.0), up(90.0), Flat(50.0)], &[Flat(80.0)]);
    assert!(hits(&stands).contains(&(Thing::Fixed(2), Thing::Clamp)));
    // Behind the bar it is free: the floor is 60 wide.
    assert_eq!(touches(&pose(90.0, &[Flat(60.0), up(90.0), Flat(50.0)], &[Flat(80.0)])), []);
}

#[test]
fn a_flange_that_hangs_down_needs_free_space() {
    // On the clamped side it stands in the base.
    let in_base = pose(90.0, &[Flat(100.0), up(-90.0), Flat(40.0)], &[Flat(80.0)]);
    assert!(hits(&in_base).contains(&(Thing::Fixed(2), Thing::Base)));
    // Behind the base's rear edge, 300 behind the line, it hangs free.
    assert_eq!(touches(&pose(90.0, &[Flat(300.0), up(-90.0), Flat(40.0)], &[Flat(80.0)])), []);
    // On the moving side it stands in an arm that is deeper than the leg, and hangs free in front of one that is not.
    let in_arm = pose(90.0, &[Flat(100.0)], &[Flat(30.0), up(-90.0), Flat(40.0)]);
    assert!(hits(&in_arm).contains(&(Thing::Moving(2), Thing::Arm)));
    assert_eq!(touches(&pose(90.0, &[Flat(100.0)], &[Flat(60.0), up(-90.0), Flat(40.0)])), []);
}

#[test]
fn an_arc_that_begins_under_the_bar_grazes_before_it_hits() {
    // The bar's rear lower edge stands 45 behind the line, on the sheet's face. Where the arc of a wall begins `under`
    // before it, the edge lies sqrt(6² + under²) - 6 deep in the arc: 0.083 for 1, 0.325 for 2.
    let at = |under: f64| {
        let leg = 45.0 - under - FRAC_PI_2 * 7.5 / 2.0;
        touches(&pose(90.0, &[Flat(leg), up(90.0), Flat(40.0)], &[Flat(80.0)]))
    };
    assert_eq!(at(-0.5), []);
    for (under, depth) in [(0.0, 0.0), (1.0, 0.083)] {
        let found = at(under);
        let worst = found.iter().map(|touch| touch.gap * 1e3).fold(f64::INFINITY, f64::min);
        assert!(found.iter().all(|touch| !touch.collides && touch.second == Thing::Clamp), "{found:?}");
        assert!((worst + depth).abs() < 0.03, "{worst} for {depth}");
    }
    assert!(at(2.0).iter().any(|touch| touch.collides), "{:?}", at(2.0));
}

#[test]
fn a_return_flange_closes_over_the_bar_or_hits_it() {
    // The lower face of the return flange comes to lie 9 + leg + 6 above the base; the bar's upper face lies at 23.
    let hook = |leg: f64| hits(&pose(90.0, &[Flat(120.0)], &[Flat(leg), up(90.0), Flat(60.0)]));
    assert_eq!(hook(10.0), []);
    assert!(hook(5.0).contains(&(Thing::Moving(2), Thing::Clamp)), "{:?}", hook(5.0));
}

#[test]
fn the_last_side_of_a_box_meets_the_first() {
    // Floor 100, wall 100, roof 100 and the fourth bend closes the box: its wall of 100 swings up into the roof's edge.
    let closing =
        |wall: f64| hits(&pose(90.0, &[Flat(100.0), up(90.0), Flat(100.0), up(90.0), Flat(120.0)], &[Flat(wall)]));
    assert!(
        closing(140.0).iter().any(|pair| matches!(pair, (Thing::Moving(0), Thing::Fixed(_)))),
        "{:?}",
        closing(140.0)
    );
    // A low wall ends below the roof.
    assert!(!closing(60.0).iter().any(|pair| matches!(pair, (Thing::Moving(0), Thing::Fixed(_)))));
}

#[test]
fn a_z_is_made_turned_over_with_its_flange_in_front_of_the_arm() {
    // The first flange hangs down from the moving side, 60 before the line: the arm is as deep. Clamped on the other
    // side it stands in the base.
    assert_eq!(hits(&pose(90.0, &[Flat(100.0)], &[Flat(60.0), up(-90.0), Flat(50.0)])), []);
    assert_eq!(
        hits(&pose(90.0, &[Flat(60.0), up(-90.0), Flat(50.0)], &[Flat(100.0)])).first(),
        Some(&(Thing::Fixed(1), Thing::Base))
    );
}

#[test]
fn an_acute_bend_hits_the_bar() {
    // At 150 deg the moving side lies at 30 deg above the base: it crosses the bar, whose upper edge stands 23 above the
    // base and 15 behind the line.
    assert!(hits(&pose(150.0, &[Flat(100.0)], &[Flat(80.0)])).contains(&(Thing::Moving(0), Thing::Clamp)));
    assert_eq!(hits(&pose(100.0, &[Flat(100.0)], &[Flat(80.0)])), []);
}

#[test]
fn the_sweep_counts_and_not_its_end_alone() {
    // A hook whose tip leans back by 150 deg comes to stand over a wall of 55: at the end the wall's top, 64 above the
    // base and 12.9 to 15.9 behind the line, stands free between the hook's leg and its tip, 21 behind the line there.
    // The tip's end, 50 from the line, had to pass through the wall.
    let hook = pose(90.0, &[Flat(1.0), up(90.0), Flat(55.0)], &[Flat(70.0), up(150.0), Flat(55.0)]);
    let pair = |touch: &&Touch| touch.first == Thing::Moving(2) && touch.second == Thing::Fixed(2);
    let found = touches(&hook);
    let hit = found.iter().find(pair).unwrap();
    assert!(hit.collides && hit.angle < 0.95 * hook.swing.angle, "{hit:?}");
    let apart = |angle: f64| {
        let shapes = metres(&hook).outline(angle);
        let (wall, tip) = (&shapes[shapes.len() - 1], &shapes);
        // The last shape is the tip; of the fixed side the wall comes last before the zone.
        tip.iter()
            .filter(|shape| {
                *shape != wall && shape.corners().iter().all(|corner| corner.x < -0.0125 && corner.x > -0.0165)
            })
            .map(|shape| shape.gap(wall))
            .fold(f64::INFINITY, f64::min)
    };
    let gap = apart(hook.swing.angle);
    assert!(gap > 0.004 && gap.is_finite(), "{gap}");
}

#[test]
fn a_line_above_is_in_the_way_of_a_wall_beside_it() {
    let (near, mut bench) = scaled(&pose(90.0, &[Flat(80.0)], &[Flat(2.0), up(90.0), Flat(40.0)]));
    assert!(near.touches(&bench).iter().all(|touch| touch.second != Thing::Above));
    bench.above = Some(Above { opening: 0.030, gap: 0.008 });
    // The wall begins 5.9 + 2 before the line and stands at about 14 to 17: half the opening is 15.
    assert!(near.touches(&bench).iter().any(|touch| touch.second == Thing::Above && touch.collides));
    let (far, _) = scaled(&pose(90.0, &[Flat(80.0)], &[Flat(20.0), up(90.0), Flat(40.0)]));
    assert!(far.touches(&bench).iter().all(|touch| touch.second != Thing::Above));
}

#[test]
fn a_fence_fits_behind_the_bar_or_under_it() {
    let with = |at: f64, height: f64, degrees: f64, fixed: f64| {
        let (pose, mut bench) = scaled(&pose(degrees, &[Flat(fixed)], &[Flat(80.0)]));
        bench.fence = Some(Stop { at: at * 1e-3, height: height * 1e-3, thickness: 0.010 });
        let found = pose.touches(&bench);
        let hit = found.iter().find(|touch| touch.collides && touch.first == Thing::Fence);
        assert!(hit.is_none_or(|touch| touch.second == Thing::Clamp && touch.angle <= 0.0), "{found:?}");
        (hit.is_some(), found)
    };
    // The bar reaches from 15 to 45 behind the line, 3 above the base: a fence at 50 is free, one at 40 stands in it,
    // unless it is lower than the sheet.
    assert_eq!(with(50.0, 15.0, 90.0, 44.1), (false, Vec::new()));
    assert!(with(40.0, 15.0, 90.0, 34.1).0);
    assert_eq!(with(40.0, 2.5, 90.0, 34.1), (false, Vec::new()));
    // At 150 deg the moving side comes down at 30 deg: it crosses a fence of 60 that stands 50 behind the line.
    let (_, found) = with(50.0, 60.0, 150.0, 44.1);
    let pair = |touch: &&Touch| touch.first == Thing::Moving(0) && touch.second == Thing::Fence;
    assert!(found.iter().find(pair).is_some_and(|touch| touch.collides), "{found:?}");
}

#[test]
fn two_arms_at_once_meet_over_a_narrow_middle() {
    let both = |apart: f64, degrees: f64| {
        let (pose, bench) = scaled(&pose(degrees, &[Flat(apart)], &[Flat(90.0)]));
        let touches = cross([&pose, &pose], [&bench, &bench], apart * 1e-3);
        touches.iter().any(|touch| touch.collides && touch.second != Thing::Clamp)
    };
    // At 90 deg two walls stand beside each other; at 120 deg walls of 90 lean over by 45 each, and meet over 60.
    assert!(!both(100.0, 90.0));
    assert!(both(60.0, 120.0));
    assert!(!both(160.0, 120.0));
}

#[test]
fn a_hinge_off_the_bends_axis_shifts_the_line() {
    // 90 deg, inside radius 6, sheet 3: the axis lies 3.1 above the base, so a hinge there shifts nothing, and one on the
    // base shifts the line 3.1 back.
    let axis = 9.0 - FRAC_PI_2 * 7.5 / 2.0;
    assert!(Section::shift_for(axis, axis, FRAC_PI_2).abs() < 1e-12);
    assert!((Section::shift_for(0.0, axis, FRAC_PI_2) + 3.1).abs() < 0.01);
}

#[test]
fn a_thicker_sheet_keeps_the_length_of_its_bends() {
    // The neutral line of a bend of 90 deg, inside radius 6, sheet 3, runs at the radius 7.5. In a sheet of 5 it runs there
    // as well, so the inside is 5 and the outer face of the wall stands 10 behind the end of the flat, not 11.
    let thin = pose(90.0, &[Flat(30.0), up(90.0), Flat(40.0)], &[Flat(80.0), up(90.0), Flat(20.0)]);
    let thick = thin.with_thickness(5.0);
    let inside = |stretches: &[Stretch]| {
        stretches.iter().find_map(|stretch| match stretch.form {
            Form::Bent(radius, _) => Some(radius),
            Flat(_) => None,
        })
    };
    assert_eq!([inside(&thick.fixed), inside(&thick.moving)], [Some(5.0), Some(5.0)]);
    let rear = |pose: &Pose| {
        let shapes = metres(pose).outline(0.0);
        let corners = shapes.iter().flat_map(|shape| shape.corners().to_vec());
        corners.map(|corner| -1e3 * corner.x).fold(0.0, f64::max)
    };
    let flat_end = FRAC_PI_2 * 7.5 / 2.0 + 30.0;
    assert!((rear(&thin) - (flat_end + 9.0)).abs() < 1e-6, "{}", rear(&thin));
    assert!((rear(&thick) - (flat_end + 10.0)).abs() < 1e-6, "{}", rear(&thick));
}
