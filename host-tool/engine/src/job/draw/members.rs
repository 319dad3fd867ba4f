//! Draws `[[member]]`: by coordinates or by places on other members, and welded where its ends meet them.

use super::ByTable;
use super::drawing::{DrawnMember, End, MAX_COUNT};
use super::places::Place;
use super::solid::{Plane, Prism, Side, side_word};
use crate::job::model::{Joint, Point};
use crate::job::read::welding::{Sides, Welding, section, welding};
use crate::reading::{QuantityKind, Span, Table};
use crate::section::Section;
use serde_spanned::Spanned;

impl ByTable<'_> {
    /// Draws a member, and welds the ends that are on other members.
    pub(super) fn member(&mut self, mut table: Table<'_>) -> Option<()> {
        let reader = self.reader;
        let span = table.span().clone();
        if self.drawing.members.len() >= MAX_COUNT {
            let what = format!("more than {MAX_COUNT} members");
            reader.error(&span, what, "make several jobs of it");
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
        let prism = self.prism(name.get_ref(), [from.at, to.at], &section, depth, &span)?;
        let drawn = DrawnMember::new(name.get_ref().clone(), section, prism, span);
        let index = self.drawing.add(drawn);
        self.places
            .add_member(name.get_ref(), index, &name.span(), reader);
        for (end, place, word) in [(End::Start, from, "start"), (End::End, to, "end")] {
            if let Some(carrying) = place.on {
                let joint = format!("{} {word}", name.get_ref());
                self.weld_to_face([index, carrying], end, &joint, &how);
            }
        }
        Some(())
    }

    fn prism(
        &self,
        name: &str,
        [from, to]: [Point; 2],
        section: &Section,
        depth: Option<Point>,
        span: &Span,
    ) -> Option<Prism> {
        let line = to - from;
        if line.unit().is_none_or(|_| line.length() < 1.0) {
            self.reader.error(
                span,
                format!("'{name}' has no length"),
                "its two ends are at the same place: move one",
            );
            return None;
        }
        let is_upright = line.x.abs().max(line.y.abs()) < 1e-3 * line.z.abs();
        let usual = if is_upright {
            Point::new(0.0, 1.0, 0.0)
        } else {
            Point::new(0.0, 0.0, 1.0)
        };
        let prism = Prism::new(from, to, section, depth.unwrap_or(usual));
        if prism.is_none() {
            self.reader.error(
                span,
                format!("the depth of '{name}' is along the member"),
                "write depth = a direction across the member, as in depth = [0, 0, 1]",
            );
        }
        prism
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
            _ => self.reader.point(value, QuantityKind::Number),
        }
    }

    /// Cuts the end of a member to the face it meets and welds it there.
    pub(super) fn weld_to_face(
        &mut self,
        members: [usize; 2],
        end: End,
        joint: &str,
        how: &Welding,
    ) -> Option<()> {
        let [ending, carrying] = members;
        let Some(plane) = self.face_met(ending, end, carrying) else {
            let [ending, carrying] = members.map(|member| &self.drawing.members[member].name);
            self.reader.error(
                &how.span,
                format!("{ending} does not reach a face of {carrying}"),
                "its end must point at the other member, not run along it or inside it; or give the weld by coordinates",
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
            self.reader.error(
                &how.span,
                format!("the {side} of {ending} overhangs {carrying}"),
                "turn it with depth = \"y\", choose other sides as in welded = [\"front\", \"back\"], or move it",
            );
        }
        Some(())
    }

    /// The face of a member that the end of another meets.
    pub(super) fn face_met(&self, ending: usize, end: End, carrying: usize) -> Option<Plane> {
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

    /// The joint of these members here, added if there is none.
    pub(super) fn joint(&mut self, members: [usize; 2], name: &str, at: Point) -> usize {
        let same = |joint: &Joint| {
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
}
