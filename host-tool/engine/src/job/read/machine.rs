//! Reads `[machine]`, `[prices]` and `shop_factors`.

use crate::formulas::duty::Rating;
use crate::job::model::{Machine, Prices, ShopFile};
use crate::reading::{QuantityKind, Table};
use crate::units::{KILOGRAMS_PER_POUND, LITRES_PER_CUBIC_FOOT};
use coldsquare_core::units::Amperes;
use serde_spanned::Spanned;

/// Cubic metres in a cubic foot.
const CUBIC_METRES_PER_CUBIC_FOOT: f64 = LITRES_PER_CUBIC_FOOT / 1000.0;

/// Reads `[machine]`.
pub(in crate::job) fn machine(mut table: Table<'_>) -> Option<Machine> {
    let current = table.required(
        "rated_current",
        QuantityKind::Current,
        "rated_current = 200",
    );
    let duty = table.required(
        "rated_duty_cycle",
        QuantityKind::Number,
        "rated_duty_cycle = 35, in per cent of ten minutes at the rated current",
    );
    let efficiency = table.positive("efficiency", QuantityKind::Number);
    let reader = table.reader();
    if let Some(efficiency) = &efficiency
        && *efficiency.get_ref() > 1.0
    {
        reader.error(
            &efficiency.span(),
            "a power source cannot give out more energy than it takes in",
            "write a fraction such as 0.8",
        );
    }
    table.finish();
    let (current, duty) = (current?, duty?);
    match Rating::new(Amperes(*current.get_ref()), duty.get_ref() / 100.0) {
        Ok(rating) => Some(Machine {
            rated_current: Amperes(current.into_inner()),
            rated_duty_cycle: duty.into_inner() / 100.0,
            rating,
            efficiency: efficiency.map(Spanned::into_inner),
        }),
        Err(error) => {
            reader.error(
                &current.span(),
                error.to_string(),
                "copy both from the rating plate: current, and duty cycle in per cent of ten minutes (EN IEC 60974-1)",
            );
            None
        }
    }
}

/// Reads `[prices]`; a price left out is `None`, and the cost is shown as missing.
pub(in crate::job) fn prices(mut table: Table<'_>) -> Prices {
    let currency = table.text("currency").map(Spanned::into_inner);
    let mut price = |key| {
        table
            .positive(key, QuantityKind::Number)
            .map(Spanned::into_inner)
    };
    let either = |metric: Option<f64>, other: Option<f64>, per: f64| {
        metric.or(other.map(|price| price / per))
    };
    let prices = Prices {
        currency: currency.unwrap_or_default(),
        wire_per_kg: either(
            price("wire_per_kg"),
            price("wire_per_lb"),
            KILOGRAMS_PER_POUND,
        ),
        gas_per_m3: either(
            price("gas_per_m3"),
            price("gas_per_cubic_foot"),
            CUBIC_METRES_PER_CUBIC_FOOT,
        ),
        energy_per_kwh: price("energy_per_kwh"),
        labour_per_hour: price("labour_per_hour"),
    };
    table.finish();
    prices
}

/// Reads `shop_factors` and `shop_factors_revision`.
pub(crate) fn shop_file(top: &mut Table<'_>) -> Option<ShopFile> {
    let path = top.text("shop_factors");
    let revision = top.whole("shop_factors_revision", 1, 1_000_000);
    if let (None, Some(revision)) = (&path, &revision) {
        top.reader().error(
            &revision.span(),
            "a revision without a file of shop factors",
            "name the file too: shop_factors = \"our-shop.toml\"",
        );
    }
    path.map(|path| ShopFile {
        path: path.into_inner(),
        revision: revision.map(|revision| revision.into_inner() as usize),
    })
}
