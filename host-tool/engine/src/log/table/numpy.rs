//! NumPy: one array (.npy), or an archive of arrays (.npz).

use super::columns::Array;
use npyz::{NpyFile, Order};
use std::io::{Cursor, Read};

/// The most that an array of an archive can unpack to, bytes.
const MAX_UNPACKED: u64 = 4 << 30;

pub(super) fn read(bytes: Vec<u8>) -> Result<Vec<Array>, String> {
    let failed = |error: &dyn std::fmt::Display| error.to_string();
    if bytes.starts_with(b"\x93NUMPY") {
        return Ok(array(String::new(), &bytes).into_iter().collect());
    }
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| failed(&error))?;
    let mut arrays = Vec::new();
    for at in 0..archive.len() {
        let entry = archive.by_index(at).map_err(|error| failed(&error))?;
        let path = entry.name().map_err(|error| failed(&error))?.into_owned();
        let Some(name) = path.strip_suffix(".npy").map(str::to_owned) else {
            continue;
        };
        let mut unpacked = Vec::new();
        entry
            .take(MAX_UNPACKED)
            .read_to_end(&mut unpacked)
            .map_err(|error| failed(&error))?;
        arrays.extend(array(name, &unpacked));
    }
    Ok(arrays)
}

/// An array of numbers; `None` for anything else.
fn array(name: String, bytes: &[u8]) -> Option<Array> {
    let header = NpyFile::new(bytes).ok()?;
    let by_column = header.order() == Order::Fortran;
    let shape = match header.shape() {
        [] => (1, 1),
        &[rows] => (rows as usize, 1),
        &[rows, columns] => (rows as usize, columns as usize),
        _ => return None,
    };
    let values = numbers(bytes)?;
    let (rows, columns) = shape;
    if values.len() != rows.checked_mul(columns)? {
        return None;
    }
    let values = match by_column && columns > 1 {
        true => (0..values.len())
            .map(|at| values[at % columns * rows + at / columns])
            .collect(),
        false => values,
    };
    Some(Array {
        name,
        shape,
        values,
    })
}

fn numbers(bytes: &[u8]) -> Option<Vec<f64>> {
    macro_rules! of {
        ($($kind:ty),*) => {
            $(
                if let Ok(values) = NpyFile::new(bytes).ok()?.into_vec::<$kind>() {
                    return Some(values.into_iter().map(|value| value as f64).collect());
                }
            )*
        };
    }
    of!(f64, f32, i64, i32, i16, u16, u32, u8, i8, u64);
    None
}
