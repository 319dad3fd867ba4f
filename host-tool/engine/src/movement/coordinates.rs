//! The generalised coordinates of a frame model, and what holds along them.
//!
//! Every coordinate is a probe of the structure: what reads it off the nodes also says where its force acts, so the
//! compliance between coordinates is symmetric.

use super::answers::Measure;
use super::effect::weld_stiffness;
use super::frame::{FrameModel, Seam};
use crate::job::model::Point;
use crate::material::Material;
use crate::structure::{Frame, Probe, Spring};

/// The axes of the frame.
const AXES: [Point; 3] = [
    Point::new(1.0, 0.0, 0.0),
    Point::new(0.0, 1.0, 0.0),
    Point::new(0.0, 0.0, 1.0),
];

/// A tack is a weld of this length, mm: what a welder makes of "a tack" on light tube. Common practice, no source.
pub const TACK_LENGTH_MM: f64 = 8.0;
/// A firm clamp, N/mm in each direction: a screw clamp and the table under it. Common practice, no source.
pub const CLAMP_STIFFNESS_N_PER_MM: f64 = 20_000.0;
/// What stands for the table where a frame only lies on it, N/mm: any value gives the same shape.
pub const REST_STIFFNESS_N_PER_MM: f64 = 100_000.0;

/// Where the coordinates of each kind begin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    pairs: usize,
    strips: usize,
    clamps: usize,
    measures: usize,
}

impl Layout {
    /// Counts the coordinates of a model.
    #[must_use]
    pub fn new(model: &FrameModel, measures: usize) -> Self {
        Self {
            pairs: model.pairs.len(),
            strips: 2 * model.seams.len(),
            clamps: model.clamps.len(),
            measures,
        }
    }

    /// All coordinates together.
    #[must_use]
    pub const fn size(self) -> usize {
        self.measure(self.measures)
    }

    /// Movement of a pair's second member against its first: translations 0 to 2, rotations 3 to 5.
    #[must_use]
    pub const fn pair(self, pair: usize, component: usize) -> usize {
        6 * pair + component
    }

    /// Shortening of a strip of a seam (0 or 1).
    #[must_use]
    pub const fn strip(self, seam: usize, strip: usize) -> usize {
        6 * self.pairs + 2 * seam + strip
    }

    /// Movement of the point a clamp holds.
    #[must_use]
    pub const fn clamp(self, clamp: usize, component: usize) -> usize {
        6 * self.pairs + self.strips + 3 * clamp + component
    }

    /// One of the six ways in which the table holds a frame that lies on it.
    #[must_use]
    pub const fn rest(self, rest: usize) -> usize {
        self.clamp(self.clamps, rest)
    }

    /// An answer.
    #[must_use]
    pub const fn measure(self, measure: usize) -> usize {
        self.rest(6) + measure
    }
}

/// What each coordinate reads off the frame, in the order of the layout.
#[must_use]
pub fn probes(
    frame: &Frame,
    model: &FrameModel,
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
    for (s, seam) in model.seams.iter().enumerate() {
        for (k, strip) in seam.strips.iter().enumerate() {
            // A strip pulls its two ends together.
            let [start, end] = strip
                .nodes
                .map(|node| point(node, model.nodes[node] + strip.arm, strip.axis));
            probes[layout.strip(s, k)] = start.minus(&end);
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
        probes[layout.measure(m)] = measure.terms.iter().fold(Probe::default(), |sum, term| {
            sum.plus(
                1.0,
                &point(term.node, model.nodes[term.node], term.direction),
            )
        });
    }
    probes
}

/// A spring along a direction of coordinate space: one way in which something holds.
#[derive(Clone, Debug)]
pub struct Tie {
    /// The direction, as few coordinates with weights.
    pub direction: Vec<(usize, f64)>,
    /// Stiffness, N/mm or N·mm/rad.
    pub stiffness: f64,
}

impl Tie {
    /// The same as a spring of the structure.
    #[must_use]
    pub fn spring(&self, probes: &[Probe]) -> Spring {
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

/// The six springs of a weld or tack at a point of a pair, in its own axes: see [`weld_stiffness`].
fn line_ties(
    layout: Layout,
    pair: usize,
    arm: Point,
    axes: [Point; 3],
    stiffness: [f64; 6],
) -> [Tie; 6] {
    std::array::from_fn(|k| {
        let axis = axes[k % 3];
        let (shift, turn) = if k < 3 {
            (axis, arm.cross(axis))
        } else {
            (Point::default(), axis)
        };
        let weights = [shift.x, shift.y, shift.z, turn.x, turn.y, turn.z];
        Tie {
            direction: (0..6)
                .map(|c| (layout.pair(pair, c), weights[c]))
                .filter(|&(_, weight)| weight.abs() > 1e-12)
                .collect(),
            stiffness: stiffness[k],
        }
    })
}

/// The springs of a seam: along, across, out of the face; then about the same axes.
#[must_use]
pub fn seam_ties(model: &FrameModel, layout: Layout, seam: &Seam, material: &Material) -> [Tie; 6] {
    let arm = seam.at - model.pairs[seam.pair].at;
    let stiffness = weld_stiffness(material, seam.length_mm, seam.throat_mm);
    line_ties(layout, seam.pair, arm, seam.axes, stiffness)
}

/// The springs of a tack: a short weld that lies along the joint's own axes.
#[must_use]
pub fn tack_ties(
    model: &FrameModel,
    layout: Layout,
    tack: usize,
    throat_mm: f64,
    material: &Material,
) -> [Tie; 6] {
    let tack = &model.tacks[tack];
    let mut stiffness = weld_stiffness(material, TACK_LENGTH_MM, throat_mm);
    // A spot has no line: the same in every direction.
    stiffness[0] = stiffness[1];
    stiffness[2] = stiffness[1];
    stiffness[3] = stiffness[5];
    stiffness[4] = stiffness[5];
    line_ties(
        layout,
        tack.pair,
        tack.at - model.pairs[tack.pair].at,
        AXES,
        stiffness,
    )
}
