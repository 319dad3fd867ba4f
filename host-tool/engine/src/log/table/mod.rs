//! Recordings in the files of other programs: WAV, MATLAB, HDF5, NumPy, Parquet.
//!
//! Each kind is read whole into columns of numbers with names, and these are read on as the text that an instrument would
//! have written. So everything that holds of text holds of them: how columns are found, what is missing, what is told.
//! The readers are libraries behind the feature `formats`; without it such a file is named and refused.

mod columns;
#[cfg(feature = "formats")]
mod hdf5;
#[cfg(feature = "formats")]
mod matlab;
#[cfg(feature = "formats")]
mod numpy;
#[cfg(feature = "formats")]
mod parquet;
mod text;
#[cfg(feature = "formats")]
mod wav;

#[cfg(feature = "formats")]
use columns::Array;
pub(super) use columns::Table;
pub(super) use text::TableText;

/// A kind of file that holds a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// RIFF WAVE: channels of samples at a rate.
    Wav,
    /// MATLAB, level 5.
    Matlab,
    /// HDF5, MATLAB 7.3 files among them.
    Hdf5,
    /// NumPy: one array, or an archive of them.
    Numpy,
    /// Apache Parquet.
    Parquet,
}

/// The kind of a file that begins with these bytes.
pub(super) fn kind(head: &[u8]) -> Option<Kind> {
    const HDF5: &[u8] = b"\x89HDF\r\n\x1a\n";
    let at = |place: usize, magic: &[u8]| {
        head.get(place..)
            .is_some_and(|rest| rest.starts_with(magic))
    };
    if at(0, b"RIFF") && at(8, b"WAVE") {
        Some(Kind::Wav)
    } else if at(0, HDF5) || at(512, HDF5) {
        // A MATLAB 7.3 file has its own text before the HDF5 file.
        Some(Kind::Hdf5)
    } else if at(0, b"MATLAB 5.0 MAT-file") {
        Some(Kind::Matlab)
    } else if at(0, b"\x93NUMPY") || at(0, b"PK\x03\x04") {
        Some(Kind::Numpy)
    } else if at(0, b"PAR1") {
        Some(Kind::Parquet)
    } else {
        None
    }
}

impl Kind {
    /// Its name, with an article.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Wav => "a WAV file",
            Self::Matlab => "a MATLAB file",
            Self::Hdf5 => "an HDF5 or MATLAB 7.3 file",
            Self::Numpy => "a NumPy file",
            Self::Parquet => "a Parquet file",
        }
    }

    /// The table in a file.
    ///
    /// # Errors
    /// Says what is wrong with the file.
    #[cfg(feature = "formats")]
    pub(super) fn read(self, bytes: Vec<u8>) -> Result<Table, String> {
        let table = match self {
            Self::Wav => wav::read(&bytes)?,
            Self::Matlab => of_arrays(matlab::read(&bytes)?)?,
            Self::Hdf5 => of_arrays(hdf5::read(bytes)?)?,
            Self::Numpy => of_arrays(numpy::read(bytes)?)?,
            Self::Parquet => parquet::read(bytes)?,
        };
        match table.columns.first().map(Vec::len) {
            None | Some(0) => Err(format!("it is {} without columns of numbers", self.name())),
            Some(_) => Ok(table),
        }
    }

    /// Such files are not read by this build.
    #[cfg(not(feature = "formats"))]
    pub(super) fn read(self, _: Vec<u8>) -> Result<Table, String> {
        Err(format!(
            "it is {}; this build does not read those. Export the recording as text, or build with --features formats",
            self.name()
        ))
    }
}

/// Columns of a table, at most: an image is no recording.
#[cfg(feature = "formats")]
const MAX_COLUMNS: usize = 64;

/// Names of a number that is the sampling rate.
#[cfg(feature = "formats")]
const RATES: [&str; 8] = [
    "fs",
    "rate",
    "samplerate",
    "samplingrate",
    "samplingfrequency",
    "fsample",
    "sr",
    "ratehz",
];

/// The table of arrays of the same length: the length that most of their numbers have.
#[cfg(feature = "formats")]
fn of_arrays(arrays: Vec<Array>) -> Result<Table, String> {
    let folded = |name: &str| name.to_lowercase().replace(['_', ' ', '-'], "");
    let rate = arrays.iter().find_map(|array| {
        let last = array.name.rsplit('/').next().unwrap_or_default();
        let is_rate = array.values.len() == 1 && RATES.contains(&folded(last).as_str());
        is_rate.then(|| array.values[0])
    });
    // A row of numbers is a column lying down.
    let upright = |array: Array| match array.shape {
        (1, n) if n > MAX_COLUMNS => Array {
            shape: (n, 1),
            ..array
        },
        _ => array,
    };
    let arrays: Vec<Array> = arrays
        .into_iter()
        .map(upright)
        .filter(|array| {
            array.shape.0 > 1
                && array.shape.1 <= MAX_COLUMNS
                && array.values.len() == array.shape.0 * array.shape.1
        })
        .collect();
    let weight = |rows: usize| -> usize {
        let same = arrays.iter().filter(|array| array.shape.0 == rows);
        same.map(|array| array.values.len()).sum()
    };
    let rows = arrays
        .iter()
        .map(|array| array.shape.0)
        .max_by_key(|&rows| weight(rows));
    let Some(rows) = rows else {
        return Err("it holds no list of numbers".into());
    };
    let mut table = Table {
        rate_hz: rate,
        ..Table::default()
    };
    for array in arrays.into_iter().filter(|array| array.shape.0 == rows) {
        let width = array.shape.1;
        for column in 0..width {
            table.names.push(if width == 1 {
                array.name.clone()
            } else {
                String::new()
            });
            table.columns.push(
                array
                    .values
                    .iter()
                    .skip(column)
                    .step_by(width)
                    .copied()
                    .collect(),
            );
        }
    }
    Ok(table)
}
