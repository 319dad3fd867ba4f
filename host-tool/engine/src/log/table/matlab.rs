//! MATLAB files of level 5, as most programs write them. MATLAB 7.3 files are HDF5.

use super::columns::Array;
use matfile::NumericData;

pub(super) fn read(bytes: &[u8]) -> Result<Vec<Array>, String> {
    let file = matfile::MatFile::parse(bytes).map_err(|error| error.to_string())?;
    Ok(file.arrays().iter().filter_map(array).collect())
}

fn array(array: &matfile::Array) -> Option<Array> {
    let &[rows, columns] = array.size().as_slice() else {
        return None;
    };
    let values = numbers(array.data());
    if values.len() != rows * columns {
        return None;
    }
    // MATLAB writes column by column.
    let by_row = (0..rows * columns).map(|at| values[at % columns * rows + at / columns]);
    Some(Array {
        name: array.name().to_owned(),
        shape: (rows, columns),
        values: by_row.collect(),
    })
}

fn numbers(data: &NumericData) -> Vec<f64> {
    fn of<T: Copy>(values: &[T], number: impl Fn(T) -> f64) -> Vec<f64> {
        values.iter().map(|&value| number(value)).collect()
    }
    match data {
        NumericData::Int8 { real, .. } => of(real, f64::from),
        NumericData::UInt8 { real, .. } => of(real, f64::from),
        NumericData::Int16 { real, .. } => of(real, f64::from),
        NumericData::UInt16 { real, .. } => of(real, f64::from),
        NumericData::Int32 { real, .. } => of(real, f64::from),
        NumericData::UInt32 { real, .. } => of(real, f64::from),
        NumericData::Int64 { real, .. } => of(real, |value| value as f64),
        NumericData::UInt64 { real, .. } => of(real, |value| value as f64),
        NumericData::Single { real, .. } => of(real, f64::from),
        NumericData::Double { real, .. } => real.clone(),
    }
}
