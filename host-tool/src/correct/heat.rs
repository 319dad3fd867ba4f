//! Heat on the long side: the same shrinkage law as for a weld, without the weld.

use crate::material::Material;
use coldsquare_core::bending::Bar;

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

/// A row of heated lines across the long face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lines {
    /// How many.
    pub count: usize,
    /// Width of each, mm.
    pub width_mm: f64,
    /// Length of each: across the face, mm.
    pub length_mm: f64,
    /// Distance between their middles, mm.
    pub spacing_mm: f64,
    /// Bow that one in the middle takes out, mm.
    pub each_mm: f64,
    /// Heat that stays in each, J.
    pub heat_j: f64,
}

/// White's tendon force as a strain for each heat content: F·ℓ = K·E·α/(ρc)·heat, with F = 0.2 kN for each J/mm in
/// mild steel.
const SHARE: f64 = 200.0 / (210_000.0 * 12e-6 / 5.0e-3);

/// Lines across the face at `lever_mm` from the axis that take a bow out of a bar of this length; `None` when more
/// than 40 would be needed.
///
/// A line heated through a wall turns the bar by θ = K·α/(ρc)·heat·e/I, with heat = ρc·ΔT·volume; a turn at x from the
/// nearer end takes θ·x/2 out of the bow in the middle. No restraint is counted on; with the bar held straight while it
/// is hot it does more.
#[must_use]
pub fn lines(
    bar: &Bar,
    material: &Material,
    celsius: f64,
    bow_mm: f64,
    length_mm: f64,
) -> Option<Lines> {
    let profile = bar.profile();
    let (low, high) = profile.edges_mm();
    let lever_mm = (0.5 * (high - low) - 0.5 * profile.wall_mm()).max(0.25 * (high - low));
    let wall = profile.wall_mm().min(0.25 * (high - low));
    let width_mm = (5.0 * wall).clamp(8.0, 20.0);
    let length = profile.width_mm();
    let heat_j = material.volumetric_heat_j_mm3k * (celsius - 20.0) * width_mm * length * wall;
    let swelling = material.thermal_expansion_per_k / material.volumetric_heat_j_mm3k;
    let inertia = bar.stiffness_n_mm2() / material.youngs_modulus_mpa;
    let turn = SHARE * swelling * heat_j * lever_mm / inertia;
    let spacing_mm = (length_mm / 45.0).max(2.0 * width_mm);
    let each_mm = turn * length_mm / 4.0;
    let taken = |count: usize| -> f64 {
        (0..count)
            .map(|k| {
                let beside = (k as f64 - (count as f64 - 1.0) / 2.0).abs() * spacing_mm;
                turn * (length_mm / 2.0 - beside).max(0.0) / 2.0
            })
            .sum()
    };
    let most = (((0.8 * length_mm) / spacing_mm) as usize + 1).min(40);
    let count = (1..=most).find(|&count| taken(count) >= bow_mm)?;
    Some(Lines {
        count,
        width_mm,
        length_mm: length,
        spacing_mm,
        each_mm,
        heat_j,
    })
}
