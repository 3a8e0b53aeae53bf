//! What somebody probably meant to type.

/// The candidate nearest to a mistyped word, where one is near enough to be offered.
pub(crate) fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', ' '], "_");
    let word = plain(word);
    candidates
        .into_iter()
        .map(|candidate| (score(&word, &plain(candidate)), candidate))
        .filter(|(score, _)| *score >= 0.6)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}

/// One for equal words, less the more letters differ; the start of a word counts as near to it.
fn score(word: &str, candidate: &str) -> f64 {
    let likeness = strsim::normalized_damerau_levenshtein(word, candidate);
    let shorter = word.len().min(candidate.len());
    if shorter > 0 && (candidate.starts_with(word) || word.starts_with(candidate)) {
        likeness.max(0.6 + 0.2 * likeness)
    } else {
        likeness
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
    }
}
