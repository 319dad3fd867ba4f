//! Long welds made intermittent.

use super::error::EditError;
use crate::geometry::Point;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value};

/// Cuts every `[[weld]]` that runs between two points into welds of one length with gaps between them.
pub(super) fn intermittent(file: &mut DocumentMut, weld: f64, gap: f64) -> Result<(), EditError> {
    if !(weld > 0.0 && gap > 0.0) {
        let what = "write a length and a gap greater than 0";
        return Err(EditError::Value(what.into()));
    }
    let none = || EditError::Unknown("long weld with a table of its own".into());
    // One table each, or all of them on lines of one list.
    let welds = file.get("weld").cloned().ok_or_else(none)?;
    let welds = welds.into_array_of_tables().map_err(|_| none())?;
    let pieces: Vec<Table> = welds
        .iter()
        .flat_map(|table| cut(table, weld, gap))
        .collect();
    if pieces.len() == welds.len() {
        return Err(none());
    }
    file.insert(
        "weld",
        Item::ArrayOfTables(pieces.into_iter().collect::<ArrayOfTables>()),
    );
    Ok(())
}

fn cut(table: &Table, weld: f64, gap: f64) -> Vec<Table> {
    let (Some(from), Some(to)) = (point(table, "from"), point(table, "to")) else {
        return vec![table.clone()];
    };
    let length = (to - from).length();
    let count = ((length - weld) / (weld + gap)).ceil() + 1.0;
    if !(length > 2.0 * weld + gap && (2.0..=1000.0).contains(&count)) {
        return vec![table.clone()];
    }
    let along = (to - from) * (1.0 / length);
    let step = (length - weld) / (count - 1.0);
    let name = table.get("name").and_then(Item::as_str);
    (0..count as usize)
        .map(|k| {
            let start = from + along * (step * k as f64);
            let mut piece = table.clone();
            piece.set_position(None);
            piece.insert("from", written(start));
            piece.insert("to", written(start + along * weld));
            if let Some(name) = name {
                let name = format!("{name} {}", k + 1);
                piece.insert("name", Item::Value(name.into()));
            }
            piece
        })
        .collect()
}

fn point(table: &Table, key: &str) -> Option<Point> {
    let parts = table.get(key)?.as_array()?;
    let number = |value: &Value| {
        value
            .as_float()
            .or(value.as_integer().map(|whole| whole as f64))
    };
    let parts: Vec<f64> = parts.iter().filter_map(number).collect();
    match parts.as_slice() {
        [x, y, z] => Some(Point::new(*x, *y, *z)),
        _ => None,
    }
}

fn written(point: Point) -> Item {
    // Adding zero turns a negative zero into an ordinary one.
    let rounded = [point.x, point.y, point.z].map(|part| (part * 100.0).round() / 100.0 + 0.0);
    Item::Value(rounded.into_iter().collect::<Array>().into())
}
