//! The predicted shapes of a build as the page of the plan draws them: one a step, evenly spaced along each member.

use super::scene;
use crate::job::model::{Job, Point};
use crate::movement::clamps::BuildStep;
use crate::movement::model::MovementModel;
use crate::movement::predict::planned_net_heat;
use crate::movement::shapes::{Line, Moved, Shapes};
use crate::plan::model::{Plan, StepKind};
use base64::Engine as _;
use serde::Serialize;

/// Points drawn along each member.
const POINTS: usize = 13;

/// Where the frame is predicted to be after each step: for each member, evenly spaced from its start to its end, how
/// far its line has moved, mm. One entry a step of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Movement {
    /// One entry a member.
    pub members: Vec<Vec<Point>>,
}

/// The movement after each step of a plan with the planned heat; `None` if the frame model fails.
///
/// The last step shows the frame cold, with the clamps off.
#[must_use]
pub fn movement_of(job: &Job, plan: &Plan) -> Option<Vec<Movement>> {
    let mut order: Vec<usize> = Vec::new();
    for step in &plan.steps {
        if let StepKind::Weld { weld, .. } = step.what {
            let weld = usize::from(weld).checked_sub(1)?;
            if !order.contains(&weld) {
                order.push(weld);
            }
        }
    }
    let heat: Vec<f64> = planned_net_heat(job)
        .iter()
        .map(|heat| heat.value)
        .collect();
    let engine = MovementModel::new(job).ok()?;
    let shrinkage = engine
        .shrinkage_each(&heat, &job.shrinkage_factors())
        .ok()?;
    let shapes = Shapes::new(job, &engine, &order, &shrinkage).ok()?;
    let last = plan.steps.len().checked_sub(1)?;
    let mut reached = 0;
    let steps = plan.steps.iter().enumerate().map(|(place, step)| {
        let after = |is_it: &dyn Fn(&BuildStep) -> bool| {
            let moment = shapes.steps.iter().position(|(moment, _)| is_it(moment));
            moment.map_or(0, |moment| moment + 1)
        };
        let shape = match step.what {
            StepKind::Weld { weld, .. } => {
                after(&|moment| *moment == BuildStep::Weld(usize::from(weld).saturating_sub(1)))
            }
            StepKind::ReleaseClamp { clamp, .. } => after(
                &|moment| matches!(moment, BuildStep::Release(off) if off.contains(&(clamp - 1))),
            ),
            StepKind::Tack { .. } | StepKind::Flip { .. } => 0,
        };
        // Nothing moves back: a weld in parts counts from its first part.
        reached = reached.max(shape);
        let moved = if place == last {
            Some(&shapes.released)
        } else {
            reached.checked_sub(1).map(|shape| &shapes.steps[shape].1)
        };
        Movement {
            members: evenly(&shapes.lines, moved),
        }
    });
    Some(steps.collect())
}

/// The final shape alone.
pub(super) fn released(shapes: &Shapes) -> Movement {
    Movement {
        members: evenly(&shapes.lines, Some(&shapes.released)),
    }
}

fn evenly(lines: &[Line], moved: Option<&Moved>) -> Vec<Vec<Point>> {
    let still = || vec![Point::default(); POINTS];
    match moved {
        None => lines.iter().map(|_| still()).collect(),
        Some(moved) => lines
            .iter()
            .zip(moved)
            .map(|(line, moved)| resample(&line.points, moved))
            .collect(),
    }
}

/// Movements at even distances along a line, by straight interpolation between the points where they are known.
fn resample(points: &[Point], moved: &[Point]) -> Vec<Point> {
    let (Some(&first), Some(&last)) = (points.first(), points.last()) else {
        return Vec::new();
    };
    let along: Vec<f64> = points
        .iter()
        .map(|&point| (point - first).length())
        .collect();
    let length = (last - first).length();
    (0..POINTS)
        .map(|k| {
            let at = length * k as f64 / (POINTS - 1) as f64;
            let after = along
                .partition_point(|&place| place < at)
                .clamp(1, points.len().saturating_sub(1).max(1));
            let (Some(&a), Some(&b)) = (moved.get(after - 1), moved.get(after)) else {
                return moved.first().copied().unwrap_or_default();
            };
            let gap = along[after] - along[after - 1];
            let share = if gap > 0.0 {
                ((at - along[after - 1]) / gap).clamp(0.0, 1.0)
            } else {
                0.0
            };
            a + (b - a) * share
        })
        .collect()
}

/// Magnification of the movement at first: the largest that still leaves the frame recognisable.
pub(super) fn times(job: &Job, movement: &[Movement]) -> u32 {
    const CHOICES: [u32; 6] = [500, 200, 100, 50, 20, 10];
    const SHARE_OF_THE_FRAME: f64 = 0.06;
    let ends = || job.members.iter().flat_map(|m| [m.from, m.to]);
    let across = ends().fold(0.0, |most: f64, a| {
        ends().fold(most, |most, b| most.max((a - b).length()))
    });
    let most = movement.iter().map(greatest).fold(0.0, f64::max);
    let fits = |times: &&u32| f64::from(**times) * most <= SHARE_OF_THE_FRAME * across;
    CHOICES.iter().find(fits).copied().unwrap_or(10)
}

/// Most bytes for the movement of a page, before base 64: keeps a page of 200 welds small.
const MAX_BYTES: usize = 240_000;
/// Fewest points along a member.
const MIN_POINTS: usize = 4;

/// Shapes for the script. Each is a list of signed bytes in base 64: x, y, z of every point of every member, as a share of
/// the greatest movement of that shape; a 127th of it cannot be seen.
#[derive(Serialize)]
pub(super) struct MovementData {
    /// Points along each member.
    points: usize,
    /// Millimetres that 127 stands for, one a shape.
    most: Vec<f64>,
    shapes: Vec<String>,
    /// The shape after each step.
    of: Vec<usize>,
}

pub(super) fn data(movement: &[Movement]) -> MovementData {
    let mut kept: Vec<&Movement> = Vec::new();
    let of = movement.iter().map(|step| {
        // Tacks and flips move nothing.
        if kept.last() != Some(&step) {
            kept.push(step);
        }
        kept.len() - 1
    });
    let of = of.collect();
    let members = movement.first().map_or(0, |step| step.members.len());
    let points = (MAX_BYTES / (3 * kept.len() * members).max(1)).clamp(MIN_POINTS, POINTS);
    let most: Vec<f64> = kept.iter().map(|step| greatest(step)).collect();
    let shapes = kept.iter().zip(&most).map(|(step, most)| {
        let share = |mm: f64| (127.0 * mm / most.max(1e-9)).round().clamp(-127.0, 127.0) as i8;
        let members = step
            .members
            .iter()
            .flat_map(|member| thinned(member, points));
        let bytes: Vec<u8> = members
            .flat_map(|p| [p.x, p.y, p.z])
            .map(|mm| share(mm).cast_unsigned())
            .collect();
        base64::engine::general_purpose::STANDARD.encode(bytes)
    });
    MovementData {
        points,
        shapes: shapes.collect(),
        most: most.iter().map(|mm| scene::round(*mm, 10_000.0)).collect(),
        of,
    }
}

fn greatest(step: &Movement) -> f64 {
    let points = step.members.iter().flatten();
    points.fold(0.0, |most: f64, p| {
        most.max(p.x.abs()).max(p.y.abs()).max(p.z.abs())
    })
}

/// How far the point of the frame has moved that has moved farthest, mm.
pub(super) fn farthest_mm(step: &Movement) -> f64 {
    let points = step.members.iter().flatten();
    points.map(|point| point.length()).fold(0.0, f64::max)
}

/// `wanted` evenly spaced points of a list of evenly spaced points.
fn thinned(points: &[Point], wanted: usize) -> Vec<Point> {
    let last = points.len().saturating_sub(1);
    let at = |k: usize| {
        let place = last as f64 * k as f64 / (wanted - 1) as f64;
        let before = (place.floor() as usize).min(last);
        let [a, b] =
            [before, (before + 1).min(last)].map(|k| points.get(k).copied().unwrap_or_default());
        a + (b - a) * (place - before as f64)
    };
    (0..wanted).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_movement_stays_straight_between_uneven_points() {
        let places = [0.0, 10.0, 70.0, 120.0];
        let points = places.map(|x| Point::new(x, 5.0, 0.0));
        let moved = places.map(|x| Point::new(0.0, 0.0, 0.01 * x));
        for (k, point) in resample(&points, &moved).iter().enumerate() {
            assert!((point.z - 0.1 * k as f64).abs() < 1e-12, "{k}: {point:?}");
        }
    }

    #[test]
    fn what_the_script_reads_is_the_movement_to_less_than_a_hundredth_of_it() {
        let member = |sag: f64| -> Vec<Point> {
            (0..POINTS)
                .map(|k| Point::new(0.0, 0.01, -sag * k as f64 / (POINTS - 1) as f64))
                .collect()
        };
        let step = |sag: f64| Movement {
            members: vec![member(sag), member(0.5 * sag)],
        };
        let steps = [step(0.0), step(0.0), step(0.8), step(0.8), step(0.2)];
        let data = data(&steps);
        assert_eq!(data.of, [0, 0, 1, 1, 2]);
        assert_eq!(data.points, POINTS);
        let bytes = base64::engine::general_purpose::STANDARD
            .decode(&data.shapes[1])
            .expect("base 64");
        let flat = steps[2]
            .members
            .iter()
            .flatten()
            .flat_map(|p| [p.x, p.y, p.z]);
        assert_eq!(bytes.len(), 2 * 3 * POINTS);
        for (byte, mm) in bytes.into_iter().zip(flat) {
            let read = f64::from(byte.cast_signed()) * data.most[1] / 127.0;
            assert!((read - mm).abs() <= 0.8 / 254.0 + 1e-9, "{read} for {mm}");
        }
    }

    #[test]
    fn tacks_move_nothing_and_each_step_has_its_shape() {
        let job = crate::job::from_text("gate.toml", crate::example::GARDEN_GATE).expect("a job");
        let plan = crate::plan::plan(&job, &crate::plan::Options::default(), &mut |_| true)
            .expect("a plan");
        let movement = movement_of(&job, &plan).expect("it stands");
        assert_eq!(movement.len(), plan.steps.len());
        let most = |step: &Movement| {
            step.members
                .iter()
                .flatten()
                .map(|point| point.length())
                .fold(0.0, f64::max)
        };
        assert_eq!(most(&movement[0]), 0.0);
        assert!(most(movement.last().expect("steps")) > 0.05);
        assert!(
            movement
                .iter()
                .all(|step| step.members.len() == job.members.len())
        );
    }
}
