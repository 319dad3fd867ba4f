//! Sections of members: from a designation as the trade writes it to the properties that a structure needs.
//!
//! A new shape needs its word in `parse`, its sizes in `shape`, its outline in `properties` and its torsion in `torsion`.
//!
//! ```
//! use coldsquare_engine::section::Section;
//!
//! let tube = Section::parse("SHS 40x40x3").unwrap();
//! assert!((tube.properties().area_mm2 - 420.82).abs() < 0.01);
//! ```
//!
//! | Designation | Shape | Sizes |
//! |---|---|---|
//! | `SHS 40x40x3` | square tube | side, side, wall |
//! | `RHS 50x30x3` | rectangular tube | depth, width, wall |
//! | `CHS 42.4x3` | round tube | diameter, wall |
//! | `HSS 2x2x1/8`, `HSS 2x1/8` | square or rectangular tube, round tube, in inches | as above |
//! | `L 40x40x4` | angle | upright leg, level leg, thickness |
//! | `U 50x38x5` | channel, parallel flanges | depth, width, thickness (or web, flange) |
//! | `FL 40x5` | flat | depth, thickness |
//! | `SQ 12`, `RD 12` | square, round bar | side, diameter |
//!
//! Tubes are cold formed (EN 10219-2) unless `HF`, for hot finished (EN 10210-2), is in front; the standards differ in
//! corner radius. Sizes are millimetres, or inches with `in` (`SHS 1-1/2x1-1/2x1/8in`); a wall may be a gauge,
//! `14ga sheet` or `14ga tube`, which are different thicknesses. Words do too: `square tube`, `rect tube`, `round tube`,
//! `angle`, `channel`, `flat bar`, `square bar`, `round bar`. Angles are rolled with the radii of EN 10056-1 unless `r6`
//! gives the root radius; channels have sharp corners unless it does.
//!
//! The wall of an `HSS` is taken as written. Tables of AISC work with 0.93 of the nominal wall of ASTM A500 tube, because
//! mills roll to the lower limit: write the wall that you measure.
//!
//! Two sections are equal when their shapes are, however they were written; an angle turned end for end is the same.
//!
//! Local axes of a member: x along it, y across (width), z in depth. Drawings look along x.

mod contour;
mod error;
mod gauge;
mod parse;
mod properties;
mod shape;
mod torsion;

pub use error::SectionError;
pub use gauge::GaugeTable;
pub use properties::Properties;
pub use shape::Shape;

use crate::material::Material;
use coldsquare_core::units::MILLIMETRES_PER_INCH;
use std::fmt;

/// Largest size in inches that is believed without the word `in`. Common practice for light frames, no source.
const MAX_BARE_INCHES: f64 = 12.0;

/// A section with sizes that are in range and fit each other.
#[derive(Clone, Debug)]
pub struct Section {
    designation: String,
    shape: Shape,
    properties: Properties,
}

impl PartialEq for Section {
    fn eq(&self, other: &Self) -> bool {
        self.shape == other.shape || self.shape == other.shape.with_legs_swapped()
    }
}

impl Section {
    /// Reads a designation, see the table of the module. Case and spaces do not matter.
    ///
    /// # Errors
    /// What is wrong with it, what is allowed and what to do.
    pub fn parse(designation: &str) -> Result<Self, SectionError> {
        Self::new(designation.trim(), parse::parse(designation)?)
    }

    /// As [`Section::parse`], with sizes without a unit in inches.
    ///
    /// # Errors
    /// As [`Section::parse`].
    pub fn parse_inches(designation: &str) -> Result<Self, SectionError> {
        if parse::names_unit(designation) {
            return Self::parse(designation);
        }
        let shape = parse::parse(&parse::in_inches(designation))?;
        // Twelve inches and more is a slip for a light frame: such sizes were meant as millimetres.
        let (width_mm, depth_mm) = shape.outer_mm();
        let largest_in = width_mm.max(depth_mm) / MILLIMETRES_PER_INCH;
        if largest_in > MAX_BARE_INCHES {
            return Err(SectionError::InchesMeant { largest_in });
        }
        Self::new(designation.trim(), shape)
    }

    /// A section of this shape under a designation of your own.
    ///
    /// # Errors
    /// As [`Shape::check`].
    pub fn new(designation: &str, shape: Shape) -> Result<Self, SectionError> {
        shape.check()?;
        Ok(Self {
            designation: designation.to_string(),
            shape,
            properties: properties::properties(&shape),
        })
    }

    /// The same angle turned end for end: the leg that was in the depth is in the width. Any other section as it is.
    #[must_use]
    pub fn with_legs_swapped(&self) -> Self {
        let shape = self.shape.with_legs_swapped();
        Self {
            designation: self.designation.clone(),
            shape,
            properties: properties::properties(&shape),
        }
    }

    /// The designation as it was written.
    #[must_use]
    pub fn designation(&self) -> &str {
        &self.designation
    }

    /// The table of its wall, when that was written as a gauge.
    #[must_use]
    pub fn gauge(&self) -> Option<GaugeTable> {
        parse::gauge_of(&self.designation)
    }

    /// Shape and sizes.
    #[must_use]
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// Area, moments and other properties, about the centroid.
    #[must_use]
    pub fn properties(&self) -> &Properties {
        &self.properties
    }

    /// Whether it is a tube: its walls hold each other.
    #[must_use]
    pub const fn is_tube(&self) -> bool {
        matches!(self.shape, Shape::Box { .. } | Shape::Tube { .. })
    }

    /// Whether it is round: a tube or a bar.
    #[must_use]
    pub const fn is_round(&self) -> bool {
        matches!(self.shape, Shape::Tube { .. } | Shape::Round { .. })
    }

    /// Mass per length in a material, kg/m.
    #[must_use]
    pub fn mass_kg_per_m(&self, material: &Material) -> f64 {
        self.properties.area_mm2 * 1e-6 * material.density_kg_m3
    }

    /// Corners of the hollow of a tube (y, z), anticlockwise, centroid at the origin, arcs as short chords, mm.
    #[must_use]
    pub fn hollow_mm(&self) -> Option<Vec<[f64; 2]>> {
        properties::contours(&self.shape)
            .1
            .map(|hollow| hollow.polygon([0.0; 2]))
    }
}

impl fmt::Display for Section {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.designation)
    }
}

#[cfg(test)]
mod tests;
