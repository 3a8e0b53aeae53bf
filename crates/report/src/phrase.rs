//! Words that stay together on a line, and how a line begins.

/// The longest word that is taken for a unit after a number.
const LONGEST_UNIT: usize = 5;

/// The words of a text: a number stays with its unit, and the parts of a duration with each other (`4 h 47 min`).
pub(crate) fn unbroken(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match words.last_mut() {
            Some(last) if last.ends_with(|c: char| c.is_ascii_digit()) && word.chars().count() <= LONGEST_UNIT => {
                last.push(' ');
                last.push_str(word);
                join_duration(&mut words);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Joins the last word to the one before where both are of one duration.
fn join_duration(words: &mut Vec<String>) {
    let unit_of = |word: &str| word.rsplit_once(' ').map_or("", |(_, unit)| unit).to_owned();
    let [.., before, last] = words.as_slice() else { return };
    let (larger, smaller) = (unit_of(before), unit_of(last));
    let smaller = smaller.trim_end_matches(|c: char| c.is_ascii_punctuation());
    if matches!(larger.as_str(), "day" | "days" | "h" | "min") && matches!(smaller, "h" | "min" | "s") {
        let last = words.pop().unwrap_or_default();
        if let Some(before) = words.last_mut() {
            before.push(' ');
            before.push_str(&last);
        }
    }
}

/// The text with a capital letter at its start.
pub(crate) fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Names in a sentence.
pub(crate) fn joined(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [many @ .., last] => format!("{} and {last}", many.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_numbers_stay_with_their_units() {
        assert_eq!(unbroken("ran 4 h 47 min, then 12.5 gal"), ["ran", "4 h 47 min,", "then", "12.5 gal"]);
        assert_eq!(unbroken("2 days 6 h in all"), ["2 days 6 h", "in", "all"]);
        assert_eq!(unbroken("3 min, 4 s"), ["3 min,", "4 s"]);
        assert!(unbroken("  ").is_empty());
    }

    #[test]
    fn exact_first_letters_are_capital() {
        assert_eq!(["house", "äpfel", "", "4 days"].map(capitalised), ["House", "Äpfel", "", "4 days"]);
    }
}
