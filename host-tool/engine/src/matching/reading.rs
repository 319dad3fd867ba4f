//! From markers and the planned order to the order that was meant.
//!
//! A marker that opens a weld may mean "and from here on as planned" or "this one only". Both readings are laid out,
//! and the alignment decides:
//!
//! - *stretches*: the planned order is cut before each opened weld and after each finished one, and the pieces are put
//!   in the order of their markers. A weld that was passed over is a piece of its own.
//! - *visits*: every opened weld stands alone, at the moment of its marker; all others follow the planned order.
//!
//! A weld that is done again is a visit in both.

use super::likelihood::{
    LEFT_OUT, MADE, OPENED_AND_LEFT_OUT, SKIPPED_AND_LEFT_OUT, SKIPPED_AND_MADE,
};
use super::{Basis, BeadTime, Free, Place, Question, Role, Said, SaidKind};

/// A way to understand order and markers: what to lay against what.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Welds in the order that was meant.
    pub slots: Vec<Slot>,
    /// Beads and visits in order of time.
    pub items: Vec<Item>,
    /// For each item, how many markers of `slots` stand before it.
    pub stretch: Vec<usize>,
    /// For each item, whether a marker stands right before it.
    pub broken: Vec<bool>,
    /// Indices of welds that a marker names.
    pub named: Vec<usize>,
}

/// A weld in the order that was meant.
#[derive(Clone, Copy, Debug)]
pub struct Slot {
    /// Index of the weld.
    pub weld: usize,
    /// How many markers stand before it.
    pub stretch: usize,
    /// Cost of its having no bead.
    pub left_out: f64,
    /// Cost of its having one.
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

/// What the welder said, mistakes and repetitions taken out.
pub struct Markers {
    said: Vec<Said>,
    scrapped: Vec<u32>,
    /// Weld numbers that no weld has.
    pub unknown: Vec<u16>,
}

impl Markers {
    pub fn new(question: &Question<'_>) -> Self {
        let mut markers = Self {
            said: Vec::new(),
            scrapped: Vec::new(),
            unknown: Vec::new(),
        };
        for said in question.said {
            let known = |weld| question.welds.iter().any(|other| other.number == weld);
            match (said.kind, said.weld) {
                (SaidKind::Undo, _) => drop(markers.said.pop()),
                (_, Some(weld)) if !known(weld) => markers.unknown.push(weld),
                _ => markers.said.push(*said),
            }
        }
        markers.unknown.sort_unstable();
        markers.unknown.dedup();
        for said in markers
            .said
            .iter()
            .filter(|said| said.kind == SaidKind::Scrap)
        {
            let before = question
                .beads
                .iter()
                .rev()
                .find(|bead| bead.start.0 <= said.at.0);
            markers.scrapped.extend(before.map(|bead| bead.number));
        }
        markers.drop_unused(question.beads);
        markers
    }

    /// Leafing through the welds sets a marker at each; only one with a bead before the next was meant.
    fn drop_unused(&mut self, beads: &[BeadTime]) {
        let opens = |said: &Said| matches!(said.kind, SaidKind::Next | SaidKind::Redo);
        let times: Vec<f64> = self
            .said
            .iter()
            .filter(|said| opens(said))
            .map(|said| said.at.0)
            .collect();
        let mut later = times.into_iter().skip(1);
        self.said.retain(|said| {
            if !opens(said) {
                return true;
            }
            let until = later.next().unwrap_or(f64::INFINITY);
            let first = first_after(beads, said.at.0);
            beads.get(first).is_some_and(|bead| middle(bead) < until)
        });
    }

    /// The place of a bead that the welder called scrap.
    pub fn scrapped(&self, bead: u32) -> Option<Place> {
        self.scrapped.contains(&bead).then_some(Place {
            role: Role::Scrap,
            basis: Basis::Marker,
            confidence: 1.0,
            or_else: None,
        })
    }

    /// Numbers of welds that were passed over at least once.
    pub fn skipped(&self) -> impl Iterator<Item = u16> {
        self.of(SaidKind::Skip).filter_map(|said| said.weld)
    }

    fn of(&self, kind: SaidKind) -> impl Iterator<Item = &Said> {
        self.said.iter().filter(move |said| said.kind == kind)
    }

    /// The ways to understand them; the plain one first, and only those that differ.
    pub fn readings(&self, question: &Question<'_>, free: &Free) -> Vec<Reading> {
        let anchors = self.anchors(question, free);
        let pieces = self.pieces(question, free, &anchors);
        let whole = pieces
            .iter()
            .all(|piece| piece.welds.len() == 1 || piece.at.is_none());
        let mut readings = vec![self.stretches(question, free, &anchors, pieces)];
        if !whole {
            readings.push(self.visits(question, free));
        }
        readings
    }

    /// First opening and last finishing of each free weld, in order of time.
    fn anchors(&self, question: &Question<'_>, free: &Free) -> Vec<Anchor> {
        let mut anchors: Vec<Anchor> = Vec::new();
        for said in &self.said {
            let opens = match said.kind {
                SaidKind::Next => true,
                SaidKind::Done => false,
                _ => continue,
            };
            let Some(weld) = index_of(question, free, said.weld) else {
                continue;
            };
            let same = |other: &Anchor| other.weld == weld && other.opens == opens;
            if !anchors.iter().any(same) {
                anchors.push(Anchor {
                    at: said.at.0,
                    weld,
                    opens,
                });
            }
        }
        anchors
    }

    /// The planned order cut at the anchors, pieces in the order of their anchors.
    fn pieces(&self, question: &Question<'_>, free: &Free, anchors: &[Anchor]) -> Vec<Piece> {
        let skipped: Vec<u16> = self.skipped().collect();
        let mut trunk: Vec<Piece> = Vec::new();
        let mut alone: Vec<Piece> = Vec::new();
        let mut cut = true;
        for &weld in &free.welds {
            let said = |opens| {
                anchors
                    .iter()
                    .find(move |one| one.weld == weld && one.opens == opens)
            };
            let opened = said(true).map(|anchor| anchor.at);
            let closed = said(false).map(|anchor| anchor.at);
            let welds = vec![weld];
            if skipped.contains(&question.welds[weld].number) && opened.or(closed).is_some() {
                // Passed over and made later: the stretch that it stood in goes on without it.
                let at = opened.or(closed);
                alone.push(Piece { at, welds });
                continue;
            }
            match trunk.last_mut() {
                Some(last) if !cut && opened.is_none() => last.welds.push(weld),
                _ => trunk.push(Piece { at: opened, welds }),
            }
            if let Some(last) = trunk.last_mut() {
                last.at = last.at.or(closed);
            }
            cut = closed.is_some();
        }
        let mut pieces: Vec<Piece> = Vec::new();
        for piece in trunk {
            match pieces.last_mut() {
                Some(before) if piece.at.is_none() => before.welds.extend(piece.welds),
                _ => pieces.push(piece),
            }
        }
        pieces.extend(alone);
        pieces.sort_by(|a, b| {
            let at = |piece: &Piece| piece.at.unwrap_or(f64::NEG_INFINITY);
            at(a).total_cmp(&at(b))
        });
        pieces
    }

    fn stretches(
        &self,
        question: &Question<'_>,
        free: &Free,
        anchors: &[Anchor],
        pieces: Vec<Piece>,
    ) -> Reading {
        let order: Vec<usize> = pieces.into_iter().flat_map(|piece| piece.welds).collect();
        let place = |weld: usize| order.iter().position(|&other| other == weld);
        let fences: Vec<(f64, usize)> = anchors
            .iter()
            .filter_map(|anchor| {
                Some((anchor.at, place(anchor.weld)? + usize::from(!anchor.opens)))
            })
            .collect();
        let visits = self.of(SaidKind::Next).filter(|said| {
            // A weld opened for the second time is visited again.
            let weld = index_of(question, free, said.weld);
            weld.is_some_and(|weld| {
                !anchors
                    .iter()
                    .any(|one| one.weld == weld && one.at == said.at.0)
            })
        });
        let visits: Vec<Said> = visits.copied().collect();
        self.lay_out(question, free, &order, &fences, &visits)
    }

    fn visits(&self, question: &Question<'_>, free: &Free) -> Reading {
        let visits: Vec<Said> = self.of(SaidKind::Next).copied().collect();
        let opened = |weld: usize| {
            visits
                .iter()
                .any(|said| said.weld == Some(question.welds[weld].number))
        };
        let order: Vec<usize> = free
            .welds
            .iter()
            .copied()
            .filter(|&weld| !opened(weld))
            .collect();
        self.lay_out(question, free, &order, &[], &visits)
    }

    fn lay_out(
        &self,
        question: &Question<'_>,
        free: &Free,
        order: &[usize],
        fences: &[(f64, usize)],
        visits: &[Said],
    ) -> Reading {
        let number = |weld: usize| question.welds[weld].number;
        let says =
            |kind: SaidKind, weld: usize| self.of(kind).any(|said| said.weld == Some(number(weld)));
        let slots = order.iter().enumerate().map(|(index, &weld)| {
            let (left_out, made) = if says(SaidKind::Next, weld) || says(SaidKind::Done, weld) {
                (OPENED_AND_LEFT_OUT, MADE)
            } else if says(SaidKind::Skip, weld) {
                (SKIPPED_AND_LEFT_OUT, SKIPPED_AND_MADE)
            } else {
                (LEFT_OUT, MADE)
            };
            Slot {
                weld,
                stretch: fences.iter().filter(|fence| fence.1 <= index).count(),
                left_out,
                made,
            }
        });
        let mut reading = Reading {
            slots: slots.collect(),
            items: Vec::new(),
            stretch: Vec::new(),
            broken: Vec::new(),
            named: (0..question.welds.len())
                .filter(|&weld| {
                    [SaidKind::Next, SaidKind::Done, SaidKind::Redo]
                        .iter()
                        .any(|&kind| says(kind, weld))
                })
                .collect(),
        };
        let redo = self
            .of(SaidKind::Redo)
            .map(|said| (said.at.0, self.redo(question, free, said)));
        let visit = visits.iter().map(|said| {
            (
                said.at.0,
                index_of(question, free, said.weld).map(Item::Visit),
            )
        });
        let mut happened: Vec<(f64, Item)> = redo
            .chain(visit)
            .filter_map(|(at, item)| Some((at, item?)))
            .collect();
        happened.extend(
            free.beads
                .iter()
                .map(|&bead| (middle(&question.beads[bead]), Item::Bead(bead))),
        );
        happened.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut before = f64::NEG_INFINITY;
        for (at, item) in happened {
            reading.items.push(item);
            reading
                .stretch
                .push(fences.iter().filter(|fence| fence.0 <= at).count());
            reading.broken.push(
                self.said
                    .iter()
                    .any(|said| said.at.0 > before && said.at.0 <= at),
            );
            before = at;
        }
        reading
    }

    fn redo(&self, question: &Question<'_>, free: &Free, said: &Said) -> Option<Item> {
        match said.weld {
            None => Some(Item::Redo(None)),
            named => index_of(question, free, named).map(|weld| Item::Redo(Some(weld))),
        }
    }
}

struct Anchor {
    at: f64,
    weld: usize,
    opens: bool,
}

struct Piece {
    at: Option<f64>,
    welds: Vec<usize>,
}

fn index_of(question: &Question<'_>, free: &Free, weld: Option<u16>) -> Option<usize> {
    let weld = weld?;
    free.welds
        .iter()
        .copied()
        .find(|&index| question.welds[index].number == weld)
}

/// A marker set during a bead belongs before it in its first half and after it in its second.
fn middle(bead: &BeadTime) -> f64 {
    (bead.start.0 + bead.end.0) / 2.0
}

fn first_after(beads: &[BeadTime], at: f64) -> usize {
    beads.partition_point(|bead| middle(bead) < at)
}
