//! From markers and the planned order to the order that the welder meant.
//!
//! A marker that opens a weld can mean "go on as planned from here" or "this one only". Both are tried, and the
//! alignment decides:
//!
//! - *as planned from here*: the planned order is cut before each opened weld and after each finished one, and the
//!   sections are put in the order of their markers. A weld that was passed over is a section of its own.
//! - *visits*: every opened weld is made on its own, at the time of its marker; all others follow the planned order.
//!
//! A weld that is done again is a visit in both.

use super::likelihood::{
    LEFT_OUT, MADE, OPENED_AND_LEFT_OUT, SKIPPED_AND_LEFT_OUT, SKIPPED_AND_MADE,
};
use super::markers::{Markers, middle};
use super::model::{Marker, MarkerKind, MatchInput, Unassigned};

/// One way to read order and markers: what to align with what.
#[derive(Clone, Debug)]
pub struct Interpretation {
    /// Welds in the order that was meant.
    pub slots: Vec<Slot>,
    /// Beads and visits in order of time.
    pub items: Vec<Item>,
    /// For each item, how many of the markers in `slots` come before it.
    pub markers_before: Vec<usize>,
    /// For each item, whether a marker comes right before it.
    pub after_marker: Vec<bool>,
    /// Indices of welds that a marker names.
    pub named: Vec<usize>,
}

/// A weld in the order that was meant.
#[derive(Clone, Copy, Debug)]
pub struct Slot {
    /// Index of the weld.
    pub weld: usize,
    /// How many markers come before it.
    pub markers_before: usize,
    /// Cost of having no bead.
    pub left_out: f64,
    /// Cost of having a bead.
    pub made: f64,
}

/// Something that happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Item {
    /// A bead, by index.
    Bead(usize),
    /// The beads that follow are on this weld, by index.
    Visit(usize),
    /// The beads that follow replace those of this weld, by index; `None` for the weld before.
    Redo(Option<usize>),
}

impl Markers {
    /// The ways to read them: the plain one first, then the other if it differs.
    pub fn interpretations(
        &self,
        input: &MatchInput<'_>,
        unassigned: &Unassigned,
    ) -> Vec<Interpretation> {
        let anchors = self.anchors(input, unassigned);
        let sections = self.sections(input, unassigned, &anchors);
        let same = sections
            .iter()
            .all(|section| section.welds.len() == 1 || section.at.is_none());
        let mut interpretations = vec![self.as_planned(input, unassigned, &anchors, sections)];
        if !same {
            interpretations.push(self.visits(input, unassigned));
        }
        interpretations
    }

    /// First opening and first finishing of each unassigned weld, in order of time.
    fn anchors(&self, input: &MatchInput<'_>, unassigned: &Unassigned) -> Vec<Anchor> {
        let mut anchors: Vec<Anchor> = Vec::new();
        for marker in &self.list {
            let opens = match marker.kind {
                MarkerKind::Next => true,
                MarkerKind::Done => false,
                _ => continue,
            };
            let Some(weld) = index_of(input, unassigned, marker.weld) else {
                continue;
            };
            let same = |other: &Anchor| other.weld == weld && other.opens == opens;
            if !anchors.iter().any(same) {
                anchors.push(Anchor {
                    at: marker.at.0,
                    weld,
                    opens,
                });
            }
        }
        anchors
    }

    /// The planned order cut at the anchors, sections in the order of their anchors.
    fn sections(
        &self,
        input: &MatchInput<'_>,
        unassigned: &Unassigned,
        anchors: &[Anchor],
    ) -> Vec<Section> {
        let skipped: Vec<u16> = self.skipped().collect();
        let mut trunk: Vec<Section> = Vec::new();
        let mut alone: Vec<Section> = Vec::new();
        let mut cut = true;
        for &weld in &unassigned.welds {
            let time = |opens| {
                let mut anchors = anchors.iter();
                anchors
                    .find(|one| one.weld == weld && one.opens == opens)
                    .map(|anchor| anchor.at)
            };
            let (opened, finished) = (time(true), time(false));
            let at = opened.or(finished);
            let welds = vec![weld];
            if skipped.contains(&input.welds[weld].number) && at.is_some() {
                // Passed over and made later: its section goes on without it.
                alone.push(Section { at, welds });
                continue;
            }
            match trunk.last_mut() {
                Some(last) if !cut && opened.is_none() => last.welds.push(weld),
                _ => trunk.push(Section { at: opened, welds }),
            }
            if let Some(last) = trunk.last_mut() {
                last.at = last.at.or(finished);
            }
            cut = finished.is_some();
        }
        let mut sections = joined(trunk);
        sections.extend(alone);
        let at = |section: &Section| section.at.unwrap_or(f64::NEG_INFINITY);
        sections.sort_by(|a, b| at(a).total_cmp(&at(b)));
        sections
    }

    fn as_planned(
        &self,
        input: &MatchInput<'_>,
        unassigned: &Unassigned,
        anchors: &[Anchor],
        sections: Vec<Section>,
    ) -> Interpretation {
        let order: Vec<usize> = sections.into_iter().flat_map(|one| one.welds).collect();
        let place = |weld: usize| order.iter().position(|&other| other == weld);
        let fences: Vec<(f64, usize)> = anchors
            .iter()
            .filter_map(|anchor| {
                Some((anchor.at, place(anchor.weld)? + usize::from(!anchor.opens)))
            })
            .collect();
        let visits = self.of(MarkerKind::Next).filter(|marker| {
            // A weld opened for the second time is visited again.
            let weld = index_of(input, unassigned, marker.weld);
            weld.is_some_and(|weld| {
                !anchors
                    .iter()
                    .any(|one| one.weld == weld && one.at == marker.at.0)
            })
        });
        let visits: Vec<Marker> = visits.copied().collect();
        self.interpretation(input, unassigned, &order, &fences, &visits)
    }

    fn visits(&self, input: &MatchInput<'_>, unassigned: &Unassigned) -> Interpretation {
        let visits: Vec<Marker> = self.of(MarkerKind::Next).copied().collect();
        let opened = |weld: usize| {
            visits
                .iter()
                .any(|marker| marker.weld == Some(input.welds[weld].number))
        };
        let order: Vec<usize> = unassigned
            .welds
            .iter()
            .copied()
            .filter(|&weld| !opened(weld))
            .collect();
        self.interpretation(input, unassigned, &order, &[], &visits)
    }

    /// Welds in this order and all that happened. Each fence is the time of a marker and its place in the order.
    fn interpretation(
        &self,
        input: &MatchInput<'_>,
        unassigned: &Unassigned,
        order: &[usize],
        fences: &[(f64, usize)],
        visits: &[Marker],
    ) -> Interpretation {
        let number = |weld: usize| input.welds[weld].number;
        let slots = order.iter().enumerate().map(|(index, &weld)| {
            let (left_out, made) = self.slot_costs(number(weld));
            Slot {
                weld,
                markers_before: fences.iter().filter(|fence| fence.1 <= index).count(),
                left_out,
                made,
            }
        });
        let named = |&weld: &usize| {
            [MarkerKind::Next, MarkerKind::Done, MarkerKind::Redo]
                .iter()
                .any(|&kind| self.has(kind, number(weld)))
        };
        let mut interpretation = Interpretation {
            slots: slots.collect(),
            items: Vec::new(),
            markers_before: Vec::new(),
            after_marker: Vec::new(),
            named: (0..input.welds.len()).filter(named).collect(),
        };
        let mut before = f64::NEG_INFINITY;
        for (at, item) in self.items(input, unassigned, visits) {
            interpretation.items.push(item);
            interpretation
                .markers_before
                .push(fences.iter().filter(|fence| fence.0 <= at).count());
            interpretation.after_marker.push(
                self.list
                    .iter()
                    .any(|marker| marker.at.0 > before && marker.at.0 <= at),
            );
            before = at;
        }
        interpretation
    }

    /// Costs of a weld being left out and being made.
    fn slot_costs(&self, number: u16) -> (f64, f64) {
        if self.has(MarkerKind::Next, number) || self.has(MarkerKind::Done, number) {
            (OPENED_AND_LEFT_OUT, MADE)
        } else if self.has(MarkerKind::Skip, number) {
            (SKIPPED_AND_LEFT_OUT, SKIPPED_AND_MADE)
        } else {
            (LEFT_OUT, MADE)
        }
    }

    /// Redone welds, visits and beads with their times, in order of time.
    fn items(
        &self,
        input: &MatchInput<'_>,
        unassigned: &Unassigned,
        visits: &[Marker],
    ) -> Vec<(f64, Item)> {
        let index = |marker: &Marker| index_of(input, unassigned, marker.weld);
        let redo = self.of(MarkerKind::Redo).filter_map(|marker| {
            let weld = match marker.weld {
                None => None,
                Some(_) => Some(index(marker)?),
            };
            Some((marker.at.0, Item::Redo(weld)))
        });
        let visits = visits
            .iter()
            .filter_map(|marker| Some((marker.at.0, Item::Visit(index(marker)?))));
        let mut items: Vec<(f64, Item)> = redo.chain(visits).collect();
        let beads = unassigned.beads.iter();
        items.extend(beads.map(|&bead| (middle(&input.beads[bead]), Item::Bead(bead))));
        items.sort_by(|a, b| a.0.total_cmp(&b.0));
        items
    }
}

/// Where a marker opens or finishes a weld for the first time.
struct Anchor {
    at: f64,
    weld: usize,
    opens: bool,
}

/// Welds that follow each other as planned, from the time of a marker on.
struct Section {
    at: Option<f64>,
    welds: Vec<usize>,
}

/// Sections without a marker go on from the section before.
fn joined(trunk: Vec<Section>) -> Vec<Section> {
    let mut sections: Vec<Section> = Vec::new();
    for section in trunk {
        match sections.last_mut() {
            Some(before) if section.at.is_none() => before.welds.extend(section.welds),
            _ => sections.push(section),
        }
    }
    sections
}

fn index_of(input: &MatchInput<'_>, unassigned: &Unassigned, weld: Option<u16>) -> Option<usize> {
    let weld = weld?;
    unassigned
        .welds
        .iter()
        .copied()
        .find(|&index| input.welds[index].number == weld)
}

#[cfg(test)]
mod tests;
