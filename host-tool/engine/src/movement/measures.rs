//! What is measured of a frame: linear functions of the movements of its nodes.
//!
//! ```
//! # use coldsquare_engine::movement::measures::MeasureKind;
//! # use coldsquare_engine::movement::model::MovementModel;
//! # let job = coldsquare_engine::job::from_text("gate.toml", coldsquare_engine::example::GARDEN_GATE).unwrap();
//! let model = MovementModel::new(&job).unwrap();
//! let width = &model.measures()[0];
//! assert_eq!((width.kind, width.name.as_str()), (MeasureKind::Size, "width at the bottom"));
//! ```

use super::frame_words::FrameWords;
use super::model::beam_model::BeamModel;
use crate::job::model::{Job, Member, Point, SeenFrom};

/// A term of a measure: the translation of a node.
#[derive(Clone, Copy, Debug)]
pub struct Term {
    /// Node of the beam model.
    pub node: usize,
    /// Direction of its translation, times the weight.
    pub direction: Point,
}

/// A further term: the rotation of a node.
#[derive(Clone, Copy, Debug)]
pub struct Turn {
    /// Node of the beam model.
    pub node: usize,
    /// Axis of the rotation times the weight, mm: what a rotation of 1 rad adds.
    pub about: Point,
}

/// What is measured.
#[non_exhaustive]
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MeasureKind {
    /// Change of a distance across the frame.
    Size,
    /// Change of a diagonal.
    Diagonal,
    /// Change of one diagonal less that of the other.
    Racking,
    /// Rise of the fourth corner from the plane through the other three.
    Twist,
    /// Movement of the middle of a member off the line between its ends, along its depth or width.
    Bow,
    /// Change of the distance between the members that a member meets at its ends.
    Span,
    /// Lean of a bar on the rail it stands on, over the blade of a square.
    Lean,
    /// Change of the angle of a corner, or fold of its legs out of their plane, over the blade of a square.
    Corner,
    /// Change of a distance on an object that stands on legs: its height, or a width or diagonal of a side.
    Standing,
    /// Change of how far the top of a leg stands off a plumb line from its foot.
    Plumb,
    /// How far the tops of the legs have gone round against their feet.
    TopTwist,
}

/// One measure: its name and its terms.
#[derive(Clone, Debug)]
pub struct Measure {
    /// As the maker calls it ("width at the top", "bow of the top rail, towards the front").
    pub name: String,
    /// What kind it is.
    pub kind: MeasureKind,
    /// Index of the member, for a bow or a span.
    pub member: Option<usize>,
    /// Distance before welding, mm; 0 for bows, racking, twist and the plumb of an upright leg.
    pub nominal_mm: f64,
    /// The translations that add up to it; for a bow the middle comes first.
    pub terms: Vec<Term>,
    /// The rotations that add to it.
    pub turns: Vec<Turn>,
}

/// Members nearer to one direction than this cosine run along each other.
const ALONG: f64 = 0.9;

/// A member shorter than this many depths has no bow that matters.
const SLENDER: f64 = 5.0;

/// Every measure of a job, sizes first.
pub(crate) fn measures(job: &Job, model: &BeamModel) -> Vec<Measure> {
    let mut measures = plane_measures(job, model);
    for (index, member) in job.members.iter().enumerate() {
        measures.extend(bows(model, job.seen_from, (index, member)));
    }
    let bars = (0..job.members.len()).filter(|&index| job.members[index].plate.is_none());
    measures.extend(bars.filter_map(|index| span(job, model, index)));
    measures
}

/// The distance between the members that a member meets at its two ends, along itself.
fn span(job: &Job, model: &BeamModel, index: usize) -> Option<Measure> {
    let member = &job.members[index];
    let line = member.to - member.from;
    let (length, axis) = (line.length(), line.unit()?);
    let size = member.section.properties();
    let near = size.depth_mm.max(size.width_mm).min(length / 4.0);
    let other_at = |at_end: bool| {
        model.pairs.iter().find_map(|pair| {
            let side = pair.members.iter().position(|&m| m == index)?;
            let along = (pair.at - member.from).dot(axis);
            let here = if at_end {
                along >= length - near
            } else {
                along <= near
            };
            // Beside a member that runs along it, a member keeps its own length.
            let other = job.members[pair.members[1 - side]].axis();
            let beside = other.dot(axis).abs() > ALONG;
            here.then_some(pair.nodes[if beside { side } else { 1 - side }])
        })
    };
    Some(Measure {
        name: format!("span of {}", member.name),
        kind: MeasureKind::Span,
        member: Some(index),
        nominal_mm: length,
        terms: vec![
            Term {
                node: other_at(true)?,
                direction: axis,
            },
            Term {
                node: other_at(false)?,
                direction: -axis,
            },
        ],
        turns: Vec::new(),
    })
}

fn bows(model: &BeamModel, seen_from: SeenFrom, (index, member): (usize, &Member)) -> Vec<Measure> {
    let length = (member.to - member.from).length();
    let properties = member.section.properties();
    if length < SLENDER * properties.depth_mm.max(properties.width_mm) {
        return Vec::new();
    }
    let nodes = [0.0, 0.5 * length, length].map(|along| model.node_near(index, along));
    let axis = (member.to - member.from) * (1.0 / length);
    let depth = member.depth_axis;
    [depth, depth.cross(axis)]
        .into_iter()
        .map(|direction| {
            let direction = seen_from.with_sign(direction);
            Measure {
                name: format!("bow of {}, {}", member.name, seen_from.towards(direction)),
                kind: MeasureKind::Bow,
                member: Some(index),
                nominal_mm: 0.0,
                terms: vec![
                    Term {
                        node: nodes[1],
                        direction,
                    },
                    Term {
                        node: nodes[0],
                        direction: direction * -0.5,
                    },
                    Term {
                        node: nodes[2],
                        direction: direction * -0.5,
                    },
                ],
                turns: Vec::new(),
            }
        })
        .collect()
}

/// The four corners of the frame: bottom left, bottom right, top right, top left. Each has the member ends that are
/// farthest in that direction, one or several at the same place. `None` when these are not four different places.
pub(crate) fn corners(model: &BeamModel) -> Option<[Vec<usize>; 4]> {
    corners_among(model, |_| true)
}

/// The four corners of the frame that is measured: of an object on legs, those of the frame that carries them or lies on
/// them, wherever the feet stand.
fn measured_corners(job: &Job, model: &BeamModel) -> Option<[Vec<usize>; 4]> {
    if job.seen_from == SeenFrom::Front {
        return corners(model);
    }
    let is_of_frame = |member: &Member| {
        let size = member.greatest_size_mm();
        member.from.z.abs() < size && member.to.z.abs() < size
    };
    corners_among(model, |node| {
        is_of_frame(&job.members[model.member_of(node)])
    })
}

fn corners_among(model: &BeamModel, counts: impl Fn(usize) -> bool) -> Option<[Vec<usize>; 4]> {
    let ends: Vec<usize> = model
        .stations
        .iter()
        .flat_map(|row| [row.first(), row.last()])
        .flatten()
        .map(|&(_, node)| node)
        .filter(|&node| counts(node))
        .collect();
    let farthest = |sx: f64, sy: f64| -> Option<Vec<usize>> {
        let score = |n: usize| sx * model.nodes[n].x + sy * model.nodes[n].y;
        let best = ends
            .iter()
            .copied()
            .max_by(|&a, &b| score(a).total_cmp(&score(b)).then(b.cmp(&a)))?;
        let same = |n: &usize| (model.nodes[*n] - model.nodes[best]).length() < 1.0;
        Some(ends.iter().copied().filter(same).collect())
    };
    let corners = [
        farthest(-1.0, -1.0)?,
        farthest(1.0, -1.0)?,
        farthest(1.0, 1.0)?,
        farthest(-1.0, 1.0)?,
    ];
    let apart = |a: usize, b: usize| {
        (model.nodes[corners[a][0]] - model.nodes[corners[b][0]]).length() > 1.0
    };
    (apart(0, 1) && apart(1, 2) && apart(2, 3) && apart(3, 0)).then_some(corners)
}

/// Of the member ends at a corner, the one whose member is most nearly square to a direction: its face is the outside.
fn facing(model: &BeamModel, corner: &[usize], direction: Point) -> usize {
    let along = |node: usize| {
        let row = &model.stations[model.member_of(node)];
        let ends = row.first().zip(row.last());
        ends.and_then(|(first, last)| (model.nodes[last.1] - model.nodes[first.1]).unit())
            .map_or(1.0, |axis| axis.dot(direction).abs())
    };
    corner
        .iter()
        .copied()
        .min_by(|&a, &b| along(a).total_cmp(&along(b)))
        .unwrap_or(0)
}

/// The change of the distance between two nodes; its nominal value is from outside to outside.
fn distance(job: &Job, model: &BeamModel, name: &str, a: usize, b: usize) -> Option<Measure> {
    let line = model.nodes[b] - model.nodes[a];
    let unit = line.unit()?;
    let outside = outside_mm(job, model, b, unit) + outside_mm(job, model, a, -unit);
    Some(Measure {
        name: name.into(),
        kind: MeasureKind::Size,
        member: None,
        nominal_mm: line.length() + outside,
        terms: vec![
            Term {
                node: b,
                direction: unit,
            },
            Term {
                node: a,
                direction: -unit,
            },
        ],
        turns: Vec::new(),
    })
}

/// From a node to the outside of its member's metal in a direction, mm: across the section from its centroid, which an
/// angle has nearer to its heel, and along it past an end of the line.
pub(super) fn outside_mm(job: &Job, model: &BeamModel, node: usize, direction: Point) -> f64 {
    let index = model.member_of(node);
    let member = &job.members[index];
    let row = &model.stations[index];
    let is = |end: Option<&(f64, usize)>| end.is_some_and(|&(_, other)| other == node);
    let past = |is_end: bool, end: usize| if is_end { member.past_ends[end].0 } else { 0.0 };
    let along = direction.dot(member.axis());
    let end = usize::from(along >= 0.0);
    let past = [past(is(row.first()), 0), past(is(row.last()), 1)][end];
    member.reach_mm(direction) + along.abs() * past
}

/// Sizes, diagonals, racking and twist of a frame with four corners.
fn plane_measures(job: &Job, model: &BeamModel) -> Vec<Measure> {
    let Some(corners) = measured_corners(job, model) else {
        return Vec::new();
    };
    let [bl, br, tr, tl] = &corners;
    let words = FrameWords::of(job);
    let [rising, falling] = words.diagonals();
    let mut measures = sizes(job, model, &corners, &words.sizes());
    let diagonals: Vec<Measure> = [
        diagonal(job, model, &rising, bl, tr),
        diagonal(job, model, &falling, br, tl),
    ]
    .into_iter()
    .flatten()
    .collect();
    let racking = match diagonals.as_slice() {
        [rising, falling] => Some(racking(rising, falling)),
        _ => None,
    };
    measures.extend(diagonals.into_iter().chain(racking));
    let z = Point::new(0.0, 0.0, 1.0);
    let rises = [(bl, z), (br, -z), (tr, z), (tl, -z)];
    measures.push(Measure {
        name: "twist (rock on a flat table)".into(),
        kind: MeasureKind::Twist,
        member: None,
        nominal_mm: 0.0,
        terms: rises
            .into_iter()
            .flat_map(|(corner, direction)| mean(corner, direction))
            .collect(),
        turns: Vec::new(),
    });
    measures
}

/// Widths and heights, at the sides and between.
fn sizes(
    job: &Job,
    model: &BeamModel,
    [bl, br, tr, tl]: &[Vec<usize>; 4],
    names: &[String; 6],
) -> Vec<Measure> {
    let (x, y) = (Point::new(1.0, 0.0, 0.0), Point::new(0.0, 1.0, 0.0));
    let at_side = |name: &str, from: &[usize], to: &[usize], direction: Point| {
        let [from, to] = [from, to].map(|corner| facing(model, corner, direction));
        distance(job, model, name, from, to)
    };
    let between = |name: &str, from: [usize; 2], to: [usize; 2]| middle(job, model, name, from, to);
    let sizes = [
        at_side(&names[0], bl, br, x),
        between(&names[1], [bl[0], tl[0]], [br[0], tr[0]]),
        at_side(&names[2], tl, tr, x),
        at_side(&names[3], bl, tl, y),
        between(&names[4], [bl[0], br[0]], [tl[0], tr[0]]),
        at_side(&names[5], br, tr, y),
    ];
    sizes.into_iter().flatten().collect()
}

/// The mean movement of the member ends at a corner.
fn mean(corner: &[usize], direction: Point) -> impl Iterator<Item = Term> {
    let share = direction * (1.0 / corner.len() as f64);
    corner.iter().map(move |&node| Term {
        node,
        direction: share,
    })
}

/// The change of a diagonal between the means of its corners. Before welding it is from outer corner to outer corner, as
/// a tape reads it; the corners count as rigid, so the change is the same.
fn diagonal(
    job: &Job,
    model: &BeamModel,
    name: &str,
    from: &[usize],
    to: &[usize],
) -> Option<Measure> {
    let line = model.nodes[to[0]] - model.nodes[from[0]];
    let unit = line.unit()?;
    let outside = |direction: Point| {
        let [near, far] = [(from, -direction), (to, direction)]
            .map(|(corner, out)| outside_mm(job, model, facing(model, corner, out), out));
        near + far
    };
    let [x, y] = [
        Point::new(line.x.signum(), 0.0, 0.0),
        Point::new(0.0, line.y.signum(), 0.0),
    ];
    let outer = line + x * outside(x) + y * outside(y);
    Some(Measure {
        name: name.into(),
        kind: MeasureKind::Diagonal,
        member: None,
        nominal_mm: outer.length(),
        terms: mean(to, unit).chain(mean(from, -unit)).collect(),
        turns: Vec::new(),
    })
}

/// The change of the first diagonal less that of the second: a rectangle becomes a parallelogram.
fn racking(rising: &Measure, falling: &Measure) -> Measure {
    let against = falling.terms.iter().map(|term| Term {
        direction: -term.direction,
        ..*term
    });
    Measure {
        name: "racking (difference of the diagonals)".into(),
        kind: MeasureKind::Racking,
        member: None,
        nominal_mm: 0.0,
        terms: rising.terms.iter().copied().chain(against).collect(),
        turns: Vec::new(),
    }
}

/// Distance between the middles of two opposite sides, where single members run from corner to corner.
fn middle(
    job: &Job,
    model: &BeamModel,
    name: &str,
    from: [usize; 2],
    to: [usize; 2],
) -> Option<Measure> {
    let between = |pair: [usize; 2]| {
        let target = (model.nodes[pair[0]] + model.nodes[pair[1]]) * 0.5;
        (0..job.members.len())
            .map(|m| {
                model.node_near(m, {
                    let member = &job.members[m];
                    let line = member.to - member.from;
                    (target - member.from).dot(line.unit().unwrap_or_default())
                })
            })
            .min_by(|&a, &b| {
                (model.nodes[a] - target)
                    .length()
                    .total_cmp(&(model.nodes[b] - target).length())
            })
            .filter(|&n| (model.nodes[n] - target).length() < 1.0)
    };
    distance(job, model, name, between(from)?, between(to)?)
}
