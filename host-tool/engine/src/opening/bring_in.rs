//! Whether a frame can be brought into the opening: straight, or tilted, and in which moves.
//!
//! Seen from the side (or from above, for a turn about the vertical) the frame is a rectangle of height and depth, and the
//! opening a channel: a lower and an upper bound for each depth, open at the front and closed at the back. A pose is a
//! tilt, how far in the innermost corner is, and a height. For each tilt and each way in, the heights at which the frame
//! touches nothing are one interval, from the highest place where the lower bound meets its underside to the lowest
//! where the upper bound meets its upper side. So all poses that touch nothing are joined as the pairs of tilt and way
//! in are for which the interval is not empty, and a search over two numbers decides.

use super::gaps::{Outline, bounds};
use super::model::{Side, Walls};
use super::rectangle::Wanted;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Tilts on each side of straight that are tried; closer together near straight.
const TILTS: i32 = 110;
/// Greatest tilt, degrees.
const MAX_TILT: f64 = 80.0;
/// Steps of the way in.
const STEPS: usize = 120;
/// Sizes are found to this, mm.
const TO_MM: f64 = 0.1;

/// The opening seen from the side: at each depth, front first, its lower and its upper bound, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    /// Depth, lower bound, upper bound; the last is the back wall.
    pub at: Vec<[f64; 3]>,
    /// Whether the lower bound goes on in front of the opening: a floor, where a sill ends.
    pub floor_outside: bool,
}

/// How it goes in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WayIn {
    /// Straight in, with this much room at the tightest place, mm.
    Straight {
        /// Room from side to side, mm.
        room_mm: f64,
    },
    /// Tilted first, then swung upright.
    Tilted {
        /// Greatest tilt, degrees; positive with the far (upper) end towards you.
        degrees: f64,
        /// How far in the leading end is before it is swung, mm.
        in_mm: f64,
        /// Room at the tightest moment, mm.
        room_mm: f64,
    },
    /// It cannot; so much shorter and it could, mm.
    No {
        /// To take off, mm, to the next tenth.
        take_off_mm: f64,
    },
}

/// How a rectangle of this height and depth goes into a channel, to stand with its back this far in.
#[must_use]
pub fn way_in(channel: &Channel, height_mm: f64, depth_mm: f64, to_mm: f64) -> WayIn {
    let search = Search::new(channel, depth_mm, to_mm);
    let straight = search.straight(height_mm);
    if straight >= 0.0 {
        return WayIn::Straight { room_mm: straight };
    }
    if let Some((degrees, in_mm, room_mm)) = search.tilted(height_mm) {
        return WayIn::Tilted {
            degrees,
            in_mm,
            room_mm,
        };
    }
    // What goes in straight goes in.
    let (mut goes, mut not) = (height_mm + straight, height_mm);
    while not - goes > TO_MM {
        let middle = f64::midpoint(goes, not);
        if search.tilted(middle).is_some() {
            goes = middle;
        } else {
            not = middle;
        }
    }
    WayIn::No {
        take_off_mm: ((height_mm - goes) / TO_MM).ceil() * TO_MM,
    }
}

/// A search with one channel.
struct Search<'c> {
    channel: &'c Channel,
    depth_mm: f64,
    to_mm: f64,
}

impl<'c> Search<'c> {
    fn new(channel: &'c Channel, depth_mm: f64, to_mm: f64) -> Self {
        Self {
            channel,
            depth_mm,
            to_mm,
        }
    }

    /// Tilt of a step, radians: closer together near straight, where a little tilt matters most.
    fn tilt(step: i32) -> f64 {
        let share = f64::from(step) / f64::from(TILTS);
        (MAX_TILT * share * share.abs()).to_radians()
    }

    fn way(&self, step: usize) -> f64 {
        self.to_mm * step as f64 / STEPS as f64
    }

    /// Room at the tightest place of the way straight in, mm.
    fn straight(&self, height_mm: f64) -> f64 {
        let rooms = (0..=STEPS).map(|step| self.room(height_mm, 0.0, self.way(step)));
        rooms.fold(f64::INFINITY, f64::min)
    }

    /// Room in a pose, mm: how far the frame can be moved up and down; negative where it touches whatever its height.
    fn room(&self, height_mm: f64, tilt: f64, way_mm: f64) -> f64 {
        let (sine, cosine) = tilt.sin_cos();
        let mut corners = [
            [0.0, 0.0],
            [0.0, self.depth_mm],
            [height_mm, self.depth_mm],
            [height_mm, 0.0],
        ]
        .map(|[y, z]| [z * cosine - y * sine, y * cosine + z * sine]);
        let innermost = corners
            .iter()
            .map(|one| one[0])
            .fold(f64::NEG_INFINITY, f64::max);
        for corner in &mut corners {
            corner[0] += way_mm - innermost;
        }
        let outermost = corners
            .iter()
            .map(|one| one[0])
            .fold(f64::INFINITY, f64::min);
        let places = self
            .channel
            .at
            .iter()
            .map(|one| one[0])
            .chain(corners.iter().map(|one| one[0]));
        let (mut lowest, mut highest) = (f64::NEG_INFINITY, f64::INFINITY);
        for z in places.filter(|z| (outermost.max(0.0)..=way_mm).contains(z)) {
            let (Some([under, over]), Some([low, high])) = (between(&corners, z), self.bounds(z))
            else {
                continue;
            };
            lowest = lowest.max(low - under);
            highest = highest.min(high - over);
        }
        if self.channel.floor_outside {
            let front = self
                .channel
                .at
                .first()
                .map_or(f64::NEG_INFINITY, |one| one[1]);
            for corner in corners.iter().filter(|corner| corner[0] < 0.0) {
                lowest = lowest.max(front - corner[1]);
            }
        }
        highest - lowest
    }

    /// Lower and upper bound at a depth.
    fn bounds(&self, z: f64) -> Option<[f64; 2]> {
        let at = &self.channel.at;
        let two = at.windows(2).find(|two| z <= two[1][0] + 1e-9);
        let Some(two) = two else {
            return at.last().map(|one| [one[1], one[2]]);
        };
        let share = ((z - two[0][0]) / (two[1][0] - two[0][0])).clamp(0.0, 1.0);
        Some([1, 2].map(|k| two[0][k] + share * (two[1][k] - two[0][k])))
    }

    /// The way in with the least turning: greatest tilt in degrees, how far in it is there, least room.
    fn tilted(&self, height_mm: f64) -> Option<(f64, f64, f64)> {
        let count = usize::try_from(2 * TILTS + 1).unwrap_or(1);
        let index =
            |tilt: i32, way: usize| usize::try_from(tilt + TILTS).unwrap_or(0) * (STEPS + 1) + way;
        let mut room = vec![f64::NAN; count * (STEPS + 1)];
        let mut from = vec![usize::MAX; room.len()];
        let mut cost = vec![u64::MAX; room.len()];
        let mut queue = BinaryHeap::new();
        // Outside it may be tilted as one likes.
        for tilt in -TILTS..=TILTS {
            let start = index(tilt, 0);
            let turned = (Self::tilt(tilt).abs() * 1e6) as u64 * 2 + u64::from(tilt < 0);
            cost[start] = turned;
            queue.push(Reverse((turned, tilt, 0)));
        }
        let goal = index(0, STEPS);
        while let Some(Reverse((so_far, tilt, way))) = queue.pop() {
            let here = index(tilt, way);
            if so_far > cost[here] {
                continue;
            }
            if here == goal {
                return Some(self.moves(&from, &room, goal));
            }
            for (dt, dw) in [
                (-1, 0i32),
                (1, 0),
                (0, 1),
                (0, -1),
                (-1, 1),
                (1, 1),
                (-1, -1),
                (1, -1),
            ] {
                let (next, Some(step)) = (tilt + dt, way.checked_add_signed(dw as isize)) else {
                    continue;
                };
                if next.abs() > TILTS || step > STEPS {
                    continue;
                }
                let there = index(next, step);
                if room[there].is_nan() {
                    room[there] = self.room(height_mm, Self::tilt(next), self.way(step));
                }
                if room[there] < 0.0 {
                    continue;
                }
                let turned = ((Self::tilt(next) - Self::tilt(tilt)).abs() * 1e6) as u64 + 200;
                if so_far + turned < cost[there] {
                    cost[there] = so_far + turned;
                    from[there] = here;
                    queue.push(Reverse((so_far + turned, next, step)));
                }
            }
        }
        None
    }

    fn moves(&self, from: &[usize], room: &[f64], goal: usize) -> (f64, f64, f64) {
        let (mut degrees, mut in_mm, mut least) = (0.0_f64, 0.0, f64::INFINITY);
        let mut at = goal;
        while at != usize::MAX {
            let tilt =
                Self::tilt(i32::try_from(at / (STEPS + 1)).unwrap_or(0) - TILTS).to_degrees();
            // The last of the greatest tilts, going back from the end, is where it is swung.
            if tilt.abs() > degrees.abs() + 1e-9 {
                (degrees, in_mm) = (tilt, self.way(at % (STEPS + 1)));
            }
            if !room[at].is_nan() {
                least = least.min(room[at]);
            }
            at = from[at];
        }
        (degrees, in_mm, least)
    }
}

/// The lowest and highest point of a convex outline at a depth.
fn between(corners: &[[f64; 2]; 4], z: f64) -> Option<[f64; 2]> {
    let mut found: Option<[f64; 2]> = None;
    for (k, a) in corners.iter().enumerate() {
        let b = corners[(k + 1) % 4];
        let span = b[0] - a[0];
        let ys = if span.abs() < 1e-9 {
            if (z - a[0]).abs() > 1e-6 {
                continue;
            }
            [a[1], b[1]]
        } else {
            let share = (z - a[0]) / span;
            if !(-1e-9..=1.0 + 1e-9).contains(&share) {
                continue;
            }
            [a[1] + share * (b[1] - a[1]); 2]
        };
        for y in ys {
            let [low, high] = found.unwrap_or([y, y]);
            found = Some([low.min(y), high.max(y)]);
        }
    }
    found
}

/// A box that goes in: the frame with what it bows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bulk {
    /// Width, mm.
    pub width_mm: f64,
    /// Height, mm; `None` where only the width matters.
    pub height_mm: Option<f64>,
    /// Depth with the bow towards front and back, mm.
    pub depth_mm: f64,
}

/// How a frame is brought in, seen from the side and from above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ways {
    /// From the side: height and depth. Tilted, the bottom goes first if the tilt is positive.
    pub height: Option<WayIn>,
    /// From above: width and depth. Turned, the left side goes first if the turn is positive.
    pub width: WayIn,
}

impl Ways {
    /// Whether it can be brought in: straight, or tilted one way. Both at once is not worked out.
    #[must_use]
    pub fn goes(&self) -> bool {
        let straight = |way: &WayIn| matches!(way, WayIn::Straight { .. });
        let not = |way: &WayIn| matches!(way, WayIn::No { .. });
        let both = [Some(self.width), self.height];
        let both: Vec<WayIn> = both.into_iter().flatten().collect();
        !both.iter().any(not) && (both.len() == 1 || both.iter().any(straight))
    }
}

/// How a frame is brought in: to the back wall, or only as deep as it is. The channel is as wide as the frame and the room
/// that its outline, which may lean with the walls, has at each depth.
#[must_use]
pub fn bring_in(
    walls: &Walls,
    wanted: &Wanted,
    (outline, turn): (&Outline, f64),
    bulk: Bulk,
) -> Ways {
    let deepest = walls.depths.last().map_or(0.0, |last| last.0);
    let to_mm = if wanted.at_front || deepest < bulk.depth_mm {
        bulk.depth_mm
    } else {
        deepest
    };
    let way = |sides: [Side; 2], size: f64| {
        let mut at = bounds(walls, (outline, turn), sides, size);
        if let Some(&[z, lowest, highest]) = at.last()
            && z < to_mm
        {
            at.push([to_mm, lowest, highest]);
        }
        let floor_outside = wanted.on_floor && sides[0] == Side::Floor;
        way_in(&Channel { at, floor_outside }, size, bulk.depth_mm, to_mm)
    };
    Ways {
        height: bulk
            .height_mm
            .filter(|_| walls.has_height())
            .map(|height| way([Side::Floor, Side::Top], height)),
        width: way([Side::Left, Side::Right], bulk.width_mm),
    }
}
