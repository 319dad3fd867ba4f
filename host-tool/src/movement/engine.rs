//! Laying welds one after the other on the structure as it then stands.
//!
//! A weld joins its pair without force as things stand, takes up the tacks it runs over, then shrinks: it closes the
//! joint until it yields and its strips pull on the members that go on past it. When the last weld is cold the clamps
//! come off and the forces they held let the frame go.

use super::answers::{Measure, measures};
use super::build::Build;
use super::check;
use super::condensed::{Condensed, Matrix6, Stage};
use super::coordinates::{
    CLAMP_STIFFNESS_N_PER_MM, Layout, REST_STIFFNESS_N_PER_MM, Tie, seam_ties, tack_ties,
};
use super::effect::{Factors, closing_mm, strip_force_n, turning_rad, yield_force_n};
use super::error::MovementError;
use super::frame::{FrameModel, Seam};
use super::prepare::{self, Solved};
use crate::job::model::Job;
use crate::material::Material;
use crate::structure::{Frame, Probe};
use coldsquare_core::formula::FormulaError;

/// A tack is taken up by a weld that comes this near to it, mm.
const TACK_REACH_MM: f64 = 6.0;

/// What laying one piece of weld means for the condensed structure.
#[derive(Clone, Debug)]
pub(super) struct Deposit {
    pub(super) seam: usize,
    /// What it adds to the stiffness of its pair.
    stiffness: Matrix6,
    /// The way in which it closes the joint, and the way in which it turns open walls.
    pub(super) across: Way,
    turn: Way,
    /// Tacks it runs over, by index.
    pub(super) melted: Vec<usize>,
    /// The greatest force across it.
    pub(super) yield_force_n: f64,
}

/// One way in which a weld shrinks: its direction in the six coordinates of the pair, and its own stiffness there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    direction: [f64; 6],
    stiffness: f64,
}

impl Way {
    /// How far a pair that has moved so has moved along this way.
    pub(super) fn read(&self, moved: &[f64; 6]) -> f64 {
        self.direction.iter().zip(moved).map(|(d, m)| d * m).sum()
    }

    fn of(tie: &Tie, first: usize) -> Self {
        let mut direction = [0.0; 6];
        for &(coordinate, weight) in &tie.direction {
            direction[coordinate - first] += weight;
        }
        Self {
            direction,
            stiffness: tie.stiffness,
        }
    }

    /// The force with which a shrinkage pulls its ends together before anything gives, less where the weld would
    /// yield: what stays in it after the joint has given is `pull · (1 − k d·G·d)`, and that cannot pass the limit.
    fn pull(&self, compliance: &Matrix6, shrinkage: f64, limit: f64) -> f64 {
        let d = &self.direction;
        let along: f64 = (0..6)
            .map(|i| d[i] * (0..6).map(|j| compliance[i][j] * d[j]).sum::<f64>())
            .sum();
        let pull = self.stiffness * shrinkage;
        let stays = pull * (1.0 - self.stiffness * along);
        if stays > limit {
            pull * limit / stays
        } else {
            pull
        }
    }
}

/// The sum of ties as one stiffness of their pair.
fn stiffness(ties: &[Tie; 6], first: usize) -> Matrix6 {
    let mut sum = [[0.0; 6]; 6];
    for way in ties.iter().map(|tie| Way::of(tie, first)) {
        for (row, a) in sum.iter_mut().zip(way.direction) {
            row.iter_mut()
                .zip(way.direction)
                .for_each(|(entry, b)| *entry += way.stiffness * a * b);
        }
    }
    sum
}

/// What holds the frame to the table.
#[derive(Clone, Debug)]
pub(super) struct Held {
    /// Three ties a clamp.
    pub(super) clamps: Vec<Tie>,
    /// Six ties that stand for lying on the table.
    pub(super) rests: Vec<Tie>,
    /// Whether the frame lies on its rests from the start, for want of clamps that hold it.
    pub(super) lies_on_rests: bool,
}

/// How much each piece of weld shrinks, by index of its seam.
#[derive(Clone, Debug)]
pub struct Shrinkage {
    pub(super) seams: Vec<SeamShrinkage>,
}

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SeamShrinkage {
    pub(super) closing_mm: f64,
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
    /// The frame before the first weld, and what each coordinate reads of it.
    pub(super) first: Frame,
    pub(super) probes: Vec<Probe>,
    /// For each tack its pair and what it adds to the pair's stiffness.
    pub(super) tacks: Vec<(usize, Matrix6)>,
    /// For each weld its pieces.
    pub(super) deposits: Vec<Vec<Deposit>>,
    pub(super) held: Held,
}

/// What one order does to the frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Each measure, mm, when the last weld is cold and the clamps are off.
    pub released_mm: Vec<f64>,
    /// Each measure, mm, when the last weld is cold and the clamps still hold.
    pub clamped_mm: Vec<f64>,
    /// Force in each clamp before it comes off, N: x, y, z.
    pub clamp_forces_n: Vec<[f64; 3]>,
    /// For each weld of the job how far its joint stood open there just before it was laid, mm: less than nothing
    /// where the sides had moved into each other, which in the shop means that they press.
    pub gaps_mm: Vec<f64>,
    /// Each measure after each weld, mm; empty unless asked for.
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
        let held = Held {
            clamps: (0..model.clamps.len())
                .flat_map(|c| (0..3).map(move |k| (c, k)))
                .map(|(c, k)| one(layout.clamp(c, k), CLAMP_STIFFNESS_N_PER_MM))
                .collect(),
            rests: (0..6)
                .map(|r| one(layout.rest(r), REST_STIFFNESS_N_PER_MM))
                .collect(),
            lies_on_rests: !prepare::clamps_hold(&model),
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
                melted: melted(&model, seam),
                yield_force_n: yield_force_n(&job.material, seam.length_mm, seam.throat_mm),
            });
        }
        let Solved {
            condensed,
            first,
            probes,
        } = prepare::condense(job, &model, &measures, &held, &tacks)
            .map_err(|error| MovementError::of_structure(job, error))?;
        let tacks = tacks
            .into_iter()
            .enumerate()
            .map(|(t, ties)| {
                let pair = model.tacks[t].pair;
                (pair, stiffness(&ties, layout.pair(pair, 0)))
            })
            .collect();
        Ok(Self {
            model,
            material: job.material.clone(),
            layout,
            measures,
            condensed,
            first,
            probes,
            tacks,
            deposits,
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
        let seams = self.model.seams.iter().map(|seam| {
            self.seam_shrinkage(seam, net_heat_j_per_mm[seam.weld], factors)
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
                factors.along
            } else {
                factors.across_strip
            };
            // The heat that went in is spread over the stretch on which it pulls.
            let per_length = heat * strip.share * seam.length_mm / strip.length_mm;
            *force = factor.value * strip_force_n(&self.material, per_length)?;
        }
        let turning_rad = if seam.walls_turn {
            factors.turning.value * turning_rad(&self.material, heat, seam.walls_mm)?
        } else {
            0.0
        };
        Ok(SeamShrinkage {
            closing_mm: factors.closing.value * closing_mm(&self.material, heat, seam.walls_mm)?,
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
        self.lay_with(order, shrinkage, false)
    }

    /// Like [`Engine::lay`], and tells each measure after each weld.
    #[must_use]
    pub fn lay_step_by_step(&self, order: &[usize], shrinkage: &Shrinkage) -> Outcome {
        self.lay_with(order, shrinkage, true)
    }

    fn lay_with(&self, order: &[usize], shrinkage: &Shrinkage, steps: bool) -> Outcome {
        let (coordinates, live_after) = self.by_last_use(order);
        let mut build = Build::new(self, shrinkage, &coordinates);
        let mut steps_mm = Vec::new();
        for (&weld, &live) in order.iter().zip(&live_after) {
            build.lay(weld);
            build.keep(live);
            if steps {
                steps_mm.push(build.measures_mm());
            }
        }
        Outcome {
            steps_mm,
            ..build.release()
        }
    }

    /// Starts a build in which each next weld is chosen on the way.
    #[must_use]
    pub fn start<'a>(&'a self, shrinkage: &'a Shrinkage) -> Build<'a> {
        let all: Vec<usize> = (0..self.layout.size()).collect();
        Build::new(self, shrinkage, &all)
    }

    /// Lays one piece of weld. Returns what it did to the stiffness of its pair, and the force that its springs put on
    /// the pair where the pair stands at zero.
    pub(super) fn deposit(
        &self,
        stage: &mut Stage,
        deposit: &Deposit,
        shrinkage: &Shrinkage,
        melted: &mut [bool],
    ) -> (Matrix6, [f64; 6]) {
        let shrinks = &shrinkage.seams[deposit.seam];
        let first = self.layout.pair(self.model.seams[deposit.seam].pair, 0);
        let before = stage.moved_joint(first);
        // The weld joins without force as things stand; a tack that melts lets go of what it held.
        let mut change = deposit.stiffness;
        let mut force = [0.0; 6];
        for &tack in &deposit.melted {
            if !std::mem::replace(&mut melted[tack], true) {
                let tack = &self.tacks[tack].1;
                for (i, row) in tack.iter().enumerate() {
                    for (j, entry) in row.iter().enumerate() {
                        change[i][j] -= entry;
                        force[i] += entry * before[j];
                    }
                }
            }
        }
        let compliance = stage.stiffen_joint(first, &change);
        let turn = (&deposit.turn, shrinks.turning_rad, f64::INFINITY);
        for (way, shrinkage, limit) in [
            (&deposit.across, shrinks.closing_mm, deposit.yield_force_n),
            turn,
        ] {
            if shrinkage != 0.0 {
                let pull = way.pull(&compliance, shrinkage, limit);
                force
                    .iter_mut()
                    .zip(&way.direction)
                    .for_each(|(f, d)| *f -= pull * d);
            }
        }
        stage.push_joint(first, &force);
        let at_zero = std::array::from_fn(|i| {
            (0..6).map(|j| change[i][j] * before[j]).sum::<f64>() + force[i]
        });
        for (k, &force) in shrinks.strips_n.iter().enumerate() {
            if force != 0.0 {
                stage.push(&[(self.layout.strip(deposit.seam, k), 1.0)], force);
            }
        }
        (change, at_zero)
    }

    /// Takes the clamps off and returns the forces they held.
    pub(super) fn release(&self, stage: &mut Stage) -> Vec<[f64; 3]> {
        let force = |tie: &Tie| -tie.stiffness * stage.moved_along(tie.direction());
        let forces = self
            .held
            .clamps
            .chunks_exact(3)
            .map(|clamp| [force(&clamp[0]), force(&clamp[1]), force(&clamp[2])])
            .collect();
        if !self.held.lies_on_rests {
            for tie in &self.held.rests {
                stage.stiffen(tie.direction(), tie.stiffness);
            }
        }
        for tie in &self.held.clamps {
            stage.cut(tie.direction(), tie.stiffness);
        }
        forces
    }

    /// Coordinates with those needed longest first, and how many of them are still needed after each weld.
    fn by_last_use(&self, order: &[usize]) -> (Vec<usize>, Vec<usize>) {
        let layout = self.layout;
        let mut last_use = vec![0; layout.size()];
        // Answers, clamps and, where clamps come off, rests are needed to the end.
        let from = if self.held.lies_on_rests {
            layout.measure(0)
        } else {
            layout.clamp(0, 0)
        };
        last_use[from..].fill(usize::MAX);
        last_use[layout.clamp(0, 0)..layout.rest(0)].fill(usize::MAX);
        for (step, &weld) in order.iter().enumerate() {
            for deposit in &self.deposits[weld] {
                let seam = &self.model.seams[deposit.seam];
                last_use[layout.pair(seam.pair, 0)..][..6].fill(step + 1);
                last_use[layout.strip(deposit.seam, 0)..][..seam.strips.len()].fill(step + 1);
            }
        }
        let mut coordinates: Vec<usize> =
            (0..last_use.len()).filter(|&c| last_use[c] > 0).collect();
        coordinates.sort_by_key(|&c| (std::cmp::Reverse(last_use[c]), c));
        let live_after = (1..=order.len())
            .map(|step| coordinates.partition_point(|&c| last_use[c] > step))
            .collect();
        (coordinates, live_after)
    }
}

/// The tacks that a seam runs over.
fn melted(model: &FrameModel, seam: &Seam) -> Vec<usize> {
    (0..model.tacks.len())
        .filter(|&t| model.tacks[t].pair == seam.pair)
        .filter(|&t| {
            let from_middle = model.tacks[t].at - seam.at;
            let along = from_middle.dot(seam.axes[0]);
            let beside = (from_middle - seam.axes[0] * along).length();
            beside <= TACK_REACH_MM && along.abs() <= seam.length_mm / 2.0 + TACK_REACH_MM
        })
        .collect()
}
