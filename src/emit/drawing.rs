//! Lines, bars and words of a drawing.

use std::fmt::Write;

use crate::emit::csv::decimal;

/// Defines the filling `url(#hatch)`, which tells bars apart without colour.
pub const HATCH: &str = "<defs><pattern id=\"hatch\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" \
patternTransform=\"rotate(45)\"><rect width=\"5\" height=\"5\" fill=\"#fff\"/><path d=\"M0 0V5\" stroke=\"#000\" \
stroke-width=\"1.6\"/></pattern></defs>";

/// A straight line.
pub fn line(body: &mut String, class: &str, from: [f64; 2], to: [f64; 2]) {
    let [x1, y1, x2, y2] = [from[0], from[1], to[0], to[1]].map(place);
    let _ = writeln!(body, "<path class=\"{class}\" d=\"M{x1} {y1}L{x2} {y2}\"/>");
}

/// A bar from its upper left corner; what takes a moment is still to be seen.
pub fn bar(body: &mut String, class: &str, [x, y, width, height]: [f64; 4]) {
    let [x, y, width, height] = [x, y, width.max(0.8), height].map(place);
    let _ = writeln!(body, "<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"/>");
}

/// Words that begin at a place.
pub fn text(body: &mut String, x: f64, y: f64, class: &str, words: &str) {
    anchored(body, [x, y], "start", class, words);
}

/// Words at a place: `start`, `middle` or `end` of them.
pub fn anchored(body: &mut String, at: [f64; 2], anchor: &str, class: &str, words: &str) {
    let [x, y] = at.map(place);
    let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
    let _ = writeln!(body, "<text{class} x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\">{}</text>", escaped(words));
}

/// A place in the drawing, to a tenth of a unit.
pub fn place(value: f64) -> String {
    decimal(value, 1)
}

/// Words as they may stand in XML.
pub fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn words_are_escaped() {
        assert_eq!(escaped("a<b & \"c\""), "a&lt;b &amp; &quot;c&quot;");
    }
}
