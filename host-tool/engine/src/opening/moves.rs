//! The way in, in words.

use super::bring_in::{Bulk, WayIn, Ways};
use crate::format::Precision;
use crate::units::Units;

impl Ways {
    /// The moves in words, a sentence each.
    #[must_use]
    pub fn sentences(&self, units: Units, bulk: Bulk) -> Vec<String> {
        let length = |mm: f64| units.length_with_unit(mm, Precision::Tape);
        let diagonal = |size: f64| length(size.hypot(bulk.depth_mm));
        let tilted = |degrees: f64, in_mm: f64, words: [&str; 3], size: f64| {
            format!(
                "{}: put the {} in first, the {} {:.0}° towards you, until it is {} in; then swing the {} in. Its diagonal with its depth is {}.",
                words[2],
                words[0],
                words[1],
                degrees.abs(),
                length(in_mm),
                words[1],
                diagonal(size)
            )
        };
        let no = |take_off_mm: f64, what: &str| {
            format!(
                "It cannot be brought in: it is {} too {what}, straight or tilted. Make it smaller by that much, or weld it in two parts and join them inside.",
                length(take_off_mm)
            )
        };
        let mut all = Vec::new();
        match (self.height, self.width) {
            (Some(WayIn::Straight { room_mm: up }), WayIn::Straight { room_mm: across }) => all.push(format!(
                "It goes in straight, with {} to spare up and down and {} sideways at the tightest depth.",
                length(up),
                length(across)
            )),
            (None, WayIn::Straight { room_mm }) => all.push(format!(
                "It goes in straight, with {} to spare sideways at the tightest depth.",
                length(room_mm)
            )),
            (Some(WayIn::Tilted { .. }), WayIn::Tilted { .. }) => all.push(
                "It would have to be tilted and turned at once; whether that goes is not worked out. Try it with a dummy of lath."
                    .into(),
            ),
            _ => {}
        }
        match self.height {
            Some(WayIn::Tilted { degrees, in_mm, .. }) => {
                let words = if degrees > 0.0 {
                    ["bottom", "top", "Tilt it"]
                } else {
                    ["top", "bottom", "Tilt it"]
                };
                all.push(tilted(degrees, in_mm, words, bulk.height_mm.unwrap_or(0.0)));
            }
            Some(WayIn::No { take_off_mm }) => all.push(no(take_off_mm, "high")),
            _ => {}
        }
        match self.width {
            WayIn::Tilted { degrees, in_mm, .. } => {
                let words = if degrees > 0.0 {
                    ["left side", "right side", "Turn it"]
                } else {
                    ["right side", "left side", "Turn it"]
                };
                all.push(tilted(degrees, in_mm, words, bulk.width_mm));
            }
            WayIn::No { take_off_mm } => all.push(no(take_off_mm, "wide")),
            WayIn::Straight { .. } => {}
        }
        all
    }
}
