//! Where the metal of each member ends: the plane of each cut.
//!
//! A job gives the kind of each end cut and the length from long point to long point; the plane follows from the member
//! that the end meets. If several planes are possible, the one that gives the cut length counts.

use super::axes::Axes;
use crate::job::model::{EndCut, Job, Member, Point, Station};

/// The plane of an end cut.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cut {
    /// A point of the plane.
    pub point: Point,
    /// Unit vector square to it.
    pub normal: Point,
}

/// Largest difference between the angles of plane and cut, degrees.
const SAME_ANGLE_DEGREES: f64 = 1.0;

impl Cut {
    /// Distance from a start along a direction to the plane; zero if the direction is in the plane.
    #[must_use]
    pub(super) fn station(&self, start: Point, along: Point) -> f64 {
        let speed = along.dot(self.normal);
        if speed.abs() < 1e-9 {
            0.0
        } else {
            (self.point - start).dot(self.normal) / speed
        }
    }

    /// Where the line along a member through this point of its section meets the plane.
    pub(super) fn meets(&self, axes: &Axes, y: f64, z: f64) -> Point {
        let start = axes.from + axes.across * y + axes.depth * z;
        start + axes.along * self.station(start, axes.along)
    }
}

/// The two cuts of every member, start first.
#[must_use]
pub(crate) fn of(job: &Job) -> Vec<[Cut; 2]> {
    let mut meets: Vec<[Vec<(usize, Station)>; 2]> = vec![Default::default(); job.members.len()];
    for joint in &job.joints {
        for (member, station) in &joint.members {
            let end = match station {
                Station::Start => 0,
                Station::End => 1,
                Station::Along(_) => continue,
            };
            let others = joint.members.iter().filter(|(other, _)| other != member);
            meets[*member][end].extend(others.copied());
        }
    }
    let mut cuts = Vec::with_capacity(job.members.len());
    for (member, meets) in job.members.iter().zip(&meets) {
        let possible = [0, 1].map(|end| possible(job, member, end, &meets[end]));
        cuts.push(fitting(member, &possible));
    }
    cuts
}

/// The planes that this end may have, likeliest first; never empty.
fn possible(job: &Job, member: &Member, end: usize, others: &[(usize, Station)]) -> Vec<Cut> {
    let axes = Axes::of(member);
    let at = [member.from, member.to][end];
    let square = |point| Cut {
        point,
        normal: axes.along,
    };
    let mut planes = Vec::new();
    let mut late = Vec::new();
    for (other, station) in others {
        let other = &job.members[*other];
        let theirs = Axes::of(other);
        match station {
            Station::Start | Station::End => {
                let away = |along: Point, first: bool| if first { along } else { -along };
                let own = away(axes.along, end == 0);
                let their = away(theirs.along, matches!(station, Station::Start));
                planes.extend((own - their).unit().map(|normal| Cut { point: at, normal }));
            }
            Station::Along(_) => {}
        }
        for face in faces(other) {
            let facing = face
                .normal
                .dot(if end == 0 { axes.along } else { -axes.along });
            if facing > 0.05 {
                planes.push(face);
            } else if facing < -0.05 {
                late.push(face);
            }
        }
    }
    planes.push(square(at));
    planes.extend(late);
    planes.extend(level(member, end));
    let degrees = match member.ends[end] {
        EndCut::Square => 0.0,
        EndCut::Mitre { degrees } => degrees,
    };
    let angle = |cut: &Cut| {
        cut.normal
            .dot(axes.along)
            .abs()
            .min(1.0)
            .acos()
            .to_degrees()
    };
    planes.retain(|cut| (angle(cut) - degrees).abs() < SAME_ANGLE_DEGREES);
    if planes.is_empty() {
        planes.push(square(at));
    }
    planes
}

/// Planes square to the axes of the frame, through the end of the metal on the line: a foot is cut level.
fn level(member: &Member, end: usize) -> [Cut; 3] {
    let along = Axes::of(member).along;
    let past = member.past_ends[end].0;
    let point = [member.from - along * past, member.to + along * past][end];
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]].map(|[x, y, z]| Cut {
        point,
        normal: Point::new(x, y, z),
    })
}

/// The four long faces of the box around a member.
fn faces(member: &Member) -> [Cut; 4] {
    let axes = Axes::of(member);
    let properties = member.section.properties();
    let [y, z] = properties.centroid_from_corner_mm;
    let face = |normal: Point, offset: f64| Cut {
        point: member.from + normal * offset,
        normal,
    };
    [
        face(axes.across, properties.width_mm - y),
        face(-axes.across, y),
        face(axes.depth, properties.depth_mm - z),
        face(-axes.depth, z),
    ]
}

/// The pair of planes that gives the cut length; the likeliest if several do.
fn fitting(member: &Member, possible: &[Vec<Cut>; 2]) -> [Cut; 2] {
    let mut best = [possible[0][0], possible[1][0]];
    let mut least = f64::INFINITY;
    for start in &possible[0] {
        for end in &possible[1] {
            let miss = (long_point_length(member, &[*start, *end]) - member.cut_length.0).abs();
            if miss + 0.01 < least {
                (least, best) = (miss, [*start, *end]);
            }
        }
    }
    best
}

/// From long point to long point, mm.
fn long_point_length(member: &Member, cuts: &[Cut; 2]) -> f64 {
    let axes = Axes::of(member);
    let properties = member.section.properties();
    let [y, z] = properties.centroid_from_corner_mm;
    let corners = [
        (-y, -z),
        (properties.width_mm - y, -z),
        (properties.width_mm - y, properties.depth_mm - z),
        (-y, properties.depth_mm - z),
    ];
    let (mut first, mut last) = (f64::INFINITY, f64::NEG_INFINITY);
    for (y, z) in corners {
        let start = axes.from + axes.across * y + axes.depth * z;
        first = first.min(cuts[0].station(start, axes.along));
        last = last.max(cuts[1].station(start, axes.along));
    }
    last - first
}
