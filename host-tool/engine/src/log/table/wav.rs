//! WAV: channels of samples, as sound cards and some oscilloscopes write them.

use super::columns::Table;
use std::io::Cursor;

/// Whole numbers are given as shares of full scale, -1 to 1: what that is in volts and amperes the file cannot say.
pub(super) fn read(bytes: &[u8]) -> Result<Table, String> {
    let failed = |error: hound::Error| error.to_string();
    let mut wav = hound::WavReader::new(Cursor::new(bytes)).map_err(failed)?;
    let spec = wav.spec();
    let channels = usize::from(spec.channels.max(1));
    let mut columns = vec![Vec::new(); channels];
    let mut keep = |at: usize, value: f64| columns[at % channels].push(value);
    match spec.sample_format {
        hound::SampleFormat::Float => {
            for (at, sample) in wav.samples::<f32>().enumerate() {
                keep(at, f64::from(sample.map_err(failed)?));
            }
        }
        hound::SampleFormat::Int => {
            let full_scale = 2f64.powi(i32::from(spec.bits_per_sample) - 1);
            for (at, sample) in wav.samples::<i32>().enumerate() {
                keep(at, f64::from(sample.map_err(failed)?) / full_scale);
            }
        }
    }
    let rows = columns.last().map_or(0, Vec::len);
    columns.iter_mut().for_each(|column| column.truncate(rows));
    Ok(Table {
        names: Vec::new(),
        columns,
        rate_hz: Some(f64::from(spec.sample_rate)),
    })
}
