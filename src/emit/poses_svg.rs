//! Pictures of the sheet in the bench, one for each bend: as it is laid in, and at the end of the swing.

use std::fmt::Write;

use crate::emit::blank_svg::escaped;
use crate::emit::csv::decimal;
use crate::emit::shown::{Units, figure};
use crate::model::{Direction, FenceSide, Recipe};
use crate::physics::collide::{Convex, Motion, Point, Touch};
use crate::plan::{Choice, DeadEnd, Lay, RecipePlan, choice_words, end_word, touch_words};
use crate::units::Kind;

/// Width of one picture with its frame, in the units of the drawing.
const FRAME: (f64, f64) = (420.0, 300.0);
/// Room for words above and below the picture.
const HEAD: f64 = 44.0;
/// Room for the heading of the whole.
const TOP: f64 = 50.0;
const FOOT: f64 = 34.0;
/// Pictures in one row.
const COLUMNS: usize = 2;

/// What is drawn in one frame.
struct Frame<'a> {
    title: String,
    second: String,
    foot: Vec<String>,
    lay: &'a Lay,
    side: FenceSide,
    /// Where the arm is drawn beside its place of rest.
    angle: f64,
    /// Whether something is in the way.
    marked: bool,
}

/// `poses.svg`: every bend of a recipe in the order in which it is made.
pub fn poses_svg(plan: &RecipePlan, units: Units) -> String {
    let recipe = &plan.recipe;
    let frames: Vec<Frame<'_>> = plan
        .handling
        .poses
        .iter()
        .enumerate()
        .map(|(index, pose)| {
            let swing = pose.lay.pose.swing.angle;
            let mut foot: Vec<String> = pose
                .touches
                .iter()
                .take(2)
                .map(|touch| touch_words(recipe, &pose.lay, pose.bend, touch).replace('`', ""))
                .collect();
            if let Some((other, touches)) = &pose.with {
                let other = recipe.part.bend_label(*other);
                let verb = if touches.is_empty() { "made at the same time as" } else { "gets in the way of" };
                foot.push(format!("{verb} {other}"));
            }
            let worst = pose.touches.iter().find(|touch| touch.collides);
            Frame {
                title: format!("{}  {}", index + 1, recipe.part.bend_label(pose.bend)),
                second: format!(
                    "{}, {} against the fence at {}, stop at {}",
                    face(recipe, pose.bend),
                    end_word(pose.side),
                    units.length(pose.lay.fence),
                    figure(Kind::Angle, swing, 4)
                ),
                foot,
                lay: &pose.lay,
                side: pose.side,
                angle: worst.map_or(swing, |touch| touch.angle),
                marked: !pose.touches.is_empty(),
            }
        })
        .collect();
    sheet(&format!("{}: {} on {}", recipe.name, recipe.part.name, recipe.bench.name), &frames)
}

/// `obstacles.svg`: where the ways end, when no order can be made.
pub fn obstacles_svg(recipe: &Recipe, ends: &[DeadEnd]) -> String {
    let mut frames = Vec::new();
    for end in ends {
        let made: Vec<String> = end.made.iter().map(|choice| recipe.part.bend_label(choice.bend)).collect();
        for (choice, obstacle, lay) in &end.blocked {
            frames.push(obstacle_frame(recipe, &made, *choice, obstacle, lay));
        }
    }
    sheet(&format!("{}: no order can be made", recipe.name), &frames)
}

fn obstacle_frame<'a>(
    recipe: &Recipe,
    made: &[String],
    choice: Choice,
    obstacle: &crate::plan::Obstacle,
    lay: &'a Lay,
) -> Frame<'a> {
    let after = if made.is_empty() { "nothing made".to_owned() } else { format!("made: {}", made.join(", ")) };
    let angle = match obstacle {
        crate::plan::Obstacle::Touch(Touch { angle, .. }) => *angle,
        _ => 0.0,
    };
    Frame {
        title: choice_words(recipe, choice).replace('`', ""),
        second: format!("{}; {after}", face(recipe, choice.bend)),
        foot: vec![obstacle.words(recipe, lay, choice.bend).replace('`', "")],
        lay,
        side: choice.side,
        angle,
        marked: true,
    }
}

fn face(recipe: &Recipe, bend: usize) -> &'static str {
    match recipe.part.bends.get(bend).map(|bend| bend.direction) {
        Some(Direction::Down) => "turned over",
        _ => "upper face up",
    }
}

/// All frames under a heading.
fn sheet(heading: &str, frames: &[Frame<'_>]) -> String {
    let rows = frames.len().div_ceil(COLUMNS).max(1);
    // One scale for all, so that what looks longer is longer.
    let by = frames.iter().map(|frame| View::new(frame.lay, frame.angle).fitting()).fold(f64::INFINITY, f64::min);
    let (width, height) = (FRAME.0 * COLUMNS as f64, FRAME.1 * rows as f64 + TOP);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" \
         font-family=\"sans-serif\" font-size=\"12\">\n<title>{heading}</title>\n\
         <style>.bench{{fill:#e4e4e4;stroke:#444;stroke-width:0.8}} .fence{{fill:#b9a06a;stroke:#444;stroke-width:0.8}} .arm{{fill:#cfd8dc;stroke:#444;stroke-width:0.8}} \
         .rest{{fill:none;stroke:#777;stroke-width:0.8;stroke-dasharray:3 2}} \
         .sheet{{fill:#1565a0;stroke:#1565a0;stroke-width:0.4}} .hit{{fill:#c62828;stroke:#c62828}} \
         .note{{fill:#444;font-size:11px}}</style>\n<rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n\
         <text x=\"12\" y=\"22\" font-size=\"16\">{heading}</text>\n\
         <text x=\"12\" y=\"39\" class=\"note\">cross-section; pale: the sheet as it is laid in; dashed: the arm at rest; brown: \
         the fence; red: something is in the way</text>\n",
        w = decimal(width, 1),
        h = decimal(height, 1),
        heading = escaped(heading),
    );
    if by.is_finite() {
        svg.push_str(&scale_bar(by, width));
    }
    for (index, frame) in frames.iter().enumerate() {
        let left = FRAME.0 * (index % COLUMNS) as f64;
        let top = TOP + FRAME.1 * (index / COLUMNS) as f64;
        let _ = writeln!(svg, "<g transform=\"translate({} {})\">", decimal(left, 1), decimal(top, 1));
        svg.push_str(&frame.drawn(by));
        svg.push_str("</g>\n");
    }
    svg.push_str("</svg>\n");
    svg
}

/// A length that is drawn to the scale of the pictures, at the right of the heading.
fn scale_bar(by: f64, width: f64) -> String {
    const STEPS: [f64; 10] = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0];
    let length = STEPS.into_iter().rev().find(|length| length * by <= 120.0).unwrap_or(STEPS[0]);
    let (right, y) = (width - 12.0, 20.0);
    let left = right - length * by;
    format!(
        "<path d=\"M{l} {a}V{b}M{l} {y}H{r}M{r} {a}V{b}\" fill=\"none\" stroke=\"#222\"/>\n\
         <text x=\"{t}\" y=\"{w}\" class=\"note\" text-anchor=\"end\">{} mm</text>\n",
        decimal(length * 1e3, 0),
        l = decimal(left, 2),
        r = decimal(right, 2),
        a = decimal(y - 4.0, 1),
        b = decimal(y + 4.0, 1),
        y = decimal(y, 1),
        t = decimal(left - 6.0, 1),
        w = decimal(y + 4.0, 1),
    )
}

impl Frame<'_> {
    fn drawn(&self, by: f64) -> String {
        let scale = View::new(self.lay, self.angle).at(by);
        let pose = &self.lay.pose;
        let section = &self.lay.section;
        let motion = pose.swing.motion(self.angle);
        let arm = section.arm_body().shape;
        let mut text = String::new();
        for body in section.base_bodies() {
            let _ = writeln!(text, "<path class=\"bench\" d=\"{}\"/>", scale.path(&body.shape));
        }
        let clamp = section.clamp(pose.swing.thickness).shape;
        let _ = writeln!(text, "<path class=\"bench\" d=\"{}\"/>", scale.path(&clamp));
        if let Some(fence) = section.fence_body() {
            let _ = writeln!(text, "<path class=\"fence\" d=\"{}\"/>", scale.path(&fence.shape));
        }
        if let Some(above) = section.above_body(pose.swing.thickness) {
            let _ = writeln!(text, "<path class=\"rest\" d=\"{}\"/>", scale.path(&above.shape));
        }
        if self.angle > 0.0 {
            let _ = writeln!(text, "<path class=\"rest\" d=\"{}\"/>", scale.path(&arm));
            let flat: String = pose.outline(0.0).iter().map(|shape| scale.path(shape)).collect();
            let _ = writeln!(text, "<path class=\"sheet\" opacity=\"0.22\" d=\"{flat}\"/>");
        }
        let _ = writeln!(text, "<path class=\"arm\" d=\"{}\"/>", scale.path(&arm.moved(&motion)));
        let now: String = pose.outline(self.angle).iter().map(|shape| scale.path(shape)).collect();
        let _ = writeln!(text, "<path class=\"sheet{}\" d=\"{now}\"/>", if self.marked { " hit" } else { "" });
        let words = |x: f64, y: f64, class: &str, words: &str| {
            format!("<text{class} x=\"{}\" y=\"{}\">{}</text>\n", decimal(x, 1), decimal(y, 1), escaped(words))
        };
        text.push_str(&words(12.0, 16.0, " font-weight=\"bold\"", &self.title));
        text.push_str(&words(12.0, 32.0, " class=\"note\"", &self.second));
        for (line, foot) in self.foot.iter().take(2).enumerate() {
            text.push_str(&words(12.0, FRAME.1 - FOOT + 14.0 + 14.0 * line as f64, " class=\"note\"", foot));
        }
        let start = scale.of(Point::new(-section.fence.map_or(self.lay.fence, |fence| fence.at), 0.0));
        let label = if self.side == FenceSide::Front { "start" } else { "end" };
        text.push_str(&words(start.x.max(12.0), start.y + 14.0, " class=\"note\"", label));
        text
    }
}

/// What of the cross-section is to be seen, m.
struct View {
    left: f64,
    right: f64,
    bottom: f64,
    top: f64,
}

/// The room for a picture in its frame.
const ROOM: (f64, f64) = (FRAME.0 - 24.0, FRAME.1 - HEAD - FOOT);

impl View {
    /// The sheet at rest and as drawn, the clamp, the fence and the arm; of the base only what lies near them.
    fn new(lay: &Lay, angle: f64) -> Self {
        let motion = lay.pose.swing.motion(angle);
        let arm = lay.section.arm_body().shape;
        let mut shapes = lay.pose.outline(angle);
        shapes.extend(lay.pose.outline(0.0));
        shapes.extend(lay.section.fence_body().map(|fence| fence.shape));
        shapes.extend([
            arm.moved(&motion),
            arm.moved(&Motion::REST),
            lay.section.clamp(lay.pose.swing.thickness).shape,
        ]);
        let corners = || shapes.iter().flat_map(|shape| shape.corners().iter());
        let least = |pick: fn(&Point) -> f64| corners().map(pick).fold(f64::INFINITY, f64::min);
        let most = |pick: fn(&Point) -> f64| corners().map(pick).fold(f64::NEG_INFINITY, f64::max);
        Self {
            left: least(|point| point.x) - 0.004,
            right: most(|point| point.x) + 0.004,
            bottom: least(|point| point.y).min(-0.02) - 0.004,
            top: most(|point| point.y) + 0.004,
        }
    }

    /// The largest scale at which it fits its frame.
    fn fitting(&self) -> f64 {
        (ROOM.0 / (self.right - self.left)).min(ROOM.1 / (self.top - self.bottom))
    }

    /// In the middle of its frame, and at its foot.
    fn at(&self, by: f64) -> Scale {
        let left = f64::midpoint(self.left, self.right) - ROOM.0 / by / 2.0;
        Scale { by, left, top: self.bottom + ROOM.1 / by }
    }
}

/// From the cross-section to the frame.
struct Scale {
    by: f64,
    left: f64,
    top: f64,
}

impl Scale {
    fn of(&self, point: Point) -> Point {
        Point::new(12.0 + (point.x - self.left) * self.by, HEAD + (self.top - point.y) * self.by)
    }

    /// A polygon, cut to the frame so that a deep base does not run over its neighbour.
    fn path(&self, shape: &Convex) -> String {
        let mut path = String::new();
        for (index, corner) in shape.corners().iter().enumerate() {
            let at = self.of(*corner);
            let x = at.x.clamp(6.0, FRAME.0 - 6.0);
            let y = at.y.clamp(HEAD - 4.0, FRAME.1 - FOOT + 2.0);
            let letter = if index == 0 { 'M' } else { 'L' };
            let _ = write!(path, "{letter}{} {}", decimal(x, 2), decimal(y, 2));
        }
        path.push('Z');
        path
    }
}
