//! A closed outline of straight lines and circular arcs, and integrals over the area that it encloses.
//!
//! Green's theorem turns every area integral into one along the outline, which Gauss' rule gives exactly for lines and
//! to rounding for arcs. So one description of a shape gives its area, its moments and its drawing.

use std::f64::consts::{FRAC_PI_2, PI};

/// A piece of an outline in the plane of the section, (y, z) in mm.
#[derive(Clone, Copy, Debug)]
enum Piece {
    Line {
        from: [f64; 2],
        to: [f64; 2],
    },
    Arc {
        centre: [f64; 2],
        radius: f64,
        start: f64,
        sweep: f64,
    },
}

/// A closed outline; anticlockwise (y to the right, z up) encloses metal, clockwise a hole.
#[derive(Clone, Debug, Default)]
pub(super) struct Contour {
    pieces: Vec<Piece>,
}

/// Area and moments of area about the origin.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Moments {
    pub area: f64,
    /// ∫ y dA and ∫ z dA.
    pub first: [f64; 2],
    /// ∫ z² dA: resists bending about y.
    pub about_y: f64,
    /// ∫ y² dA: resists bending about z.
    pub about_z: f64,
    /// ∫ y z dA.
    pub product: f64,
}

/// Nodes and weights of Gauss' rule with four points on 0..1: exact to the seventh degree.
const GAUSS: [(f64, f64); 4] = [
    (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
    (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
    (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
    (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
];

/// Pieces of a quarter circle for integration (relative error below 1e-11) and for drawing.
const PARTS_PER_QUARTER: f64 = 8.0;

impl Contour {
    /// A polygon whose corners are rounded, each corner given as (y, z, radius); a radius of zero leaves it sharp.
    /// Radii must leave room for each other on every side: the caller checks.
    pub(super) fn rounded(corners: &[[f64; 3]]) -> Self {
        let mut pieces = Vec::new();
        let count = corners.len();
        let mut pen: Option<[f64; 2]> = None;
        for k in 0..=count {
            let [before, here, after] = [
                corners[(k + count - 1) % count],
                corners[k % count],
                corners[(k + 1) % count],
            ];
            let arrival = unit([here[0] - before[0], here[1] - before[1]]);
            let departure = unit([after[0] - here[0], after[1] - here[1]]);
            let turn = (arrival[0] * departure[1] - arrival[1] * departure[0])
                .atan2(arrival[0] * departure[0] + arrival[1] * departure[1]);
            let set_back = here[2] * (turn.abs() / 2.0).tan();
            let entry = [
                here[0] - set_back * arrival[0],
                here[1] - set_back * arrival[1],
            ];
            if let Some(from) = pen {
                pieces.push(Piece::Line { from, to: entry });
            }
            if k == count {
                break;
            }
            pen = Some([
                here[0] + set_back * departure[0],
                here[1] + set_back * departure[1],
            ]);
            if here[2] > 0.0 {
                let side = turn.signum();
                let normal = [-arrival[1] * side, arrival[0] * side];
                let centre = [
                    entry[0] + here[2] * normal[0],
                    entry[1] + here[2] * normal[1],
                ];
                pieces.push(Piece::Arc {
                    centre,
                    radius: here[2],
                    start: (entry[1] - centre[1]).atan2(entry[0] - centre[0]),
                    sweep: turn,
                });
            }
        }
        Self { pieces }
    }

    /// A rectangle about the origin with rounded corners.
    pub(super) fn rectangle(width: f64, depth: f64, radius: f64) -> Self {
        let (y, z) = (width / 2.0, depth / 2.0);
        Self::rounded(&[
            [-y, -z, radius],
            [y, -z, radius],
            [y, z, radius],
            [-y, z, radius],
        ])
    }

    /// A circle about the origin.
    pub(super) fn circle(radius: f64) -> Self {
        Self {
            pieces: vec![Piece::Arc {
                centre: [0.0; 2],
                radius,
                start: 0.0,
                sweep: 2.0 * PI,
            }],
        }
    }

    /// Moments of the enclosed area about the origin.
    pub(super) fn moments(&self) -> Moments {
        let mut sum = Moments::default();
        for piece in &self.pieces {
            piece.integrate(|[y, z], [dy, dz]| {
                sum.area += (y * dz - z * dy) / 2.0;
                sum.first[0] += y * y * dz / 2.0;
                sum.first[1] -= z * z * dy / 2.0;
                sum.about_y -= z * z * z * dy / 3.0;
                sum.about_z += y * y * y * dz / 3.0;
                sum.product += y * y * z * dz / 2.0;
            });
        }
        sum
    }

    /// ∫ sign(c) dA and ∫ |c| dA, where c is the coordinate along `axis` (0 = y, 1 = z) measured from `level`.
    pub(super) fn split(&self, axis: usize, level: f64) -> (f64, f64) {
        let sense = if axis == 0 { 1.0 } else { -1.0 };
        let (mut difference, mut absolute) = (0.0, 0.0);
        for piece in self.pieces.iter().flat_map(|piece| piece.cut(axis, level)) {
            piece.integrate(|point, step| {
                let c = point[axis] - level;
                difference += sense * c.abs() * step[1 - axis];
                absolute += sense * c * c.abs() / 2.0 * step[1 - axis];
            });
        }
        (difference, absolute)
    }

    /// Corners of a polygon that follows the outline, arcs cut into chords, moved by `shift`.
    pub(super) fn polygon(&self, shift: [f64; 2]) -> Vec<[f64; 2]> {
        let mut points = Vec::new();
        for piece in &self.pieces {
            let parts = piece.parts();
            points.extend((0..parts).map(|k| piece.at(f64::from(k) / f64::from(parts)).0));
        }
        points
            .iter_mut()
            .for_each(|p| *p = [p[0] + shift[0], p[1] + shift[1]]);
        points.dedup_by(|a, b| (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-9);
        points
    }
}

impl Piece {
    /// Number of parts of this piece for integration and drawing.
    fn parts(&self) -> u32 {
        match self {
            Piece::Line { .. } => 1,
            Piece::Arc { sweep, .. } => {
                ((sweep.abs() / FRAC_PI_2 * PARTS_PER_QUARTER).ceil() as u32).max(1)
            }
        }
    }

    /// Position and derivative at `t` in 0..1.
    fn at(&self, t: f64) -> ([f64; 2], [f64; 2]) {
        match *self {
            Piece::Line { from, to } => {
                let step = [to[0] - from[0], to[1] - from[1]];
                ([from[0] + t * step[0], from[1] + t * step[1]], step)
            }
            Piece::Arc {
                centre,
                radius,
                start,
                sweep,
            } => {
                let (sin, cos) = (start + t * sweep).sin_cos();
                let point = [centre[0] + radius * cos, centre[1] + radius * sin];
                (point, [-radius * sin * sweep, radius * cos * sweep])
            }
        }
    }

    fn integrate(&self, mut take: impl FnMut([f64; 2], [f64; 2])) {
        let parts = f64::from(self.parts());
        for part in 0..self.parts() {
            for (node, weight) in GAUSS {
                let (point, slope) = self.at((f64::from(part) + node) / parts);
                take(
                    point,
                    [slope[0] * weight / parts, slope[1] * weight / parts],
                );
            }
        }
    }

    /// The piece cut where it crosses a level, so that |c| has no kink inside a piece.
    fn cut(&self, axis: usize, level: f64) -> Vec<Piece> {
        let mut cuts = vec![0.0];
        match *self {
            Piece::Line { from, to } => cuts.push((level - from[axis]) / (to[axis] - from[axis])),
            Piece::Arc {
                centre,
                radius,
                start,
                sweep,
            } => {
                let ratio = (level - centre[axis]) / radius;
                let angles = if axis == 0 {
                    [ratio.acos(), -ratio.acos()]
                } else {
                    [ratio.asin(), PI - ratio.asin()]
                };
                for turns in -2..=2 {
                    cuts.extend(
                        angles.map(|angle| (angle + f64::from(turns) * 2.0 * PI - start) / sweep),
                    );
                }
            }
        }
        cuts.push(1.0);
        cuts.retain(|t| (0.0..=1.0).contains(t));
        cuts.sort_by(f64::total_cmp);
        cuts.windows(2).map(|w| self.between(w[0], w[1])).collect()
    }

    fn between(&self, from: f64, to: f64) -> Piece {
        match *self {
            Piece::Line { .. } => Piece::Line {
                from: self.at(from).0,
                to: self.at(to).0,
            },
            Piece::Arc {
                centre,
                radius,
                start,
                sweep,
            } => Piece::Arc {
                centre,
                radius,
                start: start + from * sweep,
                sweep: (to - from) * sweep,
            },
        }
    }
}

fn unit(v: [f64; 2]) -> [f64; 2] {
    let length = v[0].hypot(v[1]);
    [v[0] / length, v[1] / length]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_has_its_textbook_moments() {
        let m = Contour::circle(10.0).moments();
        assert!((m.area / (PI * 100.0) - 1.0).abs() < 1e-13);
        assert!((m.about_y / (PI * 1e4 / 4.0) - 1.0).abs() < 1e-13);
        assert!(m.product.abs() < 1e-9 && m.first[0].abs() < 1e-9);
    }

    #[test]
    fn the_plastic_split_of_a_circle_is_four_thirds_of_the_radius_cubed() {
        for axis in [0, 1] {
            let (difference, absolute) = Contour::circle(3.0).split(axis, 0.0);
            assert!(difference.abs() < 1e-10);
            assert!((absolute / (4.0 / 3.0 * 27.0) - 1.0).abs() < 1e-11);
        }
    }

    #[test]
    fn a_hole_drawn_clockwise_counts_negative() {
        let hole = Contour::rounded(&[
            [0.0, 0.0, 0.0],
            [0.0, 2.0, 0.0],
            [3.0, 2.0, 0.0],
            [3.0, 0.0, 0.0],
        ]);
        assert!((hole.moments().area + 6.0).abs() < 1e-12);
    }
}
