//! The shape of the frame before, during and after welding, as points for a drawing.

use super::clamps::BuildStep;
use super::error::MovementError;
use super::history::{History, NodeMovements};
use super::measures::Measure;
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

/// The final shape of a job, and the change of each measure in mm, sooner than a whole prediction has it: the welds in
/// `order` with this net heat (J/mm, by index), without uncertainties.
///
/// # Errors
/// As [`MovementModel::new`] and [`MovementModel::shrinkage`].
pub fn final_shape(
    job: &Job,
    order: &[usize],
    net_heat_j_per_mm: &[f64],
) -> Result<(Shapes, Vec<(Measure, f64)>), MovementError> {
    let model = MovementModel::of_shape(job)?;
    let shrinkage = model.shrinkage_each(net_heat_j_per_mm, &job.shrinkage_factors())?;
    let (shapes, values) = Shapes::final_only(job, &model, order, &shrinkage)
        .map_err(|error| MovementError::of_structure(job, error))?;
    let measures = model.measures().iter().cloned();
    Ok((shapes, measures.zip(values).collect()))
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
    use super::{final_shape, magnification};
    use crate::movement::model::MovementModel;
    use crate::movement::simulate::SimulationOptions;

    #[test]
    fn what_is_read_off_the_final_shape_is_what_the_simulation_measures() {
        let clamped = format!(
            "{}\n[[clamp]]\nat = \"top rail at 600\"\nrelease_after = [9]\n",
            crate::example::GARDEN_GATE
        );
        for text in [crate::example::GARDEN_GATE, &clamped] {
            let job = crate::job::from_text("gate.toml", text).expect("a job");
            let order: Vec<usize> = (0..job.welds.len()).rev().collect();
            let heat = vec![172.0; job.welds.len()];
            let (_, read) = final_shape(&job, &order, &heat).expect("a shape");
            let model = MovementModel::new(&job).expect("a model");
            let shrinkage = model
                .shrinkage_each(&heat, &job.shrinkage_factors())
                .expect("within the rules");
            let parts = model.whole_welds(&order);
            let simulated = model.simulate(&parts, &shrinkage, &SimulationOptions::default());
            assert_eq!(read.len(), simulated.released_mm.len());
            for ((measure, read), simulated) in read.iter().zip(&simulated.released_mm) {
                let name = &measure.name;
                assert!(
                    (read - simulated).abs() < 1e-7,
                    "{name}: {read} and {simulated}"
                );
            }
        }
    }

    #[test]
    fn movements_are_drawn_at_a_size_that_can_be_seen_and_by_a_round_number() {
        assert_eq!(magnification(1000.0, 1.0), 20.0);
        assert_eq!(magnification(1000.0, 100.0), 1.0);
        assert_eq!(magnification(1000.0, 0.0), 500.0, "nothing moves");
        assert_eq!(magnification(1000.0, f64::NAN), 1.0);
    }
}
