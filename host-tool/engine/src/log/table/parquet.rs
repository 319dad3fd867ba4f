//! Apache Parquet.

use super::columns::Table;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;

pub(super) fn read(bytes: Vec<u8>) -> Result<Table, String> {
    let failed = |error: parquet::errors::ParquetError| error.to_string();
    let reader = SerializedFileReader::new(bytes::Bytes::from(bytes)).map_err(failed)?;
    let mut table = Table::default();
    for row in reader.get_row_iter(None).map_err(failed)? {
        let row = row.map_err(failed)?;
        for (at, (name, field)) in row.get_column_iter().enumerate() {
            if table.columns.len() == at {
                table.names.push(name.clone());
                table.columns.push(Vec::new());
            }
            table.columns[at].push(number(field));
        }
    }
    Ok(table)
}

fn number(field: &Field) -> f64 {
    match *field {
        Field::Byte(value) => value.into(),
        Field::Short(value) => value.into(),
        Field::Int(value) => value.into(),
        Field::Long(value) => value as f64,
        Field::UByte(value) => value.into(),
        Field::UShort(value) => value.into(),
        Field::UInt(value) => value.into(),
        Field::ULong(value) => value as f64,
        Field::Float(value) => value.into(),
        Field::Double(value) => value,
        // Seconds since 1970, as a column of numbers would have them.
        Field::TimestampMillis(value) => value as f64 / 1e3,
        Field::TimestampMicros(value) => value as f64 / 1e6,
        _ => f64::NAN,
    }
}
