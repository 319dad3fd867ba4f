//! What goes to the saw: pieces with the angle of each end and the face that lies on the saw's table, and from which
//! bar each is cut.
//!
//! ```text
//! Job -> Pieces (cuts) -> Bars -> text, page, JSON, DXF
//! ```
//!
//! ```
//! use coldsquare_engine::saw::{SawList, Settings};
//! use coldsquare_engine::{example, job};
//!
//! let gate = job::from_text("gate.toml", example::GARDEN_GATE)?;
//! let list = SawList::new(&gate, &Settings::of(&gate));
//! let rail = &list.kinds[0];
//! assert_eq!((rail.members.len(), rail.long_mm, rail.short_mm.round()), (2, 1200.0, 1120.0));
//! # Ok::<(), coldsquare_engine::file_error::FileErrors>(())
//! ```

mod bars;
mod cuts;
mod dxf;
mod json;
mod rounding;
mod settings;
mod text;

use crate::job::model::Job;

pub use bars::{Bar, Cut};
pub use cuts::{Kind, SawEnd, Sides};
pub use dxf::pieces_dxf;
pub use json::saw_json;
pub use rounding::{Fraction, Rounded};
pub use settings::Settings;
pub use text::{angles, lies_on, long_points, rounding, saw_text};

/// What is sawn for a job.
#[derive(Clone, Debug)]
pub struct SawList {
    /// The kinds of pieces, by section in the order of the file, then the longest first.
    pub kinds: Vec<Kind>,
    /// The bars, each with its pieces in the order in which they are cut.
    pub bars: Vec<Bar>,
    /// Pieces longer than a stock bar, as indices of kinds.
    pub too_long: Vec<usize>,
    /// What lengths are rounded to, if they are.
    pub fraction: Option<Fraction>,
    /// Width of the cut, mm.
    pub kerf_mm: f64,
}

impl SawList {
    /// The list for a job.
    #[must_use]
    pub fn new(job: &Job, settings: &Settings) -> Self {
        let kinds = cuts::kinds(job);
        let (bars, too_long) = bars::bars(&kinds, settings);
        Self {
            kinds,
            bars,
            too_long,
            fraction: settings.fraction,
            kerf_mm: settings.kerf_mm,
        }
    }

    /// A length as it is set at the saw, and what rounding takes from it or adds.
    #[must_use]
    pub fn rounded(&self, length_mm: f64) -> Rounded {
        match self.fraction {
            Some(fraction) => fraction.round(length_mm),
            None => Rounded {
                mm: length_mm,
                added_mm: 0.0,
            },
        }
    }

    /// The farthest that rounding puts a piece from its length, mm.
    #[must_use]
    pub fn worst_rounding_mm(&self) -> f64 {
        let added = self
            .kinds
            .iter()
            .map(|kind| self.rounded(kind.long_mm).added_mm.abs());
        added.fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests;
