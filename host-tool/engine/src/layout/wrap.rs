//! The end of a round tube, unrolled: how far along the tube its outside is cut at each place round it.
//!
//! A branch of radius r meets a main tube of radius R, axes at an angle θ and e apart. A point of the branch's outside at
//! the angle φ round it, φ = 0 on the side where the angle to the main tube is blunt, lies in the surface of the main
//! tube at the distance s from the plane of both axes' common perpendicular along the branch:
//!
//! ```text
//! s(φ) = (sqrt(R² - (r·sin φ + e)²) - r·cos φ·cos θ) / sin θ
//! ```
//!
//! from y² + z² = R² with y = r·sin φ + e and z = s·sin θ + r·cos φ·cos θ. A mitre at α from square is the plane
//! s(φ) = r·cos φ·tan α.

use crate::job::model::{EndCut, Job, Member, Station};
use crate::section::Shape;

/// Points round the tube.
pub const POINTS: usize = 180;

/// What the end of a round tube is cut to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cut {
    /// A plane, degrees from square.
    Mitre {
        /// Degrees from square.
        degrees: f64,
    },
    /// The outside of a round tube.
    Cope {
        /// Radius of that tube, mm.
        main_radius_mm: f64,
        /// Angle between the axes, degrees: 90 is square.
        degrees: f64,
        /// Distance between the axes, mm.
        offset_mm: f64,
    },
}

/// A cut end, unrolled.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrap {
    /// Outside radius of the tube, mm.
    pub radius_mm: f64,
    /// How it is cut.
    pub cut: Cut,
    /// Distance round the outside and distance along the tube from its longest point, mm; the last closes the first.
    pub curve: Vec<[f64; 2]>,
    /// From its longest point to its shortest, mm.
    pub depth_mm: f64,
    /// Member and end (0 its start, 1 its end), in the order of the job; those that are cut alike.
    pub ends: Vec<(usize, usize)>,
}

/// The curve of a cut; `None` for a branch that is wider than what it lands on, or an angle under 15°.
#[must_use]
pub fn wrap(radius_mm: f64, cut: Cut) -> Option<Wrap> {
    let along = |phi: f64| match cut {
        Cut::Mitre { degrees } => Some(radius_mm * phi.cos() * degrees.to_radians().tan()),
        Cut::Cope {
            main_radius_mm,
            degrees,
            offset_mm,
        } => {
            let (sine, cosine) = degrees.to_radians().sin_cos();
            let y = radius_mm * phi.sin() + offset_mm;
            let z = main_radius_mm * main_radius_mm - y * y;
            (z > -1e-6 && sine > 0.25)
                .then(|| (z.max(0.0).sqrt() - radius_mm * phi.cos() * cosine) / sine)
        }
    };
    let turns = (0..=POINTS).map(|k| std::f64::consts::TAU * k as f64 / POINTS as f64);
    let all: Option<Vec<[f64; 2]>> = turns
        .map(|phi| Some([radius_mm * phi, along(phi)?]))
        .collect();
    let mut curve = all?;
    // The end is where s is least: the metal is on the side of greater s.
    let longest = curve.iter().map(|one| one[1]).fold(f64::INFINITY, f64::min);
    for point in &mut curve {
        point[1] -= longest;
    }
    let depth_mm = curve.iter().map(|one| one[1]).fold(0.0, f64::max);
    Some(Wrap {
        radius_mm,
        cut,
        curve,
        depth_mm,
        ends: Vec::new(),
    })
}

/// Every end of a round tube in a job that is not cut square, those that are alike together.
#[must_use]
pub fn wraps(job: &Job) -> Vec<Wrap> {
    let mut all: Vec<Wrap> = Vec::new();
    for (index, member) in job.members.iter().enumerate() {
        let Shape::Tube { diameter_mm, .. } = member.section.shape() else {
            continue;
        };
        for end in 0..2 {
            let Some(cut) = cut_of(job, index, end) else {
                continue;
            };
            let Some(mut new) = wrap(diameter_mm / 2.0, cut) else {
                continue;
            };
            new.ends = vec![(index, end)];
            let alike = |one: &&mut Wrap| one.radius_mm == new.radius_mm && same(one.cut, cut);
            match all.iter_mut().find(alike) {
                Some(one) => one.ends.push((index, end)),
                None => all.push(new),
            }
        }
    }
    all
}

fn same(a: Cut, b: Cut) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() < 0.05;
    match (a, b) {
        (Cut::Mitre { degrees: a }, Cut::Mitre { degrees: b }) => near(a, b),
        (
            Cut::Cope {
                main_radius_mm: r,
                degrees: a,
                offset_mm: e,
            },
            Cut::Cope {
                main_radius_mm: s,
                degrees: b,
                offset_mm: f,
            },
        ) => near(r, s) && near(a, b) && near(e, f),
        _ => false,
    }
}

/// How an end of a round tube is cut: to the round tube it lands on, or as the job says; `None` for square.
fn cut_of(job: &Job, index: usize, end: usize) -> Option<Cut> {
    let member = &job.members[index];
    let here = if end == 0 {
        Station::Start
    } else {
        Station::End
    };
    let lands = job
        .joints
        .iter()
        .filter(|joint| joint.members.contains(&(index, here)));
    let mains = lands.flat_map(|joint| &joint.members);
    let round = mains
        .filter(|one| one.0 != index && matches!(one.1, Station::Along(_)))
        .find_map(|&(main, _)| {
            let main = &job.members[main];
            match main.section.shape() {
                Shape::Tube { diameter_mm, .. } => Some(cope(member, main, diameter_mm / 2.0)),
                _ => None,
            }
        });
    match (round, member.ends[end]) {
        (Some(cope), _) => Some(cope),
        (None, EndCut::Mitre { degrees }) => Some(Cut::Mitre { degrees }),
        (None, EndCut::Square) => None,
    }
}

fn cope(branch: &Member, main: &Member, main_radius_mm: f64) -> Cut {
    let (a, b) = (branch.axis(), main.axis());
    let cosine = a.dot(b).abs().min(1.0);
    let apart = a.cross(b).unit();
    let offset = apart.map_or(0.0, |normal| (branch.from - main.from).dot(normal).abs());
    Cut::Cope {
        main_radius_mm,
        degrees: cosine.acos().to_degrees(),
        offset_mm: offset,
    }
}
