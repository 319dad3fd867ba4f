//! Published closed rules of weld shrinkage, which the tests compare the tool's own formulas with.
//!
//! A weld pulls its two members together along its line (a *tendon force*), shrinks *across* it and turns one towards
//! the other (*angular* distortion). The published rules were fitted to plate of structural size; light tube is at or
//! past the edge of their range. `coldsquare_engine::formulas::shrinkage` has the factors that the tool starts from.
//!
//! Each rule states its source and whether we could read it: *read* is in a public text that states the rule; *from
//! memory* is a rule as textbooks give it, its primary source not read again. docs/theory.md shows the rules side by
//! side.

use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use coldsquare_core::units::{
    JoulesPerMillimetre, MILLIMETRES_PER_INCH, Megapascals, Millimetres, Newtons, SquareMillimetres,
};
use coldsquare_engine::formulas::shrinkage::ShrinkingMetal;

const LONGITUDINAL: Formula = Formula {
    name: "longitudinal shrinkage force",
    clause: "White 1977; Okerblom 1955; Blodgett 1966, 7.7",
};
const TRANSVERSE: Formula = Formula {
    name: "transverse shrinkage",
    clause: "Blodgett 1966, 7.7; Spraragen and Ettinger 1950",
};
const ANGULAR: Formula = Formula {
    name: "angular distortion of a fillet",
    clause: "Blodgett 1966, 7.7",
};
const CAMBER: Formula = Formula {
    name: "bow of a bar from shrinkage off its neutral axis",
    clause: "elastic beam, constant curvature",
};

/// 10 kJ/mm net is beyond any hand-held process; rules that only multiply need no tighter bound.
const NET_HEAT_RANGE: Allowed = Allowed::Between(0.0, 10_000.0);
const LENGTH_RANGE: Allowed = Allowed::Between(0.0, 1e5);
const AREA_RANGE: Allowed = Allowed::Between(0.0, 1e4);
const THICKNESS_RANGE: Allowed = Allowed::Between(0.5, 200.0);

/// Tendon force of a steel weld: F = 0.2·Q, with F in kN and the net heat Q = η·U·I/v in J/mm, 0 to 10 000.
///
/// Source: White 1977 (Cambridge), used by Leggatt and Dwight; from memory. It does not know yield: a force
/// above the yield force of the section means that the bar shortens plastically instead.
pub fn tendon_force(net_heat: JoulesPerMillimetre) -> Result<Newtons, FormulaError> {
    let heat = LONGITUDINAL.require("net heat", net_heat.0, "J/mm", NET_HEAT_RANGE)?;
    Ok(Newtons(200.0 * heat))
}

/// Shrinkage force after Okerblom: F = 0.335·E·α/(ρc)·Q, net heat Q 0 to 10 000 J/mm.
///
/// Source: Okerblom 1955, Vinokurov; from memory. The tests behind it ran at about 150 A, 20 V, 1.2 mm/s (read
/// in an abstract of Okerblom and Ulitin, *Avtogennoe Delo* 1948).
pub fn okerblom_force(
    net_heat: JoulesPerMillimetre,
    metal: ShrinkingMetal,
) -> Result<Newtons, FormulaError> {
    let heat = LONGITUDINAL.require("net heat", net_heat.0, "J/mm", NET_HEAT_RANGE)?;
    let expansion_mm3_j = metal.thermal_expansion_per_k / metal.volumetric_heat_j_mm3k;
    Ok(Newtons(
        0.335 * metal.youngs_modulus.0 * expansion_mm3_j * heat,
    ))
}

/// Shrinkage force that stands behind Blodgett's camber rule: F = 0.04·E·Aw, section of weld metal 0 to 10 000 mm².
///
/// Source: Blodgett, *Design of Welded Structures*, 1966, 7.7, Δ = 0.005·Aw·d·L²/I (from memory), set equal to the
/// bow F·d·L²/(8·E·I).
pub fn blodgett_force(
    weld_area: SquareMillimetres,
    youngs_modulus: Megapascals,
) -> Result<Newtons, FormulaError> {
    let area = LONGITUDINAL.require("weld section", weld_area.0, "mm²", AREA_RANGE)?;
    let modulus = LONGITUDINAL.require(
        "Young's modulus",
        youngs_modulus.0,
        "MPa",
        Allowed::Between(1e4, 5e5),
    )?;
    Ok(Newtons(0.04 * modulus * area))
}

/// Bow (camber) of a bar of constant section from welds along it, Blodgett: Δ = 0.005·Aw·d·L²/I.
///
/// Aw is the section of all weld metal on that side, d its distance from the neutral axis, I in mm⁴ over 0. Source:
/// Blodgett, *Design of Welded Structures*, 1966, 7.7; from memory. Homogeneous, so the same in inches. For steel.
pub fn blodgett_camber(
    weld_area: SquareMillimetres,
    distance: Millimetres,
    length: Millimetres,
    second_moment_mm4: f64,
) -> Result<Millimetres, FormulaError> {
    let area = CAMBER.require("weld section", weld_area.0, "mm²", AREA_RANGE)?;
    let (distance, length) = checked_bow(distance, length)?;
    let inertia = CAMBER.positive("second moment of area", second_moment_mm4, "mm⁴")?;
    millimetres(CAMBER, 0.005 * area * distance * length * length / inertia)
}

/// Bow of a bar under a shrinkage force off its neutral axis: Δ = F·e·L²/(8·E·I), E·I over 0 in N·mm².
///
/// The force acts over the whole length L; for intermittent welds multiply it by the welded fraction.
pub fn bow(
    force: Newtons,
    eccentricity: Millimetres,
    length: Millimetres,
    bending_stiffness_n_mm2: f64,
) -> Result<Millimetres, FormulaError> {
    let force = CAMBER.require("force", force.0, "N", Allowed::Finite)?;
    let (eccentricity, length) = checked_bow(eccentricity, length)?;
    let stiffness = CAMBER.positive("bending stiffness E·I", bending_stiffness_n_mm2, "N·mm²")?;
    millimetres(
        CAMBER,
        force * eccentricity * length * length / (8.0 * stiffness),
    )
}

/// Shortening of a bar under a shrinkage force along its length: Δ = F·L/(E·A), E·A over 0 in N.
pub fn shortening(
    force: Newtons,
    length: Millimetres,
    axial_stiffness_n: f64,
) -> Result<Millimetres, FormulaError> {
    let force = LONGITUDINAL.require("force", force.0, "N", Allowed::Finite)?;
    let length = LONGITUDINAL.require("length", length.0, "mm", LENGTH_RANGE)?;
    let stiffness = LONGITUDINAL.positive("axial stiffness E·A", axial_stiffness_n, "N")?;
    millimetres(LONGITUDINAL, force * length / stiffness)
}

fn millimetres(formula: Formula, value: f64) -> Result<Millimetres, FormulaError> {
    formula.result(value, "mm").map(Millimetres)
}

fn checked_bow(eccentricity: Millimetres, length: Millimetres) -> Result<(f64, f64), FormulaError> {
    Ok((
        CAMBER.require(
            "distance from the neutral axis",
            eccentricity.0,
            "mm",
            Allowed::Between(-1e4, 1e4),
        )?,
        CAMBER.require("length", length.0, "mm", LENGTH_RANGE)?,
    ))
}

/// Transverse shrinkage of a butt weld, Blodgett: Δ = 0.10·Aw/t, plate thickness 0.5 to 200 mm.
///
/// Source: Blodgett, *Design of Welded Structures*, 1966, 7.7; read in a fabricator's method statement that
/// cites it.
pub fn blodgett_transverse(
    weld_area: SquareMillimetres,
    thickness: Millimetres,
) -> Result<Millimetres, FormulaError> {
    let (area, thickness) = checked_butt(weld_area, thickness)?;
    Ok(Millimetres(0.10 * area / thickness))
}

/// Transverse shrinkage of a butt weld, Spraragen and Ettinger: S = 0.2·Aw/t + 0.05·g, root gap g 0 to 25 mm.
///
/// Source: Spraragen and Ettinger, *Welding Journal* 29 (1950), from memory; the rule was read in an unsigned
/// article that cites a welding handbook, so it is a band, not a reference.
pub fn spraragen_transverse(
    weld_area: SquareMillimetres,
    thickness: Millimetres,
    root_gap: Millimetres,
) -> Result<Millimetres, FormulaError> {
    let (area, thickness) = checked_butt(weld_area, thickness)?;
    let gap = TRANSVERSE.require("root gap", root_gap.0, "mm", Allowed::Between(0.0, 25.0))?;
    Ok(Millimetres(0.2 * area / thickness + 0.05 * gap))
}

fn checked_butt(
    weld_area: SquareMillimetres,
    thickness: Millimetres,
) -> Result<(f64, f64), FormulaError> {
    Ok((
        TRANSVERSE.require("weld section", weld_area.0, "mm²", AREA_RANGE)?,
        TRANSVERSE.require("plate thickness", thickness.0, "mm", THICKNESS_RANGE)?,
    ))
}

/// Angle of a flange under one fillet, Blodgett: Δ/W = 0.02·ω^1.3/t² in inches, as an angle in radians.
///
/// Leg ω over 0 up to the thickness t times 1.5; t 4.5 to 25.4 mm, the plates that fillet charts of shipyards
/// rest on (the range of Blodgett's own tests is not known to us). Source: Blodgett, *Design of Welded
/// Structures*, 1966, 7.7, and *Design of Weldments*, 3.7; from memory. The rule is not homogeneous: its
/// constant carries in^0.7.
pub fn blodgett_angular(leg: Millimetres, thickness: Millimetres) -> Result<f64, FormulaError> {
    let thickness_mm = ANGULAR.require(
        "flange thickness",
        thickness.0,
        "mm",
        Allowed::Between(4.5, 25.4),
    )?;
    ANGULAR.positive("fillet leg", leg.0, "mm")?;
    ANGULAR.require(
        "fillet leg",
        leg.0,
        "mm",
        Allowed::Between(0.0, 1.5 * thickness_mm),
    )?;
    let (leg_in, thickness_in) = (
        leg.0 / MILLIMETRES_PER_INCH,
        thickness_mm / MILLIMETRES_PER_INCH,
    );
    Ok(0.02 * leg_in.powf(1.3) / (thickness_in * thickness_in))
}

/// What a shop adds for the shrinkage of steel welds before it cuts. Source (read): TWI, "How much shall I
/// allow for weld shrinkage?", frequently asked questions.
pub mod allowance {
    use super::{Allowed, Formula, FormulaError, LENGTH_RANGE, Millimetres};

    const ALLOWANCE: Formula = Formula {
        name: "allowance for weld shrinkage",
        clause: "TWI, How much shall I allow for weld shrinkage?",
    };

    /// Across each fillet, whose leg is at most three quarters of the plate thickness.
    pub fn across_fillet(
        leg: Millimetres,
        thickness: Millimetres,
    ) -> Result<Millimetres, FormulaError> {
        ALLOWANCE.positive("fillet leg", leg.0, "mm")?;
        let thickness = ALLOWANCE.positive("plate thickness", thickness.0, "mm")?;
        let most = 0.75 * thickness;
        ALLOWANCE.require("fillet leg", leg.0, "mm", Allowed::Between(0.0, most))?;
        Ok(Millimetres(0.8))
    }

    /// Across each 60° single-V butt weld: least and greatest.
    pub const ACROSS_V_BUTT: (Millimetres, Millimetres) = (Millimetres(1.5), Millimetres(3.0));

    /// Along a fillet weld: 0.8 mm in 3 m. Length 0 to 100 m.
    pub fn along_fillet(length: Millimetres) -> Result<Millimetres, FormulaError> {
        along(length, 0.8)
    }

    /// Along a butt weld: 3 mm in 3 m. Length 0 to 100 m.
    pub fn along_butt(length: Millimetres) -> Result<Millimetres, FormulaError> {
        along(length, 3.0)
    }

    fn along(length: Millimetres, per_3_m: f64) -> Result<Millimetres, FormulaError> {
        let length = ALLOWANCE.require("length", length.0, "mm", LENGTH_RANGE)?;
        Ok(Millimetres(length / 3000.0 * per_3_m))
    }
}
