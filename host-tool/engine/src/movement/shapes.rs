//! The shape of the frame before, during and after welding, as points for a drawing.

use super::clamps::BuildStep;
use super::history::{History, NodeMovements};
use super::model::MovementModel;
use super::shrinkage::Shrinkage;
use crate::job::model::{Job, Point};
use crate::structure::StructureError;

/// A member as it is drawn.
#[derive(Clone, Debug)]
pub struct Line {
    /// Index of the member.
    pub member: usize,
    /// Points along its line before the first weld, mm.
    pub points: Vec<Point>,
}

/// The shape of the frame at one step: for each line, how far each of its points has moved, mm.
pub type Moved = Vec<Vec<Point>>;

/// The shapes of a build.
#[derive(Clone, Debug)]
pub struct Shapes {
    /// One line for each member.
    pub lines: Vec<Line>,
    /// After each weld of the order, and after clamps are released between welds.
    pub steps: Vec<(BuildStep, Moved)>,
    /// When the last weld is cold and the clamps are off.
    pub released: Moved,
    /// Magnification to begin with: 1, 2 or 5 times a power of ten, 1 to 500.
    pub magnification: f64,
}

/// The greatest movement is drawn at up to this share of the size of the frame.
const SHARE_OF_FRAME: f64 = 0.04;

impl Shapes {
    /// Welds in `order` and keeps the shape after each weld and each release of clamps on the way.
    ///
    /// # Errors
    /// [`StructureError`]; not to be expected, because a model has a frame that could be solved.
    pub fn new(
        job: &Job,
        model: &MovementModel,
        order: &[usize],
        shrinkage: &Shrinkage,
    ) -> Result<Self, StructureError> {
        let history = model.history(order, shrinkage)?;
        Ok(Self::of(job, model, history))
    }

    /// As [`Shapes::new`], with the final shape only, and the change of each measure of the model, mm.
    ///
    /// # Errors
    /// As [`Shapes::new`].
    pub fn final_only(
        job: &Job,
        model: &MovementModel,
        order: &[usize],
        shrinkage: &Shrinkage,
    ) -> Result<(Self, Vec<f64>), StructureError> {
        let released = model.released(order, shrinkage)?;
        let history = History {
            steps: Vec::new(),
            released: released.nodes,
        };
        Ok((Self::of(job, model, history), released.measures_mm))
    }

    /// Bends a member before the first weld, so that its middle stands off the line between its ends by `bow_mm`.
    pub(crate) fn bow(&mut self, member: usize, bow_mm: Point) {
        for (line, moved) in self.lines.iter().zip(&mut self.released) {
            let (Some(&from), Some(&to)) = (line.points.first(), line.points.last()) else {
                continue;
            };
            if line.member != member {
                continue;
            }
            let length = (to - from).length();
            for (point, moved) in line.points.iter().zip(moved) {
                let share = (*point - from).length() / length;
                // A curve that is even enough is a parabola.
                *moved = *moved + bow_mm * (4.0 * share * (1.0 - share));
            }
        }
    }

    fn of(job: &Job, model: &MovementModel, history: History) -> Self {
        let beams = model.beam_model();
        let nodes: Vec<Vec<usize>> = beams
            .stations
            .iter()
            .map(|row| row.iter().map(|&(_, node)| node).collect())
            .collect();
        let pick = |moved: &NodeMovements| -> Moved {
            nodes
                .iter()
                .map(|row| row.iter().map(|&node| moved[node]).collect())
                .collect()
        };
        let lines = (0..job.members.len())
            .map(|member| Line {
                member,
                points: nodes[member].iter().map(|&n| beams.nodes[n]).collect(),
            })
            .collect();
        let steps = || history.steps.iter();
        let shapes = || steps().map(|(_, shape)| shape).chain([&history.released]);
        let greatest = shapes()
            .flatten()
            .map(|moved| moved.length())
            .fold(0.0, f64::max);
        Self {
            lines,
            released: pick(&history.released),
            steps: steps()
                .map(|(step, shape)| (step.clone(), pick(shape)))
                .collect(),
            magnification: magnification(extent(&beams.nodes), greatest),
        }
    }
}

/// The longest side of the box round the points, mm.
fn extent(points: &[Point]) -> f64 {
    [|p: &Point| p.x, |p: &Point| p.y, |p: &Point| p.z]
        .into_iter()
        .map(|side| {
            let (low, high) = points
                .iter()
                .map(side)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
                    (low.min(at), high.max(at))
                });
            high - low
        })
        .fold(0.0, f64::max)
}

/// A round number (1, 2 or 5 times a power of ten, 1 to 500) at which the greatest movement is easy to see.
fn magnification(extent_mm: f64, greatest_mm: f64) -> f64 {
    let wanted = SHARE_OF_FRAME * extent_mm / greatest_mm;
    [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0]
        .into_iter()
        .rfind(|&round| round <= wanted)
        .unwrap_or(1.0)
}

#[cfg(test)]
mod tests {
    use super::magnification;

    #[test]
    fn movements_are_drawn_at_a_size_that_can_be_seen_and_by_a_round_number() {
        assert_eq!(magnification(1000.0, 1.0), 20.0);
        assert_eq!(magnification(1000.0, 100.0), 1.0);
        assert_eq!(magnification(1000.0, 0.0), 500.0, "nothing moves");
        assert_eq!(magnification(1000.0, f64::NAN), 1.0);
    }
}
