//! Short beads that belong to the weld beside them.
//!
//! A dab that fills the crater and a start that did not catch are as short as tacks. But they come right after or
//! right before a weld, and a tack does not: the welder has to move first.

use super::model::{Basis, BeadMatch, BeadTime, Role};
use coldsquare_core::units::Seconds;

/// A pause up to this long joins a short bead to the weld beside it. Common practice, no source.
const AT_ONCE: Seconds = Seconds(1.5);

/// Joins each short bead to the weld right before or after it.
pub fn join(beads: &[BeadTime], matches: &mut [BeadMatch]) {
    for index in 0..matches.len() {
        if matches[index].role != Role::Tack || matches[index].basis != Basis::Alignment {
            continue;
        }
        let near = |other: usize| {
            let (first, second) = (index.min(other), index.max(other));
            let found = *matches.get(other)?;
            let at_once = beads[second].start.0 - beads[first].end.0 <= AT_ONCE.0;
            // A weld assigned by hand has the beads assigned by hand and no others.
            let open = found.basis != Basis::Hand
                && matches!(found.role, Role::Weld { .. } | Role::Replaced { .. });
            (at_once && open).then_some(found)
        };
        let before = index.checked_sub(1).and_then(near);
        if let Some(found) = before.or_else(|| near(index + 1)) {
            matches[index] = found;
        }
    }
}

#[cfg(test)]
mod tests;
