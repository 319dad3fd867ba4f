//! Where the centre lines of members are from the middle of a frame: what is marked with a tape from a centre mark.

use super::model::{Job, Member, Point, SeenFrom};

/// Members that run one way, by their places across it.
#[derive(Clone, Debug)]
pub struct FromCentre {
    /// What a positive place means: "to the right of the middle".
    pub what: &'static str,
    /// The direction of the places.
    pub axis: Point,
    /// Where the middle is along that direction, mm.
    pub middle_mm: f64,
    /// The places from the middle, mm, with the names of the members there, ascending.
    pub marks: Vec<(f64, Vec<String>)>,
}

/// The places of the members of a job; none for a direction in which only the outer two run.
#[must_use]
pub fn from_centre(job: &Job) -> Vec<FromCentre> {
    let (x, y) = (Point::new(1.0, 0.0, 0.0), Point::new(0.0, 1.0, 0.0));
    let beyond = match job.seen_from {
        SeenFrom::Front => "above the middle",
        SeenFrom::Above => "behind the middle",
    };
    let across = [("to the right of the middle", x, y), (beyond, y, x)];
    let rows = across.map(|(what, axis, along)| places(job, what, axis, along));
    rows.into_iter().flatten().collect()
}

fn places(job: &Job, what: &'static str, axis: Point, along: Point) -> Option<FromCentre> {
    let runs = |member: &&Member| {
        let line = (member.to - member.from).unit().unwrap_or_default();
        member.plate.is_none() && line.dot(along).abs() > 0.999
    };
    let running: Vec<&Member> = job.members.iter().filter(runs).collect();
    let at = |member: &Member| member.from.dot(axis);
    let places = running.iter().map(|member| at(member));
    let (low, high) = places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
        (low.min(at), high.max(at))
    });
    // The two outer members alone say nothing that their size does not.
    if running.len() < 3 {
        return None;
    }
    let middle_mm = (low + high) / 2.0;
    let mut marks: Vec<(f64, Vec<String>)> = Vec::new();
    for member in running {
        let place = at(member) - middle_mm;
        let mut known = marks.iter_mut();
        match known.find(|(known, _)| (known - place).abs() < 0.01) {
            Some((_, names)) => names.push(member.name.clone()),
            None => marks.push((place, vec![member.name.clone()])),
        }
    }
    marks.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(FromCentre {
        what,
        axis,
        middle_mm,
        marks,
    })
}
