//! One figure for how far a frame moves, so that two orders can be compared.

use super::answers::{Measure, MeasureKind};
use super::engine::Outcome;
use crate::job::model::Goal;

/// What a millimetre of each kind of movement weighs against a millimetre of another.
///
/// The cost of a shape is the sum, over the kinds, of weight times the worst measure of that kind (mm, either way).
/// Cut lengths can be corrected before the build and a bow can not, so by default a size weighs little. No source:
/// our own judgement, to be changed by whoever sees it differently.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cost {
    /// Worst bow of a member.
    pub bow: f64,
    /// Worst change of a size.
    pub size: f64,
    /// Racking: the difference of the diagonals.
    pub squareness: f64,
    /// Wind.
    pub wind: f64,
    /// How much the sizes across, or those up the frame, differ from each other.
    pub parallel: f64,
    /// Weight of the worst shape on the way, clamps on, beside the final one with the clamps off: what moves far on
    /// the way strains tacks and opens joints.
    pub on_the_way: f64,
}

impl Default for Cost {
    fn default() -> Self {
        Self {
            bow: 1.0,
            size: 0.2,
            squareness: 1.0,
            wind: 1.0,
            parallel: 0.5,
            on_the_way: 0.25,
        }
    }
}

impl Cost {
    /// What counts for a goal: what it names as much as a bow usually does, anything else a tenth of the usual.
    #[must_use]
    pub fn of_goal(goal: &Goal) -> Self {
        let usual = Self::default();
        if *goal == Goal::default() {
            return usual;
        }
        let weight = |named: bool, usual: f64| if named { 1.0 } else { 0.1 * usual };
        Self {
            bow: weight(goal.flat, usual.bow),
            wind: weight(goal.flat, usual.wind),
            squareness: weight(goal.square, usual.squareness),
            size: weight(goal.size, usual.size),
            parallel: weight(goal.parallel, usual.parallel),
            on_the_way: usual.on_the_way,
        }
    }

    /// Cost of one shape, mm: its measures in the order of [`super::engine::Engine::measures`].
    #[must_use]
    pub fn of_shape(&self, measures: &[Measure], values_mm: &[f64]) -> f64 {
        let [mut bow, mut size, mut squareness, mut wind] = [0.0f64; 4];
        // Least and greatest of the sizes across and of those up the frame.
        let mut ranges = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
        for (measure, value) in measures.iter().zip(values_mm) {
            let worst = match measure.kind {
                MeasureKind::Bow => &mut bow,
                MeasureKind::Size => &mut size,
                MeasureKind::Racking => &mut squareness,
                MeasureKind::Wind => &mut wind,
                // Diagonals count by their difference, spans by the sizes they make.
                MeasureKind::Diagonal | MeasureKind::Span => continue,
            };
            *worst = worst.max(value.abs());
            if let (MeasureKind::Size, Some(term)) = (measure.kind, measure.terms.first()) {
                let up = usize::from(term.direction.y.abs() > term.direction.x.abs());
                let [least, greatest] = &mut ranges[up];
                (*least, *greatest) = (least.min(*value), greatest.max(*value));
            }
        }
        let differ = ranges.map(|[least, greatest]| greatest - least);
        self.bow * bow
            + self.size * size
            + self.squareness * squareness
            + self.wind * wind
            + self.parallel * differ[0].max(differ[1]).max(0.0)
    }

    /// Cost of a whole build, mm: the final shape, and the worst on the way where the outcome tells its steps.
    #[must_use]
    pub fn of(&self, measures: &[Measure], outcome: &Outcome) -> f64 {
        let on_the_way = outcome
            .steps_mm
            .iter()
            .map(|step| self.of_shape(measures, step))
            .fold(0.0, f64::max);
        self.of_shape(measures, &outcome.released_mm) + self.on_the_way * on_the_way
    }
}
