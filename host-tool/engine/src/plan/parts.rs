//! What a plan puts in order: welds, long ones in parts, each with its side and what must come before it.
//!
//! To change how a long weld is cut, see `MAX_PART_LENGTH_MM`.

use crate::job::model::{Job, Point, Weld};
pub(crate) use crate::movement::model::cut::MAX_PART_LENGTH_MM;
use crate::movement::model::cut::segment_count;
use crate::movement::model::weld_part::WeldPart;
use coldsquare_core::sequence::{Item, Side, WeldSet};

/// A weld that looks at least this much to the front or the back (cosine) is made with that face up.
const FACING: f64 = 0.35;

/// A weld, or a part of a long one.
#[derive(Clone, Debug)]
pub struct PlannedPart {
    /// Index of the weld.
    pub weld: usize,
    /// Its number along the weld, from 0, and the number of parts.
    pub number: (u16, u16),
    /// The segments of the weld that the frame model has for it: where the first begins, where the last ends, and how
    /// many the whole weld has.
    pub segments: [usize; 3],
    /// The end nearer to the start of the weld as drawn.
    pub from: Point,
    /// The other end.
    pub to: Point,
}

impl PlannedPart {
    /// The point half-way.
    #[must_use]
    pub fn middle(&self) -> Point {
        (self.from + self.to) * 0.5
    }

    /// The same part for the frame model.
    #[must_use]
    pub fn part(&self, reversed: bool) -> WeldPart {
        WeldPart {
            weld: self.weld,
            segments: self.segments[0]..self.segments[1],
            reversed,
        }
    }

    /// Whether its direction matters to the frame model: it has more than one segment.
    #[must_use]
    pub fn has_direction(&self) -> bool {
        self.segments[1] - self.segments[0] > 1
    }

    /// Its share of the weld's length, heat and time.
    #[must_use]
    pub fn share(&self) -> f64 {
        let [begin, end, all] = self.segments;
        (end - begin) as f64 / all as f64
    }

    /// Its length, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        (self.to - self.from).length()
    }
}

/// The face from which a weld is made.
#[must_use]
pub(crate) fn side(weld: &Weld) -> Side {
    match weld.outward.z {
        z if z > FACING => Side::Front,
        z if z < -FACING => Side::Back,
        _ => Side::Either,
    }
}

/// Cuts every weld into parts of nearly equal length, none longer than [`MAX_PART_LENGTH_MM`], at ends of its
/// segments.
#[must_use]
pub(crate) fn planned_parts(job: &Job) -> Vec<PlannedPart> {
    job.welds
        .iter()
        .enumerate()
        .flat_map(|(index, weld)| {
            let all = segment_count(job, weld);
            let in_one_go = MAX_PART_LENGTH_MM * all as f64 / weld.length().0;
            let in_one_go = (in_one_go + 1e-9).floor().clamp(1.0, all as f64) as usize;
            let count = all.div_ceil(in_one_go).min(255);
            let begin = move |k: usize| k * all / count;
            let at = move |segment: usize| {
                weld.from + (weld.to - weld.from) * (segment as f64 / all as f64)
            };
            (0..count).map(move |k| PlannedPart {
                weld: index,
                number: (k as u16, count as u16),
                segments: [begin(k), begin(k + 1), all],
                from: at(begin(k)),
                to: at(begin(k + 1)),
            })
        })
        .collect()
}

/// What the search must know of each part. `back_up` says that welding begins with the back up: sides are as seen
/// from there.
#[must_use]
pub(crate) fn items(job: &Job, parts: &[PlannedPart], back_up: bool) -> Vec<Item> {
    let of_weld = |number: u16| {
        let found = (0_u16..)
            .zip(parts)
            .filter(|(_, part)| job.welds[part.weld].number == number);
        found.map(|(k, _)| k).collect::<Vec<_>>()
    };
    parts
        .iter()
        .map(|part| {
            let weld = &job.welds[part.weld];
            let before: Vec<u16> = weld.after.iter().flat_map(|n| of_weld(*n)).collect();
            Item {
                before: WeldSet::of(&before),
                side: seen(side(weld), back_up),
                at_mm: <[f64; 3]>::from(part.middle()).map(|mm| mm.round() as i32),
            }
        })
        .collect()
}

/// A side as seen from the face that is up: with the back up, front and back change places.
#[must_use]
pub fn seen(side: Side, back_up: bool) -> Side {
    match (side, back_up) {
        (Side::Front, true) => Side::Back,
        (Side::Back, true) => Side::Front,
        _ => side,
    }
}
