//! What the columns of the first part of a recording hold, as numbers.

use super::layout::Layout;
use super::number::{Moment, moment};
use super::rows::{fields, is_blank};

/// Values that are looked at in each column.
const MAX_VALUES: usize = 20_000;
/// Rows in a row that are taken together, so that steps between rows can be seen.
const BLOCK: usize = 250;

/// What the columns hold: blocks of rows spread over all of them, as numbers.
pub(super) fn content<'a>(
    rows: impl Iterator<Item = &'a str>,
    layout: &Layout,
    width: usize,
) -> Vec<Vec<f64>> {
    let rows: Vec<&str> = rows.filter(|line| !is_blank(line)).collect();
    let blocks = rows.len().div_ceil(BLOCK);
    let wanted = MAX_VALUES / BLOCK;
    let mut columns = vec![Vec::new(); width];
    for (at, block) in rows.chunks(BLOCK).enumerate() {
        // Evenly spread: block `at` is taken when the share of blocks taken is due.
        if blocks > wanted && at * wanted / blocks == (at + 1) * wanted / blocks {
            continue;
        }
        for line in block {
            let mut values = fields(line, layout.separator);
            for column in &mut columns {
                let value = values
                    .next()
                    .and_then(|(_, field)| moment(field, layout.decimal, layout.dates));
                column.push(match value {
                    Some(
                        Moment::Numeric(value)
                        | Moment::Absolute(value)
                        | Moment::Local(value)
                        | Moment::OfDay(value)
                        | Moment::OfHour(value),
                    ) => value,
                    _ => f64::NAN,
                });
            }
        }
    }
    columns
}
