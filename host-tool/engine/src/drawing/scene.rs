//! What is where: members as convex solids with faces and edges, welds as lines. No markup, no view.
//!
//! A section that is not convex (angle, channel) is built of convex parts; the planes between the parts are neither
//! faces nor edges, so they are never drawn.
//!
//! ```
//! use coldsquare_engine::drawing::scene::Scene;
//! use coldsquare_engine::{example, job};
//!
//! let job = job::from_text("gate.toml", example::GARDEN_GATE).expect("the example has no errors");
//! assert_eq!(Scene::of(&job).weld_lines.len(), job.welds.len());
//! ```

use super::axes::Axes;
use super::ends;
use crate::job::model::{Job, Member, Plate, Point, SeenFrom, WeldKind};
use crate::section::Shape;
use std::f64::consts::TAU;

/// Sides that a round section is drawn with.
const SIDES_OF_ROUND: usize = 16;

/// Everything that a drawing shows, in the frame's coordinates, mm.
#[derive(Clone, Debug, Default)]
pub struct Scene {
    /// Convex solids; several may belong to one member.
    pub solids: Vec<Solid>,
    /// One entry a weld, in order of number.
    pub weld_lines: Vec<WeldLine>,
    /// Where tacks hold the joints.
    pub tacks: Vec<Point>,
    /// Where clamps hold the frame.
    pub clamps: Vec<Point>,
    /// Where the drawing is seen from.
    pub seen_from: SeenFrom,
    /// Whether a member is an angle or a channel.
    pub has_open_sections: bool,
}

/// A convex part of a member.
#[derive(Clone, Debug)]
pub struct Solid {
    /// Index of the member.
    pub member: usize,
    /// Corners.
    pub vertices: Vec<Point>,
    /// Flat faces, those inside the metal too: they matter for what hides what.
    pub faces: Vec<Face>,
    /// Edges to draw.
    pub edges: Vec<Edge>,
    /// Openings of a tube on its cut ends: the face they lie on, and their corners.
    pub hollows: Vec<(usize, Vec<Point>)>,
}

/// A flat face of a solid.
#[derive(Clone, Debug)]
pub struct Face {
    /// Indices of its corners, in order around it.
    pub corners: Vec<usize>,
    /// Unit vector out of the metal.
    pub normal: Point,
    /// False where it is a cut through the metal of one member.
    pub drawn: bool,
}

/// An edge between two faces.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// Index of the vertex at one end.
    pub from: usize,
    /// Index of the vertex at the other end.
    pub to: usize,
    /// The two faces that meet.
    pub faces: [usize; 2],
    /// True on a round section: drawn only where it is the outline.
    pub smooth: bool,
}

/// A weld line.
#[derive(Clone, Copy, Debug)]
pub struct WeldLine {
    /// Where the arc starts.
    pub from: Point,
    /// Where it ends.
    pub to: Point,
    /// Unit vector out of the metal.
    pub outward: Point,
    /// Index of a member that it moves with.
    pub member: usize,
    /// Width of the weld seen from its face, mm.
    pub width_mm: f64,
}

impl WeldLine {
    /// The middle of the line.
    #[must_use]
    pub fn middle(&self) -> Point {
        (self.from + self.to) * 0.5
    }
}

impl Scene {
    /// The scene of a job.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        let cuts = ends::of(job);
        let solids = job
            .members
            .iter()
            .zip(&cuts)
            .enumerate()
            .flat_map(|(index, (member, cuts))| solids(index, member, cuts))
            .collect();
        let weld_lines = job.welds.iter().map(|weld| WeldLine {
            from: weld.from,
            to: weld.to,
            outward: weld.outward,
            // The member that runs through: the other may be pulled into it.
            member: weld.members[1],
            width_mm: width_mm(weld.kind),
        });
        Self {
            solids,
            weld_lines: weld_lines.collect(),
            tacks: job
                .joints
                .iter()
                .flat_map(|joint| joint.tacks.clone())
                .collect(),
            clamps: job.clamps.iter().map(|clamp| clamp.at).collect(),
            seen_from: job.seen_from,
            has_open_sections: job.members.iter().any(|member| {
                let shape = member.section.shape();
                matches!(shape, Shape::Angle { .. } | Shape::Channel { .. })
            }),
        }
    }

    /// Lowest and highest value of every coordinate over all solids and welds; zero for an empty scene.
    #[must_use]
    pub fn bounds(&self) -> [Point; 2] {
        let corners = self.solids.iter().flat_map(|solid| solid.vertices.iter());
        let weld_lines = self
            .weld_lines
            .iter()
            .flat_map(|line| [&line.from, &line.to]);
        corners
            .chain(weld_lines)
            .fold(None, |bounds: Option<[Point; 2]>, p| {
                let [low, high] = bounds.unwrap_or([*p, *p]);
                Some([
                    Point::new(low.x.min(p.x), low.y.min(p.y), low.z.min(p.z)),
                    Point::new(high.x.max(p.x), high.y.max(p.y), high.z.max(p.z)),
                ])
            })
            .unwrap_or_default()
    }
}

/// The face of a flat fillet with equal legs is √2 times as wide as a leg; a butt weld is drawn as wide as it is deep.
fn width_mm(kind: WeldKind) -> f64 {
    match kind {
        WeldKind::Fillet { leg } => leg.0 * std::f64::consts::SQRT_2,
        WeldKind::Butt { throat } => throat.0,
    }
}

/// A corner of a convex part of a section.
#[derive(Clone, Copy, Debug)]
struct Corner {
    y: f64,
    z: f64,
    /// Whether the side from here to the next corner is a surface of the section.
    side: bool,
    /// Whether there is an edge along the member here.
    edge: bool,
}

/// Convex parts of a section about its centroid, anticlockwise (y to the right, z up).
fn parts(member: &Member) -> (Vec<Vec<Corner>>, bool) {
    let [cy, cz] = member.section.properties().centroid_from_corner_mm;
    let part = |corners: &[(f64, f64, bool, bool)]| {
        corners
            .iter()
            .map(|&(y, z, side, edge)| Corner {
                y: y - cy,
                z: z - cz,
                side,
                edge,
            })
            .collect::<Vec<_>>()
    };
    let rectangle = |w: f64, d: f64| {
        part(&[
            (0.0, 0.0, true, true),
            (w, 0.0, true, true),
            (w, d, true, true),
            (0.0, d, true, true),
        ])
    };
    match *member.section.shape() {
        Shape::Box {
            depth_mm, width_mm, ..
        }
        | Shape::Bar { depth_mm, width_mm } => (vec![rectangle(width_mm, depth_mm)], false),
        Shape::Tube { diameter_mm, .. } | Shape::Round { diameter_mm } => {
            (vec![round(diameter_mm / 2.0)], true)
        }
        Shape::Angle {
            depth_mm: d,
            width_mm: w,
            thickness_mm: t,
            ..
        } => {
            let upright = part(&[
                (0.0, 0.0, true, true),
                (t, 0.0, false, false),
                (t, t, true, true),
                (t, d, true, true),
                (0.0, d, true, true),
            ]);
            let level = part(&[
                (t, 0.0, true, false),
                (w, 0.0, true, true),
                (w, t, true, true),
                (t, t, false, false),
            ]);
            (vec![upright, level], false)
        }
        Shape::Channel {
            depth_mm: d,
            width_mm: w,
            web_mm: t,
            flange_mm: f,
            ..
        } => {
            let web = part(&[
                (0.0, 0.0, true, true),
                (t, 0.0, false, false),
                (t, f, true, true),
                (t, d - f, false, true),
                (t, d, true, false),
                (0.0, d, true, true),
            ]);
            let flange = |low: f64| {
                part(&[
                    (t, low, true, false),
                    (w, low, true, true),
                    (w, low + f, true, true),
                    (t, low + f, false, false),
                ])
            };
            (vec![web, flange(0.0), flange(d - f)], false)
        }
    }
}

fn round(radius: f64) -> Vec<Corner> {
    (0..SIDES_OF_ROUND)
        .map(|k| {
            let angle = TAU * (k as f64 + 0.5) / SIDES_OF_ROUND as f64;
            Corner {
                y: radius * angle.cos(),
                z: radius * angle.sin(),
                side: true,
                edge: true,
            }
        })
        .collect()
}

fn solids(index: usize, member: &Member, cuts: &[ends::Cut; 2]) -> Vec<Solid> {
    if let Some(plate) = &member.plate {
        return plate_solid(index, plate).into_iter().collect();
    }
    let axes = Axes::of(member);
    let (parts, smooth) = parts(member);
    let hollow = member.section.hollow_mm().map(|hollow| match smooth {
        true => hollow.into_iter().step_by(2).collect(),
        false => corners_of(&hollow),
    });
    parts
        .iter()
        .map(|part| solid(index, &axes, part, cuts, smooth, hollow.as_deref()))
        .collect()
}

/// A piece of plate as a prism over its outline.
fn plate_solid(member: usize, plate: &Plate) -> Option<Solid> {
    let [a, b, c] = [0, 1, 2].map(|k| plate.outline.get(k).copied());
    let (a, b, c) = (a?, b?, c?);
    let normal = (b - a).cross(c - a).unit()?;
    let count = plate.outline.len();
    let half = normal * (plate.thickness.0 / 2.0);
    let ring = |shift: Point| plate.outline.iter().map(move |corner| *corner + shift);
    let next = |k: usize| (k + 1) % count;
    let mut faces: Vec<Face> = (0..count)
        .map(|k| {
            let along = plate.outline[next(k)] - plate.outline[k];
            Face {
                corners: vec![k, next(k), count + next(k), count + k],
                normal: along.cross(normal).unit().unwrap_or(normal),
                drawn: true,
            }
        })
        .collect();
    for (ring, normal) in [(0, -normal), (1, normal)] {
        faces.push(Face {
            corners: (ring * count..(ring + 1) * count).collect(),
            normal,
            drawn: true,
        });
    }
    let edge = |from, to, faces| Edge {
        from,
        to,
        faces,
        smooth: false,
    };
    let through = (0..count).map(|k| edge(k, count + k, [(k + count - 1) % count, k]));
    let around = (0..2).flat_map(|ring| {
        (0..count).map(move |k| edge(ring * count + k, ring * count + next(k), [k, count + ring]))
    });
    Some(Solid {
        member,
        vertices: ring(-half).chain(ring(half)).collect(),
        edges: through.chain(around).collect(),
        faces,
        hollows: Vec::new(),
    })
}

/// The box around an outline with rounded corners: they are too small to see.
fn corners_of(outline: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let (mut y, mut z) = (0.0_f64, 0.0_f64);
    for corner in outline {
        y = y.max(corner[0].abs());
        z = z.max(corner[1].abs());
    }
    vec![[-y, -z], [y, -z], [y, z], [-y, z]]
}

fn solid(
    member: usize,
    axes: &Axes,
    part: &[Corner],
    cuts: &[ends::Cut; 2],
    smooth: bool,
    hollow: Option<&[[f64; 2]]>,
) -> Solid {
    let count = part.len();
    let next = |k: usize| (k + 1) % count;
    let ring = |end: usize| part.iter().map(move |c| cuts[end].meets(axes, c.y, c.z));
    let vertices: Vec<Point> = ring(0).chain(ring(1)).collect();
    let out_of =
        |cut: &ends::Cut, sense: f64| cut.normal * (sense * cut.normal.dot(axes.along).signum());
    let mut faces: Vec<Face> = (0..count)
        .map(|k| {
            let (dy, dz) = (part[next(k)].y - part[k].y, part[next(k)].z - part[k].z);
            let normal = axes.across * dz - axes.depth * dy;
            Face {
                corners: vec![k, next(k), count + next(k), count + k],
                normal: normal.unit().unwrap_or(axes.across),
                drawn: part[k].side,
            }
        })
        .collect();
    for (end, sense) in [(0, -1.0), (1, 1.0)] {
        faces.push(Face {
            corners: (end * count..(end + 1) * count).collect(),
            normal: out_of(&cuts[end], sense),
            drawn: true,
        });
    }
    let along = (0..count).filter(|k| part[*k].edge).map(|k| Edge {
        from: k,
        to: count + k,
        faces: [(k + count - 1) % count, k],
        smooth,
    });
    let around = (0..2).flat_map(|end| {
        (0..count).filter(|k| part[*k].side).map(move |k| Edge {
            from: end * count + k,
            to: end * count + next(k),
            faces: [k, count + end],
            smooth: false,
        })
    });
    let opening = |end: usize| {
        let corners = hollow?.iter().map(|[y, z]| cuts[end].meets(axes, *y, *z));
        Some((count + end, corners.collect()))
    };
    Solid {
        member,
        edges: along.chain(around).collect(),
        hollows: (0..2).filter_map(opening).collect(),
        vertices,
        faces,
    }
}
