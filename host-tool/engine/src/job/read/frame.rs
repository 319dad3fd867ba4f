//! Reads `[frame]` and its bars, mid rails and brace.

use super::welding::{Sides, Welding, section, welding};
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
}

/// How many bars.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Count {
    Number(u32),
    MaxGap(f64),
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
}

fn stock(table: &mut Table<'_>) -> Option<Stock> {
    let faces = [("depth", FrontFace::Depth), ("width", FrontFace::Width)];
    let front_face = table.choice("front_face", &faces);
    let section = section(table)?;
    Some(Stock {
        section,
        front_face: front_face.map_or(FrontFace::Depth, Spanned::into_inner),
    })
}

fn front_and_back() -> Sides {
    Sides::These(vec!["front", "back"])
}

pub(crate) fn frame(mut table: Table<'_>, procedures: &[Procedure]) -> Option<Frame> {
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
        .map(|inner| bars(inner, procedures, beside));
    let brace = table
        .table("brace")
        .map(|inner| brace(inner, procedures, beside));
    table.finish();
    Some(Frame {
        width: width?,
        height: height?,
        corners: corners.map_or(Corners::Mitred, Spanned::into_inner),
        mid_rails: optional(mid_rails)?,
        bars: optional(bars)?,
        brace: optional(brace)?,
        part: Part {
            stock: stock?,
            welding,
        },
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
    let stock = if table.has("section") {
        stock(&mut table)
    } else {
        table.value("section");
        table.value("front_face");
        outer.cloned()
    };
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

fn bars(mut table: Table<'_>, procedures: &[Procedure], beside: &Welding) -> Option<Bars> {
    let stock = stock(&mut table);
    let direction = table.choice(
        "direction",
        &[
            ("vertical", Direction::Vertical),
            ("horizontal", Direction::Horizontal),
        ],
    );
    let count = table.whole("count", 1, 1000);
    let gap = table.positive("largest_gap", QuantityKind::Length);
    match (table.has("count"), table.has("largest_gap")) {
        (false, false) => table.missing("count", "count = 9, or largest_gap = 110"),
        (true, true) => table.reader().error(
            table.span(),
            "both 'count' and 'largest_gap' are given",
            "keep one of them",
        ),
        _ => {}
    }
    let count = count
        .map(|count| Spanned::new(count.span(), Count::Number(count.into_inner())))
        .or(gap.map(|gap| Spanned::new(gap.span(), Count::MaxGap(gap.into_inner()))));
    let welding = welding(&mut table, procedures, front_and_back(), Some(beside));
    table.finish();
    Some(Bars {
        part: Part {
            stock: stock?,
            welding,
        },
        count: count?,
        direction: direction.map_or(Direction::Vertical, Spanned::into_inner),
    })
}

fn brace(mut table: Table<'_>, procedures: &[Procedure], beside: &Welding) -> Option<Brace> {
    let stock = stock(&mut table);
    let rising = table.choice("direction", &[("rising", true), ("falling", false)]);
    let welding = welding(&mut table, procedures, front_and_back(), Some(beside));
    table.finish();
    Some(Brace {
        part: Part {
            stock: stock?,
            welding,
        },
        rising: rising.is_none_or(Spanned::into_inner),
    })
}
