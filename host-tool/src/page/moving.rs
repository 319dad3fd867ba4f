//! The predicted shapes of a build as the page of the plan draws them: one a step, evenly spaced along each member.

use super::plan::Movement;
use crate::job::model::{Job, Point};
use crate::movement::effect::Factors;
use crate::movement::engine::Engine;
use crate::movement::predict::planned_net_heat;
use crate::movement::shapes::{Line, Moved, Shapes};
use crate::plan::model::{Plan, Work};

/// Points drawn along each member.
const POINTS: usize = 13;

/// The movement after each step of a plan with the planned heat; nothing where the structure cannot be worked out.
///
/// The last step shows the frame when it is cold and the clamps are off.
#[must_use]
pub fn movement_of(job: &Job, plan: &Plan) -> Option<Vec<Movement>> {
    let mut order: Vec<usize> = Vec::new();
    let laid_after: Vec<usize> = plan
        .steps
        .iter()
        .map(|step| {
            if let Work::Weld { weld, .. } = step.work {
                let weld = usize::from(weld).checked_sub(1)?;
                if !order.contains(&weld) {
                    order.push(weld);
                }
            }
            Some(order.len())
        })
        .collect::<Option<_>>()?;
    let heat: Vec<f64> = planned_net_heat(job)
        .iter()
        .map(|heat| heat.value)
        .collect();
    let engine = Engine::new(job).ok()?;
    let shrinkage = engine.shrinkage(&heat, &Factors::starting()).ok()?;
    let shapes = Shapes::new(job, &engine, &order, &shrinkage).ok()?;
    let last = laid_after.len().checked_sub(1)?;
    let drawn = |step: usize, laid: usize| {
        let moved = if step == last {
            Some(&shapes.released)
        } else {
            laid.checked_sub(1).map(|weld| &shapes.steps[weld].1)
        };
        Movement {
            members: evenly(&shapes.lines, moved),
        }
    };
    Some(
        laid_after
            .iter()
            .enumerate()
            .map(|(step, &laid)| drawn(step, laid))
            .collect(),
    )
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
    fn tacks_move_nothing_and_each_step_has_its_shape() {
        let job = crate::job::from_text("gate.toml", crate::demo::GARDEN_GATE).expect("a job");
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
