//! Reads `[fixture]` and `[[ripped]]`.

use crate::job::cut_list::KERF;
use crate::job::setup::{FixtureTable, RippedStock, SpacerMaterial};
use crate::reading::{QuantityKind, Table};
use serde_spanned::Spanned;

/// Reads `[fixture]`: what it leaves out is as usual.
pub(in crate::job) fn fixture(mut table: Table<'_>) -> FixtureTable {
    let reader = table.reader();
    let usual = FixtureTable::usual(reader.units());
    let span = table.span().clone();
    let length = |table: &mut Table<'_>, key: &'static str, usual: f64| {
        table
            .positive(key, QuantityKind::Length)
            .map_or(usual, Spanned::into_inner)
    };
    let read = FixtureTable {
        grid_mm: length(&mut table, "grid", usual.grid_mm),
        hole_mm: length(&mut table, "hole", usual.hole_mm),
        table_mm: size(&mut table),
        spacers: table
            .choice(
                "spacers",
                &[
                    ("metal", SpacerMaterial::Metal),
                    ("wood", SpacerMaterial::Wood),
                ],
            )
            .map_or(usual.spacers, Spanned::into_inner),
        play_mm: length(&mut table, "play", usual.play_mm),
        fit_mm: length(&mut table, "fit", usual.fit_mm),
    };
    table.finish();
    if let Some(what) = read.fault() {
        reader.error(
            &span,
            what,
            "measure the table: from the middle of a hole to the middle of the next",
        );
        return usual;
    }
    read
}

fn size(table: &mut Table<'_>) -> Option<[f64; 2]> {
    let reader = table.reader();
    let span = table.span().clone();
    let values = table.list("table");
    let sides: Vec<f64> = values
        .iter()
        .filter_map(|value| reader.positive(value, QuantityKind::Length))
        .map(Spanned::into_inner)
        .collect();
    match (values.len(), sides.as_slice()) {
        (0, _) => None,
        (2, &[width, height]) => Some([width, height]),
        _ => {
            reader.error(
                &span,
                "'table' must be the width and the height of the table",
                "write table = [1200, 800]",
            );
            None
        }
    }
}

/// Reads the tables `[[ripped]]`.
pub(in crate::job) fn ripped(mut table: Table<'_>) -> Option<RippedStock> {
    let from = table.text("from").map(Spanned::into_inner);
    let cold_formed = table.choice("stock", &[("cold formed", true), ("hot rolled", false)]);
    let width = table.required("width", QuantityKind::Length, "width = 20");
    let length = table.required("length", QuantityKind::Length, "length = 1200");
    let count = table.whole("count", 1, 1000);
    let kerf = table.positive("kerf", QuantityKind::Length);
    table.finish();
    Some(RippedStock {
        from: from.unwrap_or_else(|| "stock".into()),
        cold_formed: cold_formed.is_none_or(Spanned::into_inner),
        width_mm: width?.into_inner(),
        length_mm: length?.into_inner(),
        count: count.map_or(1, Spanned::into_inner),
        kerf_mm: kerf.map_or(KERF.0, Spanned::into_inner),
    })
}
