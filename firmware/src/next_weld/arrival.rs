//! Receiving a plan over the link, weld by weld.

use super::cooling::Cooling;
use super::facts::Facts;
use super::{Arrival, NextWeld, WORDS};
use coldsquare_core::link::{MAX_PLANNED, PlanHeader, PlannedWeld, Refusal, checksum_of_plan};
use coldsquare_core::sequence::replan::Replan;
use coldsquare_core::sequence::{Item, WeldSet};

impl NextWeld {
    /// Discards the plan and starts receiving another.
    ///
    /// # Errors
    /// [`Refusal::TooManyWelds`].
    pub fn begin(&mut self, header: &PlanHeader) -> Result<(), Refusal> {
        if usize::from(header.welds) > MAX_PLANNED {
            return Err(Refusal::TooManyWelds);
        }
        self.items.clear();
        self.moments.clear();
        self.facts.clear();
        self.left.clear();
        self.arrival = Arrival::Arriving {
            expected: header.welds,
        };
        self.checksum = 0;
        self.current = None;
        self.done = WeldSet::EMPTY;
        self.state = header.before.map(i64::from);
        self.back_up = false;
        self.flips_left = header.max_flips.into();
        self.previous = None;
        self.start_c = header.start.0 as f32;
        self.replan = Replan::idle();
        self.cooling = Cooling::default();
        Ok(())
    }

    /// Takes the next weld of the plan being received. A weld that arrived before is ignored.
    ///
    /// # Errors
    /// [`Refusal::PlanOrder`] when welds do not arrive in order.
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
        let room = self.items.push(item(weld)).is_ok()
            && self.moments.push(weld.moment).is_ok()
            && self.facts.push(facts(weld)).is_ok()
            && self.left.push(weld.index).is_ok();
        self.checksum = checksum_of_plan(self.checksum, weld);
        if room {
            Ok(())
        } else {
            Err(Refusal::TooManyWelds)
        }
    }

    /// Puts the received plan to use.
    ///
    /// # Errors
    /// [`Refusal::PlanChecksum`] when it is incomplete or not the one that was sent.
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
}

fn item(weld: &PlannedWeld) -> Item<WORDS> {
    let mut before = WeldSet::EMPTY;
    (0..u16::from(weld.index))
        .filter(|k| weld.before & (1 << k) != 0)
        .for_each(|k| before.insert(k));
    Item {
        before,
        side: weld.side,
        at_mm: weld.at_mm,
    }
}

fn facts(weld: &PlannedWeld) -> Facts {
    Facts {
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
    }
}
