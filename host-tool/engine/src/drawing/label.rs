//! Places labels beside their points so that no two cover each other.
//!
//! ```
//! use coldsquare_engine::drawing::label::{Anchor, place};
//!
//! let anchor = |x| Anchor { at: [x, 0.0], towards: [0.0, -1.0], half: [15.0, 15.0] };
//! let [Some(a), Some(b)] = place(&[anchor(0.0), anchor(10.0)])[..] else { panic!("there is room") };
//! assert!((a[0] - b[0]).abs() >= 30.0 || (a[1] - b[1]).abs() >= 30.0);
//! ```

/// A point that needs a label.
#[derive(Clone, Copy, Debug)]
pub struct Anchor {
    /// The point, in units of the page.
    pub at: [f64; 2],
    /// Direction in which there is most room; zero for none.
    pub towards: [f64; 2],
    /// Half the width and half the height of the label.
    pub half: [f64; 2],
}

/// Rings of places around an anchor, and places on a ring.
const RINGS: usize = 60;
const PLACES: usize = 24;
/// Room between two labels.
const GAP: f64 = 3.0;

/// The middle of each label. No two labels overlap; a label covers the anchor of another only if nothing else is near.
/// `None` for a label without a place within the last ring.
#[must_use]
pub fn place(anchors: &[Anchor]) -> Vec<Option<[f64; 2]>> {
    let mut taken: Vec<([f64; 2], [f64; 2])> = Vec::new();
    let mut places = vec![None; anchors.len()];
    let mut order: Vec<usize> = (0..anchors.len()).collect();
    // From the outside in: the outer ones have room outside and leave the middle to the others.
    let middle = middle(anchors);
    order.sort_by(|a, b| {
        distance(anchors[*b].at, middle).total_cmp(&distance(anchors[*a].at, middle))
    });
    for k in order {
        let place = best(&anchors[k], anchors, &taken);
        if let Some(place) = place {
            taken.push((place, anchors[k].half));
        }
        places[k] = place;
    }
    places
}

fn best(anchor: &Anchor, all: &[Anchor], taken: &[([f64; 2], [f64; 2])]) -> Option<[f64; 2]> {
    let reach = anchor.half[0].max(anchor.half[1]);
    let direction = anchor.towards[1].atan2(anchor.towards[0]);
    let mut best: Option<(f64, [f64; 2])> = None;
    for ring in 0..RINGS {
        let radius = reach + 8.0 + 9.0 * ring as f64;
        // A farther ring cannot cost less than its radius.
        if best.is_some_and(|(cost, _)| cost <= radius) {
            break;
        }
        for step in 0..PLACES {
            let turn = std::f64::consts::TAU * step as f64 / PLACES as f64;
            let (sin, cos) = (direction + turn).sin_cos();
            let at = [anchor.at[0] + radius * cos, anchor.at[1] + radius * sin];
            if taken
                .iter()
                .any(|(other, half)| overlap(at, anchor.half, *other, *half, GAP))
            {
                continue;
            }
            let off = turn.min(std::f64::consts::TAU - turn);
            let covered = all
                .iter()
                .filter(|other| overlap(at, anchor.half, other.at, [2.0; 2], 0.0))
                .count();
            let cost = radius + 6.0 * off + 40.0 * covered as f64;
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, at));
            }
        }
    }
    best.map(|(_, at)| at)
}

/// Whether two boxes, given by middle and half size, are closer than a gap.
#[must_use]
pub fn overlap(a: [f64; 2], half_a: [f64; 2], b: [f64; 2], half_b: [f64; 2], gap: f64) -> bool {
    (0..2).all(|axis| (a[axis] - b[axis]).abs() < half_a[axis] + half_b[axis] + gap)
}

fn middle(anchors: &[Anchor]) -> [f64; 2] {
    let count = anchors.len().max(1) as f64;
    let sum = |axis: usize| anchors.iter().map(|anchor| anchor.at[axis]).sum::<f64>() / count;
    [sum(0), sum(1)]
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}
