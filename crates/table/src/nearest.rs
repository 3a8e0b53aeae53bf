//! What somebody probably meant to type.

/// The candidate nearest to a mistyped word, where one is near enough to be offered. Of equals the one that
/// begins like it for longer, then the first.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', ' '], "_");
    let word = plain(word);
    candidates
        .into_iter()
        .map(|candidate| (score(&word, &plain(candidate)), candidate))
        .filter(|((score, _), _)| *score >= 0.6)
        .reduce(|best, other| if other.0 > best.0 { other } else { best })
        .map(|(_, candidate)| candidate)
}

/// One for equal words, less the more letters differ; the start of a word counts as near to it. Then how many letters both
/// begin with.
fn score(word: &str, candidate: &str) -> (f64, usize) {
    let likeness = strsim::normalized_damerau_levenshtein(word, candidate);
    let alike = word.chars().zip(candidate.chars()).take_while(|(a, b)| a == b).count();
    let shorter = word.len().min(candidate.len());
    if shorter > 0 && (candidate.starts_with(word) || word.starts_with(candidate)) {
        (likeness.max(0.6 + 0.2 * likeness), alike)
    } else {
        (likeness, alike)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_is_understood() {
        let keys = ["cut_in", "cut_out", "gauge_height"];
        assert_eq!(nearest("cutin", keys), Some("cut_in"));
        assert_eq!(nearest("Cut-Out", keys), Some("cut_out"));
        assert_eq!(nearest("guage_hieght", keys), Some("gauge_height"));
        assert_eq!(nearest("colour", keys), None);
    }

    #[test]
    fn the_start_of_a_word_is_near_to_it() {
        assert_eq!(nearest("m", ["s", "min", "h"]), Some("min"));
        assert_eq!(nearest("rain", ["time", "rain_mm", "rain_in"]), Some("rain_mm"));
        assert_eq!(nearest("gpm", ["ppm", "gpg"]), Some("gpg"));
    }
}
