//! The simple orders that shops commonly use: to begin a search with and to compare a plan with.
//!
//! Add another to [`ranked`]: a name, a sentence for the page, and a rank for each part.

use super::parts::{PlannedPart, side};
use crate::job::model::{Job, Point};
use coldsquare_core::sequence::Side;

/// A trade order: its name, what it is, and the parts by rank.
pub type Ranked = (&'static str, &'static str, Vec<u16>);

type Coordinate = fn(&Point) -> f64;

/// How a frame is looked at: as drawn, or in a mirror, across or up.
pub const VIEWS: [[f64; 2]; 4] = [[1.0, 1.0], [-1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]];

/// Middles nearer to each other than this across the frame lie in one row, mm.
const ROW_MM: f64 = 50.0;

/// The trade orders for one job: from left to right and from the bottom up, as seen in one of the [`VIEWS`].
#[must_use]
pub fn ranked(job: &Job, parts: &[PlannedPart], centre: Point, view: [f64; 2]) -> Vec<Ranked> {
    let drawn = Drawn::new(job, parts, centre, view);
    let row = |k: usize| ((drawn.short)(&drawn.middles[k]) / ROW_MM).round();
    let along = |k: usize| (drawn.long)(&drawn.middles[k]);
    let across = |k: usize| (drawn.short)(&drawn.middles[k]);
    let face = |k: usize| f64::from(drawn.faces[k]);
    vec![
        (
            "file order",
            "by number, flipping the frame whenever the next weld is on the other face",
            drawn.by_rank(|k| [k as f64, 0.0, 0.0]),
        ),
        (
            "end to end",
            "one face from one end of the frame to the other, then the other face the same way",
            drawn.by_rank(|k| [face(k), along(k), across(k)]),
        ),
        (
            "row by row",
            "one face row by row, then the other face the same way",
            drawn.by_rank(|k| [face(k), row(k), along(k)]),
        ),
        (
            "centre out",
            "one face from the middle outwards, then the other face the same way",
            drawn.by_rank(|k| [face(k), drawn.distance_from_centre(k), 0.0]),
        ),
        (
            "alternate sides",
            "one face from the middle outwards, each weld on the other side of the long axis than the one before, then \
             the other face the same way",
            drawn.alternating(),
        ),
    ]
}

/// The parts of a frame as seen in one view.
struct Drawn {
    middles: Vec<Point>,
    centre: Point,
    /// 0 for the face welded first, 1 for the back.
    faces: Vec<u8>,
    /// Along the frame's longer extent, and its shorter.
    long: Coordinate,
    short: Coordinate,
}

impl Drawn {
    fn new(job: &Job, parts: &[PlannedPart], centre: Point, view: [f64; 2]) -> Self {
        let seen = |p: Point| Point::new(p.x * view[0], p.y * view[1], p.z);
        let middles: Vec<Point> = parts.iter().map(|part| seen(part.middle())).collect();
        let spread = |along: Coordinate| {
            let values = middles.iter().map(along);
            values.clone().fold(f64::MIN, f64::max) - values.fold(f64::MAX, f64::min)
        };
        let (x, y): (Coordinate, Coordinate) = (|p| p.x, |p| p.y);
        let lies_wide = spread(x) >= spread(y);
        let (long, short) = if lies_wide { (x, y) } else { (y, x) };
        let face = |part: &PlannedPart| u8::from(side(&job.welds[part.weld]) == Side::Back);
        Self {
            middles,
            centre: seen(centre),
            faces: parts.iter().map(face).collect(),
            long,
            short,
        }
    }

    fn by_rank(&self, rank: impl Fn(usize) -> [f64; 3]) -> Vec<u16> {
        let all = (0..u16::MAX).take(self.middles.len());
        sorted(all.collect(), rank)
    }

    fn distance_from_centre(&self, k: usize) -> f64 {
        (self.middles[k] - self.centre).length().round()
    }

    /// On each face in turn the parts of the two sides of the long axis, from the middle outwards, one of this side and
    /// one of that.
    fn alternating(&self) -> Vec<u16> {
        let beside = |k: usize| (self.short)(&self.middles[k]) - (self.short)(&self.centre);
        let along = |k: usize| (self.long)(&self.middles[k]);
        let out = |k: usize| (along(k) - (self.long)(&self.centre)).abs().round();
        let rank = |k: usize| [out(k), beside(k).abs().round(), along(k)];
        let mut order = Vec::with_capacity(self.middles.len());
        for face in [0, 1] {
            let [mut above, mut below] = [true, false].map(|above| {
                let these = (0..u16::MAX).take(self.middles.len()).filter(|&k| {
                    let k = usize::from(k);
                    self.faces[k] == face && (beside(k) >= 0.0) == above
                });
                sorted(these.collect(), rank).into_iter()
            });
            loop {
                let pair = [above.next(), below.next()];
                if pair == [None, None] {
                    break;
                }
                order.extend(pair.into_iter().flatten());
            }
        }
        order
    }
}

fn sorted(mut parts: Vec<u16>, rank: impl Fn(usize) -> [f64; 3]) -> Vec<u16> {
    parts.sort_by(|&a, &b| {
        let (a, b) = (rank(usize::from(a)), rank(usize::from(b)));
        a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal)
    });
    parts
}

/// The same order spread over several visits to the faces: each visit takes every so-many-th part of its face. The
/// first visit and the last take half as much as those between, so that the frame never leans far to one face.
#[must_use]
pub fn in_visits(ranked: &[u16], side: impl Fn(u16) -> Side, visits: u16) -> Vec<u16> {
    let last = visits.saturating_sub(1);
    let cycle = |of: Side| -> Vec<u16> {
        let weight = |visit: u16| if visit == 0 || visit == last { 1 } else { 2 };
        let (first, every) = match of {
            Side::Either => (0, 1),
            Side::Front => (0, 2),
            Side::Back => (1, 2),
        };
        let visits = (first..=last).step_by(every);
        visits
            .flat_map(|visit| std::iter::repeat_n(visit, weight(visit)))
            .collect()
    };
    let all = [Side::Either, Side::Front, Side::Back];
    let cycles = all.map(cycle);
    let mut seen = [0_usize; 3];
    let mut placed: Vec<(u16, u16)> = Vec::with_capacity(ranked.len());
    for &part in ranked {
        let kind = all.iter().position(|one| *one == side(part)).unwrap_or(0);
        let cycle = &cycles[kind];
        let visit = cycle.get(seen[kind] % cycle.len().max(1));
        placed.push((visit.copied().unwrap_or(0), part));
        seen[kind] += 1;
    }
    placed.sort_by_key(|(visit, _)| *visit);
    placed.into_iter().map(|(_, part)| part).collect()
}
