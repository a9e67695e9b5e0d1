//! "Did you mean ...?": which known word was probably meant.

/// Nearest words are looked for among so many, and for words of so many characters: a broken file of any size is
/// answered in bounded time.
const CANDIDATES: usize = 10_000;
const LONGEST: usize = 200;

/// The name that is most like another, of those that a user gave to things of his own: a slip, or a renaming.
///
/// `likeness` is the least that counts, from 0 for nothing in common to 1 for the same.
pub fn nearest_name<'a>(
    name: &str,
    known: impl IntoIterator<Item = &'a str>,
    likeness: f64,
) -> Option<&'a str> {
    nearest(name, known, likeness, strsim::jaro_winkler)
}

/// The word of a fixed list that was probably meant: a slip of few letters, small or capital.
///
/// `likeness` as for [`nearest_name`].
pub fn nearest_word<'a>(
    word: &str,
    known: impl IntoIterator<Item = &'a str>,
    likeness: f64,
) -> Option<&'a str> {
    let word: String = word.chars().take(40).flat_map(char::to_lowercase).collect();
    nearest(&word, known, likeness, strsim::normalized_damerau_levenshtein)
}

fn nearest<'a>(
    word: &str,
    known: impl IntoIterator<Item = &'a str>,
    likeness: f64,
    alike: fn(&str, &str) -> f64,
) -> Option<&'a str> {
    if word.len() > LONGEST {
        return None;
    }
    let short = known.into_iter().take(CANDIDATES).filter(|other| other.len() <= LONGEST);
    let scored = short.map(|other| (alike(word, other), other));
    let (score, best) = scored.max_by(|a, b| a.0.total_cmp(&b.0))?;
    (score >= likeness).then_some(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_and_a_renaming_are_found_and_another_word_is_not() {
        assert_eq!(nearest_name("knee", ["hip", "knee_joint"], 0.75), Some("knee_joint"));
        assert_eq!(nearest_name("knee", ["hip", "wrist"], 0.75), None);
        assert_eq!(nearest_word("Lenght", ["length", "width"], 0.6), Some("length"));
        assert_eq!(nearest_word("mass", ["length", "width"], 0.6), None);
    }

    #[test]
    fn a_name_without_end_is_like_nothing() {
        let long = "x".repeat(LONGEST + 1);
        assert_eq!(nearest_name(&long, [long.as_str()], 0.75), None);
    }
}
