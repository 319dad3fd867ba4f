//! The largest frame that goes in, as a linear program.
//!
//! Unknowns: where the frame stands (x of its left side and y of its lower side, at each depth for a frame that is slid
//! in), its width and height, how far its uprights lean and its rails run out of level, both in mm for each mm. Lean and
//! run are small, so that the sides are linear in them: at most 1 in 100, where the second-order term is 0.05 mm a metre.
//!
//! ```text
//! maximise    width / width of the opening + height / height of the opening
//! subject to  left + lean·y              >= wall + clearance       for each place on the left wall
//!             left + width + lean·y      <= wall - clearance       for each place on the right wall
//!             lower + run·x              >= floor + clearance      for each place on the floor
//!             lower + height + run·x     <= top - clearance        for each place on the top
//!             plumb: lean = run = 0;  turned: run = -lean;  parallelogram: run = 0
//! ```
//!
//! For a given lean everything else follows: the frame touches the wall that stands out furthest on each side. What is
//! maximised is concave in the lean, as in every linear program, so that narrowing an interval of leans finds the best.

use super::model::{Side, Walls};
use coldsquare_core::uncertainty::Uncertain;

/// Greatest lean and run, mm for each mm.
const MAX_LEAN: f64 = 0.01;
/// By how much an unknown is moved to see what depends on it, mm.
const STEP_MM: f64 = 0.01;

/// What shape may go in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Shape {
    /// A rectangle that hangs plumb.
    #[default]
    Plumb,
    /// A rectangle that may be turned a little.
    Turned,
    /// A parallelogram: level rails, uprights that lean together.
    Parallelogram,
}

/// What is wanted of the frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Least gap to each wall, to the top, and to the floor unless it stands on it, mm.
    pub clearance_mm: f64,
    /// Whether it stands on the floor.
    pub on_floor: bool,
    /// Depth of the frame, front to back, mm.
    pub depth_mm: f64,
    /// Whether it stays at the front rather than go through to the back.
    pub at_front: bool,
    /// What it may be.
    pub shape: Shape,
}

/// The largest frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Largest {
    /// Width, mm.
    pub width: Uncertain,
    /// Height, mm, if the heights were measured.
    pub height: Option<Uncertain>,
    /// How far the uprights lean to the right for each mm up.
    pub lean: f64,
    /// How far the rails rise for each mm to the right.
    pub run: f64,
    /// Left and lower side of the frame at each depth that it passes: index of the depth, x, y, mm.
    pub at: Vec<(usize, f64, f64)>,
}

/// The depths that a frame passes or stands at.
#[must_use]
pub fn depths_passed(walls: &Walls, wanted: &Wanted) -> Vec<usize> {
    let all = walls.depths.iter().enumerate();
    let passed = all.filter(|(_, depth)| !wanted.at_front || depth.0 < wanted.depth_mm.max(1.0));
    passed.map(|(index, _)| index).collect()
}

/// The largest frame that goes in, with its uncertainty; `None` when none does.
#[must_use]
pub fn largest(walls: &Walls, wanted: &Wanted) -> Option<Largest> {
    let mut found = solve(walls, wanted)?;
    let mut weights = [Vec::new(), Vec::new()];
    let mut moved = walls.clone();
    for unknown in 0..walls.covariance.len() {
        for (station, still) in moved.stations.iter_mut().zip(&walls.stations) {
            let own = still.of.iter().filter(|one| one.0 == unknown);
            station.at_mm = still.at_mm + STEP_MM * own.map(|one| one.1).sum::<f64>();
        }
        let other = solve(&moved, wanted)?;
        let slope = |other: f64, still: f64| (other - still) / STEP_MM;
        weights[0].push(slope(other.width.value, found.width.value));
        let heights = other.height.zip(found.height);
        weights[1].push(heights.map_or(0.0, |(other, still)| slope(other.value, still.value)));
    }
    found.width.standard = walls.standard_mm(&weights[0]);
    if let Some(height) = &mut found.height {
        height.standard = walls.standard_mm(&weights[1]);
    }
    Some(found)
}

/// Rounds of narrowing: each leaves two thirds of the interval, so that a lean is found to 1 in a million million.
const ROUNDS: usize = 60;

fn solve(walls: &Walls, wanted: &Wanted) -> Option<Largest> {
    let depths = depths_passed(walls, wanted);
    let groups = groups(walls, wanted, &depths);
    let size = |side: Side| -> f64 {
        let on = walls.stations.iter().filter(|one| one.side == side);
        on.map(|one| one.at_mm).fold(1.0, f64::max)
    };
    let (wide, high) = (size(Side::Right), size(Side::Top));
    let with = |lean: f64| with_lean(walls, wanted, (&depths, &groups), lean);
    let score = |lean: f64| {
        let found = with(lean);
        found.width.value / wide + found.height.map_or(0.0, |height| height.value / high)
    };
    let most = if wanted.shape == Shape::Plumb {
        0.0
    } else {
        MAX_LEAN
    };
    let (mut low, mut high_end) = (-most, most);
    for _ in 0..ROUNDS {
        let third = (high_end - low) / 3.0;
        if score(low + third) < score(high_end - third) {
            low += third;
        } else {
            high_end -= third;
        }
    }
    let found = with(f64::midpoint(low, high_end));
    let positive = |size: Uncertain| size.value > 0.0;
    (positive(found.width) && found.height.is_none_or(positive)).then_some(found)
}

/// The largest frame whose uprights lean so far.
fn with_lean(
    walls: &Walls,
    wanted: &Wanted,
    (depths, groups): (&[usize], &[usize]),
    lean: f64,
) -> Largest {
    let run = if wanted.shape == Shape::Turned {
        -lean
    } else {
        0.0
    };
    let c = wanted.clearance_mm;
    let under = if wanted.on_floor { 0.0 } else { c };
    // For each group: how far right the left side must be and how far right the right side may be, and so on.
    let count = groups.last().map_or(0, |last| last + 1);
    let mut bounds = vec![
        [
            f64::NEG_INFINITY,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::INFINITY
        ];
        count
    ];
    for (depth, group) in depths.iter().zip(groups) {
        let [left, right, lower, upper] = &mut bounds[*group];
        for one in walls.stations.iter().filter(|one| one.depth == *depth) {
            match one.side {
                Side::Left => *left = left.max(one.at_mm + c - lean * one.along_mm),
                Side::Right => *right = right.min(one.at_mm - c - lean * one.along_mm),
                Side::Floor => *lower = lower.max(one.at_mm + under - run * one.along_mm),
                Side::Top => *upper = upper.min(one.at_mm - c - run * one.along_mm),
            }
        }
    }
    let least = |size: fn(&[f64; 4]) -> f64| bounds.iter().map(size).fold(f64::INFINITY, f64::min);
    let height = least(|[_, _, lower, upper]| upper - lower);
    let at = depths
        .iter()
        .zip(groups)
        .map(|(&depth, &group)| (depth, bounds[group][0], bounds[group][2]));
    Largest {
        width: Uncertain::exact(least(|[left, right, ..]| right - left)),
        height: height.is_finite().then(|| Uncertain::exact(height)),
        lean,
        run,
        at: at.collect(),
    }
}

/// The group of each depth; those of one group are reached at once.
fn groups(walls: &Walls, wanted: &Wanted, depths: &[usize]) -> Vec<usize> {
    let mut groups = Vec::new();
    let mut group = 0;
    for (k, &depth) in depths.iter().enumerate() {
        if k > 0 && wanted.depth_mm < (walls.depths[depth].0 - walls.depths[depths[k - 1]].0) / 2.0
        {
            group += 1;
        }
        groups.push(group);
    }
    groups
}
