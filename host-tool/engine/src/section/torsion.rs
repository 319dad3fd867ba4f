//! Torsion constant, shear areas and shear centre: properties that the outline alone does not give.
//!
//! Shear areas are those of Timoshenko's beam with Poisson's ratio taken as zero. The exact ones move by less than
//! 4 % with Poisson's ratio up to 0.33, and shear is a few per cent of the deflection of a light frame's members.

use super::shape::Shape;
use std::f64::consts::{PI, SQRT_2};

/// Saint-Venant's torsion constant, mm⁴.
pub(super) fn torsion_constant_mm4(shape: &Shape) -> f64 {
    match *shape {
        Shape::Box {
            depth_mm,
            width_mm,
            wall_mm,
            outer_radius_mm,
            inner_radius_mm,
        } => box_torsion(
            depth_mm,
            width_mm,
            wall_mm,
            (outer_radius_mm + inner_radius_mm) / 2.0,
        ),
        Shape::Tube {
            diameter_mm,
            wall_mm,
        } => PI / 32.0 * (diameter_mm.powi(4) - (diameter_mm - 2.0 * wall_mm).powi(4)),
        Shape::Round { diameter_mm } => PI / 32.0 * diameter_mm.powi(4),
        Shape::Bar { depth_mm, width_mm } => {
            bar_torsion(depth_mm.max(width_mm), depth_mm.min(width_mm))
        }
        Shape::Angle {
            depth_mm,
            width_mm,
            thickness_mm,
            root_radius_mm,
            ..
        } => angle_torsion(depth_mm, width_mm, thickness_mm, root_radius_mm),
        Shape::Channel {
            depth_mm,
            width_mm,
            web_mm,
            flange_mm,
            root_radius_mm,
        } => channel_torsion(depth_mm, width_mm, web_mm, flange_mm, root_radius_mm),
    }
}

/// It = T³h/3 + 2·K·Ah on the middle line: EN 10219-2:2019, annex A (same in EN 10210-2).
fn box_torsion(depth: f64, width: f64, wall: f64, middle_radius: f64) -> f64 {
    let corner = 4.0 - PI;
    let length = 2.0 * ((width - wall) + (depth - wall)) - 2.0 * middle_radius * corner;
    let area = (width - wall) * (depth - wall) - middle_radius.powi(2) * corner;
    wall.powi(3) * length / 3.0 + 2.0 * (2.0 * area * wall / length) * area
}

/// Solid rectangle, Saint-Venant's series: Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed. 1970, art. 109.
fn bar_torsion(long: f64, short: f64) -> f64 {
    let series: f64 = (0..12)
        .map(|k| f64::from(2 * k + 1))
        .map(|n| (n * PI * long / (2.0 * short)).tanh() / n.powi(5))
        .sum();
    long * short.powi(3) / 3.0 * (1.0 - 192.0 / PI.powi(5) * short / long * series)
}

/// Plates with end loss and the bulge where they meet: El Darwish & Johnston, *Torsion of structural shapes*,
/// J. Struct. Div. ASCE 91 (ST1), 1965. For 0 ≤ root radius ≤ 1.5 thickness; from memory, checked against a
/// finite-element section code in the tests.
fn angle_torsion(depth: f64, width: f64, t: f64, root: f64) -> f64 {
    let bulge = 0.0768 + 0.0479 * root / t;
    let circle = 2.0 * ((3.0 * root + 2.0 * t) - SQRT_2 * (2.0 * root + t));
    (width + depth - t) * t.powi(3) / 3.0 + bulge * circle.powi(4) - 0.21 * t.powi(4)
}

/// Source and range as for the angle.
fn channel_torsion(depth: f64, width: f64, web: f64, flange: f64, root: f64) -> f64 {
    let (w, r) = (web / flange, root / flange);
    let bulge = -0.0908 + 0.2621 * w + 0.1231 * r - 0.0752 * w * r - 0.0945 * w * w;
    let circle = 2.0
        * ((3.0 * root + web + flange) - (2.0 * (2.0 * root + web) * (2.0 * root + flange)).sqrt());
    2.0 / 3.0 * width * flange.powi(3)
        + (depth - 2.0 * flange) * web.powi(3) / 3.0
        + 2.0 * bulge * circle.powi(4)
        - 0.42 * flange.powi(4)
}

/// Shear areas for force along y and along z, mm².
///
/// Solid bar, round bar, tube and thin box: Cowper, *The shear coefficient in Timoshenko's beam theory*, J. Appl.
/// Mech. 33 (1966) 335, at ν = 0 (rectangle 5/6, circle 6/7). Angle and channel: energy of the shear flow in the
/// middle line, computed here.
pub(super) fn shear_areas_mm2(shape: &Shape, area_mm2: f64) -> [f64; 2] {
    match *shape {
        Shape::Bar { .. } => [area_mm2 * 5.0 / 6.0; 2],
        Shape::Round { .. } => [area_mm2 * 6.0 / 7.0; 2],
        Shape::Tube {
            diameter_mm,
            wall_mm,
        } => {
            let m2 = (1.0 - 2.0 * wall_mm / diameter_mm).powi(2);
            let ring = (1.0 + m2).powi(2);
            [area_mm2 * 6.0 * ring / (7.0 * ring + 20.0 * m2); 2]
        }
        Shape::Box {
            depth_mm,
            width_mm,
            wall_mm,
            ..
        } => {
            let (b, h) = (width_mm - wall_mm, depth_mm - wall_mm);
            [
                area_mm2 * box_coefficient(h, b),
                area_mm2 * box_coefficient(b, h),
            ]
        }
        Shape::Angle { .. } | Shape::Channel { .. } => open_shear_areas(&middle_line(shape)),
    }
}

/// Cowper's thin-walled box with equal walls: webs of length `along` parallel to the force, flanges `across`.
fn box_coefficient(across: f64, along: f64) -> f64 {
    let n = across / along;
    let m = n;
    10.0 * (1.0 + 3.0 * m).powi(2)
        / (12.0
            + 72.0 * m
            + 150.0 * m * m
            + 90.0 * m.powi(3)
            + 10.0 * n * n * (3.0 * m + 3.0 * m * m))
}

/// A straight plate of an open thin-walled section: ends in (y, z) and thickness.
type Plate = ([f64; 2], [f64; 2], f64);

/// Plates from one free edge to the other; corners at the middle lines, any origin.
fn middle_line(shape: &Shape) -> Vec<Plate> {
    match *shape {
        Shape::Angle {
            depth_mm,
            width_mm,
            thickness_mm: t,
            ..
        } => {
            vec![
                ([0.0, depth_mm - t / 2.0], [0.0, 0.0], t),
                ([0.0, 0.0], [width_mm - t / 2.0, 0.0], t),
            ]
        }
        Shape::Channel {
            depth_mm,
            width_mm,
            web_mm,
            flange_mm,
            ..
        } => {
            let (b, h) = (width_mm - web_mm / 2.0, depth_mm - flange_mm);
            vec![
                ([b, 0.0], [0.0, 0.0], flange_mm),
                ([0.0, 0.0], [0.0, h], web_mm),
                ([0.0, h], [b, h], flange_mm),
            ]
        }
        _ => Vec::new(),
    }
}

/// As = V² / ∫ q² / t ds, with the shear flow q of unsymmetric bending.
fn open_shear_areas(plates: &[Plate]) -> [f64; 2] {
    let at = |plate: &Plate, s: f64| {
        [
            plate.0[0] + s * (plate.1[0] - plate.0[0]),
            plate.0[1] + s * (plate.1[1] - plate.0[1]),
        ]
    };
    let length = |plate: &Plate| (plate.1[0] - plate.0[0]).hypot(plate.1[1] - plate.0[1]);
    // Simpson's rule is exact for these quadratics.
    let integral = |f: &dyn Fn([f64; 2]) -> f64| -> f64 {
        let one = |p: &Plate| {
            length(p) * p.2 / 6.0 * (f(at(p, 0.0)) + 4.0 * f(at(p, 0.5)) + f(at(p, 1.0)))
        };
        plates.iter().map(one).sum()
    };
    let area = integral(&|_| 1.0);
    let (cy, cz) = (integral(&|p| p[0]) / area, integral(&|p| p[1]) / area);
    let about_y = integral(&|p| (p[1] - cz).powi(2));
    let about_z = integral(&|p| (p[0] - cy).powi(2));
    let product = integral(&|p| (p[0] - cy) * (p[1] - cz));
    let det = about_y * about_z - product * product;
    // Change of stress along the member per unit force along y and z: stress = gradient · (y, z).
    let gradients = [
        [about_y / det, -product / det],
        [-product / det, about_z / det],
    ];
    gradients.map(|[gy, gz]| {
        let (mut flow, mut energy) = (0.0, 0.0);
        for plate in plates {
            let (n, step) = (16, length(plate) / 16.0);
            for k in 0..n {
                let stress = |s: f64| {
                    let p = at(plate, s);
                    gy * (p[0] - cy) + gz * (p[1] - cz)
                };
                let (s0, ds) = (f64::from(k) / f64::from(n), 1.0 / f64::from(n));
                let half = flow
                    + plate.2 * step / 12.0
                        * (stress(s0) + 4.0 * stress(s0 + ds / 4.0) + stress(s0 + ds / 2.0));
                let full = flow
                    + plate.2 * step / 6.0
                        * (stress(s0) + 4.0 * stress(s0 + ds / 2.0) + stress(s0 + ds));
                energy += step / 6.0 * (flow * flow + 4.0 * half * half + full * full) / plate.2;
                flow = full;
            }
        }
        1.0 / energy
    })
}

/// Shear centre in the coordinates of the outline (y, z), for shapes whose shear centre is not the centroid, mm.
///
/// Angle: where the middle lines of the legs cross. Channel: e = b²h²tf / 4Iy behind the middle of the web
/// (thin-walled theory: Timoshenko & Gere, *Theory of Elastic Stability*, 2nd ed. 1961, appendix).
pub(super) fn shear_centre_mm(shape: &Shape) -> Option<[f64; 2]> {
    match *shape {
        Shape::Angle { thickness_mm, .. } => Some([thickness_mm / 2.0; 2]),
        Shape::Channel {
            depth_mm,
            width_mm,
            web_mm,
            flange_mm,
            ..
        } => {
            let (b, h) = (width_mm - web_mm / 2.0, depth_mm - flange_mm);
            let about_y = h.powi(3) * web_mm / 12.0 + b * flange_mm * h * h / 2.0;
            Some([
                web_mm / 2.0 - b * b * h * h * flange_mm / (4.0 * about_y),
                depth_mm / 2.0,
            ])
        }
        _ => None,
    }
}
