//! What to build for an opening: the size with its reason, where it will be tight, what is left where, and the way in.

use super::bring_in::{Bulk, WayIn, Ways, bring_in};
use super::gaps::{Gap, Outline, Placed, place};
use super::model::{Side, Walls};
use super::rectangle::{Largest, Shape, Wanted, largest};
use coldsquare_core::uncertainty::Uncertain;
use serde_json::{Value, json};

/// A size that can be cut, with what it comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Clear in the opening, mm.
    pub clear: Uncertain,
    /// Taken off for the clearance, mm in all.
    pub clearance_mm: f64,
    /// What is left after the clearance and the uncertainty of the readings, mm.
    pub most_mm: f64,
    /// Rounded down to what can be cut, mm.
    pub build_mm: f64,
}

/// What to build.
#[derive(Clone, Debug)]
pub struct Answer {
    /// What was wanted.
    pub wanted: Wanted,
    /// Width.
    pub width: Size,
    /// Height, if the heights were measured.
    pub height: Option<Size>,
    /// The largest frame without clearance.
    pub clear: Largest,
    /// How much wider a frame could be that is turned, and one that leans with the walls, mm.
    pub wider_mm: [(Shape, f64, f64); 2],
    /// The frame of that size in the opening.
    pub placed: Placed,
    /// The box that is brought in.
    pub bulk: Bulk,
    /// How it is brought in.
    pub ways: Ways,
}

/// Works out what to build, in steps of `step_mm`; `None` when no frame goes in.
#[must_use]
pub fn answer(walls: &Walls, wanted: &Wanted, step_mm: f64) -> Option<Answer> {
    let bare = Wanted {
        clearance_mm: 0.0,
        ..*wanted
    };
    let clear = largest(walls, &bare)?;
    let size = |clear: Uncertain, sides: f64| {
        let clearance_mm = sides * wanted.clearance_mm;
        let most_mm = clear.value - clearance_mm - clear.expanded();
        Size {
            clear,
            clearance_mm,
            most_mm,
            build_mm: (most_mm / step_mm + 1e-9).floor() * step_mm,
        }
    };
    let width = size(clear.width, 2.0);
    let height = clear
        .height
        .map(|height| size(height, if wanted.on_floor { 1.0 } else { 2.0 }));
    if width.build_mm <= 0.0 || height.is_some_and(|height| height.build_mm <= 0.0) {
        return None;
    }
    let wider = |shape| {
        let other = largest(walls, &Wanted { shape, ..bare });
        let (mm, lean) = other.map_or((0.0, 0.0), |other| {
            (other.width.value - clear.width.value, other.lean)
        });
        (shape, mm, lean)
    };
    let mut outline =
        Outline::rectangle(width.build_mm, height.map(|height| height.build_mm), walls);
    for point in outline.left.iter_mut().chain(&mut outline.right) {
        point[1] += clear.lean * point[0];
    }
    for point in outline.lower.iter_mut().chain(&mut outline.upper) {
        point[1] += clear.run * point[0];
    }
    let bulk = Bulk {
        width_mm: width.build_mm,
        height_mm: height.map(|height| height.build_mm),
        depth_mm: wanted.depth_mm,
    };
    Some(Answer {
        wanted: *wanted,
        width,
        height,
        wider_mm: [wider(Shape::Turned), wider(Shape::Parallelogram)],
        placed: place(walls, wanted, &outline, 0.0),
        ways: bring_in(walls, wanted, (&outline, 0.0), bulk),
        bulk,
        clear,
    })
}

impl Answer {
    /// For programs: mm, uncertainties expanded (k = 2).
    #[must_use]
    pub fn json(&self, walls: &Walls) -> Value {
        let size = |size: &Size| {
            json!({
                "clear_mm": rounded(size.clear.value),
                "plus_minus_mm": rounded(size.clear.expanded()),
                "clearance_mm": rounded(size.clearance_mm),
                "most_mm": rounded(size.most_mm),
                "build_mm": rounded(size.build_mm),
            })
        };
        json!({
            "width": size(&self.width),
            "height": self.height.as_ref().map(size),
            "lean_mm_per_m": rounded(1000.0 * self.clear.lean),
            "gaps": gaps_json(&self.placed, walls),
            "ways_in": ways_json(&self.ways),
            "goes_in": self.ways.goes(),
            "assumed": walls.assumed,
        })
    }
}

/// The gaps for programs, least first.
#[must_use]
pub fn gaps_json(placed: &Placed, walls: &Walls) -> Value {
    let one = |gap: &Gap| {
        json!({
            "side": gap.station.side.name(),
            "depth": walls.depths[gap.station.depth].1,
            "depth_mm": rounded(walls.depths[gap.station.depth].0),
            "along_mm": rounded(gap.station.along_mm),
            "gap_mm": rounded(gap.gap_mm.value),
            "plus_minus_mm": rounded(gap.gap_mm.expanded()),
            "in_place": gap.in_place,
        })
    };
    placed.gaps.iter().map(one).collect()
}

/// The way in for programs.
#[must_use]
pub fn ways_json(ways: &Ways) -> Value {
    let one = |way: &WayIn| match way {
        WayIn::Straight { room_mm } => json!({ "way": "straight", "room_mm": rounded(*room_mm) }),
        WayIn::Tilted {
            degrees,
            in_mm,
            room_mm,
        } => json!({
            "way": "tilted", "degrees": rounded(*degrees), "in_mm": rounded(*in_mm), "room_mm": rounded(*room_mm),
        }),
        WayIn::No { take_off_mm } => json!({ "way": "no", "take_off_mm": rounded(*take_off_mm) }),
    };
    json!({ "height": ways.height.as_ref().map(one), "width": one(&ways.width) })
}

fn rounded(mm: f64) -> f64 {
    (mm * 1000.0).round() / 1000.0
}

/// Places nearer to each other than this get one packer, mm.
const ONE_PACKER_MM: f64 = 100.0;

/// The gaps where the frame stays, in the order of a walk round it: left from below, top, right, floor. Of places close
/// together only the tighter is given.
#[must_use]
pub fn in_place(placed: &Placed) -> Vec<&Gap> {
    let mut kept: Vec<&Gap> = Vec::new();
    // They come least first.
    for gap in placed.gaps.iter().filter(|one| one.in_place) {
        let near = |one: &&Gap| {
            let (a, b) = (&one.station, &gap.station);
            (a.side, a.depth) == (b.side, b.depth)
                && (a.along_mm - b.along_mm).abs() < ONE_PACKER_MM
        };
        if !kept.iter().any(near) {
            kept.push(gap);
        }
    }
    let walk = [Side::Left, Side::Top, Side::Right, Side::Floor];
    let order = |side: Side| walk.iter().position(|one| *one == side);
    kept.sort_by(|a, b| {
        (a.station.depth, order(a.station.side))
            .cmp(&(b.station.depth, order(b.station.side)))
            .then(a.station.along_mm.total_cmp(&b.station.along_mm))
    });
    kept
}
