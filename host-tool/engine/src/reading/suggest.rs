//! Which word was probably meant.

/// Words listed when none is near.
const MAX_LISTED: usize = 12;

/// A hint: the known word nearest to the one found, or the known words.
pub(crate) fn suggest(found: &str, known: &[&str]) -> String {
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
