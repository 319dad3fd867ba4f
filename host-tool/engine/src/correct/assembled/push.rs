//! A member of the frame pressed over blocks, and let go.

use super::frame::AssembledFrame;
use crate::correct::bar::bar;
use crate::correct::press_curve::PressCurve;
use crate::formulas::bending::{Press, Pressed, strain_limit};
use crate::job::model::Point;
use crate::structure::{Push, Pushed, StructureError, YieldingBeam};

/// Where a frame is strained hardest, against what that member stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hardest {
    /// Index of the member.
    pub member: usize,
    /// Greatest fibre strain.
    pub strain: f64,
    /// The strain that this member stands.
    pub limit: f64,
}

impl Hardest {
    fn share(&self) -> f64 {
        self.strain / self.limit
    }
}

/// What pressing one member does to the frame.
#[derive(Clone, Debug)]
pub struct PressedFrame {
    /// The member itself.
    pub curve: PressCurve,
    /// At each point of the curve, how much the bow of each of the others changes for good, mm.
    pub others_mm: Vec<Vec<f64>>,
    /// At each point of the curve, where the frame is strained hardest.
    pub hardest: Vec<Hardest>,
    /// At each point of the curve, the greatest strain of a structural member over that of its first yield.
    pub structural: Vec<f64>,
}

/// A curve goes on to this many times the travel at first yield.
const MAX_TIMES_TRAVEL: f64 = 12.0;
const STEPS: usize = 60;

impl AssembledFrame<'_> {
    /// Presses the member away from the side it bows to, on two blocks and at two places about its middle, deeper and
    /// deeper. `others` are other bows: member and direction.
    ///
    /// # Errors
    /// [`StructureError`] when it cannot be solved.
    pub fn press(
        &self,
        side: Point,
        press: Press,
        others: &[(usize, Point)],
    ) -> Result<PressedFrame, StructureError> {
        let middle = 0.5 * press.length_mm;
        let at = |from_middle: f64, towards: Point| {
            self.moves(self.member, middle + from_middle, towards)
        };
        let both = |apart: f64, towards: Point| {
            at(-0.5 * apart, towards).plus(1.0, &at(0.5 * apart, towards))
        };
        let blocks = both(press.span_mm, side);
        let force = both(press.apart_mm, -side).plus(1.0, &blocks);
        let mut readings = vec![self.bow(self.member, -side)];
        readings.extend(
            others
                .iter()
                .map(|&(member, towards)| self.bow(member, towards)),
        );
        let push = Push {
            // Half of the force at each of the two.
            force: crate::structure::Probe::default().plus(0.5, &force),
            travel: at(0.0, -side).plus(0.5, &blocks),
            readings,
        };
        let yielding = self.yielding();
        let times: Vec<f64> = (0..=STEPS)
            .map(|k| MAX_TIMES_TRAVEL.powf(k as f64 / STEPS as f64))
            .collect();
        let states = self.structure.push(&push, &yielding, &times)?;
        Ok(self.pressed(press, &states, &yielding))
    }

    fn pressed(&self, press: Press, states: &[Pushed], yielding: &[YieldingBeam]) -> PressedFrame {
        let limits: Vec<Limits> = (0..self.job.members.len())
            .map(|m| self.limits(m))
            .collect();
        let used = |state: &Pushed| -> Vec<Used> {
            let pairs = yielding.iter().zip(&state.curvatures_per_mm);
            let one = |(beam, curvature): (&YieldingBeam, &f64)| {
                let member = self.lengths[beam.beam].member;
                let limit = limits[member];
                let side = usize::from(beam.about_z);
                Used {
                    hardest: Hardest {
                        member,
                        strain: curvature.abs() * limit.reach_mm[side],
                        limit: limit.strain[side],
                    },
                    structural: if self.job.structural.has(member) {
                        beam.law.at(*curvature)[0].abs() / beam.law.yield_moment_n_mm()
                    } else {
                        0.0
                    },
                }
            };
            pairs.map(one).collect()
        };
        let used: Vec<Vec<Used>> = states.iter().map(used).collect();
        let points = states.iter().zip(&used).map(|(state, used)| Pressed {
            force_n: state.force_n,
            travel_mm: state.travel_mm,
            kept_over_span_mm: state.kept_travel_mm,
            kept_over_length_mm: state.kept[0],
            strain: used
                .iter()
                .filter(|one| one.hardest.member == self.member)
                .fold(0.0, |most, one| one.hardest.strain.max(most)),
        });
        PressedFrame {
            curve: PressCurve::new(press, points.collect()),
            others_mm: states
                .iter()
                .map(|state| state.kept[1..].to_vec())
                .collect(),
            hardest: used
                .iter()
                .filter_map(|used| {
                    let hardest = used.iter().map(|one| one.hardest);
                    hardest.max_by(|a, b| a.share().total_cmp(&b.share()))
                })
                .collect(),
            structural: used
                .iter()
                .map(|used| used.iter().fold(0.0, |most, one| one.structural.max(most)))
                .collect(),
        }
    }

    fn limits(&self, member: usize) -> Limits {
        let one = |about_z: bool| {
            let bar = bar(
                &self.job.members[member],
                self.side(member, about_z),
                &self.job.material,
            );
            // A section that cannot be bent by the formulas is not bent at all.
            bar.map_or([0.0, f64::INFINITY], |bar| {
                [bar.strain(1.0), strain_limit(bar.profile(), bar.metal())]
            })
        };
        let [y, z] = [one(false), one(true)];
        Limits {
            reach_mm: [y[0], z[0]],
            strain: [y[1], z[1]],
        }
    }
}

/// Distance of the outer fibre and the strain it stands, bent about local y and local z.
#[derive(Clone, Copy)]
struct Limits {
    reach_mm: [f64; 2],
    strain: [f64; 2],
}

#[derive(Clone, Copy)]
struct Used {
    hardest: Hardest,
    structural: f64,
}

impl PressedFrame {
    /// Permanent change of the other bows when the member keeps this much, mm, with a yield so many times the grade's.
    #[must_use]
    pub fn others_at(&self, yield_ratio: f64, kept_mm: f64) -> Vec<f64> {
        let count = self.others_mm.first().map_or(0, Vec::len);
        let (k, part) = self.place(yield_ratio, kept_mm);
        (0..count)
            .map(|other| {
                let at = |k: usize| self.others_mm.get(k).map_or(0.0, |row| row[other]);
                yield_ratio * (at(k) + part * (at(k + 1) - at(k)))
            })
            .collect()
    }

    /// Where the frame is strained hardest when the member keeps this much.
    #[must_use]
    pub fn hardest_at(&self, yield_ratio: f64, kept_mm: f64) -> Option<Hardest> {
        let (k, part) = self.place(yield_ratio, kept_mm);
        let (low, high) = (self.hardest.get(k)?, self.hardest.get(k + 1)?);
        Some(Hardest {
            strain: yield_ratio * (low.strain + part * (high.strain - low.strain)),
            ..*high
        })
    }

    /// Whether a structural member yields when the member keeps this much.
    #[must_use]
    pub fn strains_structural(&self, yield_ratio: f64, kept_mm: f64) -> bool {
        let (k, _) = self.place(yield_ratio, kept_mm);
        self.structural.get(k + 1).is_some_and(|&used| used > 1.0)
    }

    /// The point of the curve before this permanent bow, and how far it is on the way to the next.
    fn place(&self, yield_ratio: f64, kept_mm: f64) -> (usize, f64) {
        let (points, kept) = (self.curve.points(), kept_mm / yield_ratio);
        let above = points.partition_point(|point| point.kept_over_length_mm < kept);
        let above = above.clamp(1, points.len().saturating_sub(1).max(1));
        let at = |k: usize| points.get(k).map_or(0.0, |point| point.kept_over_length_mm);
        let rise = at(above) - at(above - 1);
        let part = if rise > 0.0 {
            ((kept - at(above - 1)) / rise).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (above - 1, part)
    }
}
