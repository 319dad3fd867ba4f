//! The same build the slow, obvious way: the whole frame solved anew whenever something changes.
//!
//! Nothing here is condensed and nothing is carried over but the readings at which springs are free of force. It is
//! the yardstick for [`Engine::lay`], in tests for the answer and in benchmarks for the time. Clamps are firm here.

use super::coordinates::{Tie, seam_ties};
use super::engine::{Engine, Outcome, Shrinkage};
use super::part::{Part, Touch};
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
    let (model, layout, probes) = (&engine.model, engine.layout, &engine.probes);
    let mut making = Making {
        frame: engine.first.clone(),
        natural: Vec::new(),
        there: Vec::new(),
        pulls: Vec::new(),
    };
    let first_springs = std::mem::take(&mut making.frame.springs);
    for spring in first_springs {
        making.add(spring, 0.0);
    }
    let mut shape = making.solve()?;
    let read = |shape: &Shape| -> Vec<f64> {
        (0..engine.measures.len())
            .map(|m| shape.read(&probes[layout.measure(m)]))
            .collect()
    };
    let (mut steps_mm, mut gaps_mm) = (Vec::new(), vec![0.0_f64; engine.welds()]);
    let mut holding = vec![false; model.seams.len()];
    for part in parts {
        let touches = engine.touches(part, &mut holding);
        let gap = gap_mm(job, engine, part.weld, &touches, &shape);
        if gap.abs() > gaps_mm[part.weld].abs() {
            gaps_mm[part.weld] = gap;
        }
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
                pull(&mut making);
                shape = making.solve()?;
                continue;
            };
            let deposit = &engine.deposits[part.weld][deposit];
            let seam = &model.seams[deposit.seam];
            let ties = seam_ties(model, layout, seam, &job.material);
            let added: Vec<usize> = ties
                .iter()
                .map(|tie| {
                    let spring = tie.spring(probes);
                    let now = shape.read(&spring.along);
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
            pull(&mut making);
            shape = making.solve()?;
        }
        steps_mm.push(read(&shape));
    }
    let clamped_mm = read(&shape);
    let tack_springs = 6 * model.tacks.len();
    let clamp_springs = tack_springs..tack_springs + engine.held.clamps.len();
    let forces: Vec<f64> = clamp_springs
        .clone()
        .map(|spring| making.force(spring, &shape))
        .collect();
    if !engine.held.lies_on_rests {
        for rest in &engine.held.rests {
            let spring = Tie::spring(rest, probes);
            let now = shape.read(&spring.along);
            making.add(spring, now);
        }
    }
    making.there[clamp_springs].fill(false);
    Ok(Outcome {
        released_mm: read(&making.solve()?),
        clamped_mm,
        clamp_forces_n: forces
            .chunks_exact(3)
            .map(|f| [-f[0], -f[1], -f[2]])
            .collect(),
        clamp_slips_mm: vec![0.0; engine.held.limits_n.len()],
        gaps_mm,
        steps_mm,
    })
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
