//! Where the frame is viewed from, and what hides what from there.
//!
//! All views are parallel projections: lengths along the frame keep their scale, as on a drawing board.
//!
//! ```
//! use coldsquare_engine::drawing::view::View;
//! use coldsquare_engine::job::model::Point;
//!
//! assert_eq!(View::FRONT.project(Point::new(30.0, 20.0, 10.0)), [30.0, -20.0]);
//! ```

use super::scene::{Scene, Solid};
use crate::job::model::{Job, Member, Point, SeenFrom};

/// A parallel projection.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Direction that is drawn to the right.
    pub right: Point,
    /// Direction that is drawn upwards.
    pub up: Point,
    /// Direction towards the eye.
    pub toward: Point,
}

/// Solids that overlap by less than this only touch, mm.
const TOUCHING_MM: f64 = 1.0;

/// A line of sight that passes a solid by less than this still counts as in it, mm.
const TOLERANCE_MM: f64 = 0.1;

/// With more solids than this, only the distance of their middles decides what hides what: the planes of all pairs would
/// fill the page.
const MAX_SOLIDS_IN_PAIRS: usize = 300;

impl View {
    /// As the frame lies in front of the welder.
    pub const FRONT: Self = Self {
        right: Point::new(1.0, 0.0, 0.0),
        up: Point::new(0.0, 1.0, 0.0),
        toward: Point::new(0.0, 0.0, 1.0),
    };
    /// Flipped about its vertical axis.
    pub const BACK: Self = Self {
        right: Point::new(-1.0, 0.0, 0.0),
        up: Point::new(0.0, 1.0, 0.0),
        toward: Point::new(0.0, 0.0, -1.0),
    };
    /// From the left, above and in front: turned 34° and tipped 26°.
    pub const CORNER: Self = Self {
        right: Point::new(0.825_336, 0.0, 0.564_642),
        up: Point::new(0.245_596, 0.900_447, -0.358_988),
        toward: Point::new(-0.508_432, 0.434_966, 0.743_174),
    };
    /// An object on legs as it stands, with the front of the drawing up: from the left, above and in front.
    pub const STANDING: Self = Self {
        right: Point::new(0.882_353, -0.470_588, 0.0),
        up: Point::new(0.248_989, 0.466_854, 0.848_559),
        toward: Point::new(-0.399_322, -0.748_728, 0.529_101),
    };

    /// Whether what is drawn from above stands or lies: the file says so, or its members are legs that run out of the
    /// plane of the frame.
    #[must_use]
    pub fn stands(job: &Job) -> bool {
        if job.seen_from == SeenFrom::Above {
            return true;
        }
        let is_leg = |member: &&Member| {
            let line = member.to - member.from;
            line.z.abs() > 0.8 * line.length()
        };
        job.members.iter().filter(is_leg).count() >= 3
    }

    /// This view, or that of the standing object in place of the one from the corner.
    #[must_use]
    pub fn of_standing(self, job: &Job) -> Self {
        if self == Self::CORNER && Self::stands(job) {
            Self::STANDING
        } else {
            self
        }
    }

    /// On the page: (to the right, down), mm.
    #[must_use]
    pub fn project(&self, point: Point) -> [f64; 2] {
        [point.dot(self.right), -point.dot(self.up)]
    }
}

/// A plane between two solids: `second` lies on the side that `normal` points to.
#[derive(Clone, Copy, Debug)]
pub struct Between {
    /// Index of a solid.
    pub first: usize,
    /// Index of the other.
    pub second: usize,
    /// Unit vector from the first to the second.
    pub normal: Point,
}

/// A plane between every two solids that have one; empty for too many solids.
#[must_use]
pub fn between(solids: &[Solid]) -> Vec<Between> {
    let mut planes = Vec::new();
    if solids.len() > MAX_SOLIDS_IN_PAIRS {
        return planes;
    }
    for (first, a) in solids.iter().enumerate() {
        for (second, b) in solids.iter().enumerate().skip(first + 1) {
            planes.extend(separating(a, b).map(|normal| Between {
                first,
                second,
                normal,
            }));
        }
    }
    planes
}

fn separating(a: &Solid, b: &Solid) -> Option<Point> {
    let gap = |normal: Point| -furthest(a, normal) - furthest(b, -normal);
    let own = a.faces.iter().map(|face| face.normal);
    let theirs = b.faces.iter().map(|face| -face.normal);
    own.chain(theirs)
        .map(|normal| (gap(normal), normal))
        .max_by(|x, y| x.0.total_cmp(&y.0))
        .filter(|(gap, _)| *gap > -TOUCHING_MM)
        .map(|(_, normal)| normal)
}

fn furthest(solid: &Solid, direction: Point) -> f64 {
    let along = solid.vertices.iter().map(|vertex| vertex.dot(direction));
    along.fold(f64::NEG_INFINITY, f64::max)
}

/// Indices of the solids from the farthest to the nearest: drawn in this order, hidden parts are covered.
///
/// Exact for convex solids with a plane between every two, unless three or more overlap in a ring; a ring is broken at its
/// farthest solid.
#[must_use]
pub(crate) fn back_to_front(scene: &Scene, planes: &[Between], view: &View) -> Vec<usize> {
    let boxes: Vec<[f64; 4]> = scene
        .solids
        .iter()
        .map(|solid| flat_box(solid, view))
        .collect();
    let count = scene.solids.len();
    let mut behind = vec![0_usize; count];
    let mut nearer: Vec<Vec<usize>> = vec![Vec::new(); count];
    for plane in planes {
        let side = plane.normal.dot(view.toward);
        if side.abs() < 1e-6 || !overlap(&boxes[plane.first], &boxes[plane.second]) {
            continue;
        }
        let (far, near) = match side > 0.0 {
            true => (plane.first, plane.second),
            false => (plane.second, plane.first),
        };
        nearer[far].push(near);
        behind[near] += 1;
    }
    let depth = |k: usize| {
        let sum = scene.solids[k].vertices.iter().map(|v| v.dot(view.toward));
        sum.sum::<f64>() / scene.solids[k].vertices.len().max(1) as f64
    };
    let mut left: Vec<usize> = (0..count).collect();
    left.sort_by(|a, b| depth(*a).total_cmp(&depth(*b)));
    let mut order = Vec::with_capacity(count);
    while !left.is_empty() {
        let place = left.iter().position(|k| behind[*k] == 0).unwrap_or(0);
        let solid = left.remove(place);
        for near in std::mem::take(&mut nearer[solid]) {
            behind[near] = behind[near].saturating_sub(1);
        }
        order.push(solid);
    }
    order
}

fn flat_box(solid: &Solid, view: &View) -> [f64; 4] {
    let start = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    solid.vertices.iter().fold(start, |b, vertex| {
        let [x, y] = view.project(*vertex);
        [b[0].min(x), b[1].min(y), b[2].max(x), b[3].max(y)]
    })
}

fn overlap(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// Whether a weld can be seen: some part of it has no metal between itself and the eye.
#[must_use]
pub fn sees(scene: &Scene, weld: usize, view: &View) -> bool {
    let Some(line) = scene.weld_lines.get(weld) else {
        return false;
    };
    [0.5, 0.2, 0.8].iter().any(|share| {
        let on_it = line.from + (line.to - line.from) * *share;
        let above = on_it + line.outward * 1.5;
        !scene
            .solids
            .iter()
            .any(|solid| hides(solid, above, view.toward))
    })
}

/// Whether the line from a point to the eye passes through a solid.
fn hides(solid: &Solid, point: Point, toward: Point) -> bool {
    let (mut enter, mut leave) = (0.0_f64, f64::INFINITY);
    for face in &solid.faces {
        let Some(corner) = face.corners.first() else {
            continue;
        };
        let room = (solid.vertices[*corner] - point).dot(face.normal);
        let speed = toward.dot(face.normal);
        if speed.abs() < 1e-9 {
            // A line that runs in the plane where two members meet is hidden by both, not by neither.
            if room < -TOLERANCE_MM {
                return false;
            }
        } else if speed > 0.0 {
            leave = leave.min(room / speed);
        } else {
            enter = enter.max(room / speed);
        }
    }
    leave - enter > 0.5
}
