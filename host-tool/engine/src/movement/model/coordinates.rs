//! The generalised coordinates of a beam model, and springs along them.
//!
//! Every coordinate is a probe of the structure. The probe that reads the coordinate off the nodes also gives the
//! points where its force acts, so the compliance between coordinates is symmetric.

use super::beam_model::{BeamModel, SegmentGeometry};
use super::seam_stiffness::SeamStiffness;
use crate::formulas::joint_shrinkage::JointCoefficients;
use crate::job::model::Point;
use crate::material::Material;
use crate::movement::measures::Measure;
use crate::structure::{Frame, Probe, Spring};

/// The axes of the frame.
const AXES: [Point; 3] = [
    Point::new(1.0, 0.0, 0.0),
    Point::new(0.0, 1.0, 0.0),
    Point::new(0.0, 0.0, 1.0),
];

/// Length of a tack on light tube, mm. Common practice, no source.
pub(crate) const TACK_LENGTH_MM: f64 = 8.0;
/// Stiffness of a firm clamp in each direction, N/mm: a screw clamp and the table under it. Common practice, no source.
pub(crate) const CLAMP_STIFFNESS_N_PER_MM: f64 = 20_000.0;
/// Stiffness of the restraints that stand for the table under a frame that only lies on it, N/mm. They hold it just
/// enough, so any value gives the same shape.
pub(crate) const TABLE_STIFFNESS_N_PER_MM: f64 = 100_000.0;

/// The number of coordinates of each kind, and with it where each kind begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Layout {
    pairs: usize,
    tendons: usize,
    clamps: usize,
    measures: usize,
}

impl Layout {
    /// Counts the coordinates of a model.
    pub(crate) fn new(model: &BeamModel, measures: usize) -> Self {
        Self {
            pairs: model.pairs.len(),
            tendons: 2 * model.segments.len(),
            clamps: model.clamps.len(),
            measures,
        }
    }

    /// All coordinates together.
    pub(crate) const fn size(self) -> usize {
        self.measure(self.measures)
    }

    /// Movement of a pair's second member relative to its first: translations 0 to 2, rotations 3 to 5.
    pub(crate) const fn pair(self, pair: usize, component: usize) -> usize {
        6 * pair + component
    }

    /// Shortening of a tendon (0 or 1) of a segment.
    pub(crate) const fn tendon(self, segment: usize, tendon: usize) -> usize {
        6 * self.pairs + 2 * segment + tendon
    }

    /// Movement of the point that a clamp holds: x, y, z.
    pub(crate) const fn clamp(self, clamp: usize, component: usize) -> usize {
        6 * self.pairs + self.tendons + 3 * clamp + component
    }

    /// Movement along one of the six restraints that stand for the table.
    pub(crate) const fn rest(self, rest: usize) -> usize {
        self.clamp(self.clamps, rest)
    }

    /// A measure.
    pub(crate) const fn measure(self, measure: usize) -> usize {
        self.rest(6) + measure
    }
}

/// The probe of each coordinate, in the order of the layout.
pub(crate) fn probes(
    frame: &Frame,
    model: &BeamModel,
    measures: &[Measure],
    rests: &[(usize, Point); 6],
) -> Vec<Probe> {
    let layout = Layout::new(model, measures.len());
    let mut probes = vec![Probe::default(); layout.size()];
    let point = |node: usize, at: Point, direction: Point| {
        Probe::displacement(&frame.nodes, node, at.into(), direction.into())
    };
    for (p, pair) in model.pairs.iter().enumerate() {
        let [first, second] = pair.nodes;
        for (k, axis) in AXES.into_iter().enumerate() {
            probes[layout.pair(p, k)] =
                Probe::opening(&frame.nodes, first, second, pair.at.into(), axis.into());
            probes[layout.pair(p, 3 + k)] = Probe::relative_rotation(first, second, axis.into());
        }
    }
    for (s, segment) in model.segments.iter().enumerate() {
        for (k, tendon) in segment.tendons.iter().enumerate() {
            // A tendon pulls its two ends together.
            let [start, end] = tendon
                .nodes
                .map(|node| point(node, model.nodes[node] + tendon.arm, tendon.axis));
            probes[layout.tendon(s, k)] = start.minus(&end);
        }
    }
    for (c, clamp) in model.clamps.iter().enumerate() {
        for (k, axis) in AXES.into_iter().enumerate() {
            probes[layout.clamp(c, k)] = point(clamp.node, clamp.at, axis);
        }
    }
    for (r, &(node, direction)) in rests.iter().enumerate() {
        probes[layout.rest(r)] = point(node, model.nodes[node], direction);
    }
    for (m, measure) in measures.iter().enumerate() {
        let moved = measure
            .terms
            .iter()
            .map(|term| point(term.node, model.nodes[term.node], term.direction));
        let turned = measure
            .turns
            .iter()
            .map(|turn| Probe::rotation(turn.node, turn.about.into()));
        probes[layout.measure(m)] = moved
            .chain(turned)
            .fold(Probe::default(), |sum, one| sum.plus(1.0, &one));
    }
    probes
}

/// A spring along a direction in coordinate space: what a weld, a tack or a clamp resists.
#[derive(Clone, Debug)]
pub(crate) struct ConstraintSpring {
    /// The direction: a few coordinates with their weights.
    pub(crate) direction: Vec<(usize, f64)>,
    /// Stiffness, N/mm or N·mm/rad.
    pub(crate) stiffness: f64,
}

impl ConstraintSpring {
    /// The same as a spring of the beam structure.
    pub(crate) fn on_frame(&self, probes: &[Probe]) -> Spring {
        let along = self
            .direction
            .iter()
            .fold(Probe::default(), |sum, &(coordinate, weight)| {
                sum.plus(weight, &probes[coordinate])
            });
        Spring {
            along,
            stiffness: self.stiffness,
        }
    }
}

/// The six springs of a weld or tack at a point of a pair, in its own axes.
fn springs_at(
    layout: Layout,
    pair: usize,
    arm: Point,
    stiffness: &SeamStiffness,
) -> [ConstraintSpring; 6] {
    std::array::from_fn(|k| {
        let axis = stiffness.axes[k % 3];
        let (shift, rotation) = if k < 3 {
            (axis, arm.cross(axis))
        } else {
            (Point::default(), axis)
        };
        let weights = [
            shift.x, shift.y, shift.z, rotation.x, rotation.y, rotation.z,
        ];
        ConstraintSpring {
            direction: (0..6)
                .map(|c| (layout.pair(pair, c), weights[c]))
                .filter(|&(_, weight)| weight.abs() > 1e-12)
                .collect(),
            stiffness: stiffness.values[k],
        }
    })
}

/// The springs of a segment.
pub(crate) fn segment_springs(
    model: &BeamModel,
    layout: Layout,
    segment: &SegmentGeometry,
    material: &Material,
    coefficients: &JointCoefficients,
) -> [ConstraintSpring; 6] {
    let arm = segment.at - model.pairs[segment.pair].at;
    let stiffness = SeamStiffness::new(
        segment.line,
        &segment.walls,
        segment.throat_mm,
        segment.length_mm,
        material,
        coefficients,
    );
    springs_at(layout, segment.pair, arm, &stiffness)
}

/// The springs of a tack: a short piece of seam.
pub(crate) fn tack_springs(
    model: &BeamModel,
    layout: Layout,
    tack: usize,
    material: &Material,
    coefficients: &JointCoefficients,
) -> [ConstraintSpring; 6] {
    let tack = &model.tacks[tack];
    let stiffness = SeamStiffness::new(
        tack.line,
        &tack.walls,
        tack.throat_mm,
        TACK_LENGTH_MM,
        material,
        coefficients,
    );
    let arm = tack.at - model.pairs[tack.pair].at;
    springs_at(layout, tack.pair, arm, &stiffness)
}
