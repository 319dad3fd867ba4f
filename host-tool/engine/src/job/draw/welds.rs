//! Draws `[[weld]]`: along a line, or where the end of one member meets the other.

use super::ByTable;
use super::drawing::{End, WeldLine};
use super::solid::Prism;
use crate::job::model::{Point, WeldKind};
use crate::job::read::welding::{Sides, Welding, welding};
use crate::reading::{QuantityKind, Table};
use coldsquare_core::units::Millimetres;
use serde_spanned::Spanned;

/// How far a weld by coordinates may be from its members, mm: a root gap, and rounding.
pub(super) const TOUCHING_MM: f64 = 3.0;

/// How far a weld by coordinates may be from a face that it lies on, mm.
const ON_FACE_MM: f64 = 0.5;

/// How far the end of a member may stop short of the face it is welded to, mm.
const MAX_SHORT_MM: f64 = 5.0;

/// Where a weld runs.
#[derive(Clone, Copy)]
enum Placed {
    /// Along the line between two points.
    OnLine(Point, Point),
    /// Where the end of one member meets the other.
    AtNearestEnd,
}

impl ByTable<'_> {
    /// Draws the weld or welds of one `[[weld]]`.
    pub(super) fn weld(&mut self, mut table: Table<'_>) -> Option<()> {
        let reader = self.reader;
        let members = self.two_members(&mut table);
        let throat = table
            .positive("throat", QuantityKind::Length)
            .map(Spanned::into_inner);
        let outward = table
            .value("outward")
            .and_then(|value| reader.point(value, QuantityKind::Number));
        let name = table.text("name").map(Spanned::into_inner);
        let runs = table.whole("runs", 1, 99);
        let placed = self.placed(&mut table);
        let how = welding(&mut table, self.procedures, Sides::All, None);
        table.finish();
        let (members, placed) = (members?, placed?);
        let first = self.drawing.welds.len();
        match placed {
            Placed::OnLine(from, to) => {
                self.weld_on_line(members, (from, to), outward, throat.is_none(), &how)?;
            }
            Placed::AtNearestEnd => self.nearest_end(members, &how)?,
        }
        let is_on_line = matches!(placed, Placed::OnLine(..));
        for weld in &mut self.drawing.welds[first..] {
            if let (Some(throat), true) = (throat, is_on_line) {
                weld.kind = WeldKind::Butt {
                    throat: Millimetres(throat),
                };
            }
            weld.runs = runs
                .as_ref()
                .and_then(|runs| u8::try_from(*runs.get_ref()).ok())
                .unwrap_or(1);
            if let (Some(name), true) = (&name, is_on_line) {
                weld.name.clone_from(name);
            }
        }
        Some(())
    }

    /// Where a weld runs; `None` only when an error was noted.
    fn placed(&self, table: &mut Table<'_>) -> Option<Placed> {
        let reader = self.reader;
        match (table.value("from"), table.value("to")) {
            (None, None) => Some(Placed::AtNearestEnd),
            (Some(from), Some(to)) => Some(Placed::OnLine(
                self.places.place(from, self.drawing, reader)?.at,
                self.places.place(to, self.drawing, reader)?.at,
            )),
            _ => {
                reader.error(
                    table.span(),
                    "a weld by coordinates needs 'from' and 'to'",
                    "give both; or neither, to weld the end of one member to the other",
                );
                None
            }
        }
    }

    fn two_members(&self, table: &mut Table<'_>) -> Option<[usize; 2]> {
        let names = table.list("members");
        let found: Vec<_> = names
            .iter()
            .filter_map(|value| {
                let name = Spanned::new(value.span(), value.get_ref().as_str()?.to_string());
                self.places.member(&name, self.reader)
            })
            .collect();
        if names.len() != 2 {
            let span = table.span().clone();
            self.reader.error(
                &span,
                "a weld joins two members",
                "write members = [\"leg\", \"top rail\"]; to change a weld that the frame already has, write [change.12]",
            );
            return None;
        }
        match found.as_slice() {
            [a, b] if a != b => Some([*a, *b]),
            [_, _] => {
                self.reader.error(
                    &names[1].span(),
                    "a member cannot be welded to itself",
                    "name the other member",
                );
                None
            }
            _ => None,
        }
    }

    /// A weld along a line that the file gives.
    fn weld_on_line(
        &mut self,
        members: [usize; 2],
        (from, to): (Point, Point),
        outward: Option<Point>,
        fillet: bool,
        how: &Welding,
    ) -> Option<()> {
        let reader = self.reader;
        let Some(along) = (to - from).unit() else {
            reader.error(
                &how.span,
                "this weld has no length",
                "its two ends are at the same place: move one",
            );
            return None;
        };
        self.touches(members, [from, to], how)?;
        let outward = self.outward(members, [from, to], along, outward, how)?;
        let [a, b] = members.map(|member| &self.drawing.members[member]);
        let name = format!("{} to {}", a.name, b.name);
        let at = nearest(&a.prism, &b.prism);
        let joint = self.joint(&members, &name, at);
        let line = WeldLine {
            from,
            to,
            outward,
            fillet,
        };
        let side = self.drawing.seen_from.side(outward);
        self.drawing.weld(joint, members, side, line, how);
        Some(())
    }

    /// Refuses a weld that is not on both its members.
    fn touches(&self, members: [usize; 2], [from, to]: [Point; 2], how: &Welding) -> Option<()> {
        let middle = (from + to) * 0.5;
        for member in members.map(|member| &self.drawing.members[member]) {
            let far = [from, middle, to]
                .map(|point| member.prism.distance(point))
                .into_iter()
                .fold(0.0, f64::max);
            if far > TOUCHING_MM {
                let name = &member.name;
                self.reader.error(
                    &how.span,
                    format!("this weld does not touch {name}: it is {far:.1} mm away"),
                    "move the weld onto both members, or name the members it is on",
                );
                return None;
            }
        }
        Some(())
    }

    /// The direction towards the torch: as given, or out of the corner that the weld fills; square to the line.
    fn outward(
        &self,
        members: [usize; 2],
        [from, to]: [Point; 2],
        along: Point,
        given: Option<Point>,
        how: &Welding,
    ) -> Option<Point> {
        let middle = (from + to) * 0.5;
        let away = members
            .map(|member| &self.drawing.members[member].prism)
            .map(|prism| middle - prism.at(prism.station(middle)))
            .into_iter()
            .fold(Point::default(), |sum, one| sum + one);
        let outward = given
            .or_else(|| self.out_of_corner(members, middle))
            .unwrap_or(away);
        let square = outward - along * outward.dot(along);
        let found = square.unit().filter(|_| square.length() > 1e-3);
        if found.is_none() {
            self.reader.error(
                &how.span,
                "it is not clear which side this weld is made from",
                "write outward = the direction from the metal to the torch, as in outward = [0, 0, 1]",
            );
        }
        found
    }

    /// Out of the corner that a weld fills: the directions out of the faces it lies on, without those that run into the
    /// other member. `None` when it is on no face of the two.
    fn out_of_corner(&self, members: [usize; 2], middle: Point) -> Option<Point> {
        let prisms = members.map(|member| &self.drawing.members[member].prism);
        let mut sum = Point::default();
        for (prism, other) in [(prisms[0], prisms[1]), (prisms[1], prisms[0])] {
            for face in prism.faces() {
                let height = (middle - prism.from).dot(face.normal) - face.offset;
                let is_covered = other.depth_inside(middle + face.normal * 1.0) > 0.2;
                if height.abs() < ON_FACE_MM && !is_covered {
                    sum = sum + face.normal;
                }
            }
        }
        (sum.length() > 0.1).then_some(sum)
    }

    /// Welds the end of one of two members to a face of the other: the end that is nearest.
    fn nearest_end(&mut self, [a, b]: [usize; 2], how: &Welding) -> Option<()> {
        let [first, second] = [a, b].map(|member| self.drawing.members[member].name.clone());
        match self.nearest_face([a, b]) {
            Some((short, members, end)) if short <= MAX_SHORT_MM => {
                let [ending, carrying] = members;
                self.weld_to_face(
                    ending,
                    &[carrying],
                    end,
                    &format!("{first} to {second}"),
                    how,
                )
            }
            Some((short, ..)) => {
                let what =
                    format!("{first} and {second} do not meet: they are {short:.1} mm apart");
                self.reader.error(
                    &how.span,
                    what,
                    "lengthen one of them, or give the weld by coordinates with 'from' and 'to'",
                );
                None
            }
            None => {
                let what = format!("neither {first} nor {second} ends on a face of the other");
                self.reader.error(
                    &how.span,
                    what,
                    "give the weld by coordinates with 'from' and 'to'",
                );
                None
            }
        }
    }

    /// Which end of two members is nearest to a face of the other that it meets: how far it stops short of it, mm, the
    /// member that ends there and the other.
    fn nearest_face(&self, [a, b]: [usize; 2]) -> Option<(f64, [usize; 2], End)> {
        let mut best: Option<(f64, [usize; 2], End)> = None;
        for (ending, carrying) in [(a, b), (b, a)] {
            let (prism, carrier) = (
                &self.drawing.members[ending].prism,
                &self.drawing.members[carrying].prism,
            );
            for (end, at) in [(End::Start, prism.from), (End::End, prism.to())] {
                let short = carrier.distance(at);
                if best.is_none_or(|(so_far, ..)| short < so_far)
                    && self.face_met(ending, end, carrying).is_some()
                {
                    best = Some((short, [ending, carrying], end));
                }
            }
        }
        best
    }
}

/// The point half way between two lines where they come nearest, within the lines' lengths.
pub(super) fn nearest(a: &Prism, b: &Prism) -> Point {
    let between = b.from - a.from;
    let (slope, on_a, on_b) = (
        a.along.dot(b.along),
        between.dot(a.along),
        between.dot(b.along),
    );
    let square = 1.0 - slope * slope;
    let along_a = if square > 1e-9 {
        (on_a - slope * on_b) / square
    } else {
        on_a.clamp(0.0, a.length)
    };
    let point_a = a.at(along_a.clamp(0.0, a.length));
    let point_b = b.at(b.station(point_a).clamp(0.0, b.length));
    let point_a = a.at(a.station(point_b).clamp(0.0, a.length));
    (point_a + point_b) * 0.5
}
