//! HDF5, and MATLAB 7.3 files, which are HDF5 after 512 bytes of text.

use super::columns::Array;
use hdf5_pure::{File, Group};

/// Groups in groups, at most.
const MAX_DEPTH: usize = 8;

pub(super) fn read(bytes: Vec<u8>) -> Result<Vec<Array>, String> {
    let file = File::from_bytes(bytes).map_err(|error| error.to_string())?;
    let mut arrays = Vec::new();
    collect(&file.root(), "", 0, &mut arrays);
    Ok(arrays)
}

/// The arrays of numbers in a group and those below it. What cannot be read as numbers is left out.
fn collect(group: &Group, path: &str, depth: usize, arrays: &mut Vec<Array>) {
    for name in group.datasets().unwrap_or_default() {
        let Ok(dataset) = group.dataset(&name) else {
            continue;
        };
        let (Ok(shape), Ok(values)) = (dataset.shape(), dataset.read_f64()) else {
            continue;
        };
        let attributes = dataset.attrs().unwrap_or_default();
        let shape: Vec<usize> = shape.iter().map(|&n| n as usize).collect();
        let (shape, values) = match shape.as_slice() {
            [] => ((1, 1), values),
            &[rows] => ((rows, 1), values),
            // MATLAB's columns are HDF5's rows.
            &[columns, rows]
                if attributes.contains_key("MATLAB_class") && columns * rows == values.len() =>
            {
                let by_row =
                    (0..rows * columns).map(|at| values[at % columns * rows + at / columns]);
                ((rows, columns), by_row.collect())
            }
            &[rows, columns] => ((rows, columns), values),
            _ => continue,
        };
        let unit = ["unit", "units"]
            .iter()
            .find_map(|key| attributes.get(*key)?.as_str())
            .map(|unit| unit.trim_end_matches('\0'));
        let name = format!("{path}{name}");
        arrays.push(Array {
            name: unit.map_or(name.clone(), |unit| format!("{name} [{unit}]")),
            shape,
            values,
        });
    }
    if depth == MAX_DEPTH {
        return;
    }
    for name in group.groups().unwrap_or_default() {
        // MATLAB keeps its cells there.
        if name.starts_with('#') {
            continue;
        }
        if let Ok(inner) = group.group(&name) {
            collect(&inner, &format!("{path}{name} "), depth + 1, arrays);
        }
    }
}

#[cfg(test)]
mod tests;
