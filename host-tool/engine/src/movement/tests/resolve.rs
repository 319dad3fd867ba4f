//! The same simulation the slow, obvious way: the whole frame solved again whenever something changes.
//!
//! Nothing is reduced and nothing is carried over but the readings at which springs are free of force. It is the
//! reference for [`MovementModel::simulate`], for the result and for the time.

use crate::algebra::hypot3 as length;
use crate::formulas::joint_shrinkage::JointCoefficients;
use crate::job::model::Job;
use crate::movement::clamps::ClampsOn;
use crate::movement::model::MovementModel;
use crate::movement::model::contraction::Mode;
use crate::movement::model::coordinates::{
    CLAMP_STIFFNESS_N_PER_MM, ConstraintSpring, segment_springs,
};
use crate::movement::model::weld_part::{SegmentStep, WeldPart};
use crate::movement::outcome::Outcome;
use crate::movement::shrinkage::Shrinkage;
use crate::structure::{Frame, LoadCase, Probe, Shape, Spring, Structure, StructureError};

/// The frame with its springs and the readings at which they are free of force.
struct Assembly {
    frame: Frame,
    natural: Vec<f64>,
    /// Which springs are still there.
    there: Vec<bool>,
    pulls: Vec<(Probe, f64)>,
}

impl Assembly {
    fn add(&mut self, spring: Spring, natural: f64) -> usize {
        self.frame.springs.push(spring);
        self.natural.push(natural);
        self.there.push(true);
        self.there.len() - 1
    }

    fn solve(&self) -> Result<Shape, StructureError> {
        let mut frame = self.frame.clone();
        for (spring, there) in frame.springs.iter_mut().zip(&self.there) {
            if !there {
                spring.stiffness = 0.0;
            }
        }
        let natural = self
            .natural
            .iter()
            .copied()
            .enumerate()
            .filter(|&(k, _)| self.there[k])
            .collect();
        let case = LoadCase {
            along: self.pulls.clone(),
            natural,
            ..LoadCase::default()
        };
        Structure::new(&frame)?.solve(&case)
    }

    fn force(&self, spring: usize, shape: &Shape) -> f64 {
        let Spring { along, stiffness } = &self.frame.springs[spring];
        stiffness * (shape.read(along) - self.natural[spring])
    }
}

/// Welds the parts as [`MovementModel::simulate`] does, by solving the frame again and again.
pub(super) fn simulate_by_resolving(
    job: &Job,
    model: &MovementModel,
    parts: &[WeldPart],
    shrinkage: &Shrinkage,
) -> Result<Outcome, StructureError> {
    let mut build = Resolving::new(model)?;
    let (mut steps_mm, mut gaps_mm) = (Vec::new(), vec![0.0_f64; model.welds()]);
    let mut left: Vec<usize> = (0..model.welds()).map(|w| model.segment_count(w)).collect();
    for part in parts {
        let weld = part.weld;
        let off = build.on.release_before(&model.restraints.releases, weld);
        build.release(&off)?;
        let steps = model.weld_segments[weld].steps(part, &mut build.joined);
        let gap = gap_mm(model, weld, &steps, &build.shape);
        if gap.abs() > gaps_mm[weld].abs() {
            gaps_mm[weld] = gap;
        }
        build.weld(job, part, &steps, shrinkage)?;
        left[weld] -= part.segments.len();
        if left[weld] == 0 {
            let off = build.on.release_after(&model.restraints.releases, weld);
            build.release(&off)?;
        }
        steps_mm.push(build.measures_mm());
    }
    let clamped_mm = build.measures_mm();
    let left: Vec<usize> = (0..model.restraints.limits_n.len())
        .filter(|&clamp| build.on.is_on(clamp))
        .collect();
    build.on = ClampsOn::none(&model.restraints.releases);
    build.release(&left)?;
    Ok(Outcome {
        released_mm: build.measures_mm(),
        clamped_mm,
        clamp_forces_n: build.held_n,
        clamp_slips_mm: build.slipped_mm.iter().map(|&slip| length(slip)).collect(),
        gaps_mm,
        steps_mm,
    })
}

/// A build state.
struct Resolving<'a> {
    model: &'a MovementModel,
    assembly: Assembly,
    shape: Shape,
    joined: Vec<bool>,
    on: ClampsOn,
    lies_on_table: bool,
    held_n: Vec<[f64; 3]>,
    slipped_mm: Vec<[f64; 3]>,
}

impl<'a> Resolving<'a> {
    fn new(model: &'a MovementModel) -> Result<Self, StructureError> {
        let mut assembly = Assembly {
            frame: model.tacked_frame.clone(),
            natural: Vec::new(),
            there: Vec::new(),
            pulls: Vec::new(),
        };
        for spring in std::mem::take(&mut assembly.frame.springs) {
            assembly.add(spring, 0.0);
        }
        let clamps = model.restraints.limits_n.len();
        Ok(Self {
            model,
            shape: assembly.solve()?,
            assembly,
            joined: vec![false; model.beams.segments.len()],
            on: ClampsOn::all(&model.restraints.releases),
            lies_on_table: model.restraints.lies_on_table,
            held_n: vec![[0.0; 3]; clamps],
            slipped_mm: vec![[0.0; 3]; clamps],
        })
    }

    fn measures_mm(&self) -> Vec<f64> {
        let probe = |m| &self.model.probes[self.model.layout.measure(m)];
        let measures = 0..self.model.measures.len();
        measures.map(|m| self.shape.read(probe(m))).collect()
    }

    fn weld(
        &mut self,
        job: &Job,
        part: &WeldPart,
        steps: &[SegmentStep],
        shrinkage: &Shrinkage,
    ) -> Result<(), StructureError> {
        let (beams, layout) = (&self.model.beams, self.model.layout);
        let (assembly, probes) = (&mut self.assembly, &self.model.probes);
        for step in steps {
            let pull = |assembly: &mut Assembly| {
                let Some(segment) = step.pulls else { return };
                let tendons = shrinkage.segments[segment].tendons_n.into_iter();
                for (k, force) in tendons
                    .enumerate()
                    .take(beams.segments[segment].tendons.len())
                {
                    assembly
                        .pulls
                        .push((probes[layout.tendon(segment, k)].clone(), force));
                }
            };
            let Some(entry) = step.joins else {
                pull(assembly);
                self.shape = assembly.solve()?;
                continue;
            };
            let segment = &self.model.weld_segments[part.weld].segments[entry];
            let geometry = &beams.segments[segment.index];
            let springs = segment_springs(
                beams,
                layout,
                geometry,
                &job.material,
                &JointCoefficients::FITTED,
            );
            let added: Vec<usize> = springs
                .iter()
                .map(|spring| {
                    let spring = spring.on_frame(probes);
                    let now = self.shape.read(&spring.along);
                    assembly.add(spring, now)
                })
                .collect();
            for &tack in &segment.melted_tacks {
                // The first springs are the tacks', six each.
                assembly.there[6 * tack..6 * tack + 6].fill(false);
            }
            let joined = assembly.solve()?;
            let amounts = &shrinkage.segments[segment.index];
            let contraction = &segment.contraction;
            // How far each spring shortens for one unit of a way to move.
            let first = layout.pair(geometry.pair, 0);
            let on_springs = |mode: &Mode| -> Vec<f64> {
                let along = |spring: &ConstraintSpring| {
                    let terms = spring.direction.iter();
                    terms
                        .map(|&(at, weight)| weight * mode.motion[at - first])
                        .sum()
                };
                springs.iter().map(along).collect()
            };
            let gap = contraction.opening_mm(&std::array::from_fn(|k| {
                self.shape.read(&probes[first + k])
            }));
            let closes = amounts.closing_mm + amounts.closing_into_gap_mm.min(gap.max(0.0));
            let closing = on_springs(&contraction.closing);
            let shift = |assembly: &mut Assembly, by: &[f64], amount: f64| {
                for (&spring, one) in added.iter().zip(by) {
                    assembly.natural[spring] += amount * one;
                }
            };
            shift(assembly, &closing, closes);
            let pulled = assembly.solve()?;
            let left: Vec<f64> = added.iter().map(|&k| assembly.force(k, &pulled)).collect();
            shift(assembly, &closing, -closes);
            let stays: f64 = added
                .iter()
                .zip(left)
                .zip(&closing)
                .map(|((&k, left), one)| one * (assembly.force(k, &joined) - left))
                .sum();
            let share = if stays > amounts.limit_n {
                amounts.limit_n / stays
            } else {
                1.0
            };
            shift(assembly, &closing, share * closes);
            let sign = if part.reversed { -1.0 } else { 1.0 };
            shift(
                assembly,
                &on_springs(&contraction.turning),
                amounts.turning_rad,
            );
            shift(
                assembly,
                &on_springs(&contraction.tilting),
                sign * amounts.tilting_rad,
            );
            pull(assembly);
            self.shape = assembly.solve()?;
        }
        self.slip()
    }

    /// The three springs of a clamp: those of the tacks come before, six each.
    fn springs(&self, clamp: usize) -> [usize; 3] {
        let first = 6 * self.model.beams.tacks.len() + 3 * clamp;
        [first, first + 1, first + 2]
    }

    /// The force of a clamp on the frame, N.
    fn clamp_force_n(&self, clamp: usize, shape: &Shape) -> [f64; 3] {
        self.springs(clamp)
            .map(|spring| -self.assembly.force(spring, shape))
    }

    fn release(&mut self, clamps: &[usize]) -> Result<(), StructureError> {
        for &clamp in clamps {
            self.held_n[clamp] = self.clamp_force_n(clamp, &self.shape);
            for spring in self.springs(clamp) {
                self.assembly.there[spring] = false;
            }
        }
        if clamps.is_empty() {
            return Ok(());
        }
        if !self.lies_on_table && !self.on.restrain(&self.model.restraints.releases) {
            self.lies_on_table = true;
            for rest in &self.model.restraints.rests {
                let spring = rest.on_frame(&self.model.probes);
                let now = self.shape.read(&spring.along);
                self.assembly.add(spring, now);
            }
        }
        self.shape = self.assembly.solve()?;
        self.slip()
    }

    /// Lets the clamps slip, one after the other, until each holds its force.
    fn slip(&mut self) -> Result<(), StructureError> {
        for _ in 0..1000 {
            let mut all_hold = true;
            for (clamp, &limit) in self.model.restraints.limits_n.iter().enumerate() {
                let pulls = length(self.clamp_force_n(clamp, &self.shape));
                if self.on.is_on(clamp) && pulls > limit * (1.0 + 1e-9) {
                    self.slip_one(clamp, limit)?;
                    all_hold = false;
                }
            }
            if all_hold {
                break;
            }
        }
        Ok(())
    }

    /// A clamp that slips in proportion to the force it is left with acts like a softer clamp. How soft it must be to be
    /// left with its limit is found by solving the frame with softer and softer clamps.
    fn slip_one(&mut self, clamp: usize, limit: f64) -> Result<(), StructureError> {
        let springs = self.springs(clamp);
        // The softer clamp is free of force where it was before it slipped further.
        let left = |assembly: &mut Assembly, softer: f64| -> Result<[f64; 3], StructureError> {
            for spring in springs {
                assembly.frame.springs[spring].stiffness =
                    CLAMP_STIFFNESS_N_PER_MM / (1.0 + softer);
            }
            let shape = assembly.solve()?;
            Ok(springs.map(|spring| assembly.force(spring, &shape)))
        };
        // The reciprocal of the force left is almost linear in the softness, so a few secants find it.
        let over = |assembly: &mut Assembly, softer: f64| -> Result<f64, StructureError> {
            Ok(limit / length(left(assembly, softer)?) - 1.0)
        };
        let (mut before, mut softer) = (0.0, 1.0);
        let mut over_before = over(&mut self.assembly, before)?;
        for _ in 0..40 {
            let now = over(&mut self.assembly, softer)?;
            let slope = (now - over_before) / (softer - before);
            if now.abs() <= 1e-14 || slope.is_nan() || slope <= 0.0 {
                break;
            }
            (before, over_before) = (softer, now);
            softer = (softer - now / slope).clamp(0.0, 1e12);
        }
        let force = left(&mut self.assembly, softer)?;
        for ((spring, force), slipped) in springs
            .into_iter()
            .zip(force)
            .zip(&mut self.slipped_mm[clamp])
        {
            let slip = softer * force / CLAMP_STIFFNESS_N_PER_MM;
            self.assembly.frame.springs[spring].stiffness = CLAMP_STIFFNESS_N_PER_MM;
            self.assembly.natural[spring] += slip;
            *slipped += slip;
        }
        self.shape = self.assembly.solve()?;
        Ok(())
    }
}

/// The gap of a weld's joint where these steps join it: the widest of them, mm.
fn gap_mm(model: &MovementModel, weld: usize, steps: &[SegmentStep], shape: &Shape) -> f64 {
    let joining = steps.iter().filter_map(|step| step.joins);
    joining
        .map(|entry| {
            let segment = model.weld_segments[weld].segments[entry].index;
            let segment = &model.beams.segments[segment];
            let contraction = &model.weld_segments[weld].segments[entry].contraction;
            let first = model.layout.pair(segment.pair, 0);
            contraction.opening_mm(&std::array::from_fn(|k| {
                shape.read(&model.probes[first + k])
            }))
        })
        .max_by(|a, b| a.abs().total_cmp(&b.abs()))
        .unwrap_or(0.0)
}
