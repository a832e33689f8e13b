//! How hard words are to read, and the check that a child can read them.

/// How many words a text has: tokens between spaces that have a letter.
#[must_use]
pub fn count(text: &str) -> usize {
    text.split_whitespace().filter(|token| token.chars().any(char::is_alphabetic)).count()
}

/// The school grade at which a text is read: 0.39 words a sentence + 11.8 syllables a word - 15.59.
///
/// Source: Kincaid, Fishburne, Rogers and Chissom, Derivation of new readability formulas for Navy enlisted personnel,
/// Research Branch Report 8-75, 1975 (the coefficients from memory). A text without a word has grade 0.
#[must_use]
pub fn reading_grade(text: &str) -> f64 {
    let words: Vec<&str> = text.split(|c: char| !c.is_alphabetic() && c != '\'').filter(|w| !w.is_empty()).collect();
    if words.is_empty() {
        return 0.0;
    }
    let sentences = text.split(['.', '!', '?', ':']).filter(|s| s.chars().any(char::is_alphabetic)).count().max(1);
    let syllables: usize = words.iter().map(|w| syllables(w)).sum();
    let number = words.len() as f64;
    0.39 * number / sentences as f64 + 11.8 * syllables as f64 / number - 15.59
}

/// The syllables of an English word: its groups of vowels, a silent last e left out; at least one.
fn syllables(word: &str) -> usize {
    let word = word.to_lowercase();
    let vowel = |c: char| "aeiouy".contains(c);
    let mut groups = 0;
    let mut before = false;
    for c in word.chars() {
        groups += usize::from(vowel(c) && !before);
        before = vowel(c);
    }
    let silent = word.ends_with('e') && !word.ends_with("le") && groups > 1;
    (groups - usize::from(silent)).max(1)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A child of nine reads it: so much over all the words, and so much for one sentence. A short sentence with one long word of the trade
    /// has a high grade by this formula, so the bound of one is wide.
    const ALL: f64 = 4.0;
    const ONE: f64 = 9.0;

    /// Every text of a value with where it stands.
    fn all(value: &toml::Value, at: &str, out: &mut Vec<(String, String)>) {
        match value {
            toml::Value::String(text) => out.push((at.to_owned(), text.clone())),
            toml::Value::Table(table) => table.iter().for_each(|(k, v)| all(v, &format!("{at}.{k}"), out)),
            toml::Value::Array(list) => list.iter().enumerate().for_each(|(k, v)| all(v, &format!("{at}.{k}"), out)),
            _ => {}
        }
    }

    /// Every text of a file with where it stands.
    pub(in crate::words) fn texts(file: &str) -> Vec<(String, String)> {
        let mut out = Vec::new();
        all(&toml::from_str(file).unwrap(), "", &mut out);
        out
    }

    /// Whether a child reads these texts, of which there are more sentences than `least`.
    pub(in crate::words) fn a_child_reads(texts: impl IntoIterator<Item = String>, least: usize) {
        let texts: Vec<String> = texts.into_iter().collect();
        let sentences: Vec<&str> =
            texts.iter().flat_map(|t| t.split_inclusive(['.', '?', '!'])).map(str::trim).filter(|t| count(t) >= 4).collect();
        assert!(sentences.len() > least, "{} sentences", sentences.len());
        for text in &sentences {
            let grade = reading_grade(text);
            assert!(grade <= ONE, "grade {grade:.1}: {text}");
        }
        let grade = reading_grade(&sentences.iter().map(|s| format!("{}. ", s.trim_end_matches('.'))).collect::<String>());
        assert!(grade <= ALL, "grade {grade:.2}");
    }

    /// A sentence of the formula's own: known counts give a known grade.
    #[test]
    fn the_grade_is_the_formula() {
        // Six words of one syllable in one sentence.
        assert!((reading_grade("The cat sat on the mat.") - (0.39 * 6.0 + 11.8 - 15.59)).abs() < 1e-12);
        let counted = ["the", "boom", "ease", "puff", "windward", "transom", "little", "middle", "sailor"].map(syllables);
        assert_eq!(counted, [1, 1, 1, 1, 2, 2, 2, 2, 2]);
    }
}
