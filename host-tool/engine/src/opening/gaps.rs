//! A frame in the opening: where it is put, and the gap left at each place.
//!
//! The least gap is concave in the turn of the frame (it is the least of functions that are linear in it, with the best
//! place for each), so that the best turn is found by narrowing an interval.

use super::model::{Side, Station, Walls};
use super::rectangle::{Wanted, depths_passed};
use coldsquare_core::uncertainty::Uncertain;

/// The outline of a frame: on each side its places along the side and how far out the side is there, mm, in the
/// coordinates of the frame: from its lower left outside corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Height and x of the left side, lowest first.
    pub left: Vec<[f64; 2]>,
    /// Height and x of the right side.
    pub right: Vec<[f64; 2]>,
    /// Distance from the left and y of the lower side.
    pub lower: Vec<[f64; 2]>,
    /// Distance from the left and y of the upper side; empty where only the width matters.
    pub upper: Vec<[f64; 2]>,
    /// Standard uncertainty of a width or height, mm.
    pub standard_mm: f64,
}

impl Outline {
    /// A rectangle as it is drawn; without a height only the width matters, over the height of the opening.
    #[must_use]
    pub fn rectangle(width_mm: f64, height_mm: Option<f64>, walls: &Walls) -> Self {
        let upright = walls
            .stations
            .iter()
            .filter(|one| matches!(one.side, Side::Left | Side::Right));
        let high = height_mm.unwrap_or_else(|| upright.map(|one| one.along_mm).fold(0.0, f64::max));
        Self {
            left: vec![[0.0, 0.0], [high, 0.0]],
            right: vec![[0.0, width_mm], [high, width_mm]],
            lower: vec![[0.0, 0.0], [width_mm, 0.0]],
            upper: height_mm
                .map_or_else(Vec::new, |height| vec![[0.0, height], [width_mm, height]]),
            standard_mm: 0.0,
        }
    }

    fn side(&self, side: Side) -> &[[f64; 2]] {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
            Side::Floor => &self.lower,
            Side::Top => &self.upper,
        }
    }
}

/// The gap at one place.
#[derive(Clone, Debug)]
pub struct Gap {
    /// The place on the wall.
    pub station: Station,
    /// The gap, mm; negative where the frame would be in the wall.
    pub gap_mm: Uncertain,
    /// Whether the frame stays there; otherwise it only passes.
    pub in_place: bool,
}

/// A frame in the opening.
#[derive(Clone, Debug)]
pub struct Placed {
    /// Turn, mm for each mm: positive turns the top to the left.
    pub turn: f64,
    /// All gaps, least first.
    pub gaps: Vec<Gap>,
}

impl Placed {
    /// The least gap, but for the floor that the frame stands on.
    #[must_use]
    pub fn tightest(&self, on_floor: bool) -> Option<&Gap> {
        let counts = |one: &&Gap| !(on_floor && one.station.side == Side::Floor);
        self.gaps.iter().find(counts)
    }
}

/// How much of its clearance the frame has at one place: `rest + moved` where the frame is moved to the right or up.
struct Pair {
    station: Station,
    /// Gap before the frame is put in its place, mm.
    rest_mm: f64,
    in_place: bool,
}

/// Puts a frame into the middle of the opening, or onto its floor, turned by at most so much for each mm.
#[must_use]
pub fn place(walls: &Walls, wanted: &Wanted, outline: &Outline, max_turn: f64) -> Placed {
    let least = |turn: f64| {
        let placed = at_turn(walls, wanted, outline, turn);
        placed
            .tightest(wanted.on_floor)
            .map_or(f64::INFINITY, |gap| gap.gap_mm.value)
    };
    let (mut low, mut high) = (-max_turn, max_turn);
    for _ in 0..60 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if least(a) < least(b) {
            low = a;
        } else {
            high = b;
        }
    }
    at_turn(walls, wanted, outline, f64::midpoint(low, high))
}

fn at_turn(walls: &Walls, wanted: &Wanted, outline: &Outline, turn: f64) -> Placed {
    let depths = depths_passed(walls, wanted);
    let stays = |depth: usize| {
        let (first, last) = (
            walls.depths[depths[0]].0,
            walls.depths[depths[depths.len() - 1]].0,
        );
        let at = walls.depths[depth].0;
        if wanted.at_front {
            at - first < wanted.depth_mm.max(1.0)
        } else {
            last - at < wanted.depth_mm.max(1.0)
        }
    };
    let mut gaps = Vec::new();
    // Where it stays it has one place; at each depth that it only passes it has its own.
    let mut groups: Vec<Vec<usize>> = depths
        .iter()
        .filter(|one| !stays(**one))
        .map(|one| vec![*one])
        .collect();
    groups.push(depths.iter().copied().filter(|one| stays(*one)).collect());
    for group in groups {
        for (near, far, settles) in [
            (Side::Left, Side::Right, false),
            (Side::Floor, Side::Top, wanted.on_floor),
        ] {
            let pairs = |side| -> Vec<Pair> {
                group
                    .iter()
                    .flat_map(|&depth| pairs(walls, outline, (side, depth), turn, stays(depth)))
                    .collect()
            };
            let (near, far) = (pairs(near), pairs(far));
            let least = |of: &[Pair]| {
                of.iter()
                    .map(|one| one.rest_mm)
                    .fold(f64::INFINITY, f64::min)
            };
            let (a, b) = (least(&near), least(&far));
            let moved = match (a.is_finite(), b.is_finite()) {
                (true, _) if settles => -a,
                (true, true) => (b - a) / 2.0,
                _ => 0.0,
            };
            let one = |pair: Pair, moved: f64| Gap {
                gap_mm: Uncertain {
                    value: pair.rest_mm + moved,
                    // The gap at one side is half of what is over in all, give or take.
                    standard: walls
                        .uncertain(&pair.station)
                        .standard
                        .hypot(outline.standard_mm / if settles { 1.0 } else { 2.0 }),
                },
                station: pair.station,
                in_place: pair.in_place,
            };
            gaps.extend(near.into_iter().map(|pair| one(pair, moved)));
            gaps.extend(far.into_iter().map(|pair| one(pair, -moved)));
        }
    }
    gaps.sort_by(|a, b| a.gap_mm.value.total_cmp(&b.gap_mm.value));
    Placed { turn, gaps }
}

/// The opening as a frame of this size meets it in one direction: at each depth, how low it may stand and how high its far
/// side may come, mm.
#[must_use]
pub fn bounds(
    walls: &Walls,
    (outline, turn): (&Outline, f64),
    sides: [Side; 2],
    size_mm: f64,
) -> Vec<[f64; 3]> {
    let least = |side: Side, depth: usize| {
        let all = pairs(walls, outline, (side, depth), turn, false);
        all.iter()
            .map(|one| one.rest_mm)
            .fold(f64::INFINITY, f64::min)
    };
    let at = |(depth, (z, _)): (usize, &(f64, &str))| {
        let [near, far] = sides.map(|side| least(side, depth));
        (near.is_finite() && far.is_finite()).then_some([*z, -near, size_mm + far])
    };
    walls.depths.iter().enumerate().filter_map(at).collect()
}

/// The frame against one side at one depth: at each place of the wall along the frame, and at each of the frame.
fn pairs(
    walls: &Walls,
    outline: &Outline,
    (side, depth): (Side, usize),
    turn: f64,
    in_place: bool,
) -> Vec<Pair> {
    let edge = outline.side(side);
    let (Some(first), Some(last)) = (edge.first(), edge.last()) else {
        return Vec::new();
    };
    let on_wall = walls
        .on(side, depth)
        .filter(|one| one.along_mm >= first[0] - 1e-9 && one.along_mm <= last[0] + 1e-9);
    let of_frame = edge
        .iter()
        .filter_map(|point| walls.between(side, depth, point[0]));
    let mut stations: Vec<Station> = on_wall.cloned().chain(of_frame).collect();
    stations.sort_by(|a, b| a.along_mm.total_cmp(&b.along_mm));
    stations.dedup_by(|a, b| a.proud == b.proud && (a.along_mm - b.along_mm).abs() < 2.0);
    let one = |station: Station| {
        let frame = along(edge, station.along_mm)
            + match side {
                Side::Left | Side::Right => -turn * station.along_mm,
                Side::Floor | Side::Top => turn * station.along_mm,
            };
        let rest_mm = match side {
            Side::Left | Side::Floor => frame - station.at_mm,
            Side::Right | Side::Top => station.at_mm - frame,
        };
        Pair {
            station,
            rest_mm,
            in_place,
        }
    };
    stations.into_iter().map(one).collect()
}

/// Where a line through points is, straight between two of them.
fn along(points: &[[f64; 2]], at: f64) -> f64 {
    let two = points
        .windows(2)
        .find(|two| at <= two[1][0])
        .or_else(|| points.windows(2).last());
    match two {
        Some(two) => {
            let share = ((at - two[0][0]) / (two[1][0] - two[0][0])).clamp(0.0, 1.0);
            two[0][1] + share * (two[1][1] - two[0][1])
        }
        None => points.first().map_or(0.0, |one| one[1]),
    }
}
