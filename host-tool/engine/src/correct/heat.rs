//! Heat on the long side: the same shrinkage law as for a weld, without the weld.

use crate::material::Material;
use crate::movement::effect::strip_force_n;
use crate::formulas::bending::{Bar, Wall};
use coldsquare_core::formula::FormulaError;

/// What heat may do to a metal.
#[derive(Clone, Debug, PartialEq)]
pub enum Heatable {
    /// Up to this temperature, °C.
    UpTo {
        /// °C.
        celsius: f64,
    },
    /// Not in a shop, and why.
    No(&'static str),
}

/// What a metal stands.
///
/// Mild steel 650 °C (1200 °F): FHWA, *Guide for Heat-Straightening of Damaged Steel Bridge Members*, 5.1. Quenched and
/// tempered steel stands less (about 590 °C, 1100 °F, in AWS D1.1; from memory) and is not for a shop without its data.
#[must_use]
pub fn heatable(material: &Material) -> Heatable {
    let name = material.name.to_lowercase();
    let treated = ["q&t", "quench", "temper", "s690", "s960", "4130", "a514"];
    if material.density_kg_m3 < 3500.0 {
        Heatable::No("aluminium of this kind loses its strength long before it shows any colour")
    } else if material.thermal_expansion_per_k > 14e-6 {
        Heatable::No(
            "austenitic stainless loses its resistance to corrosion between about 450 and 850 °C, and moves too much",
        )
    } else if material.yield_mpa > 460.0 || treated.iter().any(|word| name.contains(word)) {
        Heatable::No(
            "quenched and tempered steel loses its strength; only its maker's data and a qualified procedure allow heat",
        )
    } else {
        Heatable::UpTo { celsius: 650.0 }
    }
}

/// How the long side is heated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// Lines across the face.
    Lines,
    /// Round spots in rows along it, so that cold metal stays between them.
    Spots,
}

/// The places to heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heated {
    /// How many, all rows together.
    pub count: usize,
    /// Rows beside each other; 1 for lines.
    pub rows: usize,
    /// Size along the bar: width of a line, diameter of a spot, mm.
    pub along_mm: f64,
    /// Size across the face, mm.
    pub across_mm: f64,
    /// Distance along the bar between neighbours, mm.
    pub spacing_mm: f64,
    /// Bow that one in the middle takes out, mm.
    pub each_mm: f64,
    /// Bow that all of them take out, mm.
    pub together_mm: f64,
    /// Heat that stays in each, J.
    pub heat_j: f64,
}

/// Most places that are told: more is a day's work and heats the bar as a whole.
const MOST_PLACES: usize = 40;

/// The share of the depth that is heated through at most, so that something cold resists.
const HEATED_DEPTH: f64 = 0.25;

/// Heat on the side that a bar bows to, by the shrinkage law of welds ([`strip_force_n`]) with the heat that it takes
/// to bring the place to `celsius`: heat = ρc·ΔT·volume.
///
/// A place of the area a in the bar's section pulls with F at e from its axis, over its length w along the bar, and turns
/// it by θ = F·w·e/(E·I). F is that of the law, and no more than what leaves the place at yield once the bar has given
/// way: F ≤ yield·a/(1 − a·(1/A + e²/I)). A turn at x from the nearer end takes θ·x/2 out of the bow in the middle.
/// Nothing is counted on that holds the bar while it is hot; held straight it does more.
#[derive(Clone, Copy, Debug)]
pub struct HeatedSide<'a> {
    /// The bar.
    pub bar: &'a Bar,
    /// Its metal.
    pub material: &'a Material,
    /// How hot, °C.
    pub celsius: f64,
    /// Its length, mm.
    pub length_mm: f64,
}

impl HeatedSide<'_> {
    /// As few places as take the bow out; when there is no room for so many, as many as there is room for, and what they
    /// take out.
    ///
    /// # Errors
    /// [`FormulaError`] when heat or metal is outside what the shrinkage law holds for.
    pub fn places(&self, pattern: Pattern, bow_mm: f64) -> Result<Heated, FormulaError> {
        let one = self.one(pattern)?;
        let room = ((0.8 * self.length_mm) / one.spacing_mm) as usize + 1;
        let most = room.min(MOST_PLACES / one.rows).max(1);
        let with = |stations: usize| {
            let taken = (0..stations).map(|k| {
                let beside = (k as f64 - (stations as f64 - 1.0) / 2.0).abs() * one.spacing_mm;
                let share = (1.0 - 2.0 * beside / self.length_mm).max(0.0);
                one.each_mm * share * one.rows as f64
            });
            Heated {
                count: stations * one.rows,
                together_mm: taken.sum(),
                ..one
            }
        };
        let enough = (1..=most)
            .map(with)
            .find(|heated| heated.together_mm >= bow_mm);
        Ok(enough.unwrap_or_else(|| with(most)))
    }

    /// One place in the middle.
    fn one(&self, pattern: Pattern) -> Result<Heated, FormulaError> {
        let (bar, material) = (self.bar, self.material);
        let profile = bar.profile();
        let (low, high) = profile.edges_mm();
        let centre = profile.centroid_mm();
        let (depth, face) = (high - low, profile.width_mm());
        let wall = profile.wall_mm().min(HEATED_DEPTH * depth);
        let (along_mm, across_mm, rows) = match pattern {
            Pattern::Lines => ((5.0 * wall).clamp(8.0, 20.0), face, 1),
            Pattern::Spots => {
                let diameter = (6.0 * wall).clamp(12.0, 25.0).min(0.8 * face);
                let beside = (face / (2.0 * diameter)).floor().clamp(1.0, 3.0);
                (diameter, diameter, beside as usize)
            }
        };
        // A spot is as wide as a disc is on average.
        let mean_across = match pattern {
            Pattern::Lines => across_mm,
            Pattern::Spots => across_mm * std::f64::consts::FRAC_PI_4,
        };
        // Of an unequal section the nearer face, so that the bar is not thought stiffer than it is. A line over a round
        // tube follows one radian to each side of its top.
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
        let gives = area * (1.0 / profile.area_mm2() + lever_mm * lever_mm / inertia);
        let at_yield = material.yield_mpa * area / (1.0 - gives).max(0.05);
        let force = strip_force_n(material, heat_j / along_mm)?.min(at_yield);
        let turn = force * along_mm * lever_mm / bar.stiffness_n_mm2();
        let apart = match pattern {
            Pattern::Lines => 2.0 * along_mm,
            // Three diameters from middle to middle: common practice, no source.
            Pattern::Spots => 3.0 * along_mm,
        };
        Ok(Heated {
            count: rows,
            rows,
            along_mm,
            across_mm,
            spacing_mm: (self.length_mm / 45.0).max(apart),
            each_mm: turn * self.length_mm / 4.0,
            together_mm: turn * self.length_mm / 4.0,
            heat_j,
        })
    }
}

/// Temperature of the shop, °C.
const ROOM_C: f64 = 20.0;
