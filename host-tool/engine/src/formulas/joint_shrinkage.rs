//! What a weld on thin walls does to its joint, from net heat: closed forms, their coefficients fitted to simulated welding.
//!
//! A wall that takes the heat q (J/mm) of a weld would contract across it by δ = α·q/(ρc·t) if nothing held it. How much
//! of that arrives depends on what holds it:
//!
//! ```text
//! strip     a weld across the face of a member: the face, of width b, contracts by S·b·ε, where ε = σy/E,
//!           s = (δ − λ·ε)/(b·ε) · (1 − exp(−L/ℓ)),  S = k·s / (1 + (k·s/m)³)^⅓
//! tendon    a weld along a member: F = 0.2 kN per J/mm (White 1977), less what the member gives way while the weld is
//!           hot: F / (1 + r·x), x = F·(1/A + y²/I)/σy
//! closing   a wall that ends at the weld pulls its member towards it by a share of δ, less of it where the face that it
//!           stands on is soft; two walls edge to edge that bear on each other by less than two with a gap to swell into
//! turning   a fillet weld that nothing opposes turns the wall that stands on the other by a share of α·1480 K, less of
//!           it where the wall is thicker than the leg; a weld of a mitre closes the corner by a share of δ over its size
//! tilting   a fillet weld closes more where it ends than where it began
//! ```
//!
//! The forms come from mechanics; the numbers in [`JointCoefficients::FITTED`] from the transient simulations in
//! `tests/virtual-experiments` (heat that moves, steel that yields, no shrinkage put in) by least squares on two thirds
//! of the cases. `docs/theory.md` says how well they do on the third that was set aside. Range: walls of 1.5 to 4 mm, 50
//! to 400 J/mm, tubes of 20 to 60 mm; outside it they extrapolate.

use super::shrinkage::{ShrinkingMetal, checked_heat, checked_thickness, tendon_force};
use coldsquare_core::formula::FormulaError;
use coldsquare_core::units::{JoulesPerMillimetre, Millimetres};

/// From room temperature to where steel has set, K: over this a fillet contracts with all its strength.
const SET_K: f64 = 1480.0;

/// The fitted coefficients, without unit unless the name says one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointCoefficients {
    /// Strip: share of the free contraction that arrives when nothing yields.
    pub strip: f64,
    /// Strip: length of steel that must yield before any contraction is left, mm.
    pub strip_yields_mm: f64,
    /// Strip: share of it in the end of a member that stands on another.
    pub strip_end: f64,
    /// Strip: length of weld over which its ends do not yet pull, mm.
    pub strip_ends_mm: f64,
    /// Strip: most of the contraction that arrives, as a multiple of width times yield strain.
    pub strip_most: f64,
    /// Tendon: how much it loses as the member gives way.
    pub tendon_relief: f64,
    /// Tendon: how much farther from the middle of a face it pulls than it lies, because heat runs round the corner.
    pub tendon_outwards: f64,
    /// Closing at a fillet weld: share of the free contraction on a stiff face.
    pub closing_fillet: f64,
    /// Closing at a fillet weld: reach of a face, in thicknesses, at which half of the closing is lost.
    pub closing_soft: f64,
    /// Closing at a butt weld whose edges bear on each other.
    pub closing_butt: f64,
    /// What a gap adds to that, at most.
    pub closing_into_gap: f64,
    /// Closing of two walls at right angles, as a share of that of walls in one plane: they bend instead.
    pub closing_at_corner: f64,
    /// Turning of a fillet weld that nothing opposes, as a share of α·1480 K.
    pub turning: f64,
    /// Turning of a corner by the weld on its inside: share of the free contraction over the size of the member.
    pub turning_corner: f64,
    /// The same for each of its other welds.
    pub turning_corner_elsewhere: f64,
    /// How much less each weld pulls along or across a member for every further weld of the joint on it.
    pub crowding: f64,
    /// Tilting: how much more a fillet weld closes at its end, as a share of the free contraction.
    pub tilting: f64,
    /// Tilting: reach of a face, in thicknesses, at which half of it is lost.
    pub tilting_soft: f64,
    /// Tilting of a corner by the weld on its inside, which closes more where it began, as a share of α·1480 K.
    pub tilting_corner: f64,
    /// Length of wall that gives in its own plane, mm.
    pub in_plane_mm: f64,
    /// Bending of a wall square to itself: compliance times E·t³ over the cube of its reach.
    pub bending: f64,
    /// Bending of a wall about the seam: compliance times E·t³/12 over its reach.
    pub hinge: f64,
}

impl JointCoefficients {
    /// Those of a model of joints: fitted to the simulated welds in `tests/virtual-experiments`.
    pub const FITTED: Self = Self {
        strip: 1.21,
        strip_yields_mm: 7.8,
        strip_end: 0.6,
        strip_ends_mm: 20.0,
        strip_most: 4.1,
        tendon_relief: 0.61,
        tendon_outwards: 1.9,
        closing_fillet: 0.76,
        closing_soft: 6.9,
        closing_butt: 0.9,
        closing_into_gap: 0.8,
        closing_at_corner: 0.0,
        turning: 0.83,
        turning_corner: 0.22,
        turning_corner_elsewhere: 0.06,
        crowding: 0.05,
        tilting: 0.4,
        tilting_soft: 21.0,
        tilting_corner: 0.055,
        in_plane_mm: 5.0,
        bending: 0.015,
        hinge: 0.64,
    };

    /// Names of the coefficients, for fitting.
    pub const NAMES: [&'static str; 22] = [
        "strip",
        "strip_yields_mm",
        "strip_end",
        "strip_ends_mm",
        "strip_most",
        "tendon_relief",
        "tendon_outwards",
        "closing_fillet",
        "closing_soft",
        "closing_butt",
        "closing_into_gap",
        "closing_at_corner",
        "turning",
        "turning_corner",
        "turning_corner_elsewhere",
        "crowding",
        "tilting",
        "tilting_soft",
        "tilting_corner",
        "in_plane_mm",
        "bending",
        "hinge",
    ];

    /// Sets a coefficient by its name; false for an unknown name.
    pub fn set(&mut self, name: &str, value: f64) -> bool {
        let field = match name {
            "strip" => &mut self.strip,
            "strip_yields_mm" => &mut self.strip_yields_mm,
            "strip_end" => &mut self.strip_end,
            "strip_ends_mm" => &mut self.strip_ends_mm,
            "strip_most" => &mut self.strip_most,
            "tendon_relief" => &mut self.tendon_relief,
            "tendon_outwards" => &mut self.tendon_outwards,
            "closing_fillet" => &mut self.closing_fillet,
            "closing_soft" => &mut self.closing_soft,
            "closing_butt" => &mut self.closing_butt,
            "closing_into_gap" => &mut self.closing_into_gap,
            "closing_at_corner" => &mut self.closing_at_corner,
            "turning" => &mut self.turning,
            "turning_corner" => &mut self.turning_corner,
            "turning_corner_elsewhere" => &mut self.turning_corner_elsewhere,
            "crowding" => &mut self.crowding,
            "tilting" => &mut self.tilting,
            "tilting_soft" => &mut self.tilting_soft,
            "tilting_corner" => &mut self.tilting_corner,
            "in_plane_mm" => &mut self.in_plane_mm,
            "bending" => &mut self.bending,
            "hinge" => &mut self.hinge,
            _ => return false,
        };
        *field = value;
        true
    }
}

/// A metal at a joint: what shrinks and what yields.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointMetal {
    /// Expansion, heat and stiffness.
    pub metal: ShrinkingMetal,
    /// Yield strength, MPa.
    pub yield_mpa: f64,
    /// Shrinkage beyond what α, ρc and E explain, relative to mild steel: along a weld as it is, across it its square root.
    pub shrinkage_ratio: f64,
}

impl JointMetal {
    fn modulus_mpa(self) -> f64 {
        self.metal.youngs_modulus.0
    }

    /// Free contraction of a wall across a weld, mm, for the heat that goes into it, J/mm, and its thickness, mm.
    ///
    /// # Errors
    /// [`FormulaError`] when the heat or the metal is outside the range of the rule.
    pub fn free_contraction_mm(
        self,
        heat_j_per_mm: f64,
        thickness_mm: f64,
    ) -> Result<f64, FormulaError> {
        let heat = checked_heat(JoulesPerMillimetre(heat_j_per_mm))?;
        let thickness = checked_thickness(Millimetres(thickness_mm))?;
        Ok(self.shrinkage_ratio.sqrt() * self.metal.expansion_mm3_j()? * heat / thickness)
    }

    /// Force times length, N·mm, with which a weld across the face of a member shortens and kinks it: the heat in that
    /// face in J/mm, its thickness and width, and the length of the weld, mm.
    ///
    /// # Errors
    /// [`FormulaError`] when the heat or the metal is outside the range of the rule.
    pub fn strip_n_mm(
        self,
        heat_j_per_mm: f64,
        thickness_mm: f64,
        width_mm: f64,
        length_mm: f64,
        coefficients: &JointCoefficients,
    ) -> Result<f64, FormulaError> {
        let yield_mm = width_mm.max(length_mm) * self.yield_mpa / self.modulus_mpa();
        let free = self.free_contraction_mm(heat_j_per_mm, thickness_mm)?;
        let left =
            (free - coefficients.strip_yields_mm * self.yield_mpa / self.modulus_mpa()).max(0.0);
        let ends = 1.0 - (-length_mm / coefficients.strip_ends_mm).exp();
        // On part of the width the whole face shares what the weld pulls.
        let covered = length_mm / width_mm.max(length_mm);
        let asked = coefficients.strip * left * ends * covered / yield_mm;
        let arrives = asked / (1.0 + (asked / coefficients.strip_most).powi(3)).cbrt();
        Ok(self.modulus_mpa() * arrives * yield_mm * thickness_mm * width_mm.max(length_mm))
    }

    /// Tendon force along a member, N, for the heat that goes into it and for how much the member gives there under a
    /// force, 1/A + y²/I in 1/mm².
    ///
    /// # Errors
    /// [`FormulaError`] when the heat or the metal is outside the range of the rule.
    pub fn tendon_n(
        self,
        heat_j_per_mm: f64,
        gives_per_mm2: f64,
        coefficients: &JointCoefficients,
    ) -> Result<f64, FormulaError> {
        let force = tendon_force(JoulesPerMillimetre(heat_j_per_mm), self.metal)?.0;
        let stress_share = force * gives_per_mm2 / self.yield_mpa;
        Ok(self.shrinkage_ratio * force / (1.0 + coefficients.tendon_relief * stress_share))
    }

    /// Angle by which a fillet weld turns a wall that nothing holds, rad, for its leg as a share of the wall.
    #[must_use]
    pub fn turning_rad(self, leg_over_wall: f64, coefficients: &JointCoefficients) -> f64 {
        let through = leg_over_wall.min(1.0);
        coefficients.turning * through * self.metal.thermal_expansion_per_k * SET_K
    }

    /// Angle by which the weld on the inside of a corner folds it, rad.
    #[must_use]
    pub fn folding_rad(self, coefficients: &JointCoefficients) -> f64 {
        coefficients.tilting_corner * self.metal.thermal_expansion_per_k * SET_K
    }
}
