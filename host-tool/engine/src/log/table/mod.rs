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
    /// TDMS: known by name only. The libraries for it in Rust open the file themselves and pass over the ways in which
    /// most such files are written (interleaved, in chunks).
    Tdms,
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
    } else if at(0, b"TDSm") {
        Some(Kind::Tdms)
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
            Self::Tdms => "a TDMS file",
        }
    }

    /// The table in a file; of its arrays those of a dataset, if one is named.
    ///
    /// # Errors
    /// Says what is wrong with the file.
    #[cfg(feature = "formats")]
    pub(super) fn read(self, bytes: Vec<u8>, dataset: Option<&str>) -> Result<Table, String> {
        let of = |arrays| of_arrays(of_dataset(arrays, dataset)?);
        let table = match self {
            Self::Wav => wav::read(&bytes)?,
            Self::Matlab => of(matlab::read(&bytes)?)?,
            Self::Hdf5 => of(hdf5::read(bytes)?)?,
            Self::Numpy => of(numpy::read(bytes)?)?,
            Self::Parquet => parquet::read(bytes)?,
            Self::Tdms => Table::default(),
        };
        match table.columns.first().map(Vec::len) {
            None | Some(0) => Err(format!("it is {} without columns of numbers", self.name())),
            Some(_) => Ok(table),
        }
    }

    /// Such files are not read by this build: see [`Kind::refusal`].
    #[cfg(not(feature = "formats"))]
    pub(super) fn read(self, _: Vec<u8>, _: Option<&str>) -> Result<Table, String> {
        Err(self.refusal().unwrap_or_default())
    }

    /// Why such a file is not read, whatever is in it.
    pub(super) fn refusal(self) -> Option<String> {
        if self == Self::Tdms {
            return Some(NO_TDMS.into());
        }
        (!cfg!(feature = "formats")).then(|| {
            format!(
                "it is {}; this build does not read those. Export the recording as text, or build with --features formats",
                self.name()
            )
        })
    }
}

const NO_TDMS: &str = "it is a TDMS file, which is not read; export the recording as text, or as HDF5 or Parquet for a build with \
                       --features formats";

/// The arrays of a dataset: those below a group of that name, or the one of that name.
#[cfg(feature = "formats")]
fn of_dataset(arrays: Vec<Array>, dataset: Option<&str>) -> Result<Vec<Array>, String> {
    let Some(dataset) = dataset else {
        return Ok(arrays);
    };
    let wanted = dataset.trim_matches('/').replace('/', " ");
    let below = |name: &str| {
        let rest = name.strip_prefix(&wanted)?;
        match rest.chars().next() {
            None => Some(name.to_owned()),
            Some(next) if !next.is_alphanumeric() => {
                Some(rest.trim_start_matches([' ', '_', '.', '/']).to_owned())
            }
            Some(_) => None,
        }
    };
    let names: Vec<String> = arrays
        .iter()
        .map(|array| format!("'{}'", array.name))
        .collect();
    let found: Vec<Array> = arrays
        .into_iter()
        .filter_map(|array| {
            Some(Array {
                name: below(&array.name)?,
                ..array
            })
        })
        .collect();
    if found.is_empty() {
        return Err(format!(
            "it holds no dataset '{dataset}'; it holds {}",
            names.join(", ")
        ));
    }
    Ok(found)
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

#[cfg(all(test, feature = "formats"))]
mod tests;
