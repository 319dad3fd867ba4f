//! How a job is set up on the table, as its `[fixture]` says.

use crate::units::Units;
use coldsquare_core::units::MILLIMETRES_PER_INCH;

/// What spacers are made of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SpacerMaterial {
    /// Steel or aluminium.
    #[default]
    Metal,
    /// Hardwood or plywood.
    Wood,
}

/// The table with its holes, and the blocks and spacers that stand on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FixtureTable {
    /// Distance from hole to hole, mm.
    pub grid_mm: f64,
    /// Diameter of a hole, mm; less than half the grid.
    pub hole_mm: f64,
    /// Width and height of the table, mm; `None` when the job does not say.
    pub table_mm: Option<[f64; 2]>,
    /// What spacers are made of.
    pub spacers: SpacerMaterial,
    /// How loose a spacer may sit while it is welded, mm.
    pub play_mm: f64,
    /// Clearance that lets a spacer slide out when all is cold, mm.
    pub fit_mm: f64,
}

impl Default for FixtureTable {
    /// A table of the usual kind. Common practice, no source.
    ///
    /// The play is what a bar may be off its place unnoticed. The fit is that of sawn edges and mill scale: the g6 shaft of
    /// a machined sliding fit leaves a tenth of it (ISO 286-2:2010, table 6; value from memory).
    fn default() -> Self {
        Self {
            grid_mm: 50.0,
            hole_mm: 16.0,
            table_mm: None,
            spacers: SpacerMaterial::Metal,
            play_mm: 0.5,
            fit_mm: 0.1,
        }
    }
}

/// Stock that is ripped or cut to size before it becomes members.
#[derive(Clone, Debug, PartialEq)]
pub struct RippedStock {
    /// What it is ripped from, in the user's words.
    pub from: String,
    /// Whether it was formed cold (tube, cold-drawn bar) rather than rolled hot.
    pub cold_formed: bool,
    /// Width of the finished strip, mm.
    pub width_mm: f64,
    /// Length of the cut, mm.
    pub length_mm: f64,
    /// Number of strips.
    pub count: u32,
    /// Width of the saw cut, mm.
    pub kerf_mm: f64,
}

impl FixtureTable {
    /// The usual table of shops that work in these units. Common practice, no source.
    #[must_use]
    pub fn usual(units: Units) -> Self {
        match units {
            Units::Metric => Self::default(),
            Units::UsCustomary => Self {
                grid_mm: 2.0 * MILLIMETRES_PER_INCH,
                hole_mm: 0.625 * MILLIMETRES_PER_INCH,
                ..Self::default()
            },
        }
    }

    /// What cannot be right about it; `None` when it is fine.
    #[must_use]
    pub fn fault(&self) -> Option<String> {
        let between = |name: &str, value: f64, low: f64, high: f64| {
            let fits = (low..=high).contains(&value);
            (!fits)
                .then(|| format!("{name} of the table must be {low} to {high} mm, not {value:.1}"))
        };
        between("the grid", self.grid_mm, 20.0, 500.0)
            .or_else(|| between("the holes", self.hole_mm, 3.0, self.grid_mm / 2.0))
            .or_else(|| between("the play of the spacers", self.play_mm, 0.05, 5.0))
            .or_else(|| between("the fit of the spacers", self.fit_mm, 0.01, 2.0))
            .or_else(|| {
                let [width, height] = self.table_mm?;
                between("a side", width.min(height), 2.0 * self.grid_mm, 20_000.0)
            })
    }
}
