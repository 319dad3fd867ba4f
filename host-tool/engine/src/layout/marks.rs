//! Running marks: where other members land on a member, measured from its centre.

use crate::job::model::{EndCut, Job, Member, Station};

/// Marks closer together than this are one, mm.
const SAME_MM: f64 = 0.05;

/// Where a member lands.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// From the centre of the marked member to the middle of what lands, mm: to the right or up is positive.
    pub at_mm: f64,
    /// Half of what lands, along the marked member, mm.
    pub half_mm: f64,
    /// The member that lands there.
    pub member: usize,
}

/// Members that are marked alike: lay them side by side and mark them together.
#[derive(Clone, Debug, PartialEq)]
pub struct Marked {
    /// The members.
    pub members: Vec<usize>,
    /// Their length, mm: between long points where both ends are cut alike, otherwise between the cuts.
    pub length_mm: f64,
    /// The marks, from the left or from below.
    pub marks: Vec<Mark>,
}

impl Marked {
    /// The marks that mirror each other about the centre, as indices; the one on the centre is paired with itself.
    #[must_use]
    pub fn pairs(&self) -> Vec<(usize, usize)> {
        let count = self.marks.len();
        let mirrored = |a: &Mark, b: &Mark| {
            (a.at_mm + b.at_mm).abs() < SAME_MM && (a.half_mm - b.half_mm).abs() < SAME_MM
        };
        (0..count)
            .flat_map(|a| (a..count).map(move |b| (a, b)))
            .filter(|&(a, b)| mirrored(&self.marks[a], &self.marks[b]))
            .collect()
    }
}

/// Every member on which others land, those marked alike together, in the order of the job.
#[must_use]
pub fn marked(job: &Job) -> Vec<Marked> {
    let mut all: Vec<Marked> = Vec::new();
    for (index, member) in job.members.iter().enumerate() {
        let marks = marks_on(job, index);
        if marks.is_empty() {
            continue;
        }
        let length_mm = length_mm(member);
        let alike = |one: &&mut Marked| {
            let near = |(a, b): (&Mark, &Mark)| {
                (a.at_mm - b.at_mm).abs() < SAME_MM && (a.half_mm - b.half_mm).abs() < SAME_MM
            };
            let first = &job.members[one.members[0]];
            first.section == member.section
                && (one.length_mm - length_mm).abs() < SAME_MM
                && one.marks.len() == marks.len()
                && one.marks.iter().zip(&marks).all(near)
        };
        match all.iter_mut().find(alike) {
            Some(one) => one.members.push(index),
            None => all.push(Marked {
                members: vec![index],
                length_mm,
                marks,
            }),
        }
    }
    all
}

/// From long point to long point where both ends are cut at one angle, otherwise along the line between the cuts, mm: both
/// have their middle where the metal has its.
fn length_mm(member: &Member) -> f64 {
    match member.ends {
        [EndCut::Mitre { degrees: a }, EndCut::Mitre { degrees: b }] if (a - b).abs() < 0.05 => {
            member.cut_length.0
        }
        _ => member.centre_length.0,
    }
}

fn marks_on(job: &Job, host: usize) -> Vec<Mark> {
    let member = &job.members[host];
    let line = member.to - member.from;
    let length = line.length();
    // From the start of the line to the middle of the metal.
    let centre = (length + member.past_ends[1].0 - member.past_ends[0].0) / 2.0;
    let axis = member.axis();
    let forwards = axis.x + axis.y * 1.1 + axis.z * 1.2 >= 0.0;
    let mut marks: Vec<Mark> = Vec::new();
    for joint in &job.joints {
        let Some(&(_, station)) = joint.members.iter().find(|one| one.0 == host) else {
            continue;
        };
        for &(guest, of_guest) in &joint.members {
            let lands = guest != host && !matches!(of_guest, Station::Along(_));
            let Some(half_mm) = lands
                .then(|| half_along(&job.members[guest], member))
                .flatten()
            else {
                continue;
            };
            let along = match station {
                Station::Along(at) => at.0,
                // At an end it lands on the side only if the metal goes on past it.
                Station::Start if passes(member, 0, half_mm) => 0.0,
                Station::End if passes(member, 1, half_mm) => length,
                _ => continue,
            };
            let at_mm = if forwards {
                along - centre
            } else {
                centre - along
            };
            let known = |one: &Mark| {
                (one.at_mm - at_mm).abs() < SAME_MM && (one.half_mm - half_mm).abs() < SAME_MM
            };
            if !marks.iter().any(known) {
                marks.push(Mark {
                    at_mm,
                    half_mm,
                    member: guest,
                });
            }
        }
    }
    marks.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
    marks
}

/// Whether a member goes on past the joint at its end, so that the other lands on its side.
fn passes(member: &Member, end: usize, half_mm: f64) -> bool {
    member.ends[end] == EndCut::Square && member.past_ends[end].0 > half_mm - 0.5
}

/// Half of a member's width along another one, mm; `None` if they run along each other.
fn half_along(guest: &Member, host: &Member) -> Option<f64> {
    let (axis, along) = (guest.axis(), host.axis());
    let cosine = axis.dot(along);
    let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
    let size = guest.section.properties();
    let deep = guest.depth_axis.dot(along).abs() > 0.5;
    let width = if deep { size.depth_mm } else { size.width_mm };
    (sine > 0.2).then(|| width / 2.0 / sine)
}

/// Where members that are cut alike stand along the members that they hold apart, mm; `None` for a single one.
#[must_use]
pub fn places_across(job: &Job, members: &[usize]) -> Option<Vec<f64>> {
    let middle = |member: usize| (job.members[member].from + job.members[member].to) * 0.5;
    let (first, last) = (*members.first()?, *members.last()?);
    let axis = job.members[first].axis();
    let apart = middle(last) - middle(first);
    let across = (apart - axis * apart.dot(axis)).unit()?;
    Some(
        members
            .iter()
            .map(|&member| middle(member).dot(across))
            .collect(),
    )
}
