//! Which word was probably meant.

use super::renamed::new_word;

/// Words listed when none is near.
const MAX_LISTED: usize = 12;

/// A hint: the new name of the word found, the known word nearest to it, or the known words.
pub(crate) fn suggest(found: &str, known: &[&str]) -> String {
    if let Some(new) = new_word(found.trim()) {
        return format!("write '{new}' instead");
    }
    let found = found.to_lowercase();
    let nearest = known
        .iter()
        .map(|word| {
            let distance = strsim::damerau_levenshtein(&found, &word.to_lowercase());
            (distance, *word)
        })
        .min()
        .filter(|(distance, word)| *distance <= 1 + word.len() / 4);
    match nearest {
        Some((_, word)) => format!("did you mean '{word}'?"),
        None if known.len() > MAX_LISTED => {
            format!("known are {}, …", known[..MAX_LISTED].join(", "))
        }
        None => format!("known are {}", known.join(", ")),
    }
}
