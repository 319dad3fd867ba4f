//! When to stop: strain, buckling of thin walls, denting under the press.

use super::profile::{BENDING, Profile, Wall};
use super::state::BarMetal;
use coldsquare_core::formula::{Allowed, FormulaError};
use coldsquare_core::units::Newtons;

/// The greatest fibre strain for cold-formed tube or bar of weldable steel. Common practice, no source.
const MAX_STRAIN: f64 = 0.02;

/// The greatest fibre strain for straightening a bar.
///
/// - Flat walls in compression: full plastic bending up to c/t = 33·ε, none beyond 38·ε, in between in proportion,
///   where c is the width less three walls and ε = √(235 MPa / yield) (EN 1993-1-1:2005, table 5.2, classes 1 and 2;
///   values from memory; the interpolation is ours).
/// - Round tubes: half of t/D, at which a tube wrinkles or ovalises (order of published tests of pipes in bending;
///   value from memory), and no more than 2 %.
/// - Solid bars: 2 % (common practice, no source).
#[must_use]
pub fn strain_limit(profile: &Profile, metal: BarMetal) -> f64 {
    let first_yield = metal.yield_mpa / metal.modulus_mpa;
    let (low, high) = profile.edges_mm();
    match profile.wall() {
        Wall::Solid => MAX_STRAIN,
        Wall::Round => (0.5 * profile.wall_mm() / (high - low)).min(MAX_STRAIN),
        Wall::Flat => {
            let slender = (profile.width_mm() - 3.0 * profile.wall_mm()) / profile.wall_mm();
            let steel = libm::sqrt(235.0 / metal.yield_mpa * metal.modulus_mpa / 210_000.0);
            let share = ((38.0 * steel - slender) / (5.0 * steel)).clamp(0.0, 1.0);
            first_yield + share * (MAX_STRAIN - first_yield).max(0.0)
        }
    }
}

/// The force that dents a tube under packing of this length along it (5 to 500 mm), the full width of the tube or, for
/// a round tube, a saddle around half of it. Infinite for solid bars, which do not dent.
///
/// - Flat walls: both side walls yield, F = f·t·(2·ℓ + 10·t) (EN 1993-1-8:2005, table 7.11, side walls, β = 1).
/// - Round: F = f·t²·24·(1 + 0.25·ℓ/D) (table 7.3, transverse plate, β = 1, with the factor of a longitudinal one).
///
/// Both from memory; characteristic values, without the factors of a design.
///
/// # Errors
/// [`FormulaError`] when the packing is out of range.
pub fn bearing_limit(
    profile: &Profile,
    metal: BarMetal,
    packing_mm: f64,
) -> Result<Newtons, FormulaError> {
    let packing = BENDING.require(
        "length of the packing",
        packing_mm,
        "mm",
        Allowed::Between(5.0, 500.0),
    )?;
    let wall = profile.wall_mm();
    let (low, high) = profile.edges_mm();
    Ok(Newtons(match profile.wall() {
        Wall::Solid => f64::INFINITY,
        Wall::Flat => metal.yield_mpa * wall * (2.0 * packing + 10.0 * wall),
        Wall::Round => metal.yield_mpa * wall * wall * 24.0 * (1.0 + 0.25 * packing / (high - low)),
    }))
}
