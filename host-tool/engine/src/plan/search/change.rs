//! Small changes of an order: where, and of what kind.

use coldsquare_core::sequence::random::Pcg32;
use coldsquare_core::sequence::{Item, Objective, Step};

/// Lengths of a change: the whole order, a half, a quarter and so on.
const SCALES: usize = 6;
/// The few items that are sometimes moved together.
const A_FEW: usize = 4;

/// Moves an item, swaps two, reverses a run of items, or (with four `kinds`) asks for an item to be welded the other
/// way: the place of that item.
///
/// Half of the changes span the peak: nothing else can lower it.
pub(super) fn anywhere(
    order: &mut [Step],
    kinds: usize,
    peak_after: usize,
    random: &mut Pcg32,
) -> Option<usize> {
    let n = order.len();
    let (a, b) = if random.below(2) == 0 && peak_after > 0 && peak_after < n {
        (
            random.below(peak_after),
            peak_after + random.below(n - peak_after),
        )
    } else {
        (random.below(n), random.below(n))
    };
    let (a, b) = (a.min(b), a.max(b));
    let run = order.get_mut(a..=b)?;
    match random.below(kinds) {
        3 if random.below(2) == 0 => return Some(a),
        3 => {
            run.rotate_left(1);
            return Some(b);
        }
        kind => rearrange(run, kind, 1, random),
    }
    None
}

/// Moves a few items together, swaps two of the same side, reverses a run of items, or welds one the other way.
///
/// Half of the changes span the peak: nothing else can lower it. Changes of every length are equally likely, so that
/// items close together in the order change most often.
pub(super) fn nearby<O: Objective>(
    order: &mut [Step],
    objective: &O,
    items: &[Item],
    any_directed: bool,
    peak_after: usize,
    random: &mut Pcg32,
) -> Option<()> {
    let (a, mut b) = nearby_places(order.len(), peak_after, random);
    let kind = random.below(3 + usize::from(any_directed));
    if kind == 1 {
        // Swapping two of different sides would need flips.
        let side = |step: &Step| items.get(usize::from(step.weld)).map(|item| item.side);
        let wanted = order.get(a).map(side);
        let same_side = |step: &Step| Some(side(step)) == wanted;
        b += order.get(b..)?.iter().position(same_side).unwrap_or(0);
    }
    let run = order.get_mut(a..=b)?;
    // Mostly one, sometimes a few, seldom any number.
    let most = match random.below(4) {
        0 | 1 => 1,
        2 => A_FEW,
        _ => usize::MAX,
    };
    let moved = 1 + random.below((run.len() / 2).clamp(1, most));
    if kind < 3 {
        rearrange(run, kind, moved, random);
        return Some(());
    }
    if random.below(2) == 0 {
        run.rotate_left(1);
    }
    let turned = if random.below(2) == 0 { a } else { b };
    let step = order.get_mut(turned)?;
    if objective.is_directed(step.weld) {
        step.reversed = !step.reversed;
    }
    Some(())
}

/// The first and the last place of a change; its greatest length is drawn first.
fn nearby_places(n: usize, peak_after: usize, random: &mut Pcg32) -> (usize, usize) {
    let scale = random.below(SCALES);
    let within = |places: usize| (places >> scale).max(1);
    if random.below(2) == 0 && peak_after > 0 && peak_after < n {
        let (before, after) = (within(peak_after), within(n - peak_after));
        (
            peak_after - before + random.below(before),
            peak_after + random.below(after),
        )
    } else {
        let first = random.below(n);
        (first, (first + 1 + random.below(within(n))).min(n - 1))
    }
}

/// Moves `moved` items from one end of a run to the other (0), swaps its ends (1) or reverses it (2).
fn rearrange(run: &mut [Step], kind: usize, moved: usize, random: &mut Pcg32) {
    match kind {
        0 if random.below(2) == 0 => run.rotate_left(moved),
        0 => run.rotate_right(moved),
        1 => {
            let last = run.len() - 1;
            run.swap(0, last);
        }
        _ => run.reverse(),
    }
}
