/// The candidate that `word` most likely means, if one is near enough; ties go to the first in order.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let limit = match word.chars().count() {
        0..=2 => 1,
        3..=5 => 2,
        _ => 3,
    };
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let distance = strsim::damerau_levenshtein(&word.to_lowercase(), &candidate.to_lowercase());
        // A short word turned into quite another one is no slip of the finger.
        if distance > limit || distance >= candidate.chars().count() || candidate == word {
            continue;
        }
        if best.is_none_or(|(least, name)| (distance, candidate) < (least, name)) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn slips_of_the_finger_are_found_and_other_words_are_not() {
        assert_eq!(nearest("thicknes", ["size", "thickness"]), Some("thickness"));
        assert_eq!(nearest("heatre", ["heater", "sheet"]), Some("heater"));
        assert_eq!(nearest("lip", ["front", "back"]), None);
        assert_eq!(nearest("at", ["on"]), None);
    }
}
