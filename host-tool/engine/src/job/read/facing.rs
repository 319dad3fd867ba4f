//! Reads which way the legs of an angle, the flanges of a channel or the wide face of a section point.

use crate::reading::{Table, suggest};
use crate::section::{Section, Shape};
use serde_spanned::Spanned;

/// What points somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pointing {
    /// The two legs of an angle, from its heel.
    Legs,
    /// The flanges of a channel, from its web.
    Flanges,
    /// The wider face of a tube or a flat.
    WideFace,
}

/// Which way a section is turned, in words of the object as it stands.
#[derive(Clone, Debug)]
pub(crate) struct Facing {
    pub pointing: Pointing,
    /// One word, or two for the legs of an angle: the longer first.
    pub words: Vec<Spanned<&'static str>>,
}

/// The words for a direction.
pub(crate) const WORDS: [&str; 8] = ["up", "down", "left", "right", "front", "back", "in", "out"];

/// The keys of a table, and those for the rails in a table of legs.
pub(crate) const KEYS: [&str; 3] = ["legs_point", "flanges_point", "wide_face"];
pub(crate) const RAIL_KEYS: [&str; 3] = ["rail_legs_point", "rail_flanges_point", "rail_wide_face"];

/// Reads the one of three keys that fits the section; the others are errors.
pub(crate) fn facing(
    table: &mut Table<'_>,
    keys: [&'static str; 3],
    section: Option<&Section>,
) -> Option<Facing> {
    let all = [Pointing::Legs, Pointing::Flanges, Pointing::WideFace];
    let mut found = None;
    for (key, pointing) in keys.into_iter().zip(all) {
        let words = words(table, key);
        let Some((first, section)) = words.first().zip(section) else {
            continue;
        };
        let span = first.span();
        if let Some((what, hint)) = misfit(pointing, section, words.len()) {
            table.reader().error(&span, what, hint);
        } else {
            found = Some(Facing { pointing, words });
        }
    }
    found
}

fn words(table: &mut Table<'_>, key: &'static str) -> Vec<Spanned<&'static str>> {
    let reader = table.reader();
    let mut words = Vec::new();
    for value in table.list(key) {
        let word = match value.get_ref().as_str().unwrap_or_default() {
            // As sides are called.
            "top" => "up",
            "bottom" => "down",
            word => word,
        };
        match WORDS.into_iter().find(|known| *known == word) {
            Some(known) => words.push(Spanned::new(value.span(), known)),
            None => {
                let what = format!("'{word}' is not a direction");
                reader.error(&value.span(), what, suggest(word, &WORDS));
            }
        }
    }
    words
}

/// What is wrong with pointing this part of a section, and the hint.
fn misfit(pointing: Pointing, section: &Section, words: usize) -> Option<(String, &'static str)> {
    const HINT: &str =
        "legs_point is for an angle, flanges_point for a channel, wide_face for a tube or a flat";
    let (fits, part, wanted) = match (pointing, section.shape()) {
        (Pointing::Legs, shape) => (matches!(shape, Shape::Angle { .. }), "legs", 2),
        (Pointing::Flanges, shape) => (matches!(shape, Shape::Channel { .. }), "flanges", 1),
        (
            Pointing::WideFace,
            Shape::Box {
                depth_mm, width_mm, ..
            }
            | Shape::Bar { depth_mm, width_mm },
        ) => ((depth_mm - width_mm).abs() > 0.01, "wide face", 1),
        (Pointing::WideFace, _) => (false, "wide face", 1),
    };
    if !fits {
        return Some((format!("a {section} has no {part}"), HINT));
    }
    (words != wanted).then(|| match pointing {
        Pointing::Legs => (
            "an angle has two legs".to_owned(),
            "write where both point from the heel, the longer first: legs_point = [\"in\", \"down\"]",
        ),
        _ => (format!("the {part} points one way"), "write one direction"),
    })
}
