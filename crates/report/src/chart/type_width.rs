//! How wide a text is, estimated: nobody knows the fonts of the reader's machine.
//!
//! Advance widths of the embedded font by class of letter, rounded up, so that placing by them leaves room. A test holds
//! the estimate against the font itself.

use crate::phrase::unbroken;

/// Width in units of the type size.
fn advance(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | ' ' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' => 0.30,
        'f' | 't' | 'r' | '(' | ')' | '-' | 'I' | '/' | 's' => 0.48,
        'm' | 'M' | 'W' | '%' | '@' => 0.95,
        'w' | 'D' | 'G' | 'H' | 'N' | 'O' | 'Q' | 'U' => 0.80,
        '0'..='9' | 'a'..='z' | '–' => 0.62,
        ' '..='~' | '\u{a0}'..='\u{24f}' => 0.70,
        _ => 1.10,
    }
}

/// Estimated width of a text of a size.
pub(crate) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let ems: f64 = text.chars().map(advance).sum();
    ems * size * if bold { 1.08 } else { 1.0 }
}

/// The text, or as much of its beginning as fits with an ellipsis.
pub(crate) fn fitted(text: &str, size: f64, bold: bool, room: f64) -> String {
    if width(text, size, bold) <= room {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    loop {
        kept.pop();
        let shorter = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if kept.is_empty() || width(&shorter, size, bold) <= room {
            return shorter;
        }
    }
}

/// Broken at spaces into lines that fit; a word that fits no line is shortened.
pub(crate) fn lines(text: &str, size: f64, bold: bool, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in unbroken(text) {
        let word = word.as_str();
        match lines.last_mut() {
            Some(line) if width(line, size, bold) + width(" ", size, bold) + width(word, size, bold) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(fitted(word, size, bold, room)),
        }
    }
    lines
}
