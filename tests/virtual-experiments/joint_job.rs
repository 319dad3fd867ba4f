//! The job of a joint as the engine takes it, put together without a file.

use super::{Seam, TACK_MM, p};
use coldsquare_core::units::Millimetres;
use coldsquare_engine::geometry::Point;
use coldsquare_engine::job::model::{EndCut, Job, Joint, Member, Station, Weld, WeldKind};
use coldsquare_engine::section::{Section, Shape};

/// Where a seam is tacked: near both ends when it will be welded, else in its middle.
pub(super) fn tacks_of(seam: Seam, welded: bool, at_both_ends: bool) -> Vec<Point> {
    let (run, length) = (seam.to - seam.from, (seam.to - seam.from).length());
    if welded && at_both_ends {
        let share = TACK_MM / 2.0 / length;
        vec![seam.from + run * share, seam.to - run * share]
    } else {
        vec![(seam.from + seam.to) * 0.5]
    }
}

/// A square tube with sharp corners, as it is simulated.
pub(super) fn square_tube(side_mm: f64, wall_mm: f64) -> Section {
    Section::new("tube", box_tube(side_mm, side_mm, wall_mm)).expect("a section")
}

pub(super) const fn box_tube(depth_mm: f64, width_mm: f64, wall_mm: f64) -> Shape {
    Shape::Box {
        depth_mm,
        width_mm,
        wall_mm,
        outer_radius_mm: 0.0,
        inner_radius_mm: 0.0,
    }
}

pub(super) fn member(
    job: &mut Job,
    name: &str,
    section: Section,
    [from, to]: [Point; 2],
    depth_axis: Point,
) -> usize {
    let length = Millimetres((to - from).length());
    job.members.push(Member {
        name: name.into(),
        section,
        from,
        to,
        depth_axis,
        ends: [EndCut::Square; 2],
        cut_length: length,
        centre_length: length,
        past_ends: [Millimetres(0.0); 2],
        plate: None,
    });
    job.members.len() - 1
}

pub(super) fn join(job: &mut Job, members: [(usize, Station); 2], tacks: Vec<Point>) {
    job.joints.push(Joint {
        name: "joint".into(),
        at: p(0.0, 0.0, 0.0),
        members: members.to_vec(),
        tacks,
        sides: Vec::new(),
    });
}

pub(super) fn weld(job: &mut Job, members: [usize; 2], seam: Seam, leg_mm: f64) {
    let number = u16::try_from(job.welds.len() + 1).expect("few welds");
    job.welds.push(Weld {
        number,
        name: format!("weld {number}"),
        joint: 0,
        members,
        kind: WeldKind::Fillet {
            leg: Millimetres(leg_mm),
        },
        from: seam.from,
        to: seam.to,
        outward: seam.outward,
        procedure: 0,
        runs: 1,
        after: Vec::new(),
    });
}
