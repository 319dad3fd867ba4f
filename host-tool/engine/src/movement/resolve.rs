//! The same build the slow, obvious way: the whole frame solved anew whenever something changes.
//!
//! Nothing here is condensed and nothing is carried over but the readings at which springs are free of force. It is
//! the yardstick for [`Engine::lay`], in tests for the answer and in benchmarks for the time.

use super::coordinates::{CLAMP_STIFFNESS_N_PER_MM, Tie, seam_ties};
use super::engine::{Engine, Outcome, Shrinkage};
use super::holding::ClampsOn;
use super::part::{Holding, Part, Touch};
use super::slipping::length;
use crate::job::model::Job;
use crate::structure::{Frame, LoadCase, Probe, Shape, Spring, Structure, StructureError};

/// A frame in the making: its springs with the readings at which they are free.
struct Making {
    frame: Frame,
    natural: Vec<f64>,
    /// Which springs are still there.
    there: Vec<bool>,
    pulls: Vec<(Probe, f64)>,
}

impl Making {
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

/// Lays the welds in `order` as [`Engine::lay`] does, by solving the frame again and again.
///
/// # Errors
/// [`StructureError`] when the frame does not stand at some moment.
pub fn lay_by_resolving(
    job: &Job,
    engine: &Engine,
    order: &[usize],
    shrinkage: &Shrinkage,
) -> Result<Outcome, StructureError> {
    lay_parts_by_resolving(job, engine, &engine.whole_welds(order), shrinkage)
}

/// Lays parts of welds as [`Engine::lay_parts`] does, by solving the frame again and again.
///
/// # Errors
/// [`StructureError`] when the frame does not stand at some moment.
pub fn lay_parts_by_resolving(
    job: &Job,
    engine: &Engine,
    parts: &[Part],
    shrinkage: &Shrinkage,
) -> Result<Outcome, StructureError> {
    let mut build = Resolving::new(engine)?;
    let (mut steps_mm, mut gaps_mm) = (Vec::new(), vec![0.0_f64; engine.welds()]);
    let mut left: Vec<usize> = (0..engine.welds()).map(|w| engine.stretches(w)).collect();
    for part in parts {
        let weld = part.weld;
        let off = build.on.off_before(&engine.held.releases, weld);
        build.take_off(&off)?;
        let touches = engine.touches(part, &mut build.holding);
        let gap = gap_mm(job, engine, weld, &touches, &build.shape);
        if gap.abs() > gaps_mm[weld].abs() {
            gaps_mm[weld] = gap;
        }
        build.lay(job, weld, &touches, shrinkage)?;
        left[weld] -= part.stretches.len();
        if left[weld] == 0 {
            let off = build.on.off_after(&engine.held.releases, weld);
            build.take_off(&off)?;
        }
        steps_mm.push(build.measures_mm());
    }
    let clamped_mm = build.measures_mm();
    let left: Vec<usize> = (0..engine.held.limits_n.len())
        .filter(|&clamp| build.on.is_on(clamp))
        .collect();
    build.on = ClampsOn::none(&engine.held.releases);
    build.take_off(&left)?;
    Ok(Outcome {
        released_mm: build.measures_mm(),
        clamped_mm,
        clamp_forces_n: build.held_n,
        clamp_slips_mm: build.slipped_mm.iter().map(|&slip| length(slip)).collect(),
        gaps_mm,
        steps_mm,
    })
}

/// A build under way.
struct Resolving<'a> {
    engine: &'a Engine,
    making: Making,
    shape: Shape,
    holding: Holding,
    on: ClampsOn,
    lies_on_rests: bool,
    held_n: Vec<[f64; 3]>,
    slipped_mm: Vec<[f64; 3]>,
}

impl<'a> Resolving<'a> {
    fn new(engine: &'a Engine) -> Result<Self, StructureError> {
        let mut making = Making {
            frame: engine.first.clone(),
            natural: Vec::new(),
            there: Vec::new(),
            pulls: Vec::new(),
        };
        for spring in std::mem::take(&mut making.frame.springs) {
            making.add(spring, 0.0);
        }
        let clamps = engine.held.limits_n.len();
        Ok(Self {
            engine,
            shape: making.solve()?,
            making,
            holding: vec![false; engine.model.seams.len()],
            on: ClampsOn::all(&engine.held.releases),
            lies_on_rests: engine.held.lies_on_rests,
            held_n: vec![[0.0; 3]; clamps],
            slipped_mm: vec![[0.0; 3]; clamps],
        })
    }

    fn measures_mm(&self) -> Vec<f64> {
        let probe = |m| &self.engine.probes[self.engine.layout.measure(m)];
        let measures = 0..self.engine.measures.len();
        measures.map(|m| self.shape.read(probe(m))).collect()
    }

    fn lay(
        &mut self,
        job: &Job,
        weld: usize,
        touches: &[Touch],
        shrinkage: &Shrinkage,
    ) -> Result<(), StructureError> {
        let (model, layout) = (&self.engine.model, self.engine.layout);
        let (making, probes) = (&mut self.making, &self.engine.probes);
        for touch in touches {
            let pull = |making: &mut Making| {
                let Some(seam) = touch.pull else { return };
                let strips = shrinkage.seams[seam].strips_n.into_iter();
                for (k, force) in strips.enumerate().take(model.seams[seam].strips.len()) {
                    making
                        .pulls
                        .push((probes[layout.strip(seam, k)].clone(), force));
                }
            };
            let Some(deposit) = touch.hold else {
                pull(making);
                self.shape = making.solve()?;
                continue;
            };
            let deposit = &self.engine.deposits[weld][deposit];
            let seam = &model.seams[deposit.seam];
            let ties = seam_ties(model, layout, seam, &job.material);
            let added: Vec<usize> = ties
                .iter()
                .map(|tie| {
                    let spring = tie.spring(probes);
                    let now = self.shape.read(&spring.along);
                    making.add(spring, now)
                })
                .collect();
            for &tack in &deposit.melted {
                // The first springs are the tacks', six each.
                making.there[6 * tack..6 * tack + 6].fill(false);
            }
            let joined = making.solve()?;
            let shrinks = &shrinkage.seams[deposit.seam];
            let mut shares = Vec::new();
            for (k, amount, limit) in [
                (1, shrinks.closing_mm, shrinks.limit_n),
                (3, shrinks.turning_rad, f64::INFINITY),
            ] {
                making.natural[added[k]] -= amount;
                let unlimited = making.force(added[k], &making.solve()?);
                making.natural[added[k]] += amount;
                let stays = unlimited - making.force(added[k], &joined);
                shares.push((
                    k,
                    if stays > limit {
                        amount * limit / stays
                    } else {
                        amount
                    },
                ));
            }
            for (k, amount) in shares {
                making.natural[added[k]] -= amount;
            }
            pull(making);
            self.shape = making.solve()?;
        }
        self.slip()
    }

    /// The three springs of a clamp: those of the tacks come before, six each.
    fn springs(&self, clamp: usize) -> [usize; 3] {
        let first = 6 * self.engine.model.tacks.len() + 3 * clamp;
        [first, first + 1, first + 2]
    }

    /// What a clamp puts on the frame.
    fn clamp_force_n(&self, clamp: usize, shape: &Shape) -> [f64; 3] {
        self.springs(clamp)
            .map(|spring| -self.making.force(spring, shape))
    }

    fn take_off(&mut self, clamps: &[usize]) -> Result<(), StructureError> {
        for &clamp in clamps {
            self.held_n[clamp] = self.clamp_force_n(clamp, &self.shape);
            for spring in self.springs(clamp) {
                self.making.there[spring] = false;
            }
        }
        if clamps.is_empty() {
            return Ok(());
        }
        if !self.lies_on_rests && !self.on.hold(&self.engine.held.releases) {
            self.lies_on_rests = true;
            for rest in &self.engine.held.rests {
                let spring = Tie::spring(rest, &self.engine.probes);
                let now = self.shape.read(&spring.along);
                self.making.add(spring, now);
            }
        }
        self.shape = self.making.solve()?;
        self.slip()
    }

    /// Lets the clamps slip, one after the other, until each holds what it is pulled with.
    fn slip(&mut self) -> Result<(), StructureError> {
        for _ in 0..100 {
            let mut still = true;
            for (clamp, &limit) in self.engine.held.limits_n.iter().enumerate() {
                let pulls = length(self.clamp_force_n(clamp, &self.shape));
                if self.on.is_on(clamp) && pulls > limit * (1.0 + 1e-9) {
                    self.give_way(clamp, limit)?;
                    still = false;
                }
            }
            if still {
                break;
            }
        }
        Ok(())
    }

    /// A clamp that slips along the force it is left with, by so much a newton, is a softer clamp: how soft it must be
    /// to be left with its limit is found by solving the frame with softer and softer ones.
    fn give_way(&mut self, clamp: usize, limit: f64) -> Result<(), StructureError> {
        let springs = self.springs(clamp);
        // Where the softer clamp stood before it slipped further is where it is free of force.
        let left = |making: &mut Making, softer: f64| -> Result<[f64; 3], StructureError> {
            for spring in springs {
                making.frame.springs[spring].stiffness = CLAMP_STIFFNESS_N_PER_MM / (1.0 + softer);
            }
            let shape = making.solve()?;
            Ok(springs.map(|spring| making.force(spring, &shape)))
        };
        // One over the force left grows almost in proportion with the softness, so a few chords find it.
        let over = |making: &mut Making, softer: f64| -> Result<f64, StructureError> {
            Ok(limit / length(left(making, softer)?) - 1.0)
        };
        let (mut before, mut softer) = (0.0, 1.0);
        let mut over_before = over(&mut self.making, before)?;
        for _ in 0..40 {
            let now = over(&mut self.making, softer)?;
            let slope = (now - over_before) / (softer - before);
            if now.abs() <= 1e-14 || slope.is_nan() || slope <= 0.0 {
                break;
            }
            (before, over_before) = (softer, now);
            softer = (softer - now / slope).clamp(0.0, 1e12);
        }
        let force = left(&mut self.making, softer)?;
        for ((spring, force), slipped) in springs
            .into_iter()
            .zip(force)
            .zip(&mut self.slipped_mm[clamp])
        {
            let slip = softer * force / CLAMP_STIFFNESS_N_PER_MM;
            self.making.frame.springs[spring].stiffness = CLAMP_STIFFNESS_N_PER_MM;
            self.making.natural[spring] += slip;
            *slipped += slip;
        }
        self.shape = self.making.solve()?;
        Ok(())
    }
}

/// How far the joint of a weld stands open where these touches take hold: the widest of them.
fn gap_mm(job: &Job, engine: &Engine, weld: usize, touches: &[Touch], shape: &Shape) -> f64 {
    let taking_hold = touches.iter().filter_map(|touch| touch.hold);
    taking_hold
        .map(|deposit| {
            let seam = &engine.model.seams[engine.deposits[weld][deposit].seam];
            let across = &seam_ties(&engine.model, engine.layout, seam, &job.material)[1];
            shape.read(&across.spring(&engine.probes).along)
        })
        .max_by(|a, b| a.abs().total_cmp(&b.abs()))
        .unwrap_or(0.0)
}
