//! Short beads that belong to the weld beside them.
//!
//! A dab that fills the crater and a start that did not catch are as short as tacks, but they follow or lead a weld at
//! once, where a tack needs the welder to move on.

use super::{Basis, BeadTime, Place, Role};
use coldsquare_core::units::Seconds;

/// A pause up to this long joins a short bead to the weld beside it. Common practice, no source.
const AT_ONCE: Seconds = Seconds(1.5);

/// Joins short beads to the welds that they touch in time.
pub fn join(beads: &[BeadTime], places: &mut [Place]) {
    for index in 0..places.len() {
        if places[index].role != Role::Tack || places[index].basis != Basis::Alignment {
            continue;
        }
        let near = |other: usize| {
            let (first, second) = (index.min(other), index.max(other));
            let place = *places.get(other)?;
            let at_once = beads[second].start.0 - beads[first].end.0 <= AT_ONCE.0;
            // A weld given by hand has the beads given by hand and no others.
            let open = place.basis != Basis::Hand
                && matches!(place.role, Role::Weld { .. } | Role::Replaced { .. });
            (at_once && open).then_some(place)
        };
        let before = index.checked_sub(1).and_then(near);
        if let Some(place) = before.or_else(|| near(index + 1)) {
            places[index] = place;
        }
    }
}
