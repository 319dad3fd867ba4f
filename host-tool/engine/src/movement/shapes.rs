//! The frame before, on the way and after, as plain points for whoever draws it.

use super::engine::{Engine, Shrinkage};
use super::history::NodeMovements;
use super::holding::Moment;
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

/// The shape of the frame at one moment: for each line, how far each of its points has moved, mm.
pub type Moved = Vec<Vec<Point>>;

/// The shapes of a build.
#[derive(Clone, Debug)]
pub struct Shapes {
    /// One line a member.
    pub lines: Vec<Line>,
    /// After each weld of the order, and after clamps that come off between them.
    pub steps: Vec<(Moment, Moved)>,
    /// When the last weld is cold and the clamps are off.
    pub released: Moved,
    /// How many times larger than life the movements are best drawn at first.
    pub magnification: f64,
}

/// A movement is drawn at about this share of the size of the frame.
const SHARE_OF_FRAME: f64 = 0.04;

impl Shapes {
    /// Lays the welds in `order` and keeps the shape after each, and after clamps that come off on the way.
    ///
    /// # Errors
    /// As [`Engine::history`].
    pub fn new(
        job: &Job,
        engine: &Engine,
        order: &[usize],
        shrinkage: &Shrinkage,
    ) -> Result<Self, StructureError> {
        let model = engine.model();
        let history = engine.history(order, shrinkage)?;
        let nodes: Vec<Vec<usize>> = model
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
                points: nodes[member].iter().map(|&n| model.nodes[n]).collect(),
            })
            .collect();
        let steps = || history.steps.iter();
        let shapes = || steps().map(|(_, shape)| shape).chain([&history.released]);
        let greatest = shapes()
            .flatten()
            .map(|moved| moved.length())
            .fold(0.0, f64::max);
        Ok(Self {
            lines,
            released: pick(&history.released),
            steps: steps()
                .map(|(moment, shape)| (moment.clone(), pick(shape)))
                .collect(),
            magnification: magnification(extent(&model.nodes), greatest),
        })
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

/// A round number (1, 2 or 5 times a power of ten, 1 to 1000) that shows the greatest movement well.
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
