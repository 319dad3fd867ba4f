//! In which order to tack: corners before the rest, opposite ones in turn, so that the frame stays square.

use super::moments::levers;
use super::order::{Effort, by_search};
use crate::job::model::{Job, Point};
use coldsquare_core::sequence::balance::{Balance, whole_numbers};
use coldsquare_core::sequence::{Item, SequenceError, WeldSet};

/// A joint is a corner when it lies this near to the farthest, in both directions.
const CORNER: f64 = 0.9;

/// The tacks of one joint on one face.
#[derive(Clone, Debug)]
pub struct Tacks {
    /// Index of the joint.
    pub joint: usize,
    /// Whether it is a corner of the frame.
    pub corner: bool,
    /// Where the tacks go.
    pub at: Vec<Point>,
}

/// Tacks on the front and at the edges, then those on the back, each in order.
///
/// # Errors
/// [`SequenceError::TooManyWelds`] for more joints than can be put in order.
pub fn tacking(job: &Job, centre: Point, effort: Effort) -> Result<[Vec<Tacks>; 2], SequenceError> {
    let on_face = |back: bool| {
        let all: Vec<Tacks> = job
            .joints
            .iter()
            .enumerate()
            .map(|(joint, described)| Tacks {
                joint,
                corner: false,
                at: described
                    .tacks
                    .iter()
                    .copied()
                    .filter(|tack| (tack.z < centre.z - 1.0) == back)
                    .collect(),
            })
            .filter(|tacks| !tacks.at.is_empty())
            .collect();
        in_order(job, all, centre, effort)
    };
    Ok([on_face(false)?, on_face(true)?])
}

fn in_order(
    job: &Job,
    mut tacks: Vec<Tacks>,
    centre: Point,
    effort: Effort,
) -> Result<Vec<Tacks>, SequenceError> {
    let places: Vec<Point> = tacks.iter().map(|t| job.joints[t.joint].at).collect();
    let levers = levers(&places, centre);
    let (mut corners, mut moments) = (WeldSet::EMPTY, Vec::new());
    for (k, (tacks, [x, y, _])) in (0..).zip(tacks.iter_mut().zip(&levers)) {
        tacks.corner = x.abs() > CORNER && y.abs() > CORNER;
        if tacks.corner {
            corners.insert(k);
        }
        moments.push([*x, *y]);
    }
    let items: Vec<Item> = tacks
        .iter()
        .zip(&places)
        .map(|(tacks, place)| Item {
            before: if tacks.corner {
                WeldSet::EMPTY
            } else {
                corners
            },
            at_mm: <[f64; 3]>::from(*place).map(|mm| mm.round() as i32),
            ..Item::default()
        })
        .collect();
    let mut whole = vec![[0; 2]; moments.len()];
    // Levers are between −1 and 1.
    let _ = whole_numbers(&moments, &mut whole);
    let found = by_search(&Balance::new(&whole), &items, 0, effort, None, &mut |_| {
        true
    })?;
    Ok(found
        .order
        .iter()
        .map(|step| tacks[usize::from(step.weld)].clone())
        .collect())
}
