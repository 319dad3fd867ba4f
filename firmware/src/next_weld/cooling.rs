//! How long a joint must cool before the next weld on it, calculated one term at a time.
//!
//! The terms are those of [`coldsquare_core::interpass`]. Each takes some ten thousand instructions without a
//! floating-point unit, so one term is one slice. Bisection then finds the time.

use super::facts::Facts;
use coldsquare_core::interpass::{Conduction, HeatPulse, STILL_AIR_W_M2K, TubeJoint};
use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres, Seconds};

/// The longest wait shown, s. A joint that needs longer shows this.
const LONGEST_S: f64 = 1800.0;
/// Halvings: 1800 s over 2^9 is 3.5 s.
const HALVINGS: u8 = 9;
/// How often the wait is calculated again, s.
const EVERY_S: f64 = 2.0;

/// A wait being calculated, and the last result.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cooling {
    /// The weld it is for: its index plus 1; 0 for none.
    weld: u8,
    started_s: f32,
    wait_s: u16,
    /// The wait lies between these, counted from `started_s`.
    cool_s: f32,
    hot_s: f32,
    halvings: u8,
    /// The next term, and their sum so far, K.
    term: u8,
    rise_k: f32,
    busy: bool,
    /// The first check is whether the joint is cool already.
    checking_now: bool,
}

impl Cooling {
    /// Nothing calculated yet.
    pub(super) const NONE: Self = Self {
        weld: 0,
        started_s: 0.0,
        wait_s: 0,
        cool_s: 0.0,
        hot_s: 0.0,
        halvings: 0,
        term: 0,
        rise_k: 0.0,
        busy: false,
        checking_now: false,
    };

    pub(super) const fn wait_s(&self) -> u16 {
        self.wait_s
    }

    pub(super) const fn is_busy(&self) -> bool {
        self.busy
    }

    /// One term; false if there is nothing to do.
    pub(super) fn slice(&mut self, weld: u8, facts: &[Facts], start_c: f32, now_s: f64) -> bool {
        let Some(own) = facts.get(usize::from(weld)) else {
            return false;
        };
        if !self.busy {
            let stale = now_s - f64::from(self.started_s) >= EVERY_S;
            if self.weld == weld + 1 && !stale {
                return false;
            }
            *self = Self {
                weld: weld + 1,
                started_s: now_s as f32,
                wait_s: if self.weld == weld + 1 {
                    self.wait_s
                } else {
                    0
                },
                cool_s: LONGEST_S as f32,
                busy: own.interpass_c > 0.0,
                checking_now: true,
                ..Self::default()
            };
            return self.busy;
        }
        match facts.get(usize::from(self.term)) {
            Some(other) => {
                if other.joint == own.joint && other.measured_j > 0.0 {
                    self.rise_k += rise_k(own, other, start_c, self.at_s());
                }
                self.term += 1;
            }
            None => self.judge(start_c + self.rise_k > own.interpass_c),
        }
        true
    }

    /// The wait being tried.
    fn tried_s(&self) -> f32 {
        if self.checking_now {
            0.0
        } else {
            0.5 * (self.hot_s + self.cool_s)
        }
    }

    fn at_s(&self) -> f32 {
        self.started_s + self.tried_s()
    }

    fn judge(&mut self, hot: bool) {
        let tried = self.tried_s();
        (self.term, self.rise_k) = (0, 0.0);
        if self.checking_now {
            self.checking_now = false;
            if !hot {
                (self.wait_s, self.busy) = (0, false);
            }
            return;
        }
        if hot {
            self.hot_s = tried;
        } else {
            self.cool_s = tried;
        }
        self.halvings += 1;
        if self.halvings == HALVINGS {
            // On the safe side, and never 0 while it is hot.
            self.wait_s = (self.cool_s as u16).saturating_add(1);
            self.busy = false;
        }
    }
}

/// Temperature rise of a joint from one weld at a time, K.
fn rise_k(own: &Facts, other: &Facts, start_c: f32, at_s: f32) -> f32 {
    let joint = TubeJoint {
        metal: Conduction::MILD_STEEL,
        wall: Millimetres(own.wall_mm.into()),
        girth: Millimetres(own.girth_mm.into()),
        walls: own.walls,
        start: Celsius(start_c.into()),
        loss_w_m2k: STILL_AIR_W_M2K,
    };
    let per_mm = other.measured_j * other.efficiency / other.length_mm;
    let pulse = HeatPulse {
        heat_input: JoulesPerMillimetre(per_mm.into()),
        length: Millimetres(other.length_mm.into()),
        ended: Seconds(0.0),
    };
    // Until the heat has gone through the wall the model is not valid, and the joint counts as hot as it can be.
    let elapsed =
        f64::from(at_s - other.ended_s).max(2.0 + 0.15 * f64::from(own.wall_mm * own.wall_mm));
    joint
        .temperature(&[pulse], Seconds(elapsed))
        .map_or(0.0, |hot| (hot.0 - joint.start.0) as f32)
}
