//! Jobs and logs for the tests of matching.

use super::interpretation::{Interpretation, Item, Slot};
use super::likelihood::{DurationModel, LEFT_OUT, MADE};
use super::model::{BeadTime, ExpectedWeld, Hole, Marker, MarkerKind, MatchInput};
use super::trellis::Trellis;
use coldsquare_core::units::Seconds;

/// Fails unless the two are the same to the digits that costs are worked out by hand with.
pub fn assert_near(value: f64, expected: f64) {
    assert!(
        (value - expected).abs() < 2e-5,
        "{value} in place of {expected}"
    );
}

/// A weld of one run.
pub fn weld(number: u16, arc_time_s: f64) -> ExpectedWeld {
    ExpectedWeld {
        number,
        arc_time: Seconds(arc_time_s),
        runs: 1,
    }
}

/// A whole bead whose arc burns without a break.
pub fn bead(number: u32, start_s: f64, arc_time_s: f64) -> BeadTime {
    BeadTime {
        number,
        start: Seconds(start_s),
        end: Seconds(start_s + arc_time_s),
        arc_time: Seconds(arc_time_s),
        may_be_missing: Seconds(0.0),
    }
}

/// Nothing but welds and beads.
pub fn input<'a>(welds: &'a [ExpectedWeld], beads: &'a [BeadTime]) -> MatchInput<'a> {
    MatchInput {
        welds,
        beads,
        markers: &[],
        holes: &[],
        by_hand: &[],
        tack_below: None,
    }
}

/// A log with a job, read in one way.
pub struct Log {
    pub welds: Vec<ExpectedWeld>,
    pub beads: Vec<BeadTime>,
    pub holes: Vec<Hole>,
    pub interpretation: Interpretation,
    pub durations: DurationModel,
}

impl Log {
    /// Welds have an expected arc time (s) and runs and are numbered from 1. Beads have a pause before them and an arc
    /// time (both s). Nothing is known of the welder; no markers, no holes.
    pub fn new(welds: &[(f64, u8)], beads: &[(f64, f64)]) -> Self {
        let mut now = 0.0;
        let beads: Vec<BeadTime> = (1..)
            .zip(beads)
            .map(|(number, &(pause, arc_time))| {
                let bead = bead(number, now + pause, arc_time);
                now = bead.end.0;
                bead
            })
            .collect();
        let slot = |weld| Slot {
            weld,
            markers_before: 0,
            left_out: LEFT_OUT,
            made: MADE,
        };
        let numbered = (1..).zip(welds);
        let mut log = Self {
            welds: numbered
                .map(|(number, &(arc_time, runs))| ExpectedWeld {
                    runs,
                    ..weld(number, arc_time)
                })
                .collect(),
            holes: Vec::new(),
            interpretation: Interpretation {
                slots: (0..welds.len()).map(slot).collect(),
                items: Vec::new(),
                markers_before: Vec::new(),
                after_marker: Vec::new(),
                named: Vec::new(),
            },
            durations: DurationModel::unknown(),
            beads,
        };
        log.happened((0..log.beads.len()).map(Item::Bead).collect());
        log
    }

    /// What happened in place of one bead after another.
    pub fn happened(&mut self, items: Vec<Item>) {
        self.interpretation.markers_before = vec![0; items.len()];
        self.interpretation.after_marker = vec![false; items.len()];
        self.interpretation.items = items;
    }

    /// A hole of the log.
    pub fn hole(&mut self, from_s: f64, until_s: f64, beads: Option<u32>) {
        self.holes.push(Hole {
            from: Seconds(from_s),
            until: Seconds(until_s),
            beads,
        });
    }

    pub fn input(&self) -> MatchInput<'_> {
        MatchInput {
            holes: &self.holes,
            ..input(&self.welds, &self.beads)
        }
    }

    /// Asks its trellis.
    pub fn trellis<T>(&self, ask: impl FnOnce(&Trellis<'_>) -> T) -> T {
        let input = self.input();
        let trellis = Trellis::new(&input, &self.interpretation, self.durations);
        ask(&trellis.expect("a small job"))
    }
}

/// A marker.
pub fn marker(kind: MarkerKind, at_s: f64, weld: impl Into<Option<u16>>) -> Marker {
    Marker {
        at: Seconds(at_s),
        kind,
        weld: weld.into(),
    }
}
