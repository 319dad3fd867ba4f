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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_of_any_kind_is_that_number() {
        for (field, expected) in [
            (Field::Byte(-5), -5.0),
            (Field::Short(-300), -300.0),
            (Field::Int(-70_000), -70_000.0),
            (Field::Long(-5_000_000_000), -5e9),
            (Field::UByte(200), 200.0),
            (Field::UShort(65_000), 65_000.0),
            (Field::UInt(4_000_000_000), 4e9),
            (Field::ULong(5_000_000_000), 5e9),
            (Field::Float(24.5), 24.5),
            (Field::Double(-0.125), -0.125),
        ] {
            assert_eq!(number(&field), expected, "{field:?}");
        }
        assert!(number(&Field::Str("150".into())).is_nan());
        assert!(number(&Field::Null).is_nan());
    }

    #[test]
    fn a_moment_is_in_seconds() {
        assert_eq!(number(&Field::TimestampMillis(1500)), 1.5);
        assert_eq!(number(&Field::TimestampMicros(2_500_000)), 2.5);
    }
}
