//! Straightening with heat on the long side: the shrinkage law of a weld, without the weld.

use crate::formulas::bending::{Bar, Wall};
use crate::material::Material;
use crate::movement::effect::tendon_force_n;
use coldsquare_core::formula::FormulaError;

/// Whether a metal may be heated to straighten it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Heatable {
    /// Up to this temperature, °C.
    UpTo {
        /// °C.
        celsius: f64,
    },
    /// Not in a workshop, and why.
    No(&'static str),
}

/// How hot a metal may get.
///
/// Mild steel 650 °C (1200 °F): FHWA, *Guide for Heat-Straightening of Damaged Steel Bridge Members*, 5.1. Quenched and
/// tempered steel tolerates less (about 590 °C, 1100 °F, in AWS D1.1; from memory) and is not for a workshop without its data.
#[must_use]
pub fn heatable(material: &Material) -> Heatable {
    let name = material.name.to_lowercase();
    let treated = ["q&t", "quench", "temper", "s690", "s960", "4130", "a514"];
    if material.density_kg_m3 < 3500.0 {
        Heatable::No("aluminium of this kind loses its strength long before it glows")
    } else if material.thermal_expansion_per_k > 14e-6 {
        Heatable::No(
            "austenitic stainless steel loses its resistance to corrosion between about 450 and 850 °C, and moves too much",
        )
    } else if material.yield_mpa > 460.0 || treated.iter().any(|word| name.contains(word)) {
        Heatable::No(
            "quenched and tempered steel loses its strength; heat needs the manufacturer's data and a qualified procedure",
        )
    } else {
        Heatable::UpTo { celsius: 650.0 }
    }
}

/// Pattern of heat on the long side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// Lines across the face.
    Lines,
    /// Round spots in rows along the face, with cold metal between them.
    Spots,
}

/// The places to heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heated {
    /// Number, in all rows together.
    pub count: usize,
    /// Rows beside each other; 1 for lines.
    pub rows: usize,
    /// Size along the bar: width of a line, diameter of a spot, mm.
    pub along_mm: f64,
    /// Size across the face, mm.
    pub across_mm: f64,
    /// Distance along the bar between neighbours, mm.
    pub spacing_mm: f64,
    /// Bend of one place, rad.
    pub angle_rad: f64,
    /// Bow that one place in the middle takes out, mm.
    pub each_mm: f64,
    /// Bow that all places take out, mm.
    pub together_mm: f64,
    /// Heat in each place, J.
    pub heat_j: f64,
}

/// Largest number of places: more is a day's work and heats the whole bar.
const MAX_PLACES: usize = 40;

/// Largest share of the depth that is heated through: cold metal has to resist.
const MAX_HEATED_DEPTH: f64 = 0.25;

/// Heat on the side that a bar bows to, by the shrinkage law of welds (`tendon_force_n`) with the heat that brings the
/// place to `celsius`: heat = ρc·ΔT·volume.
///
/// A place with the area a of the bar's section pulls with F at the distance e from its axis, over its length w along the
/// bar, and bends it by the angle θ = F·w·e/(E·I). F is that of the law, but no more than leaves the place at yield after
/// the bar has shortened: F ≤ yield·a/(1 − a·(1/A + e²/I)). A bend at x from the nearer end takes θ·x/2 out of the bow of a
/// bar on its own; a frame lets less of it through. The bar counts as free while it is hot; restrained straight, heat does
/// more.
#[derive(Clone, Copy, Debug)]
pub struct HeatedSide<'a> {
    /// The bar.
    pub bar: &'a Bar,
    /// Its metal.
    pub material: &'a Material,
    /// Temperature, °C.
    pub celsius: f64,
    /// Its length, mm.
    pub length_mm: f64,
    /// Place along it (ascending, mm) and the bow that a bend of one radian there takes out, mm; straight in between.
    pub bow_per_kink: &'a [[f64; 2]],
}

impl HeatedSide<'_> {
    /// The smallest number of places that takes the bow out; if there is no room for them, as many as there is room for.
    ///
    /// # Errors
    /// [`FormulaError`] when heat or metal is outside the range of the shrinkage law.
    pub fn places(&self, pattern: Pattern, bow_mm: f64) -> Result<Heated, FormulaError> {
        let one = self.one(pattern)?;
        let room = ((0.8 * self.length_mm) / one.spacing_mm) as usize + 1;
        let max_stations = room.min(MAX_PLACES / one.rows).max(1);
        let with = |stations: usize| {
            let bows = (0..stations).map(|k| {
                let beside = (k as f64 - (stations as f64 - 1.0) / 2.0) * one.spacing_mm;
                let at = self.bow_per_kink(self.length_mm / 2.0 + beside);
                one.angle_rad * at * one.rows as f64
            });
            Heated {
                count: stations * one.rows,
                together_mm: bows.sum(),
                ..one
            }
        };
        let enough = (1..=max_stations)
            .map(with)
            .find(|heated| heated.together_mm >= bow_mm);
        Ok(enough.unwrap_or_else(|| with(max_stations)))
    }

    /// Bow that a bend of one radian at a place takes out, mm.
    fn bow_per_kink(&self, at_mm: f64) -> f64 {
        let rows = self.bow_per_kink;
        let above = rows.partition_point(|row| row[0] < at_mm);
        match (
            above.checked_sub(1).and_then(|k| rows.get(k)),
            rows.get(above),
        ) {
            (Some(low), Some(high)) => {
                low[1] + (high[1] - low[1]) * (at_mm - low[0]) / (high[0] - low[0])
            }
            (Some(one), None) | (None, Some(one)) => one[1],
            (None, None) => 0.0,
        }
    }

    /// One place in the middle.
    fn one(&self, pattern: Pattern) -> Result<Heated, FormulaError> {
        let (bar, material) = (self.bar, self.material);
        let profile = bar.profile();
        let (low, high) = profile.edges_mm();
        let centre = profile.centroid_mm();
        let (depth, face) = (high - low, profile.width_mm());
        let wall = profile.wall_mm().min(MAX_HEATED_DEPTH * depth);
        let (along_mm, across_mm, rows) = size(pattern, wall, face);
        // The mean width of a disc.
        let mean_across = match pattern {
            Pattern::Lines => across_mm,
            Pattern::Spots => across_mm * std::f64::consts::FRAC_PI_4,
        };
        // In an unequal section the nearer face, which has the smaller effect. A line over a round tube goes one radian to
        // each side of its top.
        let nearer = (high - centre).min(centre - low);
        let round = if profile.wall() == Wall::Round && pattern == Pattern::Lines {
            f64::sin(1.0)
        } else {
            1.0
        };
        let lever_mm = (nearer - 0.5 * wall).max(0.25 * depth) * round;
        let area = mean_across * wall;
        let heat_j = material.volumetric_heat_j_mm3k * (self.celsius - ROOM_C) * along_mm * area;
        let inertia = bar.stiffness_n_mm2() / material.youngs_modulus_mpa;
        let compliance = area * (1.0 / profile.area_mm2() + lever_mm * lever_mm / inertia);
        let at_yield = material.yield_mpa * area / (1.0 - compliance).max(0.05);
        let force = tendon_force_n(material, heat_j / along_mm)?.min(at_yield);
        let angle = force * along_mm * lever_mm / bar.stiffness_n_mm2();
        let min_spacing = match pattern {
            Pattern::Lines => 2.0 * along_mm,
            // Three diameters from centre to centre: common practice, no source.
            Pattern::Spots => 3.0 * along_mm,
        };
        Ok(Heated {
            count: rows,
            rows,
            along_mm,
            across_mm,
            spacing_mm: (self.length_mm / 45.0).max(min_spacing),
            angle_rad: angle,
            each_mm: angle * self.bow_per_kink(self.length_mm / 2.0),
            together_mm: angle * self.bow_per_kink(self.length_mm / 2.0),
            heat_j,
        })
    }
}

/// Size of a place along and across the bar, mm, and number of rows, for the thickness that is heated through and the width
/// of the face.
fn size(pattern: Pattern, wall: f64, face: f64) -> (f64, f64, usize) {
    match pattern {
        Pattern::Lines => ((5.0 * wall).clamp(8.0, 20.0), face, 1),
        Pattern::Spots => {
            let diameter = (6.0 * wall).clamp(12.0, 25.0).min(0.8 * face);
            let beside = (face / (2.0 * diameter)).floor().clamp(1.0, 3.0);
            (diameter, diameter, beside as usize)
        }
    }
}

/// Temperature of the workshop, °C.
const ROOM_C: f64 = 20.0;
