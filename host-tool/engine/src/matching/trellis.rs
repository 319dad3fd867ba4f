//! The trellis: every way in which a log can be a build, with the cost of each step of it.
//!
//! A node stands for "the first n items of the log have happened and the first p welds of the order are settled".
//! [`Trellis::transitions`] lists the steps from a node to later ones. A weld is left out right before the next weld
//! that is made, so each way is exactly one path and no chance is counted twice.

use super::error::MatchError;
use super::holes::{Between, between};
use super::interpretation::{Interpretation, Item};
use super::likelihood::{
    DurationModel, EXTRA, MADE, MARKER_WRONG, OPENED_AND_LEFT_OUT, PIECE_OF_A_TACK, RUN_IN_A_HOLE,
    RUN_LEFT_OUT, SAME_HOLE, STOPPED, UNFINISHED, median, pause,
};
use super::model::MatchInput;
use super::tack_limit::tack_limit;
use std::ops::Range;

/// Nodes of the largest trellis: 8 million take about 250 MB.
const MAX_NODES: usize = 8_000_000;
/// Beads that one weld may have beyond its number of runs.
const MAX_STOPS: usize = 5;
/// Being on the wrong side of more markers than this costs no more.
const MAX_MARKERS_WRONG: usize = 2;

/// How far a path has come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Node {
    /// Items that have happened.
    pub items: usize,
    /// Welds that are settled.
    pub welds: usize,
    /// The last step left a weld out.
    pub gap: bool,
}

/// What a step of a path does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TransitionKind {
    /// The next weld has no bead.
    #[default]
    LeaveOut,
    /// The next welds, this many, are lost in a hole of the log.
    Lost(u8),
    /// The next bead fits no weld.
    Extra,
    /// The next beads, this many, make the next weld.
    Weld(u8),
    /// The next item is a visit, and the beads after it, this many, belong to it.
    Visit(u8),
    /// The log ends before the build does: no weld from this one on has a bead.
    Stop(usize),
}

/// A step from one node to a later one.
#[derive(Clone, Debug)]
pub struct Transition {
    /// What it does.
    pub kind: TransitionKind,
    /// Its cost, nats.
    pub cost: f64,
    /// Where it leads.
    pub to: Node,
    /// Index of the weld that gets the beads.
    pub weld: Option<usize>,
    /// The items that it uses up and that are beads.
    pub beads: Range<usize>,
}

/// All ways to read the log as one interpretation has it.
pub struct Trellis<'a> {
    pub input: &'a MatchInput<'a>,
    pub interpretation: &'a Interpretation,
    pub durations: DurationModel,
    /// Arc time of the items before each, summed.
    arc_time: Vec<f64>,
    /// How many beads follow each other from each item on.
    in_a_row: Vec<usize>,
    /// Logarithm of the expected arc time of each weld, by index.
    expected: Vec<f64>,
    /// Logarithm of the arc time of the beads from each item on, by how many.
    seen: Vec<Vec<f64>>,
    /// Cost of pauses inside a weld, at the items before each, summed.
    pauses: Vec<f64>,
    /// Cost of markers inside a weld, at the items before each, summed.
    markers: Vec<f64>,
    /// Arc time of the items before each that may be lost in holes of the log, summed.
    missing: Vec<f64>,
    /// Beads among the items before each that begin in the hole in which the one before ends, summed.
    same_hole: Vec<usize>,
    /// Arc times below this are tacks, s.
    tack_below: f64,
    /// What the holes before each item may have swallowed; the last entry is for those after all items.
    holes: Vec<Option<Between>>,
}

impl<'a> Trellis<'a> {
    /// # Errors
    /// [`MatchError::TooMuch`].
    pub fn new(
        input: &'a MatchInput<'a>,
        interpretation: &'a Interpretation,
        durations: DurationModel,
    ) -> Result<Self, MatchError> {
        let items = &interpretation.items;
        let nodes = (items.len() + 1).saturating_mul(2 * (input.welds.len() + 1));
        if nodes > MAX_NODES {
            return Err(MatchError::TooMuch {
                beads: items.len(),
                welds: input.welds.len(),
            });
        }
        let mut trellis = Self {
            input,
            interpretation,
            durations,
            arc_time: vec![0.0],
            in_a_row: vec![0; items.len() + 1],
            expected: input
                .welds
                .iter()
                .map(|weld| weld.arc_time.0.ln())
                .collect(),
            seen: Vec::new(),
            pauses: vec![0.0],
            markers: vec![0.0],
            missing: vec![0.0],
            same_hole: vec![0],
            tack_below: tack_limit(input).0,
            holes: between(input, interpretation),
        };
        for item in items {
            let own = match *item {
                Item::Bead(bead) => input.beads[bead].arc_time.0,
                _ => 0.0,
            };
            let before = trellis.arc_time.last().copied().unwrap_or_default();
            trellis.arc_time.push(before + own);
        }
        for (index, item) in items.iter().enumerate().rev() {
            if matches!(item, Item::Bead(_)) {
                trellis.in_a_row[index] = trellis.in_a_row[index + 1] + 1;
            }
        }
        trellis.sum_up();
        Ok(trellis)
    }

    /// The same trellis with other durations.
    pub fn with_durations(self, durations: DurationModel) -> Self {
        Self { durations, ..self }
    }

    /// Sums that every node would otherwise calculate again.
    fn sum_up(&mut self) {
        let items = self.interpretation.items.len();
        let between: Vec<Option<f64>> = (0..items).map(|item| self.pause_before(item)).collect();
        let mut pauses: Vec<f64> = between.iter().copied().flatten().collect();
        let usual = median(&mut pauses);
        let (mut pauses, mut markers) = (0.0, 0.0);
        for (between, marked) in between.iter().zip(&self.interpretation.after_marker) {
            pauses += between.map_or(0.0, |length| pause(length, usual));
            markers += if *marked { MARKER_WRONG } else { 0.0 };
            self.pauses.push(pauses);
            self.markers.push(markers);
        }
        for item in 0..items {
            let (missing, same) = (self.missing[item], self.same_hole[item]);
            self.missing.push(missing + self.missing_of(item));
            self.same_hole
                .push(same + usize::from(self.begins_where_the_last_ended(item)));
        }
        let runs = self.input.welds.iter().map(|weld| weld.runs).max();
        let max_beads = usize::from(runs.unwrap_or(1).max(1)) + MAX_STOPS;
        let seen = |n: usize| {
            let counts = 0..=self.in_a_row[n].min(max_beads);
            counts
                .map(|count| self.arc_time(&(n..n + count)).ln())
                .collect()
        };
        self.seen = (0..items).map(seen).collect();
    }

    /// The two nodes at which everything has happened and is settled; the second after a weld left out.
    pub fn ends(&self) -> [Node; 2] {
        [false, true].map(|gap| Node {
            items: self.interpretation.items.len(),
            welds: self.interpretation.slots.len(),
            gap,
        })
    }

    /// Where a node is in a table of all nodes.
    pub fn index(&self, node: Node) -> usize {
        (node.items * (self.interpretation.slots.len() + 1) + node.welds) * 2
            + usize::from(node.gap)
    }

    /// All nodes, each before those that its transitions lead to.
    pub fn nodes(&self) -> impl DoubleEndedIterator<Item = Node> + use<> {
        let (items, slots) = (
            self.interpretation.items.len(),
            self.interpretation.slots.len(),
        );
        (0..=items).flat_map(move |items| {
            (0..=slots).flat_map(move |welds| [false, true].map(|gap| Node { items, welds, gap }))
        })
    }

    /// Arc time of these items, s.
    pub fn arc_time(&self, beads: &Range<usize>) -> f64 {
        self.arc_time[beads.end] - self.arc_time[beads.start]
    }

    /// Time between two beads that follow each other in the items.
    fn pause_before(&self, item: usize) -> Option<f64> {
        let before = item.checked_sub(1)?;
        let (Item::Bead(before), Item::Bead(after)) = (
            self.interpretation.items[before],
            self.interpretation.items[item],
        ) else {
            return None;
        };
        let beads = self.input.beads;
        Some((beads[after].start.0 - beads[before].end.0).max(0.0))
    }

    /// Arc time of an item that may be lost, s.
    fn missing_of(&self, item: usize) -> f64 {
        match self.interpretation.items[item] {
            Item::Bead(bead) => self.input.beads[bead].may_be_missing.0,
            _ => 0.0,
        }
    }

    /// Two pieces face each other across a hole.
    fn begins_where_the_last_ended(&self, item: usize) -> bool {
        let Some(before) = item.checked_sub(1) else {
            return false;
        };
        let (Item::Bead(first), Item::Bead(second)) = (
            self.interpretation.items[before],
            self.interpretation.items[item],
        ) else {
            return false;
        };
        let (first, second) = (&self.input.beads[first], &self.input.beads[second]);
        let is_piece = |missing: f64| missing > 0.0;
        is_piece(first.may_be_missing.0)
            && is_piece(second.may_be_missing.0)
            && self.input.holes.iter().any(|hole| {
                hole.from.0 >= first.end.0 - 1e-6 && hole.until.0 <= second.start.0 + 1e-6
            })
    }

    /// Welds lost in the holes at a node, and the cost of none being lost.
    fn lost_transitions(&self, node: Node, visit: &mut impl FnMut(Transition)) -> f64 {
        let Some(hole) = self.holes[node.items].filter(|_| !node.gap) else {
            return 0.0;
        };
        let (mut runs, mut arc_time) = (0, 0.0);
        for count in 1..=hole.max_welds() {
            let Some(slot) = self.interpretation.slots.get(node.welds + count - 1) else {
                break;
            };
            let weld = &self.input.welds[slot.weld];
            runs += usize::from(weld.runs.max(1));
            arc_time += weld.arc_time.0 * self.durations.ratio();
            let Some(cost) = hole.cost(runs, arc_time) else {
                break;
            };
            visit(Transition {
                kind: TransitionKind::Lost(count as u8),
                cost,
                to: Node {
                    items: node.items,
                    welds: node.welds + count,
                    gap: true,
                },
                weld: None,
                beads: node.items..node.items,
            });
        }
        hole.none_lost()
    }

    /// All steps from a node.
    pub fn transitions(&self, node: Node, mut visit: impl FnMut(Transition)) {
        let none_lost = self.lost_transitions(node, &mut visit);
        let mut visit = |step: Transition| {
            visit(Transition {
                cost: step.cost + none_lost,
                ..step
            });
        };
        self.weld_transitions(node, &mut visit);
        if node.gap {
            return;
        }
        let Interpretation { slots, items, .. } = self.interpretation;
        let (n, p) = (node.items, node.welds);
        match items.get(n) {
            Some(Item::Bead(bead)) => visit(Transition {
                kind: TransitionKind::Extra,
                cost: self.extra_cost(*bead),
                to: Node {
                    items: n + 1,
                    ..node
                },
                weld: None,
                beads: n..n + 1,
            }),
            Some(&Item::Visit(weld)) => self.visit_transitions(node, Some(weld), visit),
            Some(&Item::Redo(weld)) => {
                let before = p.checked_sub(1).map(|p| slots[p].weld);
                self.visit_transitions(node, weld.or(before), visit);
            }
            None if p < slots.len() => visit(Transition {
                kind: TransitionKind::Stop(p),
                cost: UNFINISHED,
                to: self.ends()[0],
                weld: None,
                beads: n..n,
            }),
            None => {}
        }
    }

    /// The next weld of the order is left out, or made of the next beads.
    fn weld_transitions(&self, node: Node, visit: &mut impl FnMut(Transition)) {
        let (n, p) = (node.items, node.welds);
        let Some(slot) = self.interpretation.slots.get(p) else {
            return;
        };
        visit(Transition {
            kind: TransitionKind::LeaveOut,
            cost: slot.left_out,
            to: Node {
                items: n,
                welds: p + 1,
                gap: true,
            },
            weld: None,
            beads: n..n,
        });
        for count in 1..=self.max_beads(n, slot.weld) {
            let beads = n..n + count;
            let marker = self.marker_cost(&beads, slot.markers_before);
            visit(Transition {
                kind: TransitionKind::Weld(count as u8),
                cost: slot.made + self.weld_cost(&beads, slot.weld) + marker,
                to: Node {
                    items: n + count,
                    welds: p + 1,
                    gap: false,
                },
                weld: Some(slot.weld),
                beads,
            });
        }
    }

    /// A marker names the weld that the next beads make.
    fn visit_transitions(
        &self,
        node: Node,
        weld: Option<usize>,
        mut visit: impl FnMut(Transition),
    ) {
        let first = node.items + 1;
        let max_beads = weld.map_or(0, |weld| self.max_beads(first, weld));
        for count in 0..=max_beads {
            let beads = first..first + count;
            let cost = match weld {
                Some(weld) if count > 0 => MADE + self.weld_cost(&beads, weld),
                // A bead follows, and the marker is wrong about it too.
                _ if self.in_a_row[first] > 0 => OPENED_AND_LEFT_OUT + MARKER_WRONG,
                _ => OPENED_AND_LEFT_OUT,
            };
            visit(Transition {
                kind: TransitionKind::Visit(count as u8),
                cost,
                to: Node {
                    items: beads.end,
                    ..node
                },
                weld: weld.filter(|_| count > 0),
                beads,
            });
        }
    }

    fn max_beads(&self, n: usize, weld: usize) -> usize {
        let runs = usize::from(self.input.welds[weld].runs.max(1));
        self.in_a_row[n].min(runs + MAX_STOPS)
    }

    /// Cost of these beads being this weld.
    fn weld_cost(&self, beads: &Range<usize>, weld: usize) -> f64 {
        let runs = usize::from(self.input.welds[weld].runs.max(1));
        let count = beads.len();
        let mut expected = self.expected[weld];
        if count < runs {
            expected += (count as f64 / runs as f64).ln();
        }
        let seen = self.seen[beads.start][count];
        let missing = self.missing[beads.end] - self.missing[beads.start];
        let mut cost = if missing > 0.0 {
            let at_most = (self.arc_time(beads) + missing).ln();
            self.durations.cost_of_piece(seen, at_most, expected)
        } else {
            self.durations.cost(seen, expected)
        };
        let same_hole = self.same_hole[beads.end] - self.same_hole[beads.start + 1];
        let left_out = if self.is_beside_a_hole(beads) {
            RUN_IN_A_HOLE
        } else {
            RUN_LEFT_OUT
        };
        cost += SAME_HOLE * same_hole as f64;
        cost += STOPPED * (count - same_hole).saturating_sub(runs) as f64;
        cost += left_out * runs.saturating_sub(count) as f64;
        cost += self.markers[beads.end] - self.markers[beads.start + 1];
        if runs == 1 {
            cost += self.pauses[beads.end] - self.pauses[beads.start + 1];
        }
        cost
    }

    /// Cost of a bead fitting no weld: little for a short piece, which may be what is left of a tack.
    fn extra_cost(&self, bead: usize) -> f64 {
        let bead = &self.input.beads[bead];
        if bead.may_be_missing.0 > 0.0 && bead.arc_time.0 < self.tack_below {
            PIECE_OF_A_TACK
        } else {
            EXTRA
        }
    }

    fn is_beside_a_hole(&self, beads: &Range<usize>) -> bool {
        self.holes[beads.start..=beads.end]
            .iter()
            .any(Option::is_some)
    }

    /// Cost of beads on the other side of markers than their weld is in the order.
    fn marker_cost(&self, beads: &Range<usize>, markers_before: usize) -> f64 {
        let away = |item: usize| self.interpretation.markers_before[item].abs_diff(markers_before);
        let farthest = beads.clone().map(away).max().unwrap_or_default();
        MARKER_WRONG * farthest.min(MAX_MARKERS_WRONG) as f64
    }
}

#[cfg(test)]
mod tests;
