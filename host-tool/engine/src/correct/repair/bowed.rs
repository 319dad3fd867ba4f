//! A bowed member and the press that would straighten it.

use super::case::Case;
use crate::correct::press::usual_span_mm;
use crate::formulas::bending::{Bar, Press, bearing_limit};
use crate::geometry::Point;

/// A bowed member.
pub(super) struct BowedMember<'a> {
    pub case: &'a Case<'a>,
    pub bar: Bar,
    /// Index of the member.
    pub member: usize,
    /// The side it bows to.
    pub side: Point,
    pub length_mm: f64,
}

impl BowedMember<'_> {
    /// Its name.
    pub fn name(&self) -> &str {
        &self.case.job.members[self.member].name
    }

    /// Its first bow, to the side it bows to, mm.
    pub fn first_mm(&self) -> f64 {
        let change = self.case.change;
        change
            .history_mm
            .first()
            .unwrap_or(&change.change_mm.value)
            .abs()
    }

    pub fn side(&self) -> &'static str {
        self.case.job.seen_from.towards(self.side)
    }

    /// Smallest distance between the blocks at which the press is strong enough and the wall does not dent: pressed at the
    /// thirds, the force is six moments over the span. A tenth more, for metal that hardens.
    pub fn min_span_mm(&self) -> f64 {
        let settings = self.case.settings;
        let dent = bearing_limit(self.bar.profile(), self.bar.metal(), settings.packing_mm);
        let max_force = settings
            .press_n
            .min(dent.map_or(f64::INFINITY, |each| 2.0 * each.0));
        1.1 * 6.0 * self.bar.plastic_moment_n_mm() / max_force
    }

    /// Where to support and press the bar.
    pub fn press(&self) -> Press {
        let settings = self.case.settings;
        // The blocks stay in place from press to press, so the first bow counts.
        let bow_mm = self.first_mm();
        let span_mm = match settings.span_mm {
            Some(given) => given.clamp(0.1 * self.length_mm, self.length_mm),
            None => usual_span_mm(&self.bar, self.length_mm, bow_mm)
                .max(self.min_span_mm())
                .min(0.9 * self.length_mm),
        };
        Press {
            span_mm,
            apart_mm: (span_mm / 3.0).max(settings.packing_mm.min(0.9 * span_mm)),
            length_mm: self.length_mm,
        }
    }
}
