//! Members, welds and clamps that the file describes one by one, by coordinates or by places on other members.

use super::changes::Release;
use super::drawing::{Drawing, Drawn, End, MOST, Seam, Sides, Welding};
use super::file::{section, welding};
use super::model::{Clamp, Point, WeldKind};
use super::places::{Place, Places};
use super::quantity::Kind;
use super::reader::{Reader, Span, Table};
use super::solid::{Plane, Prism, Side, side_word};
use crate::procedure::model::Procedure;
use coldsquare_core::units::{Millimetres, Newtons};
use serde_spanned::Spanned;

/// How far a weld that is given by coordinates may lie from the members it joins, mm: a root gap, and rounding.
const TOUCHING_MM: f64 = 3.0;

/// How far the end of a member may stop short of the face it is to be welded to, mm.
const SHORT_MM: f64 = 5.0;

/// Draws what `[[member]]` and `[[weld]]` describe, in the order of the file.
pub(super) struct FreeHand<'a> {
    pub drawing: &'a mut Drawing,
    pub places: &'a mut Places,
    pub procedures: &'a [Procedure],
    pub reader: &'a Reader<'a>,
}

impl<'a> FreeHand<'a> {
    /// Draws a member and welds the ends that lie on others.
    pub(super) fn member(&mut self, mut table: Table<'_>) -> Option<()> {
        let reader = self.reader;
        let span = table.span().clone();
        if self.drawing.members.len() >= MOST {
            reader.wrong(
                &span,
                format!("more than {MOST} members"),
                "make several jobs of it",
            );
            return None;
        }
        let number = self.drawing.members.len() + 1;
        let name = table
            .text("name")
            .unwrap_or_else(|| Spanned::new(span.clone(), format!("member {number}")));
        let section = section(&mut table);
        let ends = [self.end(&mut table, "from"), self.end(&mut table, "to")];
        let depth = self.depth(&mut table);
        let how = welding(&mut table, self.procedures, Sides::All, None);
        table.finish();
        let [Some(from), Some(to)] = ends else {
            return None;
        };
        let section = section?;
        let line = to.at - from.at;
        if line.unit().is_none_or(|_| line.length() < 1.0) {
            reader.wrong(
                &span,
                format!("'{}' has no length", name.get_ref()),
                "its two ends are the same place; give it another",
            );
            return None;
        }
        let upright = line.x.abs().max(line.y.abs()) < 1e-3 * line.z.abs();
        let usual = if upright {
            Point::new(0.0, 1.0, 0.0)
        } else {
            Point::new(0.0, 0.0, 1.0)
        };
        let Some(prism) = Prism::new(from.at, to.at, &section, depth.unwrap_or(usual)) else {
            reader.wrong(
                &span,
                format!("the depth of '{}' runs along it", name.get_ref()),
                "write depth = a direction across the member, as in depth = [0, 0, 1]",
            );
            return None;
        };
        let index = self.drawing.add(Drawn::new(
            name.get_ref().clone(),
            section,
            prism,
            span.clone(),
        ));
        self.places
            .add_member(name.get_ref(), index, &name.span(), reader);
        for (end, place, word) in [(End::Start, from, "start"), (End::End, to, "end")] {
            if let Some(carrying) = place.on {
                let joint = format!("{} {word}", name.get_ref());
                self.land([index, carrying], end, &joint, &how);
            }
        }
        Some(())
    }

    fn end(&self, table: &mut Table<'_>, key: &'static str) -> Option<Place> {
        let Some(value) = table.value(key) else {
            table.missing(
                key,
                &format!("{key} = [0, 0, 0], or {key} = \"top rail at 300\""),
            );
            return None;
        };
        self.places.place(value, self.drawing, self.reader)
    }

    fn depth(&self, table: &mut Table<'_>) -> Option<Point> {
        let value = table.value("depth")?;
        match value.get_ref().as_str() {
            Some("x") => Some(Point::new(1.0, 0.0, 0.0)),
            Some("y") => Some(Point::new(0.0, 1.0, 0.0)),
            Some("z") => Some(Point::new(0.0, 0.0, 1.0)),
            _ => self.reader.point(value, Kind::Number),
        }
    }

    /// Cuts the end of a member to the face it comes to and welds it there.
    fn land(&mut self, members: [usize; 2], end: End, joint: &str, how: &Welding) -> Option<()> {
        let [ending, carrying] = members;
        let Some(plane) = self.face_met(ending, end, carrying) else {
            let [ending, carrying] = members.map(|member| &self.drawing.members[member].name);
            self.reader.wrong(
                &how.span,
                format!("{ending} does not come to a face of {carrying}"),
                "its end must point at the other member, not lie along it or inside it; or weld it by coordinates",
            );
            return None;
        };
        self.drawing.cut(ending, end, plane);
        let prism = &self.drawing.members[ending].prism;
        let at = match end {
            End::Start => prism.from,
            End::End => prism.to(),
        };
        let joint = self.joint(members, joint, at);
        let word = |side: &Side| side_word(side.face);
        if let Err(side) = self.drawing.weld_end(joint, members, plane, word, how) {
            let [ending, carrying] = members.map(|member| &self.drawing.members[member].name);
            self.reader.wrong(
                &how.span,
                format!("the {side} of {ending} hangs beside {carrying}"),
                "turn it with depth = \"y\", choose other sides as in welded = [\"front\", \"back\"], or move it",
            );
        }
        Some(())
    }

    /// The face of a member that the end of another comes to.
    fn face_met(&self, ending: usize, end: End, carrying: usize) -> Option<Plane> {
        let (prism, carrier) = (
            &self.drawing.members[ending].prism,
            &self.drawing.members[carrying],
        );
        let (start, direction) = match end {
            End::Start => (prism.to(), -prism.along),
            End::End => (prism.from, prism.along),
        };
        let (face, _) = carrier.prism.entry(start, direction)?;
        let steep = direction.dot(face.normal).abs() > 0.1;
        (steep && carrier.has_metal(face.normal)).then(|| Plane {
            point: carrier.prism.from + face.normal * face.offset,
            normal: face.normal,
        })
    }

    /// The joint of these members, made when there is none.
    fn joint(&mut self, members: [usize; 2], name: &str, at: Point) -> usize {
        let same = |joint: &super::model::Joint| {
            members
                .iter()
                .all(|member| joint.members.iter().any(|(other, _)| other == member))
                && (joint.at - at).length() < 1.0
        };
        match self.drawing.joints.iter().position(same) {
            Some(joint) => joint,
            None => self.drawing.join(name.to_string(), at, &members),
        }
    }

    /// Draws the weld or welds of one `[[weld]]`.
    pub(super) fn weld(&mut self, mut table: Table<'_>) -> Option<()> {
        let reader = self.reader;
        let members = self.two_members(&mut table);
        let throat = table
            .positive("throat", Kind::Length)
            .map(Spanned::into_inner);
        let outward = table
            .value("outward")
            .and_then(|value| reader.point(value, Kind::Number));
        let name = table.text("name").map(Spanned::into_inner);
        let runs = table.whole("runs", 1, 99);
        let line = match (table.value("from"), table.value("to")) {
            (None, None) => None,
            (Some(from), Some(to)) => Some((
                self.places.place(from, self.drawing, reader)?.at,
                self.places.place(to, self.drawing, reader)?.at,
            )),
            _ => {
                reader.wrong(
                    table.span(),
                    "a weld by coordinates needs 'from' and 'to'",
                    "give both, or neither to weld the end of one member to the other",
                );
                None
            }
        };
        let how = welding(&mut table, self.procedures, Sides::All, None);
        table.finish();
        let members = members?;
        let first = self.drawing.welds.len();
        match line {
            Some(line) => self.seam(members, line, outward, throat.is_none(), &how)?,
            None => self.nearest_end(members, &how)?,
        }
        for weld in &mut self.drawing.welds[first..] {
            if let (Some(throat), true) = (throat, line.is_some()) {
                weld.kind = WeldKind::Butt {
                    throat: Millimetres(throat),
                };
            }
            weld.runs = runs
                .as_ref()
                .and_then(|runs| u8::try_from(*runs.get_ref()).ok())
                .unwrap_or(1);
            if let (Some(name), Some(_)) = (&name, line) {
                weld.name.clone_from(name);
            }
        }
        Some(())
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
            self.reader.wrong(
                &span,
                "a weld joins two members",
                "write members = [\"leg\", \"top rail\"]; a weld that the frame has already is changed by [change.12]",
            );
            return None;
        }
        match found.as_slice() {
            [a, b] if a != b => Some([*a, *b]),
            [_, _] => {
                self.reader.wrong(
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
    fn seam(
        &mut self,
        members: [usize; 2],
        (from, to): (Point, Point),
        outward: Option<Point>,
        fillet: bool,
        how: &Welding,
    ) -> Option<()> {
        let reader = self.reader;
        let Some(along) = (to - from).unit() else {
            reader.wrong(
                &how.span,
                "this weld has no length",
                "its two ends are the same place; give it another",
            );
            return None;
        };
        let middle = (from + to) * 0.5;
        for member in members.map(|member| &self.drawing.members[member]) {
            let far = [from, middle, to]
                .map(|point| member.prism.distance(point))
                .into_iter()
                .fold(0.0, f64::max);
            if far > TOUCHING_MM {
                let what = format!(
                    "this weld does not touch {}: it is {far:.1} mm away",
                    member.name
                );
                reader.wrong(
                    &how.span,
                    what,
                    "move the weld onto both members, or name the members it lies on",
                );
                return None;
            }
        }
        let away = members
            .map(|member| &self.drawing.members[member].prism)
            .map(|prism| middle - prism.at(prism.station(middle)))
            .into_iter()
            .fold(Point::default(), |sum, one| sum + one);
        let outward = outward.unwrap_or(away);
        let square = outward - along * outward.dot(along);
        let Some(outward) = square.unit().filter(|_| square.length() > 1e-3) else {
            reader.wrong(&how.span, "it is not clear from which side this weld is made", "write outward = the direction from the metal to the torch, as in outward = [0, 0, 1]");
            return None;
        };
        let [a, b] = members.map(|member| &self.drawing.members[member]);
        let name = format!("{} to {}", a.name, b.name);
        let at = nearest(&a.prism, &b.prism);
        let joint = self.joint(members, &name, at);
        let seam = Seam {
            from,
            to,
            outward,
            fillet,
        };
        self.drawing
            .weld(joint, members, side_word(outward), seam, how);
        Some(())
    }

    /// Welds the end of one of two members to a face of the other, whichever comes nearest.
    fn nearest_end(&mut self, [a, b]: [usize; 2], how: &Welding) -> Option<()> {
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
        let [first, second] = [a, b].map(|member| self.drawing.members[member].name.clone());
        match best {
            Some((short, members, end)) if short <= SHORT_MM => {
                self.land(members, end, &format!("{first} to {second}"), how)
            }
            Some((short, ..)) => {
                let what = format!("{first} and {second} do not meet: {short:.1} mm are missing");
                self.reader.wrong(&how.span, what, "lengthen one of them to the other, or give the weld by coordinates with 'from' and 'to'");
                None
            }
            None => {
                let what = format!("neither {first} nor {second} ends on a face of the other");
                self.reader.wrong(
                    &how.span,
                    what,
                    "give the weld by coordinates with 'from' and 'to'",
                );
                None
            }
        }
    }

    /// Reads a clamp, and the welds that it says it comes off after and before: these are not numbered yet.
    pub(super) fn clamp<'b>(&self, mut table: Table<'b>) -> Option<(Clamp, Release<'b>)> {
        let reader = self.reader;
        let place = match table.value("at") {
            Some(value) => self.places.place(value, self.drawing, reader),
            None => {
                table.missing("at", "at = \"top rail at 300\"");
                None
            }
        };
        let named = table
            .text("member")
            .and_then(|name| self.places.member(&name, reader));
        let force = table
            .positive("force", Kind::Force)
            .map(|force| Newtons(force.into_inner()));
        let span = table.span().clone();
        let release = Release {
            after: table.list("release_after"),
            before: table.list("release_before"),
        };
        table.finish();
        let place = place?;
        let Some(member) = named.or(place.on).or_else(|| self.nearest_member(place.at)) else {
            reader.wrong(
                &span,
                "this clamp holds no member",
                "write at = \"top rail at 300\", or add member = \"top rail\"",
            );
            return None;
        };
        self.check_clamp(place.at, member, &span)?;
        let clamp = Clamp {
            force,
            ..Clamp::firm(member, place.at)
        };
        Some((clamp, release))
    }

    fn check_clamp(&self, at: Point, member: usize, span: &Span) -> Option<()> {
        let member = &self.drawing.members[member];
        let far = member.prism.distance(at);
        if far > 50.0 {
            let what = format!("this clamp is {far:.0} mm away from {}", member.name);
            self.reader
                .wrong(span, what, "put it on the member it holds");
            return None;
        }
        Some(())
    }

    /// The member in whose metal a point lies.
    fn nearest_member(&self, at: Point) -> Option<usize> {
        self.drawing
            .members
            .iter()
            .position(|member| member.prism.distance(at) < TOUCHING_MM)
    }
}

/// The point half way between two lines where they come nearest, within the lines' lengths.
fn nearest(a: &Prism, b: &Prism) -> Point {
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
