//! Keys and words of a job file that have changed their names, so that an older file is told the new ones.

/// Old and new names of keys.
const KEYS: [(&str, &str); 4] = [
    ("rated_duty", "rated_duty_cycle"),
    ("seen", "front_face"),
    ("shop", "shop_factors"),
    ("shop_revision", "shop_factors_revision"),
];

/// Old and new names of members of the frame, and values.
const WORDS: [(&str, &str); 3] = [
    ("left stile", "left upright"),
    ("right stile", "right upright"),
    ("stiles through", "uprights through"),
];

/// The new name of a key.
pub(crate) fn new_key(old: &str) -> Option<&'static str> {
    new_name(&KEYS, old)
}

/// The new name of a member or a value.
pub(crate) fn new_word(old: &str) -> Option<&'static str> {
    new_name(&WORDS, old)
}

/// "'seen' is now called 'front_face'".
pub(crate) fn now_called(old: &str, new: &str) -> String {
    format!("'{old}' is now called '{new}'")
}

fn new_name(names: &[(&str, &'static str)], old: &str) -> Option<&'static str> {
    let known = names.iter().find(|(name, _)| *name == old);
    known.map(|(_, new)| *new)
}
