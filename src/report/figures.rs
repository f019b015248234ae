use unicode_width::UnicodeWidthStr;

use crate::report::Figure;
use crate::report::plain::plain;

/// The figures as an aligned table, one line each: name, value, what is known, limit and where it comes from.
pub(super) fn table(figures: &[Figure]) -> Vec<String> {
    let rows: Vec<[String; 4]> = figures.iter().map(cells).collect();
    let width = |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.width()).max();
    let widths: Vec<usize> = (0..4).map(|column| width(column).unwrap_or(0)).collect();
    rows.iter().map(|row| line(row, &widths)).collect()
}

fn line(row: &[String; 4], widths: &[usize]) -> String {
    let mut line = String::new();
    for (cell, width) in row.iter().zip(widths).filter(|(_, width)| **width > 0) {
        line.push_str(cell);
        line.extend(std::iter::repeat_n(' ', width.saturating_sub(cell.width()) + 2));
    }
    line.trim_end().to_owned()
}

fn cells(figure: &Figure) -> [String; 4] {
    let numbers = [Some(figure.value), Some(figure.low), Some(figure.high), figure.limit];
    let decimals = decimals(&numbers.into_iter().flatten().filter(|n| n.is_finite()).collect::<Vec<_>>());
    let [value, low, high] = [figure.value, figure.low, figure.high].map(|n| number(n, decimals));
    let unit = if figure.unit.is_empty() { String::new() } else { format!(" {}", plain(&figure.unit)) };
    // A time without end is one that never comes.
    let endless = |n: f64| figure.unit == "s" && n == f64::INFINITY;
    let never = |n: f64, shown: String| if endless(n) { "never".to_owned() } else { shown };
    let [value, low, high] =
        [(figure.value, value), (figure.low, low), (figure.high, high)].map(|(n, shown)| never(n, shown));
    let unit_of_value = if endless(figure.value) { "" } else { unit.as_str() };
    let known = if low == value && high == value { String::new() } else { format!("({low}..{high}{unit})") };
    let source = figure.limit_source.as_deref().map(|source| format!(" ({})", plain(source))).unwrap_or_default();
    let limit = figure.limit.map(|limit| format!("limit {}{unit}{source}", number(limit, decimals)));
    [plain(&figure.name), format!("{value}{unit_of_value}"), known, limit.unwrap_or_default()]
}

/// How many decimals show four digits of the largest number, and more where two numbers of one figure would
/// otherwise look alike: a value above its limit must not be printed as the limit.
fn decimals(numbers: &[f64]) -> usize {
    const MOST: usize = 12;
    let largest = numbers.iter().fold(0.0_f64, |largest, n| largest.max(n.abs()));
    let mut decimals = (0..MOST).find(|d| largest == 0.0 || largest * power_of_ten(*d) >= 1000.0).unwrap_or(MOST);
    while decimals < MOST && look_alike(numbers, decimals) {
        decimals += 1;
    }
    while decimals > 0 && numbers.iter().all(|n| format!("{n:.decimals$}").ends_with('0')) {
        decimals -= 1;
    }
    decimals
}

fn power_of_ten(exponent: usize) -> f64 {
    (0..exponent).fold(1.0, |power, _| power * 10.0)
}

/// Whether two numbers that differ by more than rounding errors (a part in 10⁹) print the same.
fn look_alike(numbers: &[f64], decimals: usize) -> bool {
    numbers.iter().enumerate().any(|(index, a)| {
        numbers.iter().skip(index + 1).any(|b| {
            let differ = (a - b).abs() > 1e-9 * a.abs().max(b.abs());
            differ && format!("{a:.decimals$}") == format!("{b:.decimals$}")
        })
    })
}

fn number(n: f64, decimals: usize) -> String {
    if n.is_nan() {
        return "unknown".to_owned();
    }
    if n.is_infinite() {
        return if n > 0.0 { "unlimited" } else { "-unlimited" }.to_owned();
    }
    let shown = format!("{n:.decimals$}");
    // A value that rounds to zero from below is zero to the reader.
    let negative_zero = shown.starts_with('-') && shown.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if negative_zero { shown.trim_start_matches('-').to_owned() } else { shown }
}

#[cfg(test)]
mod tests {
    use super::table;
    use crate::report::Figure;

    fn figure(name: &str, [value, low, high]: [f64; 3], unit: &str, limit: Option<f64>) -> Figure {
        let limit_source = limit.map(|_| "the rating".to_owned());
        Figure { name: name.to_owned(), value, low, high, unit: unit.to_owned(), limit, limit_source }
    }

    #[test]
    fn columns_are_aligned_by_width() {
        let rows = table(&[
            figure("peak current", [31.25, 29.8, 32.7], "A", Some(24.0)),
            figure("at 80 °C", [140.0, 140.0, 140.0], "s", None),
            figure("ratio", [0.333_333, 0.3, 0.4], "", Some(0.5)),
        ]);
        insta::assert_snapshot!(rows.join("\n"), @r"
        peak current  31.25 A  (29.80..32.70 A)  limit 24.00 A (the rating)
        at 80 °C      140 s
        ratio         0.3333   (0.3000..0.4000)  limit 0.5000 (the rating)
        ");
    }

    #[test]
    fn a_value_beyond_its_limit_never_looks_like_the_limit() {
        let rows = table(&[figure("heat time", [300.0004, 300.0004, 300.0004], "s", Some(300.0))]);
        assert_eq!(rows, ["heat time  300.0004 s  limit 300.0000 s (the rating)"]);
        let noise = table(&[figure("heat time", [300.0 + 1e-12; 3], "s", Some(300.0))]);
        assert_eq!(noise, ["heat time  300 s  limit 300 s (the rating)"]);
    }

    #[test]
    fn numbers_that_are_none_are_words() {
        let rows = table(&[figure("margin", [f64::NAN, f64::NEG_INFINITY, f64::INFINITY], "mm", None)]);
        assert_eq!(rows, ["margin  unknown mm  (-unlimited..unlimited mm)"]);
        let late = table(&[figure("ready", [f64::INFINITY, 30.0, f64::INFINITY], "s", None)]);
        assert_eq!(late, ["ready  never  (30..never s)"]);
        assert_eq!(table(&[figure("drop", [-0.000_000_1, -1.0, 1.0], "V", None)]), ["drop  0 V  (-1..1 V)"]);
    }
}
