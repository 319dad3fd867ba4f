//! The beads of a record as Parquet: one row a bead, so that years of records are one table to any engine that reads it.
//!
//! Every column may be null: null is what is not known. Units stand in the names.

use super::model::BuildRecord;
use crate::job::model::Job;
use crate::map::model::{MappedBead, MappedRun, MappedWeld};
use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;
use std::sync::Arc;

/// Values of one column, one a bead.
enum Values {
    Text(Vec<Option<String>>),
    Whole(Vec<Option<i64>>),
    Number(Vec<Option<f64>>),
}

/// A bead with the weld and run it is on.
struct Row<'a> {
    bead: &'a MappedBead,
    weld: Option<&'a MappedWeld>,
    run: Option<&'a MappedRun>,
}

/// The file's bytes.
///
/// # Errors
/// [`ParquetError`] when the library cannot write it.
pub fn parquet(job: &Job, record: &BuildRecord) -> Result<Vec<u8>, ParquetError> {
    let columns = columns(job, record);
    let fields: Result<Vec<_>, _> = columns
        .iter()
        .map(|(name, values)| field(name, values).map(Arc::new))
        .collect();
    let schema = Type::group_type_builder("bead")
        .with_fields(fields?)
        .build()?;
    let properties = WriterProperties::builder()
        .set_compression(Compression::SNAPPY)
        .build();
    let mut file = SerializedFileWriter::new(Vec::new(), Arc::new(schema), Arc::new(properties))?;
    let mut group = file.next_row_group()?;
    for (_, values) in &columns {
        let Some(mut column) = group.next_column()? else {
            break;
        };
        match values {
            Values::Text(values) => {
                let (present, levels) = split(
                    values
                        .iter()
                        .map(|value| value.as_deref().map(ByteArray::from)),
                );
                column
                    .typed::<ByteArrayType>()
                    .write_batch(&present, Some(&levels), None)?;
            }
            Values::Whole(values) => {
                let (present, levels) = split(values.iter().copied());
                column
                    .typed::<Int64Type>()
                    .write_batch(&present, Some(&levels), None)?;
            }
            Values::Number(values) => {
                let (present, levels) = split(values.iter().copied());
                column
                    .typed::<DoubleType>()
                    .write_batch(&present, Some(&levels), None)?;
            }
        }
        column.close()?;
    }
    group.close()?;
    file.into_inner()
}

fn field(name: &str, values: &Values) -> Result<Type, ParquetError> {
    let (physical, logical) = match values {
        Values::Text(_) => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
        Values::Whole(_) => (Physical::INT64, None),
        Values::Number(_) => (Physical::DOUBLE, None),
    };
    Type::primitive_type_builder(name, physical)
        .with_logical_type(logical)
        .with_repetition(Repetition::OPTIONAL)
        .build()
}

/// The values that are there, and a 1 for each of them and a 0 for each that is not.
fn split<T>(values: impl Iterator<Item = Option<T>>) -> (Vec<T>, Vec<i16>) {
    let mut levels = Vec::new();
    let present = values
        .inspect(|value| levels.push(i16::from(value.is_some())))
        .flatten()
        .collect();
    (present, levels)
}

fn rows(record: &BuildRecord) -> Vec<Row<'_>> {
    let map = &record.map;
    let weld = |bead: &MappedBead| {
        let number = bead.role.weld()?;
        map.welds.iter().find(|weld| weld.number == number)
    };
    map.beads
        .iter()
        .map(|bead| {
            let weld = weld(bead);
            let run = weld.and_then(|weld| {
                weld.runs
                    .iter()
                    .find(|run| run.beads.contains(&bead.number))
            });
            Row { bead, weld, run }
        })
        .collect()
}

fn columns(job: &Job, record: &BuildRecord) -> Vec<(&'static str, Values)> {
    let rows = rows(record);
    let (map, made) = (&record.map, &record.made);
    let text =
        |of: &dyn Fn(&Row<'_>) -> Option<String>| Values::Text(rows.iter().map(of).collect());
    let whole = |of: &dyn Fn(&Row<'_>) -> Option<i64>| Values::Whole(rows.iter().map(of).collect());
    let number =
        |of: &dyn Fn(&Row<'_>) -> Option<f64>| Values::Number(rows.iter().map(of).collect());
    let said = |text: &str| (!text.is_empty()).then(|| text.to_string());
    let at = |seconds: f64| {
        Some(i64::try_from(map.source.started_unix_ms?).ok()? + (1000.0 * seconds) as i64)
    };
    vec![
        ("job", text(&|_| Some(job.name.clone()))),
        ("log", text(&|_| Some(map.source.log.clone()))),
        ("log_sha256", text(&|_| said(&made.log_sha256))),
        ("device", text(&|_| map.source.device.clone())),
        ("welder", text(&|_| said(&made.welder))),
        ("material", text(&|_| Some(job.material.name.clone()))),
        ("software", text(&|_| Some(map.source.software.clone()))),
        ("bead", whole(&|row| Some(row.bead.number.into()))),
        ("role", text(&|row| Some(row.bead.role.describe()))),
        ("weld", whole(&|row| row.bead.role.weld().map(i64::from))),
        (
            "run",
            whole(&|row| row.run.map(|run| i64::from(run.number))),
        ),
        (
            "weld_name",
            text(&|row| row.weld.map(|weld| weld.name.clone())),
        ),
        (
            "procedure",
            text(&|row| row.weld.map(|weld| weld.procedure.clone())),
        ),
        (
            "process_iso_4063",
            whole(&|row| row.weld.map(|weld| weld.process.number().into())),
        ),
        ("began_unix_ms", whole(&|row| at(row.bead.start.0))),
        ("began_s", number(&|row| Some(row.bead.start.0))),
        ("arc_time_s", number(&|row| Some(row.bead.arc_time.0))),
        ("voltage_v", number(&|row| Some(row.bead.voltage?.value.0))),
        (
            "voltage_expanded_v",
            number(&|row| Some(row.bead.voltage?.expanded.0)),
        ),
        ("current_a", number(&|row| Some(row.bead.current?.value.0))),
        (
            "current_expanded_a",
            number(&|row| Some(row.bead.current?.expanded.0)),
        ),
        ("power_w", number(&|row| Some(row.bead.power?.value.0))),
        ("energy_j", number(&|row| Some(row.bead.energy?.value.0))),
        (
            "energy_expanded_j",
            number(&|row| Some(row.bead.energy?.expanded.0)),
        ),
        ("restarts", whole(&|row| Some(row.bead.restarts.into()))),
        (
            "run_heat_input_j_per_mm",
            number(&|row| Some(row.run?.heat_input.estimate?.value.0)),
        ),
        (
            "run_heat_input_expanded_j_per_mm",
            number(&|row| Some(row.run?.heat_input.estimate?.expanded.0)),
        ),
        (
            "run_travel_speed_mm_per_s",
            number(&|row| Some(row.run?.travel_speed.estimate?.value.0)),
        ),
        (
            "run_verdict",
            text(&|row| Some(row.run?.verdict.name().to_string())),
        ),
        (
            "inspection",
            text(&|row| Some(row.weld?.inspection.as_ref()?.result.name().to_string())),
        ),
    ]
}
