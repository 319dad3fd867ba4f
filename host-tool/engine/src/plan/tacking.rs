//! The order of tacking: corners before the rest, in diagonal pairs, so that the frame stays square.

use super::moments::{levers, whole_numbers};
use super::order::{Effort, by_search};
use super::search::{Progress, SequenceError};
use crate::job::model::{Job, Point};
use coldsquare_core::sequence::balance::ShrinkageBalance;
use coldsquare_core::sequence::{Item, WeldSet};

/// A joint is a corner when it lies at least this far out, across and up, as a share of the farthest.
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

/// Tacks on the front and on the edges, then those on the back, each in order.
///
/// # Errors
/// [`SequenceError::TooManyWelds`] for more joints than can be put in order.
pub fn tacking(
    job: &Job,
    centre: Point,
    effort: Effort,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<[Vec<Tacks>; 2], SequenceError> {
    let places: Vec<Point> = job.joints.iter().map(|joint| joint.at).collect();
    let levers = levers(&places, centre);
    let mut on_face = |back: bool| {
        let all: Vec<Tacks> = job
            .joints
            .iter()
            .enumerate()
            .map(|(joint, described)| Tacks {
                joint,
                corner: levers[joint][0].abs() > CORNER && levers[joint][1].abs() > CORNER,
                at: described
                    .tacks
                    .iter()
                    .copied()
                    .filter(|tack| (tack.z < centre.z - 1.0) == back)
                    .collect(),
            })
            .filter(|tacks| !tacks.at.is_empty())
            .collect();
        in_order(job, all, &levers, effort, on_progress)
    };
    Ok([on_face(false)?, on_face(true)?])
}

fn in_order(
    job: &Job,
    tacks: Vec<Tacks>,
    levers: &[[f64; 3]],
    effort: Effort,
    on_progress: &mut dyn FnMut(&Progress) -> bool,
) -> Result<Vec<Tacks>, SequenceError> {
    let corners: Vec<u16> = (0..)
        .zip(&tacks)
        .filter_map(|(k, tacks)| tacks.corner.then_some(k))
        .collect();
    let corners = WeldSet::of(&corners);
    let moments: Vec<[f64; 2]> = tacks
        .iter()
        .map(|tacks| [levers[tacks.joint][0], levers[tacks.joint][1]])
        .collect();
    let items: Vec<Item> = tacks
        .iter()
        .map(|tacks| Item {
            before: if tacks.corner {
                WeldSet::EMPTY
            } else {
                corners
            },
            at_mm: <[f64; 3]>::from(job.joints[tacks.joint].at).map(|mm| mm.round() as i32),
            ..Item::default()
        })
        .collect();
    // Levers are between −1 and 1, so this cannot fail.
    let whole = whole_numbers(&moments).unwrap_or_default();
    let balance = ShrinkageBalance::new(&whole);
    let found = by_search(&balance, &items, 0, effort, None, on_progress)?;
    Ok(found
        .order
        .iter()
        .map(|step| tacks[usize::from(step.weld)].clone())
        .collect())
}
