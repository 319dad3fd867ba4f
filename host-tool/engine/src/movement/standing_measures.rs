//! What a builder measures on an object that stands on legs: heights, plumb, diagonals of its sides, top against bottom.
//!
//! Such an object is drawn from above: its legs run along z, towards the viewer. As it stands, z is up, x to the right
//! and y to the back. Every measure is between points that a tape, a level or a plumb line reaches.

use super::measures::{Measure, MeasureKind, Term, outside_mm};
use super::model::beam_model::BeamModel;
use crate::job::model::{Job, Point, SeenFrom};

const RIGHT: Point = Point::new(1.0, 0.0, 0.0);
const BACK: Point = Point::new(0.0, 1.0, 0.0);
const UP: Point = Point::new(0.0, 0.0, 1.0);

/// A leg runs nearer to upright than this cosine: splayed by 36° at most.
const UPRIGHT: f64 = 0.8;
/// A leg covers this share of the height.
const LEG_SHARE: f64 = 0.7;
/// With more legs than this every side has its own frame: measure the legs.
const MAX_LEGS: usize = 8;

/// A leg, and the nodes at its ends.
struct Leg<'a> {
    name: &'a str,
    /// Index of the member.
    member: usize,
    /// Node at the bottom and at the top of its line.
    ends: [usize; 2],
}

/// The measures of an object with three to eight legs; none for a flat frame.
pub(crate) fn standing_measures(job: &Job, model: &BeamModel) -> Vec<Measure> {
    let legs = legs(job, model);
    if !(3..=MAX_LEGS).contains(&legs.len()) {
        return Vec::new();
    }
    let standing = Standing {
        job,
        model,
        centre: centre(model, &legs),
        legs,
    };
    let heights = (0..standing.legs.len()).filter_map(|leg| standing.height(leg));
    let mut measures: Vec<Measure> = heights.collect();
    for leg in 0..standing.legs.len() {
        measures.extend([RIGHT, BACK].map(|direction| standing.plumb(leg, direction)));
    }
    measures.extend(standing.sides());
    measures.push(standing.top_twist());
    measures
}

/// The legs, anticlockwise as seen from above.
fn legs<'a>(job: &'a Job, model: &BeamModel) -> Vec<Leg<'a>> {
    let heights = model.nodes.iter().map(|node| node.z);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), z| {
        (low.min(z), high.max(z))
    });
    let mut legs: Vec<Leg<'a>> = Vec::new();
    for (index, member) in job.members.iter().enumerate() {
        let line = member.to - member.from;
        let is_leg = member.axis().z.abs() > UPRIGHT && line.z.abs() > LEG_SHARE * (high - low);
        let row = &model.stations[index];
        if let (true, Some(&(_, start)), Some(&(_, end))) = (is_leg, row.first(), row.last()) {
            legs.push(Leg {
                name: &member.name,
                member: index,
                ends: if line.z > 0.0 {
                    [start, end]
                } else {
                    [end, start]
                },
            });
        }
    }
    let centre = centre(model, &legs);
    let angle = |leg: &Leg<'_>| {
        let from_centre = model.nodes[leg.ends[1]] - centre;
        from_centre.y.atan2(from_centre.x)
    };
    legs.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
    legs
}

/// The middle of the tops of the legs.
fn centre(model: &BeamModel, legs: &[Leg<'_>]) -> Point {
    let tops = legs.iter().map(|leg| model.nodes[leg.ends[1]]);
    tops.fold(Point::default(), |sum, top| sum + top) * (1.0 / legs.len().max(1) as f64)
}

/// An object on legs.
struct Standing<'a> {
    job: &'a Job,
    model: &'a BeamModel,
    legs: Vec<Leg<'a>>,
    centre: Point,
}

impl Standing<'_> {
    fn node(&self, node: usize) -> Point {
        self.model.nodes[node]
    }

    /// The node whose metal is lowest or highest at the end of a leg: the leg's own, or that of a member it meets there.
    fn outermost(&self, leg: usize, end: usize) -> usize {
        let own = self.legs[leg].ends[end];
        let out = if end == 0 { -UP } else { UP };
        let size = self.job.members[self.legs[leg].member].greatest_size_mm();
        let reach = |node: usize| self.node(node).dot(out) + self.above(node, out);
        let near = |node: &usize| {
            let offset = self.node(*node) - self.node(own);
            offset.x.hypot(offset.y) < size && offset.z.abs() < 2.0 * size
        };
        (0..self.model.nodes.len())
            .filter(near)
            .max_by(|&a, &b| {
                let higher = reach(a).total_cmp(&reach(b));
                let nearer = |node: usize| (self.node(node) - self.node(own)).length();
                // Of equals the one nearest to the leg.
                if (reach(a) - reach(b)).abs() < 1e-6 {
                    nearer(b).total_cmp(&nearer(a))
                } else {
                    higher
                }
            })
            .unwrap_or(own)
    }

    /// How far the metal at a node goes on up or down. The end of a leg is level: it goes as far as its line does.
    fn above(&self, node: usize, out: Point) -> f64 {
        let index = self.model.member_of(node);
        if !self.legs.iter().any(|leg| leg.member == index) {
            return outside_mm(self.job, self.model, node, out);
        }
        let member = &self.job.members[index];
        let end = usize::from(member.axis().dot(out) > 0.0);
        let is_end = self.legs.iter().any(|leg| leg.ends.contains(&node));
        let past = if is_end { member.past_ends[end].0 } else { 0.0 };
        past * member.axis().dot(out).abs()
    }

    /// From the lowest to the highest metal at a leg.
    fn height(&self, leg: usize) -> Option<Measure> {
        let [bottom, top] = [0, 1].map(|end| self.outermost(leg, end));
        let nominal =
            (self.node(top) - self.node(bottom)).z + self.above(top, UP) + self.above(bottom, -UP);
        (nominal > 0.0).then(|| Measure {
            name: format!("height at {}", self.legs[leg].name),
            kind: MeasureKind::Standing,
            member: None,
            nominal_mm: nominal,
            terms: between(bottom, top, UP),
            turns: Vec::new(),
        })
    }

    /// How far the top of a leg stands off a plumb line from its foot.
    fn plumb(&self, leg: usize, direction: Point) -> Measure {
        let [bottom, top] = self.legs[leg].ends;
        Measure {
            name: format!(
                "plumb of {}, top {}",
                self.legs[leg].name,
                SeenFrom::Above.towards(direction)
            ),
            kind: MeasureKind::Plumb,
            member: Some(self.legs[leg].member),
            nominal_mm: (self.node(top) - self.node(bottom)).dot(direction),
            terms: between(bottom, top, direction),
            turns: Vec::new(),
        }
    }

    /// Widths across the foot and the top of every side, and its two diagonals.
    fn sides(&self) -> Vec<Measure> {
        let count = self.legs.len();
        let pairs = (0..count).map(|first| [first, (first + 1) % count]);
        pairs.flat_map(|pair| self.side(pair)).collect()
    }

    fn side(&self, [a, b]: [usize; 2]) -> Vec<Measure> {
        let [first, second] = [&self.legs[a], &self.legs[b]];
        let tops = [first, second].map(|leg| self.node(leg.ends[1]));
        let side = SeenFrom::Above.side((tops[0] + tops[1]) * 0.5 - self.centre);
        let words = ["bottom", "top"];
        let widths = [0, 1].map(|end| {
            let name = format!(
                "width of the {side} side at the {}, {} to {}",
                words[end], first.name, second.name
            );
            self.across(name, [(a, end), (b, end)])
        });
        let diagonals = [[0, 1], [1, 0]].map(|[from, to]| {
            let name = format!(
                "diagonal of the {side} side, {} {} to {} {}",
                first.name, words[from], second.name, words[to]
            );
            self.across(name, [(a, from), (b, to)])
        });
        widths.into_iter().chain(diagonals).flatten().collect()
    }

    /// Between outer corners at the ends of two legs, in the side between them.
    fn across(&self, name: String, ends: [(usize, usize); 2]) -> Option<Measure> {
        let nodes = ends.map(|(leg, end)| self.legs[leg].ends[end]);
        let line = self.node(nodes[1]) - self.node(nodes[0]);
        let level = (line - UP * line.z).unit()?;
        let rises = ends[0].1 != ends[1].1;
        let corner = |k: usize, level: Point| {
            let (leg, end) = ends[k];
            let out = if end == 0 { -UP } else { UP };
            let outermost = self.outermost(leg, end);
            let height = self.node(outermost).z + out.z * self.above(outermost, out);
            let at = self.node(nodes[k]);
            let at = at + level * outside_mm(self.job, self.model, nodes[k], level);
            Point::new(at.x, at.y, if rises { height } else { at.z })
        };
        let outer = corner(1, level) - corner(0, -level);
        let unit = outer.unit()?;
        Some(Measure {
            name,
            kind: MeasureKind::Standing,
            member: None,
            nominal_mm: outer.length(),
            terms: between(nodes[0], nodes[1], unit),
            turns: Vec::new(),
        })
    }

    /// How far the tops have gone round against the feet, at the legs.
    fn top_twist(&self) -> Measure {
        let share = 1.0 / self.legs.len() as f64;
        let terms = self.legs.iter().flat_map(|leg| {
            let from_centre = self.node(leg.ends[1]) - self.centre;
            let round = UP.cross(from_centre).unit().unwrap_or_default();
            between(leg.ends[0], leg.ends[1], round * share)
        });
        Measure {
            name: "twist of the top against the bottom, anticlockwise from above".into(),
            kind: MeasureKind::TopTwist,
            member: None,
            nominal_mm: 0.0,
            terms: terms.collect(),
            turns: Vec::new(),
        }
    }
}

/// The movement of a second node less that of a first, in a direction.
fn between(first: usize, second: usize, direction: Point) -> Vec<Term> {
    vec![
        Term {
            node: second,
            direction,
        },
        Term {
            node: first,
            direction: -direction,
        },
    ]
}
