//! Laying welds one after the other on the structure as it then stands.
//!
//! A weld joins its pair without force as things stand, takes up the tacks it runs over, then shrinks: it closes the
//! joint until it yields and its strips pull on the members that go on past it. A clamp that the job lets off on the way
//! lets go of its forces then; when the last weld is cold the others come off and do the same.

use super::answers::{Measure, measures};
use super::build::Build;
use super::check;
use super::condensed::Condensed;
use super::coordinates::{
    CLAMP_STIFFNESS_N_PER_MM, Layout, REST_STIFFNESS_N_PER_MM, Tie, seam_ties, tack_ties,
};
use super::deposit::{Deposit, Way, stiffness, tacks_under};
use super::effect::{Factors, closing_mm, strip_force_n, turning_rad, yield_force_n};
use super::error::MovementError;
use super::frame::{FrameModel, Seam};
use super::holding::{ClampsOn, Releases};
use super::matrix6::Matrix6;
use super::part::Part;
use super::pieces::piece_count;
use super::prepare::{self, Solved};
use super::update::Tile;
use super::walk::Walk;
use crate::job::model::Job;
use crate::material::Material;
use crate::structure::{Frame, Probe};
use coldsquare_core::formula::FormulaError;

/// What holds the frame to the table.
#[derive(Clone, Debug)]
pub(super) struct Held {
    /// Three ties a clamp.
    pub(super) clamps: Vec<Tie>,
    /// The most each clamp holds before it slips, N.
    pub(super) limits_n: Vec<f64>,
    /// Six ties that stand for lying on the table.
    pub(super) rests: Vec<Tie>,
    /// Whether the frame lies on its rests from the start, for want of clamps that hold it.
    pub(super) lies_on_rests: bool,
    /// When each clamp comes off.
    pub(super) releases: Releases,
}

/// How much each piece of weld shrinks, by index of its seam.
#[derive(Clone, Debug)]
pub struct Shrinkage {
    pub(super) seams: Vec<SeamShrinkage>,
}

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SeamShrinkage {
    pub(super) closing_mm: f64,
    /// The greatest force across it, N.
    pub(super) limit_n: f64,
    pub(super) turning_rad: f64,
    pub(super) strips_n: [f64; 2],
}

/// A job prepared once, on which any order can be tried.
#[derive(Clone, Debug)]
pub struct Engine {
    pub(super) model: FrameModel,
    material: Material,
    pub(super) layout: Layout,
    pub(super) measures: Vec<Measure>,
    pub(super) condensed: Condensed,
    /// The rows of the measures over all that welds can push on, six at a time.
    pub(super) measuring: Vec<Vec<Tile>>,
    /// The frame before the first weld, and what each coordinate reads of it.
    pub(super) first: Frame,
    pub(super) probes: Vec<Probe>,
    /// For each tack its pair and what it adds to the pair's stiffness.
    pub(super) tacks: Vec<(usize, Matrix6)>,
    /// For each weld its pieces.
    pub(super) deposits: Vec<Vec<Deposit>>,
    /// For each weld whether each of its stretches holds where it begins and where it ends, so that there is one deposit
    /// more than stretches.
    pub(super) holds_at_both_ends: Vec<bool>,
    pub(super) held: Held,
}

/// What one order does to the frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Each measure, mm, when the last weld is cold and the clamps are off.
    pub released_mm: Vec<f64>,
    /// Each measure, mm, when the last weld is cold and the clamps still hold that stay to the end.
    pub clamped_mm: Vec<f64>,
    /// Force in each clamp just before it comes off, N: x, y, z.
    pub clamp_forces_n: Vec<[f64; 3]>,
    /// How far each clamp has slipped by then, mm.
    pub clamp_slips_mm: Vec<f64>,
    /// For each weld of the job how far its joint stood open there just before it was laid, mm: less than nothing
    /// where the sides had moved into each other, which in the shop means that they press.
    pub gaps_mm: Vec<f64>,
    /// Each measure after each weld, and after the clamps that then come off, mm; empty unless asked for.
    pub steps_mm: Vec<Vec<f64>>,
}

impl Engine {
    /// Prepares a job: solves its structure once and condenses it to what welds can do to it.
    ///
    /// # Errors
    /// [`MovementError`] when the job is too large, has a member or weld that cannot be, or a member that nothing
    /// holds.
    pub fn new(job: &Job) -> Result<Self, MovementError> {
        check::check(job)?;
        let model = FrameModel::new(job);
        let measures = measures(job, &model);
        let layout = Layout::new(&model, measures.len());
        check::check_size(layout)?;
        let tacks: Vec<_> = (0..model.tacks.len())
            .map(|t| {
                let pair = &model.pairs[model.tacks[t].pair];
                let wall = pair
                    .members
                    .map(|m| job.members[m].section.properties().thinnest_wall_mm);
                tack_ties(&model, layout, t, wall[0].min(wall[1]), &job.material)
            })
            .collect();
        let one = |coordinate: usize, stiffness: f64| Tie {
            direction: vec![(coordinate, 1.0)],
            stiffness,
        };
        let releases = Releases::of(job);
        let held = Held {
            clamps: (0..model.clamps.len())
                .flat_map(|c| (0..3).map(move |k| (c, k)))
                .map(|(c, k)| one(layout.clamp(c, k), CLAMP_STIFFNESS_N_PER_MM))
                .collect(),
            limits_n: job
                .clamps
                .iter()
                .map(|clamp| clamp.force.map_or(f64::INFINITY, |limit| limit.0))
                .collect(),
            rests: (0..6)
                .map(|r| one(layout.rest(r), REST_STIFFNESS_N_PER_MM))
                .collect(),
            lies_on_rests: !ClampsOn::all(&releases).hold(&releases),
            releases,
        };
        let mut deposits = vec![Vec::new(); job.welds.len()];
        for (index, seam) in model.seams.iter().enumerate() {
            let ties = seam_ties(&model, layout, seam, &job.material);
            let first = layout.pair(seam.pair, 0);
            deposits[seam.weld].push(Deposit {
                seam: index,
                stiffness: stiffness(&ties, first),
                across: Way::of(&ties[1], first),
                turn: Way::of(&ties[3], first),
                melted: tacks_under(&model, seam),
            });
        }
        let Solved {
            condensed,
            first,
            probes,
        } = prepare::condense(job, &model, &measures, &held, &tacks)
            .map_err(|error| MovementError::of_structure(job, error))?;
        let holds_at_both_ends = job.welds.iter().zip(&deposits);
        let holds_at_both_ends = holds_at_both_ends
            .map(|(weld, deposits)| deposits.len() > piece_count(job, weld))
            .collect();
        let tacks = tacks
            .into_iter()
            .enumerate()
            .map(|(t, ties)| {
                let pair = model.tacks[t].pair;
                (pair, stiffness(&ties, layout.pair(pair, 0)))
            })
            .collect();
        let rows = layout.measure(0)..layout.size();
        Ok(Self {
            measuring: condensed.by_six(rows, layout.measure(0)),
            model,
            material: job.material.clone(),
            layout,
            measures,
            condensed,
            first,
            probes,
            tacks,
            deposits,
            holds_at_both_ends,
            held,
        })
    }

    /// How much each weld shrinks for its net heat per length (J/mm, by index of the weld, all runs together).
    ///
    /// # Errors
    /// [`MovementError::Rule`] when a heat or a wall is outside what the rules hold for.
    pub fn shrinkage(
        &self,
        net_heat_j_per_mm: &[f64],
        factors: &Factors,
    ) -> Result<Shrinkage, MovementError> {
        self.shrinkage_each(net_heat_j_per_mm, &vec![*factors; self.welds()])
    }

    /// The same with factors of its own for each weld, by index.
    ///
    /// # Errors
    /// [`MovementError::Rule`] when a heat or a wall is outside what the rules hold for.
    pub fn shrinkage_each(
        &self,
        net_heat_j_per_mm: &[f64],
        each: &[Factors],
    ) -> Result<Shrinkage, MovementError> {
        let seams = self.model.seams.iter().map(|seam| {
            self.seam_shrinkage(seam, net_heat_j_per_mm[seam.weld], &each[seam.weld])
                .map_err(|rule| MovementError::Rule {
                    // Numbers follow the order drawn, from 1.
                    weld: u16::try_from(seam.weld + 1).unwrap_or(u16::MAX),
                    rule,
                })
        });
        Ok(Shrinkage {
            seams: seams.collect::<Result<_, _>>()?,
        })
    }

    fn seam_shrinkage(
        &self,
        seam: &Seam,
        heat: f64,
        factors: &Factors,
    ) -> Result<SeamShrinkage, FormulaError> {
        let mut strips_n = [0.0; 2];
        for (force, strip) in strips_n.iter_mut().zip(&seam.strips) {
            let factor = if strip.along {
                factors.longitudinal
            } else {
                factors.transverse_strip
            };
            // The heat that went in is spread over the stretch on which it pulls.
            let per_length = heat * strip.share * seam.length_mm / strip.length_mm;
            *force = factor.value * strip_force_n(&self.material, per_length)?;
        }
        let turning_rad = if seam.walls_turn {
            factors.angular.value * turning_rad(&self.material, heat, seam.walls_mm)?
        } else {
            0.0
        };
        Ok(SeamShrinkage {
            limit_n: factors.yield_stress.value
                * yield_force_n(&self.material, seam.length_mm, seam.throat_mm),
            closing_mm: factors.transverse.value * closing_mm(&self.material, heat, seam.walls_mm)?,
            turning_rad,
            strips_n,
        })
    }

    /// The measures, in the order of every outcome.
    #[must_use]
    pub fn measures(&self) -> &[Measure] {
        &self.measures
    }

    /// The beam model.
    #[must_use]
    pub const fn model(&self) -> &FrameModel {
        &self.model
    }

    /// Number of welds.
    #[must_use]
    pub fn welds(&self) -> usize {
        self.deposits.len()
    }

    /// Lays the welds in `order` (indices), then lets the clamps off.
    #[must_use]
    pub fn lay(&self, order: &[usize], shrinkage: &Shrinkage) -> Outcome {
        self.lay_parts(&self.whole_welds(order), shrinkage)
    }

    /// Like [`Engine::lay`], and tells each measure after each weld.
    #[must_use]
    pub fn lay_step_by_step(&self, order: &[usize], shrinkage: &Shrinkage) -> Outcome {
        self.lay_parts_step_by_step(&self.whole_welds(order), shrinkage)
    }

    /// Like [`Engine::lay_parts`], and tells each measure after each part.
    #[must_use]
    pub fn lay_parts_step_by_step(&self, parts: &[Part], shrinkage: &Shrinkage) -> Outcome {
        Walk::new(self, parts, shrinkage, &self.held.releases).outcome(parts, true)
    }

    /// Lays parts of welds in this order, each stretch of each weld once, then lets the clamps off.
    #[must_use]
    pub fn lay_parts(&self, parts: &[Part], shrinkage: &Shrinkage) -> Outcome {
        self.lay_released(parts, shrinkage, &self.held.releases)
    }

    /// Like [`Engine::lay_parts`], with clamps that come off when this says instead of the job. A clamp that is off for
    /// every weld is no clamp, so that ways of clamping can be tried on one engine that has all of them.
    #[must_use]
    pub fn lay_released(
        &self,
        parts: &[Part],
        shrinkage: &Shrinkage,
        releases: &Releases,
    ) -> Outcome {
        Walk::new(self, parts, shrinkage, releases).outcome(parts, false)
    }

    /// What letting the clamps off adds to each measure, for each coordinate that holds the frame to the table and has
    /// moved 1 mm ([`Build::held_mm`]). It is the same after every order: the stiffness of the whole frame decides.
    /// Nothing where clamps come off on the way, because then it matters when they had moved.
    #[must_use]
    pub fn letting_go(&self, shrinkage: &Shrinkage) -> Option<Vec<Vec<f64>>> {
        if self.held.releases.any_on_the_way() {
            return None;
        }
        let all = self.whole_welds(&(0..self.welds()).collect::<Vec<_>>());
        let mut walk = Walk::open(self, shrinkage, &all);
        for part in &all {
            walk.lay(part);
        }
        Some(walk.letting_go())
    }

    /// Whole welds as parts.
    pub(super) fn whole_welds(&self, order: &[usize]) -> Vec<Part> {
        order.iter().map(|&weld| self.whole(weld)).collect()
    }

    /// Starts a build in which each next weld is chosen on the way. The nearer that comes to the `expected` order, which
    /// may be empty, the faster it is laid.
    #[must_use]
    pub fn start<'a>(&'a self, shrinkage: &'a Shrinkage, expected: &[Part]) -> Build<'a> {
        Build(Walk::open(self, shrinkage, expected))
    }
}
