//! Finds the welds that are ground flush.

use crate::job::finish::Finish;
use crate::job::model::{Structural, Weld};
use crate::job::read::finish::FinishAsWritten;
use crate::reading::{Reader, suggest};
use serde_spanned::Spanned;
use toml::de::DeValue;

/// The faces of a frame.
const FACES: [&str; 8] = [
    "front", "back", "left", "right", "top", "bottom", "inside", "outside",
];

/// The finish of a job: the welds of each face named, or by number. A structural weld among them is an error.
pub(super) fn finish(
    written: Option<FinishAsWritten<'_>>,
    welds: &[Weld],
    structural: &Structural,
    reader: &Reader<'_>,
) -> Finish {
    let Some(written) = written else {
        return Finish::default();
    };
    let mut flush: Vec<u16> = Vec::new();
    for value in &written.flush {
        flush.extend(named(value, welds, reader));
    }
    flush.sort_unstable();
    flush.dedup();
    let is_structural = |number: &&u16| {
        let weld = &welds[usize::from(**number) - 1];
        weld.members.iter().any(|&member| structural.has(member))
    };
    let refused: Vec<u16> = flush.iter().filter(is_structural).copied().collect();
    if !refused.is_empty() {
        let what = format!(
            "a weld on a structural member is never ground flush: weld {}",
            crate::format::list(&refused)
        );
        reader.error(
            &written.span,
            what,
            "leave it as it is welded, or ask the engineer who is responsible for the structure",
        );
    }
    Finish {
        coating: written.coating,
        stock: written.stock,
        flush,
        ..Finish::default()
    }
}

/// The numbers of the welds on a face, or the one number.
fn named(value: &Spanned<DeValue<'_>>, welds: &[Weld], reader: &Reader<'_>) -> Vec<u16> {
    if let DeValue::Integer(number) = value.get_ref() {
        let number = u16::from_str_radix(number.as_str(), number.radix()).ok();
        let known = number.filter(|number| (1..=welds.len()).contains(&usize::from(*number)));
        if known.is_none() {
            let what = format!(
                "there is no such weld; the job has welds 1 to {}",
                welds.len()
            );
            reader.error(&value.span(), what, "`coldsquare check` lists the welds");
        }
        return known.into_iter().collect();
    }
    let word = value.get_ref().as_str().unwrap_or_default();
    if !FACES.contains(&word) {
        let what = format!("'{word}' is no face of the frame");
        reader.error(&value.span(), what, suggest(word, &FACES));
        return Vec::new();
    }
    let on_face = |weld: &&Weld| weld.name.ends_with(&format!(", {word}"));
    welds
        .iter()
        .filter(on_face)
        .map(|weld| weld.number)
        .collect()
}
