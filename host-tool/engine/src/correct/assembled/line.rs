//! The line of a member, and where its metal begins and ends.

use crate::job::model::{EndCut, Job, Member, Point, Station};

/// The centroid line of a member.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    pub from: Point,
    /// Unit vector along it.
    pub axis: Point,
    pub length_mm: f64,
}

impl Line {
    pub fn of(member: &Member) -> Self {
        let along = member.to - member.from;
        Self {
            from: member.from,
            axis: along.unit().unwrap_or(Point::new(1.0, 0.0, 0.0)),
            length_mm: along.length(),
        }
    }

    /// Distance along it of the place nearest to a point, mm.
    pub fn foot(&self, point: Point) -> f64 {
        (point - self.from)
            .dot(self.axis)
            .clamp(0.0, self.length_mm)
    }

    pub fn at(&self, along_mm: f64) -> Point {
        self.from + self.axis * along_mm
    }
}

/// Half the size of a member's section in a direction, mm.
pub(super) fn half_size(member: &Member, direction: Point) -> f64 {
    let properties = member.section.properties();
    let width = member.depth_axis.cross(Line::of(member).axis);
    0.5 * (properties.depth_mm * direction.dot(member.depth_axis).abs()
        + properties.width_mm * direction.dot(width).abs())
}

/// Where the metal of a member begins and ends along its line, mm: a member that is cut square against another begins at
/// its face.
pub(super) fn metal(job: &Job, index: usize) -> [f64; 2] {
    let member = &job.members[index];
    let line = Line::of(member);
    let mut ends = [0.0, line.length_mm];
    if member.centre_length.0 > line.length_mm - 0.5 {
        return ends;
    }
    for joint in &job.joints {
        let here = joint.members.iter().find(|(m, _)| *m == index);
        let end = match here {
            Some((_, Station::Start)) => 0,
            Some((_, Station::End)) => 1,
            _ => continue,
        };
        if member.ends[end] != EndCut::Square {
            continue;
        }
        let inwards = if end == 0 { line.axis } else { -line.axis };
        let others = joint.members.iter().filter(|(m, _)| *m != index);
        let trims =
            others.map(|&(other, _)| to_face(&job.members[other], line.at(ends[end]), inwards));
        let trim = trims.fold(0.0, f64::max).min(line.length_mm / 4.0);
        ends[end] += if end == 0 { trim } else { -trim };
    }
    ends
}

/// How far the face of another member is from the end of a line, inwards along it, mm.
fn to_face(other: &Member, end: Point, inwards: Point) -> f64 {
    let line = Line::of(other);
    if line.axis.dot(inwards).abs() > 0.9 {
        return 0.0;
    }
    let from_line = end - line.at(line.foot(end));
    let along = from_line.dot(inwards);
    let beside = (from_line - inwards * along).length();
    let half = half_size(other, inwards);
    if beside < half {
        (half - along).max(0.0)
    } else {
        0.0
    }
}
