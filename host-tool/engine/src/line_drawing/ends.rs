//! Which member ends on which: where lines meet, one goes through and the others end on it.

use super::lines::distance;
use crate::geometry::Point;
use crate::section::Section;

/// Directions closer than this are one: the cosine of 2.5 degrees.
const PARALLEL: f64 = 0.999;

/// A member by its centre line, mm.
#[derive(Clone, Debug)]
pub(super) struct LineMember {
    pub name: String,
    pub section: Section,
    pub ends: [Point; 2],
    /// Goes through before all others: a side of the outer frame.
    pub first: bool,
}

impl LineMember {
    fn length(&self) -> f64 {
        (self.ends[1] - self.ends[0]).length()
    }

    fn along(&self) -> Point {
        (self.ends[1] - self.ends[0]).unit().unwrap_or_default()
    }

    fn is_upright(&self) -> bool {
        let along = self.along();
        along.x.abs().max(along.y.abs()) < 1e-3 * along.z.abs()
    }

    /// Half of its size in a direction across it, with the depth where the job file puts it if it says nothing.
    fn half_size(&self, direction: Point) -> f64 {
        let usual = if self.is_upright() {
            Point::new(0.0, 1.0, 0.0)
        } else {
            Point::new(0.0, 0.0, 1.0)
        };
        let along = self.along();
        let depth = (usual - along * usual.dot(along)).unit().unwrap_or(usual);
        let across = depth.cross(along);
        let size = self.section.properties();
        if self.section.is_round() {
            return size.depth_mm / 2.0;
        }
        (direction.dot(across).abs() * size.width_mm + direction.dot(depth).abs() * size.depth_mm)
            / 2.0
    }
}

/// Where an end of a member is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Place {
    /// At a point, and this much longer than its line, mm.
    Free { longer_mm: f64 },
    /// On another member.
    On { carrier: usize },
}

/// The members in an order in which each ends only on those before it.
#[derive(Debug, Default)]
pub(super) struct Arranged {
    /// Indices of the members.
    pub order: Vec<usize>,
    /// The two ends of each member.
    pub places: Vec<[Place; 2]>,
    /// What could not be arranged.
    pub notes: Vec<String>,
}

/// Arranges the members; ends within `tolerance_mm` of a line are on it.
pub(super) fn arrange(members: &[LineMember], tolerance_mm: f64) -> Arranged {
    let rank = ranks(members);
    let mut arranged = Arranged {
        order: Vec::new(),
        places: vec![[Place::Free { longer_mm: 0.0 }; 2]; members.len()],
        notes: Vec::new(),
    };
    for member in 0..members.len() {
        for end in 0..2 {
            if members[member].first {
                continue;
            }
            match carrier(members, &rank, member, end, tolerance_mm) {
                Ok(Some(carrier)) => arranged.places[member][end] = Place::On { carrier },
                Ok(None) => {}
                Err(other) => arranged.notes.push(format!(
                    "{} and {} meet end to end or lie along each other: weld them by hand in the job file",
                    members[member].name, members[other].name
                )),
            }
        }
    }
    arranged.crossings(members, tolerance_mm);
    arranged.side_by_side(members);
    arranged.put_in_order(members, &rank);
    arranged.make_flush(members, tolerance_mm);
    arranged
}

/// Who goes through: sides of the frame, then uprights, then the longer, then the one drawn first.
fn ranks(members: &[LineMember]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..members.len()).collect();
    let tenths = |member: &LineMember| (member.length() * 10.0).round();
    order.sort_by(|&a, &b| {
        let (a, b) = (&members[a], &members[b]);
        let key = |member: &LineMember| (!member.first, !member.is_upright());
        key(a).cmp(&key(b)).then(tenths(b).total_cmp(&tenths(a)))
    });
    let mut rank = vec![0; members.len()];
    for (place, member) in order.into_iter().enumerate() {
        rank[member] = place;
    }
    rank
}

/// The member that an end is on; `Err` with one that it only prolongs or lies along.
fn carrier(
    members: &[LineMember],
    rank: &[usize],
    member: usize,
    end: usize,
    tolerance_mm: f64,
) -> Result<Option<usize>, usize> {
    let at = members[member].ends[end];
    let along = members[member].along();
    let (mut through, mut ending, mut askew) = (Vec::new(), Vec::new(), None);
    for (other, candidate) in members.iter().enumerate() {
        let (foot, off) = distance(at, candidate.ends);
        if other == member || off > tolerance_mm {
            continue;
        }
        let inside = foot > tolerance_mm && foot < candidate.length() - tolerance_mm;
        if candidate.along().dot(along).abs() > PARALLEL {
            askew = Some(other);
        } else if inside || candidate.first {
            through.push(other);
        } else if rank[other] < rank[member] {
            ending.push(other);
        }
    }
    let best = |found: &[usize]| found.iter().copied().min_by_key(|&other| rank[other]);
    match (best(&through).or_else(|| best(&ending)), askew) {
        (Some(carrier), _) => Ok(Some(carrier)),
        // Told once, by the one of lower rank.
        (None, Some(other)) if rank[other] < rank[member] => Err(other),
        (None, _) => Ok(None),
    }
}

impl Arranged {
    /// Notes lines that cross: neither ends there, so neither is cut.
    fn crossings(&mut self, members: &[LineMember], tolerance_mm: f64) {
        for (k, a) in members.iter().enumerate() {
            for b in &members[k + 1..] {
                if let Some(at) = crossing(a, b, tolerance_mm) {
                    self.notes.push(format!(
                        "{} and {} cross at [{:.0}, {:.0}, {:.0}]: end one of them there, or they are not joined",
                        a.name, b.name, at.x, at.y, at.z
                    ));
                }
            }
        }
    }

    /// Notes members that would lie in each other, or touch all along: the drawing has outlines, not centre lines.
    fn side_by_side(&mut self, members: &[LineMember]) {
        for (k, a) in members.iter().enumerate() {
            for b in &members[k + 1..] {
                if let Some(apart_mm) = beside(a, b) {
                    self.notes.push(format!(
                        "{} and {} are {apart_mm:.0} mm apart, no more than their sections: draw one centre line for \
                         each member, not its outline",
                        a.name, b.name
                    ));
                }
            }
        }
    }

    fn put_in_order(&mut self, members: &[LineMember], rank: &[usize]) {
        let mut left: Vec<usize> = (0..members.len()).collect();
        left.sort_by_key(|&member| rank[member]);
        let mut placed = vec![false; members.len()];
        while !left.is_empty() {
            let is_ready = |&member: &usize| {
                self.places[member].iter().all(|place| match place {
                    Place::On { carrier } => placed[*carrier],
                    Place::Free { .. } => true,
                })
            };
            let ready: Vec<usize> = left.iter().copied().filter(is_ready).collect();
            if ready.is_empty() {
                // Members that end on each other in a ring: the first of them ends free.
                let member = left[0];
                let ring =
                    "ends on a member that ends on it in turn: look at its ends in the job file";
                self.notes.push(format!("{} {ring}", members[member].name));
                self.places[member] = [Place::Free { longer_mm: 0.0 }; 2];
                continue;
            }
            for member in ready {
                placed[member] = true;
                self.order.push(member);
            }
            left.retain(|&member| !placed[member]);
        }
    }

    /// Lengthens the free end of a member that others end on there, until it is flush with their outer faces.
    fn make_flush(&mut self, members: &[LineMember], tolerance_mm: f64) {
        for carrying in 0..members.len() {
            if members[carrying].first {
                continue;
            }
            for end in 0..2 {
                if self.places[carrying][end] != (Place::Free { longer_mm: 0.0 }) {
                    continue;
                }
                let at = members[carrying].ends[end];
                let outward = members[carrying].along() * if end == 0 { -1.0 } else { 1.0 };
                let mut longer_mm = 0.0_f64;
                for (other, member) in members.iter().enumerate() {
                    for side in 0..2 {
                        let on = self.places[other][side] == (Place::On { carrier: carrying });
                        if on && (member.ends[side] - at).length() <= tolerance_mm {
                            let away = member.along() * if side == 0 { 1.0 } else { -1.0 };
                            longer_mm =
                                longer_mm.max(past(&members[carrying], member, outward, away));
                        }
                    }
                }
                self.places[carrying][end] = Place::Free { longer_mm };
            }
        }
    }
}

/// How far past the meeting point a member must reach so that all of another, which leaves in the direction `away`,
/// stands on its face.
fn past(carrying: &LineMember, ending: &LineMember, outward: Point, away: Point) -> f64 {
    let cosine = away.dot(outward);
    let Some(across) = (away - outward * cosine).unit() else {
        return 0.0;
    };
    let sine = away.dot(across);
    // Across the ending member, in the plane of both.
    let sideways = outward * sine - across * cosine;
    let (ending, carrying) = (ending.half_size(sideways), carrying.half_size(across));
    ((ending + carrying * cosine) / sine).max(0.0)
}

/// How far two parallel lines are apart, mm, if they run beside each other and are no farther apart than their sections
/// are thick.
fn beside(a: &LineMember, b: &LineMember) -> Option<f64> {
    if a.along().dot(b.along()).abs() < PARALLEL {
        return None;
    }
    let [from, to] = b.ends.map(|end| (end - a.ends[0]).dot(a.along()));
    let both = from.max(to).min(a.length()) - from.min(to).max(0.0);
    let between = b.ends[0] - a.ends[0];
    let across = between - a.along() * between.dot(a.along());
    let apart = across.length();
    let thick = across
        .unit()
        .map_or(0.0, |across| a.half_size(across) + b.half_size(across));
    let is_long = both > 0.5 * a.length().min(b.length());
    (is_long && apart > 0.1 && apart < 1.01 * thick).then_some(apart)
}

/// Where two lines pass through each other, both inside their lengths.
fn crossing(a: &LineMember, b: &LineMember, tolerance_mm: f64) -> Option<Point> {
    let (u, v, between) = (a.along(), b.along(), b.ends[0] - a.ends[0]);
    let cosine = u.dot(v);
    let square = 1.0 - cosine * cosine;
    if square < 1e-6 {
        return None;
    }
    let s = (between.dot(u) - between.dot(v) * cosine) / square;
    let t = (between.dot(u) * cosine - between.dot(v)) / square;
    let inside =
        |at: f64, member: &LineMember| at > tolerance_mm && at < member.length() - tolerance_mm;
    let (p, q) = (a.ends[0] + u * s, b.ends[0] + v * t);
    (inside(s, a) && inside(t, b) && (p - q).length() <= tolerance_mm).then_some(p)
}
