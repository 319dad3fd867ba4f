//! Reads `[finish]` and `[[panel]]`.

use crate::job::finish::{Coating, Panel, PanelMaterial, StockSurface};
use crate::reading::{QuantityKind, Span, Table};
use serde_spanned::Spanned;
use toml::de::DeValue;

/// `[finish]` as it is written, before welds have numbers.
pub(in crate::job) struct FinishAsWritten<'a> {
    pub coating: Coating,
    pub stock: StockSurface,
    /// Faces of the frame, or numbers of welds.
    pub flush: Vec<&'a Spanned<DeValue<'a>>>,
    pub span: Span,
}

/// Reads `[finish]`.
pub(in crate::job) fn finish(mut table: Table<'_>) -> FinishAsWritten<'_> {
    let coating = table.choice(
        "coating",
        &[
            ("none", Coating::Bare),
            ("paint", Coating::Paint),
            ("powder", Coating::Powder),
            ("galvanised", Coating::Galvanised),
            ("galvanized", Coating::Galvanised),
        ],
    );
    let stock = table.choice(
        "stock",
        &[
            ("bare", StockSurface::Bare),
            ("galvanised", StockSurface::Galvanised),
            ("galvanized", StockSurface::Galvanised),
            ("painted", StockSurface::Painted),
            ("plated", StockSurface::Plated),
        ],
    );
    let flush = table.list("flush");
    let span = table.span().clone();
    table.finish();
    FinishAsWritten {
        coating: coating.map_or(Coating::Bare, Spanned::into_inner),
        stock: stock.map_or(StockSurface::Bare, Spanned::into_inner),
        flush,
        span,
    }
}

/// Reads a `[[panel]]`.
pub(in crate::job) fn panel(mut table: Table<'_>) -> Option<Panel> {
    let reader = table.reader();
    let material = table.choice(
        "material",
        &[
            ("glass", PanelMaterial::Glass),
            ("acrylic", PanelMaterial::Acrylic),
            ("polycarbonate", PanelMaterial::Polycarbonate),
            ("wood", PanelMaterial::Wood),
            ("steel", PanelMaterial::Steel),
            ("aluminium", PanelMaterial::Aluminium),
            ("aluminum", PanelMaterial::Aluminium),
        ],
    );
    let thickness = table.required("thickness", QuantityKind::Length, "thickness = 6");
    let rebate = table.required("rebate", QuantityKind::Length, "rebate = 12");
    let sides: Vec<f64> = table
        .list("opening")
        .iter()
        .filter_map(|value| reader.positive(value, QuantityKind::Length))
        .map(Spanned::into_inner)
        .collect();
    if !table.has("material") {
        table.missing("material", "material = \"glass\"");
    }
    if sides.len() == 1 || sides.len() > 2 {
        reader.error(
            table.span(),
            "'opening' must be a width and a height",
            "write opening = [820, 1740], or leave it out for the inside of the frame",
        );
    }
    table.finish();
    Some(Panel {
        material: material?.into_inner(),
        thickness_mm: thickness?.into_inner(),
        rebate_mm: rebate?.into_inner(),
        opening_mm: <[f64; 2]>::try_from(sides).ok(),
    })
}
