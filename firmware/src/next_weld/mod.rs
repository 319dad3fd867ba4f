//! Which weld is next, on the logger itself: the plan that was sent, what was really done, and what follows from it.
//!
//! ```text
//! plan, weld by weld -> NextWeld --next, wait or go--> panel, live values
//!                          ^  '--slices--> Replan (another order), Cooling (how long to wait)
//!     welder's presses, measured heat
//! ```
//!
//! As long as welds are made as planned, the order stays the computer's. A weld that is skipped or gets a tenth more or
//! less heat than planned starts a search for a better order of what is left, balanced about the neutral axes with the
//! heat that was measured. It runs in slices between samples; meanwhile the order that stood goes on. No allocation;
//! all of it is smaller than 8 KiB (checked when it is compiled).

mod cooling;
#[cfg(test)]
mod tests;

use crate::console::log;
use coldsquare_core::link::{
    Advice, COMPONENTS, MAX_PLANNED, PlanHeader, PlannedWeld, Refusal, checksum_of_plan,
};
use coldsquare_core::sequence::balance::ShrinkageBalance;
use coldsquare_core::sequence::replan::{Replan, Situation};
use coldsquare_core::sequence::{Item, WeldSet};
use cooling::Cooling;
use heapless::Vec;

/// Heat this far from the planned, as a share of it, changes the order. Common practice, no source: it is about what a
/// welder's hand varies by.
const AS_PLANNED: f64 = 0.10;

/// Steps of a search in one slice.
const STEPS: usize = 4;

/// What of a weld does not go into the search.
#[derive(Clone, Copy, Debug, Default)]
struct Facts {
    number: u16,
    joint: u8,
    walls: u8,
    energy_j: f32,
    efficiency: f32,
    length_mm: f32,
    /// 0 where nobody minds.
    interpass_c: f32,
    wall_mm: f32,
    girth_mm: f32,
    /// Arc energy that it got.
    measured_j: f32,
    /// When the arc went out, s since the log began.
    ended_s: f32,
}

/// How far a plan has come over the link.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Arrival {
    /// There is none.
    #[default]
    None,
    /// So many welds are expected.
    Arriving { expected: u8 },
    /// It is whole, and gone by.
    Whole,
}

/// The plan and how far it is done.
#[derive(Debug)]
pub struct NextWeld {
    arrival: Arrival,
    checksum: u32,
    items: Vec<Item, MAX_PLANNED>,
    moments: Vec<[i32; COMPONENTS], MAX_PLANNED>,
    facts: Vec<Facts, MAX_PLANNED>,
    /// Welds left, next first.
    left: Vec<u8, MAX_PLANNED>,
    /// The weld that beads are taken for.
    current: Option<u8>,
    done: WeldSet,
    state: [i64; COMPONENTS],
    back_up: bool,
    flips_left: u16,
    previous: Option<u16>,
    start_c: f32,
    replan: Replan<[i64; COMPONENTS]>,
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

    /// Whether there is a plan to go by.
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

    /// Forgets the plan; another one arrives.
    ///
    /// # Errors
    /// [`Refusal::TooManyWelds`].
    pub fn begin(&mut self, head: &PlanHeader) -> Result<(), Refusal> {
        if usize::from(head.welds) > MAX_PLANNED {
            return Err(Refusal::TooManyWelds);
        }
        self.items.clear();
        self.moments.clear();
        self.facts.clear();
        self.left.clear();
        self.arrival = Arrival::Arriving {
            expected: head.welds,
        };
        self.checksum = 0;
        self.current = None;
        self.done = WeldSet::EMPTY;
        self.state = head.before.map(i64::from);
        self.back_up = false;
        self.flips_left = head.max_flips.into();
        self.previous = None;
        self.start_c = head.start.0 as f32;
        self.replan = Replan::idle();
        self.cooling = Cooling::default();
        Ok(())
    }

    /// Takes the next weld of a plan that arrives, or one that it has already.
    ///
    /// # Errors
    /// [`Refusal::PlanOrder`] when it is neither.
    pub fn add(&mut self, weld: &PlannedWeld) -> Result<(), Refusal> {
        let Arrival::Arriving { expected } = self.arrival else {
            return Err(Refusal::PlanOrder);
        };
        let index = usize::from(weld.index);
        if index < self.items.len() {
            return Ok(());
        }
        if index > self.items.len() || weld.index >= expected {
            return Err(Refusal::PlanOrder);
        }
        let mut before = WeldSet::EMPTY;
        (0..u16::from(weld.index))
            .filter(|k| weld.before & (1 << k) != 0)
            .for_each(|k| before.insert(k));
        let item = Item {
            before,
            side: weld.side,
            at_mm: weld.at_mm,
        };
        let facts = Facts {
            number: weld.number,
            joint: weld.joint,
            walls: weld.walls,
            energy_j: weld.energy.0 as f32,
            efficiency: weld.efficiency,
            length_mm: weld.length.0 as f32,
            interpass_c: weld.interpass.map_or(0.0, |limit| limit.0 as f32),
            wall_mm: weld.wall.0 as f32,
            girth_mm: weld.girth.0 as f32,
            measured_j: 0.0,
            ended_s: 0.0,
        };
        let room = self.items.push(item).is_ok()
            && self.moments.push(weld.moment).is_ok()
            && self.facts.push(facts).is_ok()
            && self.left.push(weld.index).is_ok();
        self.checksum = checksum_of_plan(self.checksum, weld);
        if room {
            Ok(())
        } else {
            Err(Refusal::TooManyWelds)
        }
    }

    /// Goes by the plan that has arrived.
    ///
    /// # Errors
    /// [`Refusal::PlanChecksum`] when it is not whole or not the one that was sent.
    pub fn end(&mut self, checksum: u32) -> Result<(), Refusal> {
        let whole = match self.arrival {
            Arrival::None => false,
            Arrival::Arriving { expected } => usize::from(expected) == self.items.len(),
            Arrival::Whole => true,
        };
        if !whole || checksum != self.checksum {
            return Err(Refusal::PlanChecksum);
        }
        self.arrival = Arrival::Whole;
        Ok(())
    }

    /// Number of the weld that beads are taken for.
    #[must_use]
    pub fn current(&self) -> Option<u16> {
        self.number(self.current?)
    }

    /// Number of the weld after it.
    #[must_use]
    pub fn next(&self) -> Option<u16> {
        self.number(*self.left.first()?)
    }

    /// Welds still to do, the present one not counted.
    #[must_use]
    pub fn left(&self) -> u8 {
        if self.has_plan() {
            self.left.len() as u8
        } else {
            0
        }
    }

    /// Arc energy that is planned for the present weld, J; 0 without one.
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

    /// The present weld is done, with this arc energy at this time; the next one is the present one now.
    pub fn complete(&mut self, measured_j: f64, now_s: f64) {
        self.finish(measured_j, now_s);
        self.take_next();
    }

    /// The present weld is left for later; the next one is the present one now.
    pub fn skip(&mut self, measured_j: f64, now_s: f64) {
        if measured_j > 0.0 {
            // It has got heat: it counts as done, and what is wrong with it is the log's business.
            return self.complete(measured_j, now_s);
        }
        let skipped = self.current.take();
        self.take_next();
        if let Some(weld) = skipped {
            // There was room for it before.
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

    fn search(&mut self) {
        log!("planning {=usize} welds again", self.left.len());
        self.replan.begin(&self.left);
    }

    /// Whether something is being worked out, so that a slice is worth more than a look at the clock.
    #[must_use]
    pub fn is_busy(&self) -> bool {
        !self.replan.is_done() || self.cooling.is_busy()
    }

    /// One slice of whatever there is to work out. `now_s` is the time since the log began. True while there is more.
    pub fn slice(&mut self, now_s: f64) -> bool {
        if self.replan.is_done() {
            return self.cool(now_s);
        }
        let balance = ShrinkageBalance::new(&self.moments);
        // The present weld will be made whatever follows it.
        let (mut done, mut state, mut back_up, mut flips_left, mut previous) = (
            self.done,
            self.state,
            self.back_up,
            self.flips_left,
            self.previous,
        );
        if let Some(weld) = self.current {
            let index = usize::from(weld);
            if let (Some(moment), Some(item)) = (self.moments.get(index), self.items.get(index)) {
                for (sum, part) in state.iter_mut().zip(moment) {
                    *sum = sum.saturating_add(i64::from(*part));
                }
                if item.side.needs_flip(back_up) {
                    back_up = !back_up;
                    flips_left = flips_left.saturating_sub(1);
                }
                done.insert(weld.into());
                previous = Some(weld.into());
            }
        }
        let situation = Situation {
            objective: &balance,
            items: &self.items,
            done: &done,
            back_up,
            flips_left,
            previous,
        };
        let more = (0..STEPS).all(|_| self.replan.step(&situation, &state));
        if !more {
            self.left.clear();
            // As many as there were.
            let _ = self.left.extend_from_slice(self.replan.order());
        }
        true
    }

    /// What to do. `begun` says that the present weld has got heat already, so that the next one is meant.
    #[must_use]
    pub fn advice(&self, begun: bool) -> Advice {
        if !self.has_plan() {
            return Advice::NoPlan;
        }
        let Some(weld) = self.meant(begun) else {
            return Advice::Finished;
        };
        let turn = self.items.get(usize::from(weld)).is_some_and(|item| {
            let now = self
                .current
                .filter(|_| begun)
                .and_then(|k| self.items.get(usize::from(k)));
            let back_up = match now {
                Some(now) => self.back_up ^ now.side.needs_flip(self.back_up),
                None => self.back_up,
            };
            item.side.needs_flip(back_up)
        });
        if !self.replan.is_done() {
            Advice::Replanning
        } else if turn {
            Advice::Flip
        } else {
            match self.cooling.wait_s() {
                0 => Advice::Go,
                seconds => Advice::Wait(seconds),
            }
        }
    }

    /// Number of the weld that the advice is about.
    #[must_use]
    pub fn advised(&self, begun: bool) -> Option<u16> {
        self.number(self.meant(begun)?)
    }

    fn meant(&self, begun: bool) -> Option<u8> {
        match self.current {
            Some(weld) if !begun => Some(weld),
            _ => self.left.first().copied(),
        }
    }

    /// One slice of how long the joint of the weld to come must cool.
    fn cool(&mut self, now_s: f64) -> bool {
        let weld = self.current.or(self.left.first().copied());
        let Some(weld) = weld.filter(|_| self.has_plan()) else {
            return false;
        };
        self.cooling.slice(weld, &self.facts, self.start_c, now_s)
    }
}
