//! Reads `[frame]` and its bars, mid rails and brace.

use super::facing::{Facing, KEYS, RAIL_KEYS, facing};
use super::plates::{Feet, GussetTable, feet, gussets};
use super::welding::{Sides, Welding, named_section, section, welding};
use crate::job::model::SeenFrom;
use crate::procedure::model::Procedure;
use crate::reading::{QuantityKind, Table};
use crate::section::Section;
use serde_spanned::Spanned;

/// How the four outer members meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Corners {
    /// Cut at 45 degrees.
    Mitred,
    /// The rails run through, the uprights are between them.
    RailsThrough,
    /// The uprights run through, the rails are between them.
    UprightsThrough,
    /// Uprights only, as in a ladder.
    Open,
    /// The legs run through, the members of the frame are between them.
    LegsThrough,
}

/// Which way bars run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Direction {
    Vertical,
    Horizontal,
}

/// Which side of a section faces the front.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FrontFace {
    Depth,
    Width,
}

/// A section and which side of it faces the front.
#[derive(Clone, Debug)]
pub(crate) struct Stock {
    pub section: Section,
    pub front_face: FrontFace,
    /// Where its legs, flanges or wide face point, in place of `front_face`.
    pub facing: Option<Facing>,
}

/// How many bars, and where.
#[derive(Clone, Debug)]
pub(crate) enum Count {
    Number(u32),
    MaxGap(f64),
    /// Their centre lines so far apart, the group in the middle; as many as fit, or this number.
    Spaced {
        apart: f64,
        count: Option<u32>,
    },
    /// This number with this clear gap between them, the group in the middle.
    Gapped {
        gap: f64,
        count: u32,
    },
    /// Their centre lines at these distances from the left or lower outside edge, or from the middle.
    At {
        places: Vec<f64>,
        from_centre: bool,
    },
}

/// What some of the members are made of and how they are welded.
pub(crate) struct Part {
    pub stock: Stock,
    pub welding: Welding,
}

/// `[frame.bars]`.
pub(crate) struct Bars {
    pub part: Part,
    pub count: Spanned<Count>,
    pub direction: Direction,
    /// The side of the outer members on which they lie, if not between them.
    pub lap: Option<Spanned<String>>,
}

/// `[frame.brace]`.
pub(crate) struct Brace {
    pub part: Part,
    /// Whether it runs from the lower left to the upper right.
    pub rising: bool,
}

/// `[frame.mid_rails]`.
pub(crate) struct MidRails {
    pub part: Part,
    /// Heights of their centre lines above the lower outside edge, lowest first.
    pub heights: Vec<Spanned<f64>>,
}

/// `[frame]`.
pub(crate) struct Frame {
    pub width: Spanned<f64>,
    pub height: Spanned<f64>,
    pub part: Part,
    pub corners: Corners,
    pub mid_rails: Option<MidRails>,
    pub bars: Option<Bars>,
    pub brace: Option<Brace>,
    pub legs: Option<Legs>,
    pub gussets: Option<GussetTable>,
    pub feet: Option<Feet>,
}

/// `[frame.legs]`: four legs on the corners, and rails round them.
pub(crate) struct Legs {
    pub part: Part,
    /// From the floor to the top of the object.
    pub height: Spanned<f64>,
    /// Whether they stand up from the frame, which is the base; otherwise the frame is the top.
    pub up: bool,
    /// How far the far ends stand out of the frame to each side.
    pub splay: f64,
    /// Heights of the centre lines of the rails above the floor, and what they are made of.
    pub rails: Vec<Spanned<f64>>,
    pub rail: Part,
}

/// What a table says of its section; what it leaves out is as in the frame.
fn own_or_outer(table: &mut Table<'_>, outer: Option<&Stock>) -> Option<Stock> {
    if table.has("section") {
        return stock(table);
    }
    table.value("section");
    table.value("front_face");
    let own = facing(table, KEYS, outer.map(|outer| &outer.section));
    let outer = outer?;
    Some(Stock {
        facing: own.or_else(|| outer.facing.clone()),
        ..outer.clone()
    })
}

fn stock(table: &mut Table<'_>) -> Option<Stock> {
    let faces = [("depth", FrontFace::Depth), ("width", FrontFace::Width)];
    let front_face = table.choice("front_face", &faces);
    let section = section(table);
    let facing = facing(table, KEYS, section.as_ref());
    if let (Some(front_face), Some(_)) = (&front_face, &facing) {
        table.reader().error(
            &front_face.span(),
            "this says twice how the section is turned",
            "leave out front_face",
        );
    }
    Some(Stock {
        section: section?,
        front_face: front_face.map_or(FrontFace::Depth, Spanned::into_inner),
        facing,
    })
}

/// The faces of the frame: front and back, or top and bottom where it is seen from above.
fn both_faces(seen_from: SeenFrom) -> Sides {
    Sides::These(seen_from.faces().to_vec())
}

pub(crate) fn frame(
    mut table: Table<'_>,
    procedures: &[Procedure],
    seen_from: SeenFrom,
) -> Option<Frame> {
    let width = table.required("width", QuantityKind::Length, "width = 1200");
    let height = table.required("height", QuantityKind::Length, "height = 900");
    let stock = stock(&mut table);
    let corners = table.choice(
        "corners",
        &[
            ("mitred", Corners::Mitred),
            ("mitered", Corners::Mitred),
            ("butted", Corners::RailsThrough),
            ("rails through", Corners::RailsThrough),
            ("uprights through", Corners::UprightsThrough),
            ("open", Corners::Open),
            ("legs through", Corners::LegsThrough),
        ],
    );
    // The corners of a frame are welded wherever the section has metal.
    let welding = welding(&mut table, procedures, Sides::All, None);
    let beside = &welding;
    let mid_rails = table
        .table("mid_rails")
        .map(|inner| mid_rails(inner, procedures, beside, stock.as_ref()));
    let bars = table
        .table("bars")
        .map(|inner| bars(inner, (procedures, seen_from), beside));
    let brace = table
        .table("brace")
        .map(|inner| brace(inner, (procedures, seen_from), beside));
    let legs = table
        .table("legs")
        .map(|inner| legs(inner, procedures, beside, stock.as_ref()));
    let gussets = table
        .table("gussets")
        .map(|inner| gussets(inner, procedures, beside));
    let feet = table
        .table("feet")
        .map(|inner| feet(inner, procedures, beside));
    if let Some(corners) = &corners
        && *corners.get_ref() == Corners::LegsThrough
        && !table.has("legs")
    {
        table.reader().error(
            &corners.span(),
            "this frame has no legs to run through its corners",
            "add [frame.legs], or write corners = \"mitred\"",
        );
        return None;
    }
    table.finish();
    Some(Frame {
        width: width?,
        height: height?,
        corners: corners.map_or(Corners::Mitred, Spanned::into_inner),
        mid_rails: optional(mid_rails)?,
        bars: optional(bars)?,
        brace: optional(brace)?,
        legs: optional(legs)?,
        gussets: optional(gussets)?,
        feet: optional(feet)?,
        part: Part {
            stock: stock?,
            welding,
        },
    })
}

fn legs(
    mut table: Table<'_>,
    procedures: &[Procedure],
    beside: &Welding,
    outer: Option<&Stock>,
) -> Option<Legs> {
    let reader = table.reader();
    let height = table.required("height", QuantityKind::Length, "height = 700");
    let up = table.choice("direction", &[("up", true), ("down", false)]);
    let splay = table.positive("splay", QuantityKind::Length);
    let rails: Vec<_> = table
        .list("rails")
        .into_iter()
        .filter_map(|height| reader.positive(height, QuantityKind::Length))
        .collect();
    let rail_section = if table.has("rail_section") {
        let text = table.text("rail_section");
        text.and_then(|text| named_section(reader, text.get_ref(), &text.span()))
    } else {
        table.value("rail_section");
        None
    };
    let stock = own_or_outer(&mut table, outer);
    let welding = welding(&mut table, procedures, Sides::All, Some(beside));
    let rail_section = rail_section.or_else(|| Some(stock.as_ref()?.section.clone()));
    let rail_facing = facing(&mut table, RAIL_KEYS, rail_section.as_ref());
    table.finish();
    let stock = stock?;
    let rail = Part {
        stock: Stock {
            section: rail_section?,
            front_face: FrontFace::Depth,
            facing: rail_facing,
        },
        welding: welding.clone(),
    };
    Some(Legs {
        height: height?,
        up: up.is_none_or(Spanned::into_inner),
        splay: splay.map_or(0.0, Spanned::into_inner),
        rails,
        rail,
        part: Part { stock, welding },
    })
}

/// Absent is fine, present and wrong is not.
fn optional<T>(part: Option<Option<T>>) -> Option<Option<T>> {
    match part {
        None => Some(None),
        Some(read) => read.map(Some),
    }
}

fn mid_rails(
    mut table: Table<'_>,
    procedures: &[Procedure],
    beside: &Welding,
    outer: Option<&Stock>,
) -> Option<MidRails> {
    let reader = table.reader();
    if !table.has("heights") {
        table.missing("heights", "heights = [450]");
    }
    let heights: Vec<_> = table
        .list("heights")
        .into_iter()
        .filter_map(|height| reader.positive(height, QuantityKind::Length))
        .collect();
    let stock = own_or_outer(&mut table, outer);
    let welding = welding(&mut table, procedures, Sides::All, Some(beside));
    table.finish();
    Some(MidRails {
        part: Part {
            stock: stock?,
            welding,
        },
        heights,
    })
}

fn bars(
    mut table: Table<'_>,
    (procedures, seen_from): (&[Procedure], SeenFrom),
    beside: &Welding,
) -> Option<Bars> {
    let stock = stock(&mut table);
    let direction = table.choice(
        "direction",
        &[
            ("vertical", Direction::Vertical),
            ("horizontal", Direction::Horizontal),
            ("front to back", Direction::Vertical),
            ("left to right", Direction::Horizontal),
        ],
    );
    let count = count(&mut table);
    let lap = table.text("lap");
    // A lap is welded along its edges.
    let sides = match lap {
        Some(_) => Sides::All,
        None => both_faces(seen_from),
    };
    let welding = welding(&mut table, procedures, sides, Some(beside));
    table.finish();
    Some(Bars {
        part: Part {
            stock: stock?,
            welding,
        },
        count: count?,
        direction: direction.map_or(Direction::Vertical, Spanned::into_inner),
        lap,
    })
}

/// Where the bars are: by their number, their spacing, their gaps or their places.
fn count(table: &mut Table<'_>) -> Option<Spanned<Count>> {
    let reader = table.reader();
    let number = table.whole("count", 1, 1000);
    let largest = table.positive("largest_gap", QuantityKind::Length);
    let spacing = table.positive("spacing", QuantityKind::Length);
    let gap = table.positive("gap", QuantityKind::Length);
    let has_places = table.has("positions");
    let places: Vec<f64> = table
        .list("positions")
        .into_iter()
        .filter_map(|place| reader.quantity(place, QuantityKind::Length))
        .collect();
    let from = table.choice(
        "measured_from",
        &[("edge", false), ("centre", true), ("center", true)],
    );
    let given = ["largest_gap", "spacing", "gap", "positions"].map(|key| table.has(key));
    let chosen = given.iter().filter(|given| **given).count();
    let with_count = table.has("count") && (given[0] || has_places);
    if chosen > 1 || with_count {
        reader.error(
            table.span(),
            "the bars are placed in two ways",
            "keep one: count, largest_gap, positions, spacing (with or without count), or gap with count",
        );
        return None;
    }
    if from.is_some() && !has_places {
        reader.error(
            table.span(),
            "'measured_from' belongs to 'positions'",
            "bars by count, spacing or gap are set out from the middle already",
        );
    }
    let number = number.map(Spanned::into_inner);
    let span = table.span().clone();
    if has_places {
        let from_centre = from.is_some_and(Spanned::into_inner);
        return Some(Spanned::new(
            span,
            Count::At {
                places,
                from_centre,
            },
        ));
    }
    if let Some(apart) = spacing {
        let (span, apart) = (apart.span(), apart.into_inner());
        return Some(Spanned::new(
            span,
            Count::Spaced {
                apart,
                count: number,
            },
        ));
    }
    if let Some(gap) = gap {
        let (span, gap) = (gap.span(), gap.into_inner());
        if number.is_none() {
            table.missing(
                "count",
                "count = 9: the gap says how far apart they are, not how many",
            );
        }
        let count = number?;
        return Some(Spanned::new(span, Count::Gapped { gap, count }));
    }
    if let Some(gap) = largest {
        return Some(Spanned::new(gap.span(), Count::MaxGap(gap.into_inner())));
    }
    if !table.has("count") && chosen == 0 {
        table.missing(
            "count",
            "count = 9, largest_gap = 110, spacing = 120, or positions = [200, 600]",
        );
    }
    Some(Spanned::new(span, Count::Number(number?)))
}

fn brace(
    mut table: Table<'_>,
    (procedures, seen_from): (&[Procedure], SeenFrom),
    beside: &Welding,
) -> Option<Brace> {
    let stock = stock(&mut table);
    let rising = table.choice("direction", &[("rising", true), ("falling", false)]);
    let welding = welding(&mut table, procedures, both_faces(seen_from), Some(beside));
    table.finish();
    Some(Brace {
        part: Part {
            stock: stock?,
            welding,
        },
        rising: rising.is_none_or(Spanned::into_inner),
    })
}
