//! The shapes of sections, and their possible sizes.

use super::error::SectionError;

/// Shape and sizes, mm. Depth is along local z, width along local y.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// Square or rectangular tube with rounded corners.
    Box {
        /// Outer size along z.
        depth_mm: f64,
        /// Outer size along y.
        width_mm: f64,
        /// Wall thickness.
        wall_mm: f64,
        /// Radius of the outer corners.
        outer_radius_mm: f64,
        /// Radius of the inner corners.
        inner_radius_mm: f64,
    },
    /// Round tube.
    Tube {
        /// Outer diameter.
        diameter_mm: f64,
        /// Wall thickness.
        wall_mm: f64,
    },
    /// Angle: heel at the lower left, legs up (z) and to the right (y).
    Angle {
        /// Length of the upright leg, from the heel.
        depth_mm: f64,
        /// Length of the level leg, from the heel.
        width_mm: f64,
        /// Thickness of both legs.
        thickness_mm: f64,
        /// Radius between the legs.
        root_radius_mm: f64,
        /// Radius at the inner edge of the tips.
        toe_radius_mm: f64,
    },
    /// Channel with parallel flanges: web upright at the left, flanges to the right (+y).
    Channel {
        /// Overall size along z.
        depth_mm: f64,
        /// Overall size along y.
        width_mm: f64,
        /// Thickness of the web.
        web_mm: f64,
        /// Thickness of the flanges.
        flange_mm: f64,
        /// Radius between web and flange.
        root_radius_mm: f64,
    },
    /// Flat or square bar.
    Bar {
        /// Size along z.
        depth_mm: f64,
        /// Size along y.
        width_mm: f64,
    },
    /// Round bar.
    Round {
        /// Diameter.
        diameter_mm: f64,
    },
}

const SIZE_MM: (f64, f64) = (3.0, 1000.0);
const THICKNESS_MM: (f64, f64) = (0.3, 100.0);

impl Shape {
    /// Square or rectangular tube with the corner radii that EN 10219-2:2019, annex A (cold formed) or
    /// EN 10210-2:2019, annex A (hot finished) gives for calculation.
    pub(super) fn box_section(
        depth_mm: f64,
        width_mm: f64,
        wall_mm: f64,
        hot_finished: bool,
    ) -> Self {
        let (outer, inner) = match wall_mm {
            _ if hot_finished => (1.5, 1.0),
            t if t <= 6.0 => (2.0, 1.0),
            t if t <= 10.0 => (2.5, 1.5),
            _ => (3.0, 2.0),
        };
        Self::Box {
            depth_mm,
            width_mm,
            wall_mm,
            outer_radius_mm: outer * wall_mm,
            inner_radius_mm: inner * wall_mm,
        }
    }

    /// An angle with its legs in each other's place; any other shape as it is.
    pub(super) const fn with_legs_swapped(self) -> Self {
        match self {
            Self::Angle {
                depth_mm,
                width_mm,
                thickness_mm,
                root_radius_mm,
                toe_radius_mm,
            } => Self::Angle {
                depth_mm: width_mm,
                width_mm: depth_mm,
                thickness_mm,
                root_radius_mm,
                toe_radius_mm,
            },
            other => other,
        }
    }

    /// Refuses sizes that are out of range or do not fit each other.
    ///
    /// # Errors
    /// The first size that is out of range or does not fit the others.
    pub fn check(&self) -> Result<(), SectionError> {
        match *self {
            Self::Box {
                depth_mm,
                width_mm,
                wall_mm,
                outer_radius_mm,
                inner_radius_mm,
            } => {
                let least = check_sides(depth_mm, width_mm)?;
                check_thickness("wall", wall_mm, least / 2.0)?;
                check_radius(outer_radius_mm, least / 2.0)?;
                check_radius(inner_radius_mm, least / 2.0 - wall_mm)
            }
            Self::Tube {
                diameter_mm,
                wall_mm,
            } => {
                check_size("diameter", diameter_mm)?;
                check_thickness("wall", wall_mm, diameter_mm / 2.0)
            }
            Self::Angle { .. } | Self::Channel { .. } => self.check_open(),
            Self::Bar { depth_mm, width_mm } => {
                check_range("depth", depth_mm, (THICKNESS_MM.0, SIZE_MM.1))?;
                check_range("width", width_mm, (THICKNESS_MM.0, SIZE_MM.1))
            }
            Self::Round { diameter_mm } => check_size("diameter", diameter_mm),
        }
    }

    /// As [`Shape::check`], for an angle or a channel.
    fn check_open(&self) -> Result<(), SectionError> {
        match *self {
            Self::Angle {
                depth_mm,
                width_mm,
                thickness_mm,
                root_radius_mm,
                toe_radius_mm,
            } => {
                let least = check_sides(depth_mm, width_mm)?;
                check_thickness("thickness", thickness_mm, least / 2.0)?;
                check_radius(toe_radius_mm, thickness_mm)?;
                check_radius(root_radius_mm, least - thickness_mm - toe_radius_mm)
            }
            Self::Channel {
                depth_mm,
                width_mm,
                web_mm,
                flange_mm,
                root_radius_mm,
            } => {
                check_sides(depth_mm, width_mm)?;
                check_thickness("flange", flange_mm, (depth_mm / 2.0).min(width_mm / 2.0))?;
                // Beyond twice the flange the formula for torsion no longer holds; rolled channels stay below once the flange.
                check_thickness("web", web_mm, width_mm.min(2.0 * flange_mm))?;
                check_radius(
                    root_radius_mm,
                    (width_mm - web_mm).min(depth_mm / 2.0 - flange_mm),
                )
            }
            _ => Ok(()),
        }
    }

    /// Outer size along local y and z, mm.
    #[must_use]
    pub fn outer_mm(&self) -> (f64, f64) {
        match *self {
            Self::Box {
                depth_mm, width_mm, ..
            }
            | Self::Angle {
                depth_mm, width_mm, ..
            }
            | Self::Channel {
                depth_mm, width_mm, ..
            }
            | Self::Bar { depth_mm, width_mm } => (width_mm, depth_mm),
            Self::Tube { diameter_mm, .. } | Self::Round { diameter_mm } => {
                (diameter_mm, diameter_mm)
            }
        }
    }

    /// The thinnest metal a weld can meet, mm: the wall of a tube, the least side of a bar.
    #[must_use]
    pub fn thinnest_wall_mm(&self) -> f64 {
        match *self {
            Self::Box { wall_mm, .. } | Self::Tube { wall_mm, .. } => wall_mm,
            Self::Angle { thickness_mm, .. } => thickness_mm,
            Self::Channel {
                web_mm, flange_mm, ..
            } => web_mm.min(flange_mm),
            Self::Bar { depth_mm, width_mm } => depth_mm.min(width_mm),
            Self::Round { diameter_mm } => diameter_mm,
        }
    }
}

fn check_range(
    what: &'static str,
    found_mm: f64,
    (min_mm, max_mm): (f64, f64),
) -> Result<(), SectionError> {
    if (min_mm..=max_mm).contains(&found_mm) {
        return Ok(());
    }
    Err(SectionError::OutOfRange {
        what,
        found_mm,
        min_mm,
        max_mm,
    })
}

/// The lesser of depth and width, both in range.
fn check_sides(depth_mm: f64, width_mm: f64) -> Result<f64, SectionError> {
    check_size("depth", depth_mm)?;
    check_size("width", width_mm)?;
    Ok(depth_mm.min(width_mm))
}

fn check_size(what: &'static str, found_mm: f64) -> Result<(), SectionError> {
    check_range(what, found_mm, SIZE_MM)
}

fn check_thickness(what: &'static str, found_mm: f64, limit_mm: f64) -> Result<(), SectionError> {
    check_range(what, found_mm, THICKNESS_MM)?;
    if found_mm < limit_mm {
        return Ok(());
    }
    Err(SectionError::TooThick {
        what,
        found_mm,
        limit_mm,
    })
}

fn check_radius(found_mm: f64, limit_mm: f64) -> Result<(), SectionError> {
    if (0.0..=limit_mm + 1e-9).contains(&found_mm) {
        return Ok(());
    }
    Err(SectionError::RadiusTooLarge { found_mm, limit_mm })
}
