//! The next weld, decided on the logger: from the plan that was sent and from what was really welded.
//!
//! ```text
//! plan, weld by weld -> NextWeld --next, wait or go--> panel, live readings
//!                          ^  '--slices--> Replan (another order), Cooling (how long to wait)
//!     welder's presses, measured heat
//! ```
//!
//! As long as welding follows the plan, the order stays that of the computer. If a weld is skipped, or gets a tenth more or
//! less heat than planned, the logger searches for a better order of the welds left, balanced about the neutral axes with
//! the heat that was measured. The search runs in slices between samples; meanwhile the old order stays in use. No
//! allocation; all of it is smaller than 8 KiB (checked at compile time).

mod advice;
mod arrival;
mod cooling;
mod facts;
mod replanning;
#[cfg(test)]
mod tests;

use coldsquare_core::link::{COMPONENTS, MAX_PLANNED};
use coldsquare_core::sequence::replan::Replan;
use coldsquare_core::sequence::{Item, WeldSet, words};
use cooling::Cooling;
use facts::Facts;
use heapless::Vec;

/// Heat that differs from the plan by more than this share starts a new search. Common practice, no source: it is about the
/// scatter of a welder's hand.
const AS_PLANNED: f64 = 0.10;

/// How far a plan has come over the link.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Arrival {
    /// There is no plan.
    #[default]
    None,
    /// It is being received.
    Arriving { expected: u8 },
    /// It is complete and in use.
    Whole,
}

/// The words of a set of the welds of a plan.
const WORDS: usize = words(MAX_PLANNED);

/// The plan and how far it is done.
#[derive(Debug)]
pub struct NextWeld {
    arrival: Arrival,
    checksum: u32,
    items: Vec<Item<WORDS>, MAX_PLANNED>,
    moments: Vec<[i32; COMPONENTS], MAX_PLANNED>,
    facts: Vec<Facts, MAX_PLANNED>,
    /// Welds left, the next one first.
    left: Vec<u8, MAX_PLANNED>,
    /// The current weld.
    current: Option<u8>,
    done: WeldSet<WORDS>,
    state: [i64; COMPONENTS],
    back_up: bool,
    flips_left: u16,
    previous: Option<u16>,
    start_c: f32,
    replan: Replan<[i64; COMPONENTS], WORDS>,
    cooling: Cooling,
}

const _: () = assert!(size_of::<NextWeld>() <= 8 * 1024);

impl Default for NextWeld {
    fn default() -> Self {
        Self::new()
    }
}

impl NextWeld {
    /// No plan.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            arrival: Arrival::None,
            checksum: 0,
            items: Vec::new(),
            moments: Vec::new(),
            facts: Vec::new(),
            left: Vec::new(),
            current: None,
            done: WeldSet::EMPTY,
            state: [0; COMPONENTS],
            back_up: false,
            flips_left: 0,
            previous: None,
            start_c: 20.0,
            replan: Replan::idle(),
            cooling: Cooling::NONE,
        }
    }

    /// Whether a plan is in use.
    #[must_use]
    pub fn has_plan(&self) -> bool {
        self.arrival == Arrival::Whole
    }

    /// Welds of the plan; 0 without one.
    #[must_use]
    pub fn planned(&self) -> u8 {
        if self.has_plan() {
            self.items.len() as u8
        } else {
            0
        }
    }

    /// Number of the current weld.
    #[must_use]
    pub fn current(&self) -> Option<u16> {
        self.number(self.current?)
    }

    /// Number of the weld after it.
    #[must_use]
    pub fn next(&self) -> Option<u16> {
        self.number(*self.left.first()?)
    }

    /// Welds still to do, without the current one.
    #[must_use]
    pub fn left(&self) -> u8 {
        if self.has_plan() {
            self.left.len() as u8
        } else {
            0
        }
    }

    /// Planned arc energy of the current weld, J; 0 without one.
    #[must_use]
    pub fn planned_j(&self) -> f64 {
        self.current
            .and_then(|k| self.facts.get(usize::from(k)))
            .map_or(0.0, |facts| facts.energy_j.into())
    }

    fn number(&self, weld: u8) -> Option<u16> {
        let facts = self.facts.get(usize::from(weld));
        facts.filter(|_| self.has_plan()).map(|facts| facts.number)
    }

    /// Completes the current weld, with this arc energy at this time, and goes to the next.
    pub fn complete(&mut self, measured_j: f64, now_s: f64) {
        self.finish(measured_j, now_s);
        self.take_next();
    }

    /// Leaves the current weld for later and goes to the next.
    pub fn skip(&mut self, measured_j: f64, now_s: f64) {
        if measured_j > 0.0 {
            // It has had heat, so it counts as done; the log shows what is wrong with it.
            return self.complete(measured_j, now_s);
        }
        let skipped = self.current.take();
        self.take_next();
        if let Some(weld) = skipped {
            // It was in here before, so there is room.
            let _ = self.left.push(weld);
            self.search();
        }
    }

    fn take_next(&mut self) {
        if !self.has_plan() {
            return;
        }
        let ready = self.left.iter().position(|weld| {
            let item = self.items.get(usize::from(*weld));
            item.is_some_and(|item| item.before.is_subset_of(&self.done))
        });
        self.current = ready.map(|at| self.left.remove(at));
        self.cooling = Cooling::default();
        if self.current.is_some() && !self.replan.is_done() {
            self.search();
        }
    }

    fn finish(&mut self, measured_j: f64, now_s: f64) {
        let Some(weld) = self.current.take() else {
            return;
        };
        let index = usize::from(weld);
        let (Some(facts), Some(moment), Some(item)) = (
            self.facts.get_mut(index),
            self.moments.get(index),
            self.items.get(index),
        ) else {
            return;
        };
        facts.measured_j = measured_j as f32;
        facts.ended_s = now_s as f32;
        let share = (measured_j / f64::from(facts.energy_j)).clamp(0.0, 1000.0);
        for (sum, part) in self.state.iter_mut().zip(moment) {
            *sum = sum.saturating_add((f64::from(*part) * share) as i64);
        }
        if item.side.needs_flip(self.back_up) {
            self.back_up = !self.back_up;
            self.flips_left = self.flips_left.saturating_sub(1);
        }
        self.done.insert(weld.into());
        self.previous = Some(weld.into());
        if (share - 1.0).abs() > AS_PLANNED {
            self.search();
        }
    }
}
