//! The build record: one page to print for the customer or the inspector, and the same facts for programs.
//!
//! ```text
//! job + log + map + inspections -> model -> html | json | parquet
//! ```
//!
//! What a record says is decided in [`model`]; the other files only write it.
//!
//! ```
//! use coldsquare_engine::{log, recording::RecordingOptions};
//! use coldsquare_engine::map::{self, Settings};
//! use coldsquare_engine::record::{Made, build, json::json};
//! use coldsquare_engine::{example, job};
//! # use std::{io::Cursor, path::Path};
//!
//! let job = job::from_text("gate.toml", example::GARDEN_GATE).expect("the example has no errors");
//! let samples = &b"0,0,0\n0.1,20,100\n0.2,20,100\n0.3,0,0\n"[..];
//! # let (name, end, options) = (Path::new("gate.csv"), Cursor::new([]), RecordingOptions::default());
//! let log = log::read_from(name, samples, end, &options).expect("time, volts, amps");
//! let map = map::build(&job, &log, &Settings::default()).expect("a map");
//! let record = build(&job, map, Made::default());
//! assert!(json(&job, &record).contains("no inspection result"));
//! ```

pub mod html;
pub mod json;
pub mod model;
#[cfg(feature = "parquet")]
pub mod parquet;
mod table;

pub use model::{BuildRecord, Made, build};
