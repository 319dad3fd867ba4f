//! One figure for how far a frame moves, to compare orders by. To change what counts as a good order, change the weights.
//!
//! ```
//! use coldsquare_engine::job::model::Goal;
//! use coldsquare_engine::movement::cost::MovementWeights;
//!
//! assert_eq!(MovementWeights::of_goal(&Goal::default()), MovementWeights::default());
//! assert_eq!(MovementWeights::default().of_shape(&[], &[]), 0.0);
//! ```

use super::measures::{Measure, MeasureKind};
use super::outcome::Outcome;
use crate::job::model::Goal;

/// The weight of a millimetre of each kind of movement.
///
/// The cost of a shape is the sum over the kinds of weight times the worst measure of that kind (mm, either direction).
/// Cut lengths can be corrected before the build and a bow cannot, so a size weighs little by default. The weights are
/// our own judgement, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MovementWeights {
    /// Worst bow of a member.
    pub bow: f64,
    /// Worst change of a size.
    pub size: f64,
    /// Racking: the difference of the diagonals.
    pub squareness: f64,
    /// Twist.
    pub twist: f64,
    /// Worst lean of a member on another, or change of a corner's angle, over the blade of a square.
    pub lean: f64,
    /// How much the widths, or the heights, differ from each other.
    pub parallel: f64,
    /// Weight of the worst shape during welding, clamps on, beside the final one with the clamps off: large movements
    /// on the way strain tacks and open joints.
    pub during_welding: f64,
}

impl Default for MovementWeights {
    fn default() -> Self {
        Self {
            bow: 1.0,
            size: 0.2,
            squareness: 1.0,
            twist: 1.0,
            lean: 0.5,
            parallel: 0.5,
            during_welding: 0.25,
        }
    }
}

impl MovementWeights {
    /// The weights for a goal: 1 for what it names, a tenth of the default for anything else.
    #[must_use]
    pub fn of_goal(goal: &Goal) -> Self {
        let usual = Self::default();
        if *goal == Goal::default() {
            return usual;
        }
        let weight = |named: bool, usual: f64| if named { 1.0 } else { 0.1 * usual };
        Self {
            bow: weight(goal.flat, usual.bow),
            twist: weight(goal.flat, usual.twist),
            squareness: weight(goal.square, usual.squareness),
            lean: weight(goal.square, usual.lean),
            size: weight(goal.size, usual.size),
            parallel: weight(goal.parallel, usual.parallel),
            during_welding: usual.during_welding,
        }
    }

    /// Cost of one shape, mm; its measures in the order of [`MovementModel::measures`].
    ///
    /// [`MovementModel::measures`]: super::model::MovementModel::measures
    #[must_use]
    pub fn of_shape(&self, measures: &[Measure], values_mm: &[f64]) -> f64 {
        let [mut bow, mut size, mut squareness, mut twist, mut lean] = [0.0f64; 5];
        // Least and greatest of the widths and of the heights.
        let mut ranges = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
        for (measure, value) in measures.iter().zip(values_mm) {
            let worst = match measure.kind {
                MeasureKind::Bow => &mut bow,
                MeasureKind::Size => &mut size,
                MeasureKind::Racking => &mut squareness,
                MeasureKind::Twist => &mut twist,
                MeasureKind::Lean | MeasureKind::Corner => &mut lean,
                // Diagonals count by their difference, spans by the sizes they make.
                MeasureKind::Diagonal
                | MeasureKind::Span
                | MeasureKind::Standing
                | MeasureKind::Plumb
                | MeasureKind::TopTwist => continue,
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
            + self.twist * twist
            + self.lean * lean
            + self.parallel * differ[0].max(differ[1]).max(0.0)
    }

    /// Cost of a whole build, mm: the final shape, and the worst during welding where the outcome has its steps.
    #[must_use]
    pub fn of(&self, measures: &[Measure], outcome: &Outcome) -> f64 {
        let during_welding = outcome
            .steps_mm
            .iter()
            .map(|step| self.of_shape(measures, step))
            .fold(0.0, f64::max);
        self.of_shape(measures, &outcome.released_mm) + self.during_welding * during_welding
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measure(kind: MeasureKind) -> Measure {
        Measure {
            name: String::new(),
            kind,
            member: None,
            nominal_mm: 0.0,
            terms: Vec::new(),
            turns: Vec::new(),
        }
    }

    #[test]
    fn the_worst_lean_or_corner_counts_either_way_and_in_full_for_a_square_frame() {
        let measures = [MeasureKind::Lean, MeasureKind::Corner].map(measure);
        let cost = |weights: MovementWeights, mm: [f64; 2]| weights.of_shape(&measures, &mm);
        assert_eq!(cost(MovementWeights::default(), [1.0, -2.0]), 1.0);
        assert_eq!(cost(MovementWeights::default(), [-3.0, 2.0]), 1.5);
        let square = Goal {
            square: true,
            ..Goal::default()
        };
        assert_eq!(cost(MovementWeights::of_goal(&square), [1.0, -2.0]), 2.0);
    }
}
