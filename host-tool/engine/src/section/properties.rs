//! Properties of a section: area, moments, moduli.

use super::contour::{Contour, Moments};
use super::shape::Shape;
use super::torsion;

/// Properties of a section about its centroid.
///
/// Local axes: x along the member, y across (width), z in depth. `second_moment_y` is ∫ z² dA: it resists bending
/// in the plane of the depth. Principal axis 1 has the greater second moment; its angle is measured from local y
/// towards local z.
///
/// Area, centroid, second moments and plastic moduli are integrals over the outline, corners and fillets included,
/// exact to rounding. For tubes they equal the formulas of EN 10219-2:2019 and EN 10210-2:2019, annex A.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Properties {
    /// Area of metal, mm².
    pub area_mm2: f64,
    /// ∫ z² dA, mm⁴.
    pub second_moment_y_mm4: f64,
    /// ∫ y² dA, mm⁴.
    pub second_moment_z_mm4: f64,
    /// ∫ y z dA, mm⁴; zero for symmetric sections.
    pub product_moment_mm4: f64,
    /// Greater principal second moment, mm⁴.
    pub principal_1_mm4: f64,
    /// Lesser principal second moment, mm⁴.
    pub principal_2_mm4: f64,
    /// Angle from local y to principal axis 1, towards z, rad, in (−π/2, π/2].
    pub principal_angle_rad: f64,
    /// Saint-Venant's torsion constant, mm⁴.
    pub torsion_constant_mm4: f64,
    /// Shear area for force along y, mm².
    pub shear_area_y_mm2: f64,
    /// Shear area for force along z, mm².
    pub shear_area_z_mm2: f64,
    /// Elastic modulus for bending about y, to the farther fibre, mm³.
    pub elastic_modulus_y_mm3: f64,
    /// Elastic modulus for bending about z, to the farther fibre, mm³.
    pub elastic_modulus_z_mm3: f64,
    /// Plastic modulus for bending about y, mm³.
    pub plastic_modulus_y_mm3: f64,
    /// Plastic modulus for bending about z, mm³.
    pub plastic_modulus_z_mm3: f64,
    /// Centroid from the lower left corner of the box around the section (y, z), mm.
    pub centroid_from_corner_mm: [f64; 2],
    /// Shear centre from the centroid (y, z), mm; zero for doubly symmetric sections.
    pub shear_centre_offset_mm: [f64; 2],
    /// Outer size along y, mm.
    pub width_mm: f64,
    /// Outer size along z, mm.
    pub depth_mm: f64,
    /// Thinnest metal a weld can meet, mm.
    pub thinnest_wall_mm: f64,
}

/// Outline of the metal and, for tubes, of the hollow; the origin is that of the shape.
pub(super) fn contours(shape: &Shape) -> (Contour, Option<Contour>) {
    match *shape {
        Shape::Box {
            depth_mm,
            width_mm,
            wall_mm,
            outer_radius_mm,
            inner_radius_mm,
        } => {
            let inner = (width_mm - 2.0 * wall_mm, depth_mm - 2.0 * wall_mm);
            let hollow = Contour::rectangle(inner.0, inner.1, inner_radius_mm);
            (
                Contour::rectangle(width_mm, depth_mm, outer_radius_mm),
                Some(hollow),
            )
        }
        Shape::Tube {
            diameter_mm,
            wall_mm,
        } => (
            Contour::circle(diameter_mm / 2.0),
            Some(Contour::circle(diameter_mm / 2.0 - wall_mm)),
        ),
        Shape::Round { diameter_mm } => (Contour::circle(diameter_mm / 2.0), None),
        Shape::Bar { depth_mm, width_mm } => (Contour::rectangle(width_mm, depth_mm, 0.0), None),
        Shape::Angle { .. } | Shape::Channel { .. } => (open_contour(shape), None),
    }
}

/// Outline of an angle or a channel, with its corner at the origin.
fn open_contour(shape: &Shape) -> Contour {
    match *shape {
        Shape::Angle {
            depth_mm: d,
            width_mm: b,
            thickness_mm: t,
            root_radius_mm: root,
            toe_radius_mm: toe,
        } => {
            let corners = [
                [0.0, 0.0, 0.0],
                [b, 0.0, 0.0],
                [b, t, toe],
                [t, t, root],
                [t, d, toe],
                [0.0, d, 0.0],
            ];
            Contour::rounded(&corners)
        }
        Shape::Channel {
            depth_mm: d,
            width_mm: b,
            web_mm: w,
            flange_mm: f,
            root_radius_mm: root,
        } => {
            let corners = [
                [0.0, 0.0, 0.0],
                [b, 0.0, 0.0],
                [b, f, 0.0],
                [w, f, root],
                [w, d - f, root],
                [b, d - f, 0.0],
                [b, d, 0.0],
                [0.0, d, 0.0],
            ];
            Contour::rounded(&corners)
        }
        _ => Contour::default(),
    }
}

/// Moments of the metal about the origin of the outline, and its centroid there.
pub(super) fn moments(outer: &Contour, hollow: Option<&Contour>) -> (Moments, [f64; 2]) {
    let (o, h) = (
        outer.moments(),
        hollow.map(Contour::moments).unwrap_or_default(),
    );
    let net = Moments {
        area: o.area - h.area,
        first: [o.first[0] - h.first[0], o.first[1] - h.first[1]],
        about_y: o.about_y - h.about_y,
        about_z: o.about_z - h.about_z,
        product: o.product - h.product,
    };
    let centroid = net.first.map(|first| first / net.area);
    (net, centroid)
}

pub(super) fn properties(shape: &Shape) -> Properties {
    let (outer, hollow) = contours(shape);
    let (m, [cy, cz]) = moments(&outer, hollow.as_ref());
    let about_y = m.about_y - m.area * cz * cz;
    let about_z = m.about_z - m.area * cy * cy;
    let product = without_rounding(m.product - m.area * cy * cz, about_y + about_z);
    let (mean, half) = ((about_y + about_z) / 2.0, (about_y - about_z) / 2.0);
    let radius = half.hypot(product);
    let (width_mm, depth_mm) = shape.outer_mm();
    let symmetric = hollow.is_some() || matches!(shape, Shape::Bar { .. } | Shape::Round { .. });
    let corner = if symmetric {
        [-width_mm / 2.0, -depth_mm / 2.0]
    } else {
        [0.0; 2]
    };
    let from_corner = [cy - corner[0], cz - corner[1]];
    let farther = [
        from_corner[0].max(width_mm - from_corner[0]),
        from_corner[1].max(depth_mm - from_corner[1]),
    ];
    let shear_centre = torsion::shear_centre_mm(shape).map_or([0.0; 2], |[y, z]| {
        [
            without_rounding(y - cy, width_mm),
            without_rounding(z - cz, depth_mm),
        ]
    });
    let shear_areas = torsion::shear_areas_mm2(shape, m.area);
    Properties {
        area_mm2: m.area,
        second_moment_y_mm4: about_y,
        second_moment_z_mm4: about_z,
        product_moment_mm4: product,
        principal_1_mm4: mean + radius,
        principal_2_mm4: mean - radius,
        principal_angle_rad: principal_angle(half, product, mean),
        torsion_constant_mm4: torsion::torsion_constant_mm4(shape),
        shear_area_y_mm2: shear_areas[0],
        shear_area_z_mm2: shear_areas[1],
        elastic_modulus_y_mm3: about_y / farther[1],
        elastic_modulus_z_mm3: about_z / farther[0],
        plastic_modulus_y_mm3: plastic_modulus(&outer, hollow.as_ref(), 1, corner[1], depth_mm),
        plastic_modulus_z_mm3: plastic_modulus(&outer, hollow.as_ref(), 0, corner[0], width_mm),
        centroid_from_corner_mm: from_corner,
        shear_centre_offset_mm: shear_centre,
        width_mm,
        depth_mm,
        thinnest_wall_mm: shape.thinnest_wall_mm(),
    }
}

/// Zero for a rounding error: a product of inertia of 1e-12 would turn the principal axes of a square at random.
fn without_rounding(value: f64, scale: f64) -> f64 {
    if value.abs() < 1e-12 * scale {
        0.0
    } else {
        value
    }
}

/// The second moment about an axis turned by θ from y towards z is mean + half·cos 2θ − product·sin 2θ.
fn principal_angle(half: f64, product: f64, mean: f64) -> f64 {
    if half.hypot(product) < 1e-12 * mean {
        0.0
    } else {
        (0.0 - product).atan2(half) / 2.0
    }
}

/// ∫ |c| dA about the line that halves the area, found by bisection between the two edges.
fn plastic_modulus(
    outer: &Contour,
    hollow: Option<&Contour>,
    axis: usize,
    low_edge: f64,
    size: f64,
) -> f64 {
    let net = |level: f64| {
        let (o, h) = (
            outer.split(axis, level),
            hollow.map_or((0.0, 0.0), |c| c.split(axis, level)),
        );
        (o.0 - h.0, o.1 - h.1)
    };
    let (mut low, mut high) = (low_edge, low_edge + size);
    // Halfway first: for a symmetric section that is the answer. The modulus has its minimum at the halving line, so
    // the error that forty halvings leave (1e-12 of the size) enters squared.
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        let (difference, absolute) = net(middle);
        if difference.abs() < 1e-12 * absolute / size {
            return absolute;
        }
        if difference > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    net(f64::midpoint(low, high)).1
}
