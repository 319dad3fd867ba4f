//! How each end is cut: the plane of the cut as two angles at the saw.
//!
//! A cut through a point of the member's line is a plane s = s0 - a y - d z, with s along the member, y across its
//! section and z in depth. With the piece lying on a face square to the depth, the saw is swung by the mitre angle
//! atan(a) and tilted by the bevel angle asin of the share of the plane's normal in depth.

use crate::drawing::{Axes, ends};
use crate::job::model::{Job, Member};
use crate::section::{Section, Shape};

/// Slopes below this are a square cut: 0.01 degrees.
const SQUARE: f64 = 2e-4;
/// Pieces closer in length than this are cut to one stop, mm.
const SAME_LENGTH_MM: f64 = 0.05;

/// The slopes of a cut over the width and over the depth.
type Slopes = [f64; 2];

/// How one end is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SawEnd {
    /// Swing of the saw from square, degrees.
    pub mitre_degrees: f64,
    /// Tilt of the saw from upright, degrees; zero for a plain mitre.
    pub bevel_degrees: f64,
}

/// Where the long points of the two ends are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sides {
    /// At most one end is at an angle.
    NoMatter,
    /// Both on one side: the piece is a trapezoid.
    OneSide,
    /// On opposite sides: the cuts are parallel.
    OppositeSides,
    /// On faces square to each other: turn the piece a quarter between the cuts.
    QuarterTurn,
}

/// Pieces that are cut alike.
#[derive(Clone, Debug)]
pub struct Kind {
    /// Letter or letters for the piece: A, B, …
    pub mark: String,
    /// Its section.
    pub section: Section,
    /// From long point to long point, mm.
    pub long_mm: f64,
    /// From short point to short point, along the side where it is shortest, mm.
    pub short_mm: f64,
    /// On the line of centroids, mm.
    pub centre_mm: f64,
    /// The two ends.
    pub ends: [SawEnd; 2],
    /// Where their long points are.
    pub sides: Sides,
    /// Size of the face that lies on the saw's table for the mitre, mm; `None` where any face does.
    pub lies_on_mm: Option<f64>,
    /// How high the piece stands in the swing of the mitre at each end, mm: what the mitre runs across.
    pub across_mm: [f64; 2],
    /// Indices of the members.
    pub members: Vec<usize>,
    /// Slopes of the cuts, start first.
    pub(super) slopes: [Slopes; 2],
}

/// The pieces of a job.
pub(super) fn kinds(job: &Job) -> Vec<Kind> {
    let mut sections: Vec<&Section> = Vec::new();
    let mut kinds: Vec<(usize, Kind)> = Vec::new();
    let cuts = ends::of(job);
    for (index, (member, cuts)) in job.members.iter().zip(&cuts).enumerate() {
        let known = sections.iter().position(|one| **one == member.section);
        let section = known.unwrap_or_else(|| {
            sections.push(&member.section);
            sections.len() - 1
        });
        let slopes = slopes(member, cuts);
        let same = |(place, kind): &&mut (usize, Kind)| {
            *place == section
                && (kind.long_mm - member.cut_length.0).abs() < SAME_LENGTH_MM
                && alike(&member.section, kind.slopes, slopes)
        };
        match kinds.iter_mut().find(same) {
            Some((_, kind)) => kind.members.push(index),
            None => kinds.push((section, kind(member, index, slopes))),
        }
    }
    kinds.sort_by(|(s, a), (t, b)| s.cmp(t).then(b.long_mm.total_cmp(&a.long_mm)));
    let mut kinds: Vec<Kind> = kinds.into_iter().map(|(_, kind)| kind).collect();
    for (k, kind) in kinds.iter_mut().enumerate() {
        kind.mark = mark(k);
    }
    kinds
}

/// A, B, … Z, AA, AB, …
fn mark(k: usize) -> String {
    let letter = |n: usize| char::from(b'A' + u8::try_from(n % 26).unwrap_or(0));
    match k / 26 {
        0 => letter(k).to_string(),
        before => mark(before - 1) + &letter(k).to_string(),
    }
}

fn slopes(member: &Member, cuts: &[ends::Cut; 2]) -> [Slopes; 2] {
    let axes = Axes::of(member);
    let slopes = cuts.map(|cut| {
        let along = cut.normal.dot(axes.along);
        let slope = |direction| {
            let slope = cut.normal.dot(direction) / along;
            if slope.abs() < SQUARE { 0.0 } else { slope }
        };
        if along.abs() < 1e-6 {
            [0.0; 2]
        } else {
            [slope(axes.across), slope(axes.depth)]
        }
    });
    if member.section.is_round() {
        turned(slopes)
    } else {
        slopes
    }
}

/// The cuts of a round piece, turned so that the first that is not square runs over the width alone.
fn turned(slopes: [Slopes; 2]) -> [Slopes; 2] {
    let first = slopes.into_iter().find(|[a, d]| a.hypot(*d) > SQUARE);
    let Some([a, d]) = first else {
        return slopes;
    };
    let (cosine, sine) = (a / a.hypot(d), d / a.hypot(d));
    let clean = |slope: f64| if slope.abs() < SQUARE { 0.0 } else { slope };
    slopes.map(|[a, d]| [clean(a * cosine + d * sine), clean(d * cosine - a * sine)])
}

/// Whether two pieces are one and the same, turned round their line or end for end.
fn alike(section: &Section, a: [Slopes; 2], b: [Slopes; 2]) -> bool {
    let near = |a: [Slopes; 2], b: [Slopes; 2]| {
        let pairs = a.iter().flatten().zip(b.iter().flatten());
        pairs.into_iter().all(|(a, b)| (a - b).abs() < 2.0 * SQUARE)
    };
    turns(section, b).any(|turned| near(a, turned))
}

/// A piece in all the ways in which it can lie.
fn turns(section: &Section, slopes: [Slopes; 2]) -> impl Iterator<Item = [Slopes; 2]> {
    let half = |[a, d]: Slopes| [-a, -d];
    let quarter = |[a, d]: Slopes| [-d, a];
    let mut ways = vec![slopes];
    let size = section.properties();
    if !matches!(section.shape(), Shape::Angle { .. } | Shape::Channel { .. }) {
        ways.push(slopes.map(half));
        if (size.width_mm - size.depth_mm).abs() < 1e-6 {
            ways.push(slopes.map(quarter));
            ways.push(slopes.map(quarter).map(half));
        }
        // End for end, turned about the depth.
        let ended: Vec<_> = ways
            .iter()
            .map(|[start, end]| [end, start].map(|[a, d]| [*a, -d]))
            .collect();
        ways.extend(ended);
    }
    ways.into_iter()
}

fn kind(member: &Member, index: usize, slopes: [Slopes; 2]) -> Kind {
    let size = member.section.properties();
    let [y, z] = size.centroid_from_corner_mm;
    let corners = [
        [-y, -z],
        [size.width_mm - y, -z],
        [size.width_mm - y, size.depth_mm - z],
        [-y, size.depth_mm - z],
    ];
    // Along a corner of the section, the piece is longer than on its line by what the cuts add there.
    let longer = |[y, z]: [f64; 2]| {
        let at = |[a, d]: Slopes| a * y + d * z;
        at(slopes[0]) - at(slopes[1])
    };
    let shortest = corners
        .map(longer)
        .into_iter()
        .fold(f64::INFINITY, f64::min);
    // Long points may be on different corners, so the length over all is more than along any one line.
    let centre_mm = member.centre_length.0;
    // The piece lies on the face that the steeper slope is not over.
    let on_depth_face = |[a, d]: Slopes| a.abs() >= d.abs();
    let ends = slopes.map(|[a, d]| {
        let (mitre, tilt) = if on_depth_face([a, d]) {
            (a, d)
        } else {
            (d, a)
        };
        SawEnd {
            mitre_degrees: mitre.atan().abs().to_degrees(),
            bevel_degrees: (tilt / (1.0 + a * a + d * d).sqrt())
                .asin()
                .abs()
                .to_degrees(),
        }
    });
    let is_square = |[a, d]: Slopes| a == 0.0 && d == 0.0;
    let angled: Vec<Slopes> = slopes.into_iter().filter(|cut| !is_square(*cut)).collect();
    let is_square_section = (size.width_mm - size.depth_mm).abs() < 1e-6;
    let lies_on_mm = match angled.first() {
        Some(cut) if !is_square_section && !member.section.is_round() => {
            Some(if on_depth_face(*cut) {
                size.width_mm
            } else {
                size.depth_mm
            })
        }
        _ => None,
    };
    Kind {
        mark: String::new(),
        section: member.section.clone(),
        long_mm: member.cut_length.0,
        short_mm: (centre_mm + shortest).min(member.cut_length.0),
        centre_mm,
        ends,
        sides: sides(slopes),
        lies_on_mm,
        across_mm: slopes.map(|cut| {
            if on_depth_face(cut) {
                size.width_mm
            } else {
                size.depth_mm
            }
        }),
        members: vec![index],
        slopes,
    }
}

fn sides([start, end]: [Slopes; 2]) -> Sides {
    let square = |[a, d]: Slopes| a == 0.0 && d == 0.0;
    if square(start) || square(end) {
        return Sides::NoMatter;
    }
    let length = |[a, d]: Slopes| a.hypot(d);
    let cosine = (start[0] * end[0] + start[1] * end[1]) / (length(start) * length(end));
    // A long point is where the start's slope is greatest and the end's is least.
    match cosine {
        c if c < -0.7 => Sides::OneSide,
        c if c > 0.7 => Sides::OppositeSides,
        _ => Sides::QuarterTurn,
    }
}

impl Kind {
    /// The outline of the piece seen square to the plane of its mitres: four corners from the lower left on, mm, with the
    /// leftmost at zero.
    ///
    /// Where the two cuts are in planes square to each other, the second is drawn as if the piece had been turned.
    #[must_use]
    pub fn outline(&self) -> [[f64; 2]; 4] {
        let height = self.across_mm[0].max(self.across_mm[1]);
        let steep = |[a, d]: Slopes| if a.abs() >= d.abs() { a } else { d };
        let [start, end] = self.slopes.map(steep);
        let half = height / 2.0;
        // s = s0 - slope * height above the middle.
        let (low, high) = (start * half, -start * half);
        let least = low.min(high);
        [
            [low - least, 0.0],
            [self.centre_mm + end * half - least, 0.0],
            [self.centre_mm - end * half - least, height],
            [high - least, height],
        ]
    }
}
