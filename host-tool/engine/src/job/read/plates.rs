//! Reads what is cut from plate: `[frame.gussets]`, `[[gusset]]` and `[frame.feet]`.

use super::welding::{Sides, Welding, welding};
use crate::procedure::model::Procedure;
use crate::reading::{QuantityKind, Table};
use serde_spanned::Spanned;

/// A gusset, or several alike: a triangle of plate in a corner.
#[derive(Clone)]
pub(crate) struct GussetTable {
    /// Along the first member and along the second, mm.
    pub size: [f64; 2],
    pub thickness: f64,
    /// What its corner is cut back by, to clear the weld there; by default a tenth of the size.
    pub clip: Option<f64>,
    /// The side of the members that it is flush with; in their middle if none is named.
    pub flush: Option<Spanned<String>>,
    /// The side of the first member that it is on, where that goes on past the corner.
    pub side: Option<Spanned<String>>,
    /// The corners of a frame; all of them if empty.
    pub corners: Vec<Spanned<String>>,
    pub welding: Welding,
}

/// Feet of plate under the legs of a frame.
pub(crate) struct Feet {
    pub size: f64,
    pub thickness: f64,
    pub welding: Welding,
}

pub(crate) fn gusset(
    table: &mut Table<'_>,
    procedures: &[Procedure],
    beside: Option<&Welding>,
) -> Option<GussetTable> {
    let reader = table.reader();
    if !table.has("size") {
        table.missing("size", "size = 80, or size = [80, 120]");
    }
    let sizes: Vec<f64> = table
        .list("size")
        .into_iter()
        .filter_map(|size| reader.positive(size, QuantityKind::Length))
        .map(Spanned::into_inner)
        .collect();
    let thickness = table.required("thickness", QuantityKind::Length, "thickness = 4");
    let clip = table
        .value("clip")
        .and_then(|value| reader.quantity(value, QuantityKind::Length));
    let flush = table.text("flush");
    let side = table.text("side");
    let welding = welding(table, procedures, Sides::All, beside);
    Some(GussetTable {
        size: match sizes.as_slice() {
            [both] => [*both; 2],
            [first, second, ..] => [*first, *second],
            [] => return None,
        },
        thickness: *thickness?.get_ref(),
        clip,
        flush,
        side,
        corners: Vec::new(),
        welding,
    })
}

/// `[frame.gussets]`.
pub(crate) fn gussets(
    mut table: Table<'_>,
    procedures: &[Procedure],
    beside: &Welding,
) -> Option<GussetTable> {
    let corners = table.list("corners").into_iter().filter_map(|value| {
        let word = value.get_ref().as_str()?;
        Some(Spanned::new(value.span(), word.to_owned()))
    });
    let corners = corners.collect();
    let read = gusset(&mut table, procedures, Some(beside));
    table.finish();
    Some(GussetTable { corners, ..read? })
}

/// `[frame.feet]`.
pub(crate) fn feet(
    mut table: Table<'_>,
    procedures: &[Procedure],
    beside: &Welding,
) -> Option<Feet> {
    let size = table.required("size", QuantityKind::Length, "size = 80");
    let thickness = table.required("thickness", QuantityKind::Length, "thickness = 6");
    let welding = welding(&mut table, procedures, Sides::All, Some(beside));
    table.finish();
    Some(Feet {
        size: *size?.get_ref(),
        thickness: *thickness?.get_ref(),
        welding,
    })
}
