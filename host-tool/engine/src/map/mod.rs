//! The weld map: every weld of the job with what was measured on it.
//!
//! A new fact on the map goes into `model` and is worked out in `weld`, `measure` or `totals`; then each writer (`text`,
//! `csv`, `json`, and the pages and drawings in modules of their own) shows it.
//!
//! ```text
//! job + log -> matching (which bead is which weld) -> measure (volts, amps, heat) -> verdict -> model
//! model -> text | csv | json
//! ```
//!
//! ```
//! use coldsquare_engine::{example::GARDEN_GATE, job, log, map};
//! use std::path::Path;
//!
//! // Two seconds of arc, recorded at 20 Hz by another instrument.
//! let arc = (0..80).map(|k| {
//!     let is_on = (20..60).contains(&k);
//!     let (volts, amps) = if is_on { (18.0, 120.0) } else { (0.0, 0.0) };
//!     format!("{:.2},{volts},{amps}\n", 0.05 * f64::from(k))
//! });
//! let text = format!("time s,volts,amps\n{}", arc.collect::<String>());
//! let job = job::from_text("gate.toml", GARDEN_GATE).unwrap();
//! let log = log::read_from(Path::new("one.csv"), text.as_bytes(), std::io::empty(), &Default::default()).unwrap();
//! let map = map::build(&job, &log, &map::Settings::default()).unwrap();
//! assert_eq!(map.welds.len(), job.welds.len());
//! ```

pub mod csv;
mod flag;
pub mod json;
pub mod model;
pub mod text;

mod build;
mod describe;
mod holes;
mod measure;
mod order;
mod totals;
mod trace;
mod warn;
mod weld;

pub use build::{Settings, build};
