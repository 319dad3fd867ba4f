//! Reads `[machine]`, `[prices]` and `shop`: what the power source stands, what things cost, what the shop has learned.

use super::model::{Machine, Prices, ShopFile};
use super::quantity::Kind;
use super::reader::Table;
use crate::formulas::duty::Rating;
use coldsquare_core::units::Amperes;
use serde_spanned::Spanned;

/// A pound, kg, by definition.
const POUND_KG: f64 = 0.453_592_37;
/// A cubic foot, m³, by definition.
const CUBIC_FOOT_M3: f64 = 0.028_316_846_592;

/// Reads `[machine]`.
pub(super) fn machine(mut table: Table<'_>) -> Option<Machine> {
    let current = table.required("rated_current", Kind::Current, "rated_current = 200");
    let duty = table.required(
        "rated_duty",
        Kind::Number,
        "rated_duty = 35, per cent of ten minutes at that current",
    );
    let efficiency = table.positive("efficiency", Kind::Number);
    let reader = table.reader();
    if let Some(efficiency) = &efficiency
        && *efficiency.get_ref() > 1.0
    {
        reader.wrong(
            &efficiency.span(),
            "a power source gives out less than it takes",
            "write a fraction such as 0.8",
        );
    }
    table.finish();
    let (current, duty) = (current?, duty?);
    match Rating::new(Amperes(*current.get_ref()), duty.get_ref() / 100.0) {
        Ok(rating) => Some(Machine {
            rated_current: Amperes(current.into_inner()),
            rated_duty: duty.into_inner() / 100.0,
            rating,
            efficiency: efficiency.map(Spanned::into_inner),
        }),
        Err(error) => {
            reader.wrong(
                &current.span(),
                error.to_string(),
                "copy both from the plate of the machine: current, and per cent of ten minutes (EN IEC 60974-1)",
            );
            None
        }
    }
}

/// Reads `[prices]`; what is not given costs nothing here and is said to be missing.
pub(super) fn prices(mut table: Table<'_>) -> Prices {
    let currency = table.text("currency").map(Spanned::into_inner);
    let mut price = |key| table.positive(key, Kind::Number).map(Spanned::into_inner);
    let either = |metric: Option<f64>, other: Option<f64>, per: f64| {
        metric.or(other.map(|price| price / per))
    };
    let prices = Prices {
        currency: currency.unwrap_or_default(),
        wire_per_kg: either(price("wire_per_kg"), price("wire_per_lb"), POUND_KG),
        gas_per_m3: either(
            price("gas_per_m3"),
            price("gas_per_cubic_foot"),
            CUBIC_FOOT_M3,
        ),
        energy_per_kwh: price("energy_per_kwh"),
        labour_per_hour: price("labour_per_hour"),
    };
    table.finish();
    prices
}

/// Reads `shop` and `shop_revision`.
pub(super) fn file(top: &mut Table<'_>) -> Option<ShopFile> {
    let reader = top.reader();
    let path = top.text("shop");
    let revision = top.positive("shop_revision", Kind::Number);
    if let Some(revision) = &revision {
        let number = *revision.get_ref();
        if number.fract() != 0.0 || number > 1e6 {
            reader.wrong(
                &revision.span(),
                "a revision is a whole number",
                "`coldsquare learn --history` lists them",
            );
        }
        if path.is_none() {
            reader.wrong(
                &revision.span(),
                "a revision of no file",
                "name the file of the shop too: shop = \"our-shop.toml\"",
            );
        }
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    // whole and small, checked above
    let revision = revision.map(|revision| revision.into_inner() as usize);
    path.map(|path| ShopFile {
        path: path.into_inner(),
        revision,
    })
}
