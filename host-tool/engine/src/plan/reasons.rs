//! Why a weld comes when it does: found by looking at the finished order, and said in a welder's words.
//!
//! The thresholds below are ours; the wording is in `describe`.

use super::model::{Reason, Wait, WaitFor};
use super::moments::COMPONENTS;
use super::parts::PlannedPart;
use crate::job::model::{Job, Point};
use crate::units::Units;
use coldsquare_core::sequence::Step;
use coldsquare_core::units::Seconds;

type Moment = [f64; COMPONENTS];

/// Two welds oppose each other when the cosine between their moments is below this.
const OPPOSED: f64 = -0.5;
/// A weld has little effect when its moment is below this share of the greatest.
const SMALL: f64 = 0.1;
/// Values that differ by less than this share are equal: sums of floating-point numbers differ by noise.
const NOISE: f64 = 1e-9;

/// The reason for each step of an order of parts.
#[must_use]
pub fn reasons(
    job: &Job,
    parts: &[PlannedPart],
    moments: &[Moment],
    centre: Point,
    order: &[Step],
) -> Vec<Reason> {
    let greatest = moments.iter().map(|m| dot(m, m).sqrt()).fold(0.0, f64::max);
    let mut answered = vec![false; parts.len()];
    let mut sum = [0.0; COMPONENTS];
    let mut reasons = Vec::with_capacity(order.len());
    for (place, step) in order.iter().enumerate() {
        let this = usize::from(step.weld);
        let opposed = most_opposed(moments, &order[..place], &answered, this);
        let previous = place.checked_sub(1).map(|p| usize::from(order[p].weld));
        let joint = |k: usize| job.welds[parts[k].weld].joint;
        let out = |k: usize| (parts[k].middle() - centre).length();
        let reason = match (previous, opposed) {
            (None, _) => Reason::FirstWeld,
            (Some(last), _)
                if parts[last].weld != parts[this].weld && joint(last) == joint(this) =>
            {
                Reason::SameJoint
            }
            (_, Some(other)) => {
                answered[other] = true;
                answered[this] = true;
                Reason::Opposes {
                    weld: job.welds[parts[other].weld].number,
                }
            }
            _ if dot(&moments[this], &moments[this]).sqrt() <= (SMALL + NOISE) * greatest => {
                Reason::LittleEffect
            }
            _ if dot(&sum, &moments[this]) < -NOISE * greatest * greatest => Reason::PullsBack,
            _ if parts[this].number.1 > 1 => Reason::LongWeld,
            (Some(last), _) if out(this) > out(last) * (1.0 + NOISE) => Reason::OutFromTheMiddle,
            _ => Reason::NextNearest,
        };
        for (total, part) in sum.iter_mut().zip(moments[this]) {
            *total += part;
        }
        reasons.push(reason);
    }
    reasons
}

/// Of the welds done and not yet opposed by another, the one that pulls most against this one; the latest of equals.
fn most_opposed(
    moments: &[Moment],
    done: &[Step],
    answered: &[bool],
    this: usize,
) -> Option<usize> {
    let cosine = |other: usize| {
        let (a, b) = (&moments[this], &moments[other]);
        dot(a, b) / (dot(a, a) * dot(b, b)).sqrt()
    };
    let candidates = done.iter().map(|step| usize::from(step.weld));
    candidates
        .filter(|&other| !answered[other] && cosine(other) < OPPOSED - NOISE)
        .reduce(|best, other| {
            if cosine(other) < cosine(best) + NOISE {
                other
            } else {
                best
            }
        })
}

fn dot(a: &Moment, b: &Moment) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

impl Wait {
    /// The wait and what it is for, in words.
    #[must_use]
    pub fn describe(self, units: Units) -> String {
        let long = duration(self.seconds);
        match self.what {
            WaitFor::Joint { limit } => format!(
                "joint still above its interpass temperature of {} for {long}",
                units.temperature(limit)
            ),
            WaitFor::Machine { duty } => format!(
                "let the machine cool for {long}: its duty cycle is {:.0} % at this current",
                100.0 * duty
            ),
        }
    }
}

/// A time in words: "40 s", "2 min 30 s", "1 h 5 min".
#[must_use]
pub fn duration(time: Seconds) -> String {
    let seconds = time.0.round() as u64;
    let (hours, minutes, rest) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    match (hours, minutes, rest) {
        (0, 0..=1, _) => format!("{seconds} s"),
        (0, _, 0) => format!("{minutes} min"),
        (0, _, _) => format!("{minutes} min {rest} s"),
        _ => format!("{hours} h {minutes} min"),
    }
}

impl Reason {
    /// The reason in words.
    #[must_use]
    pub fn describe(self) -> String {
        match self {
            Self::TackCorner => "corners first, in diagonal pairs".into(),
            Self::TackRest => "the rest, alternating sides".into(),
            Self::OtherFace { welds: 1 } => "one weld is left for the other face".into(),
            Self::OtherFace { welds } => format!("the next {welds} welds are on the other face"),
            Self::OtherFaceTacks { joints: 1 } => {
                "one joint is left to tack on the other face".into()
            }
            Self::OtherFaceTacks { joints } => {
                format!("the next {joints} joints are tacked on the other face")
            }
            Self::ClampDone => "the welds that needed this clamp are done".into(),
            Self::ClampInTheWay { weld } => format!("in the way of weld {weld}"),
            Self::FirstWeld => "first weld".into(),
            Self::Opposes { weld } => format!("opposes weld {weld}"),
            Self::SameJoint => "finishes this joint first".into(),
            Self::LongWeld => "next part of a long weld".into(),
            Self::PullsBack => "offsets the shrinkage so far".into(),
            Self::LittleEffect => "little effect here".into(),
            Self::OutFromTheMiddle => "next one out from the middle".into(),
            Self::NextNearest => "next nearest".into(),
        }
    }
}
