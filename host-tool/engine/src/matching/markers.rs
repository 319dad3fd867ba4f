//! The welder's markers, without those that were undone, repeated or set while leafing through the welds.

use super::model::{Basis, BeadMatch, BeadTime, Marker, MarkerKind, MatchInput, Role};

/// The markers that count.
pub struct Markers {
    pub list: Vec<Marker>,
    scrapped: Vec<u32>,
    /// Weld numbers in markers that no weld has.
    pub unknown: Vec<u16>,
}

impl Markers {
    pub fn new(input: &MatchInput<'_>) -> Self {
        let mut markers = Self {
            list: Vec::new(),
            scrapped: Vec::new(),
            unknown: Vec::new(),
        };
        for marker in input.markers {
            let known = |weld| input.welds.iter().any(|other| other.number == weld);
            match (marker.kind, marker.weld) {
                (MarkerKind::Undo, _) => drop(markers.list.pop()),
                (_, Some(weld)) if !known(weld) => markers.unknown.push(weld),
                _ => markers.list.push(*marker),
            }
        }
        markers.unknown.sort_unstable();
        markers.unknown.dedup();
        let scrap = markers.of(MarkerKind::Scrap).filter_map(|marker| {
            let mut beads = input.beads.iter().rev();
            let before = beads.find(|bead| bead.start.0 <= marker.at.0)?;
            Some(before.number)
        });
        markers.scrapped = scrap.collect();
        markers.drop_unused(input.beads);
        markers
    }

    /// Leafing through the welds sets a marker at each; only one with a bead before the next marker counts.
    fn drop_unused(&mut self, beads: &[BeadTime]) {
        let opens = |marker: &Marker| matches!(marker.kind, MarkerKind::Next | MarkerKind::Redo);
        let times: Vec<f64> = self
            .list
            .iter()
            .filter(|marker| opens(marker))
            .map(|marker| marker.at.0)
            .collect();
        let mut later = times.into_iter().skip(1);
        self.list.retain(|marker| {
            if !opens(marker) {
                return true;
            }
            let until = later.next().unwrap_or(f64::INFINITY);
            let first = beads.partition_point(|bead| middle(bead) < marker.at.0);
            beads.get(first).is_some_and(|bead| middle(bead) < until)
        });
    }

    /// The match of a bead that the welder marked as scrap.
    pub fn scrapped(&self, bead: u32) -> Option<BeadMatch> {
        self.scrapped.contains(&bead).then_some(BeadMatch {
            role: Role::Scrap,
            basis: Basis::Marker,
            confidence: 1.0,
            or_else: None,
        })
    }

    /// Numbers of welds that were passed over at least once.
    pub fn skipped(&self) -> impl Iterator<Item = u16> {
        self.of(MarkerKind::Skip).filter_map(|marker| marker.weld)
    }

    /// The markers of one kind.
    pub fn of(&self, kind: MarkerKind) -> impl Iterator<Item = &Marker> {
        self.list.iter().filter(move |marker| marker.kind == kind)
    }

    /// Whether a marker of this kind names the weld of this number.
    pub fn has(&self, kind: MarkerKind, number: u16) -> bool {
        self.of(kind).any(|marker| marker.weld == Some(number))
    }
}

/// A marker set during a bead belongs before it in its first half and after it in its second.
pub fn middle(bead: &BeadTime) -> f64 {
    (bead.start.0 + bead.end.0) / 2.0
}

#[cfg(test)]
mod tests;
