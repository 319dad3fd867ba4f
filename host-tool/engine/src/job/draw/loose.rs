//! Ends that touch something and are welded nowhere: a slip that would leave the member loose on the bench.

use super::drawing::{DescribedEnd, Drawing, DrawnMember, End};
use crate::format::{self, Precision};
use crate::job::model::Point;
use crate::reading::Reader;
use std::collections::HashMap;

/// Widest gap across which an end still touches, mm: a root gap, and rounding.
const TOUCHING_MM: f64 = 3.0;

/// With more members than this nothing is worked out from the job, and comparing each with each would take long.
const MAX_CHECKED: usize = 4000;

/// Refuses ends that touch another member without a weld, and welds that are drawn twice.
pub(super) fn check(drawing: &Drawing, reader: &Reader<'_>) {
    if drawing.members.len() <= MAX_CHECKED {
        let mut welds: Vec<Vec<usize>> = vec![Vec::new(); drawing.members.len()];
        for (k, weld) in drawing.welds.iter().enumerate() {
            weld.members
                .iter()
                .for_each(|&member| welds[member].push(k));
        }
        let boxes: Vec<[Point; 2]> = drawing.members.iter().map(bounds).collect();
        for described in &drawing.ends {
            end(
                drawing,
                described,
                (&welds[described.member], &boxes),
                reader,
            );
        }
    }
    twice(drawing, reader);
}

/// The lowest and highest corner of the box round a member.
fn bounds(member: &DrawnMember) -> [Point; 2] {
    let corners = member.prism.corners();
    let least = |a: Point, b: Point| Point::new(a.x.min(b.x), a.y.min(b.y), a.z.min(b.z));
    let most = |a: Point, b: Point| Point::new(a.x.max(b.x), a.y.max(b.y), a.z.max(b.z));
    [
        corners.into_iter().fold(corners[0], least),
        corners.into_iter().fold(corners[0], most),
    ]
}

/// Whether a point is within a distance of a box.
fn is_near(at: Point, [low, high]: &[Point; 2], within: f64) -> bool {
    let inside = |at: f64, low: f64, high: f64| at >= low - within && at <= high + within;
    inside(at.x, low.x, high.x) && inside(at.y, low.y, high.y) && inside(at.z, low.z, high.z)
}

fn end(
    drawing: &Drawing,
    described: &DescribedEnd,
    (welds, boxes): (&[usize], &[[Point; 2]]),
    reader: &Reader<'_>,
) {
    let member = &drawing.members[described.member];
    let at = tip(member, described.end);
    let line_end = match described.end {
        End::Start => member.prism.from,
        End::End => member.prism.to(),
    };
    if described.loose {
        return;
    }
    let size = member.section.properties();
    let near = 3.0 * size.depth_mm.max(size.width_mm);
    let welded = welds.iter().map(|&weld| &drawing.welds[weld]);
    let mut welded = welded.map(|weld| from_line(at, weld.from, weld.to));
    let welded = welded.any(|far| far < near);
    if welded {
        return;
    }
    let touched: Vec<usize> = (0..drawing.members.len())
        .filter(|&other| {
            other != described.member
                && is_near(at, &boxes[other], near)
                && touches(member, described.end, &drawing.members[other])
        })
        .collect();
    if touched.is_empty() || drawing.left_open(described.member, line_end) {
        return;
    }
    let names: Vec<&str> = touched
        .iter()
        .map(|&other| drawing.members[other].name.as_str())
        .collect();
    reader.error(
        &described.span,
        format!(
            "the {} of {} touches {} and is not welded",
            described.end.name(),
            member.name,
            format::list(&names)
        ),
        format!(
            "name the place on the member to have it welded there, {}; welded = [] leaves it loose",
            suggestion(drawing, at, &touched, reader)
        ),
    );
}

/// "as in \"bottom rail at 15.0\"": the place as the file would name it, the joint of the members touched if they have
/// one.
fn suggestion(drawing: &Drawing, at: Point, touched: &[usize], reader: &Reader<'_>) -> String {
    let on = &drawing.members[touched[0]];
    let (origin, direction) = on.measured_from;
    let along = reader
        .units()
        .length((at - origin).dot(direction), Precision::Drawn);
    let place = format!("as in \"{} at {along}\"", on.name);
    let joint = drawing.joints.iter().find(|joint| {
        let has = |member: &usize| joint.members.iter().any(|(other, _)| other == member);
        touched.len() > 1 && touched.iter().all(has)
    });
    match joint {
        Some(joint) => format!("{place} or \"{}\"", joint.name),
        None => place,
    }
}

/// The end of the line of a member, where its metal ends.
fn tip(member: &DrawnMember, end: End) -> Point {
    let (start, stop) = member.prism.reach;
    member.prism.at(match end {
        End::Start => start,
        End::End => stop,
    })
}

/// Whether a member has its end face on another, or in it. A member beside it does not count.
fn touches(member: &DrawnMember, end: End, other: &DrawnMember) -> bool {
    let prism = &member.prism;
    let middle = |(low, high): (f64, f64)| (0.5 * (low + high), 0.3 * (high - low));
    let ((y, half_y), (z, half_z)) = (middle(prism.width_range), middle(prism.depth_range));
    let centre = tip(member, end) + prism.across * y + prism.depth * z;
    let tolerance = TOUCHING_MM.min(0.5 * half_y).min(0.5 * half_z);
    [(0.0, 0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)]
        .into_iter()
        .map(|(a, b)| centre + prism.across * (a * half_y) + prism.depth * (b * half_z))
        .any(|point| other.prism.distance(point) < tolerance)
}

/// Distance of a point from the line of a weld.
fn from_line(at: Point, from: Point, to: Point) -> f64 {
    let line = to - from;
    let share = (at - from).dot(line) / line.dot(line);
    (from + line * share.clamp(0.0, 1.0) - at).length()
}

/// Refuses a weld where another joins the same members already.
fn twice(drawing: &Drawing, reader: &Reader<'_>) {
    let mut drawn: HashMap<([usize; 2], [i64; 6]), &str> = HashMap::new();
    for (weld, span) in drawing.welds.iter().zip(&drawing.weld_spans) {
        let tenths = |at: Point| [at.x, at.y, at.z].map(|c| (c * 10.0).round() as i64);
        let mut ends = [tenths(weld.from), tenths(weld.to)];
        ends.sort_unstable();
        let mut members = weld.members;
        members.sort_unstable();
        let [[a, b, c], [d, e, f]] = ends;
        if let Some(first) = drawn.insert((members, [a, b, c, d, e, f]), &weld.name) {
            reader.error(
                span,
                format!("{} is where {first} is already", weld.name),
                "a place is welded once: leave out one of the two; an end on a named place is welded without [[weld]]",
            );
            return;
        }
    }
}
