//! Draws `[[member]]`: by coordinates or by places on other members, and welded where its ends meet them.

use super::ByTable;
use super::drawing::{DescribedEnd, DrawnMember, End, MAX_COUNT};
use super::facing::Around;
use super::places::Place;
use super::solid::{Plane, Prism, Side};
use crate::job::model::{Joint, Point};
use crate::job::read::facing::{KEYS, facing};
use crate::job::read::welding::{Sides, Welding, section, welding};
use crate::reading::{QuantityKind, Span, Table};
use crate::section::{Section, Shape};
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
        let place =
            |table: &mut Table<'_>, key| table.value(key).map_or(span.clone(), Spanned::span);
        let spans = [place(&mut table, "from"), place(&mut table, "to")];
        let ends = [self.end(&mut table, "from"), self.end(&mut table, "to")];
        let depth = self.depth(&mut table);
        let facing = facing(&mut table, KEYS, section.as_ref());
        let lap = table.text("lap");
        let how = welding(&mut table, self.procedures, Sides::All, None);
        table.finish();
        let [Some(from), Some(to)] = ends else {
            return None;
        };
        let mut section = section?;
        let mut depth = depth;
        if let (Some(facing), Some(along)) = (&facing, (to.at - from.at).unit()) {
            let around = Around {
                along,
                inward: [None; 2],
                seen_from: self.drawing.seen_from,
            };
            let turned = around.turned(&section, facing, reader)?;
            (section, depth) = (turned.0, Some(turned.1));
        }
        let prism = self.prism(name.get_ref(), [from.at, to.at], &section, depth, &span)?;
        let drawn = DrawnMember::new(name.get_ref().clone(), section, prism, span.clone());
        let index = self.drawing.add(drawn);
        self.places
            .add_member(name.get_ref(), index, &name.span(), reader);
        let along = self.drawing.members[index].prism.along;
        let lap = match &lap {
            Some(side) => Some(self.drawing.lap_side(side, along, reader)?),
            None => None,
        };
        if let (Some(side), Some(on)) = (lap, from.on.or(to.on)) {
            self.drawing.lay_on(index, on, side);
        }
        for ((end, place), span) in [(End::Start, from), (End::End, to)].into_iter().zip(spans) {
            let carriers: Vec<usize> = match (place.on, place.joint) {
                (Some(carrying), _) => vec![carrying],
                (None, Some(joint)) => {
                    let members = self.drawing.joints[joint].members.iter();
                    members.map(|(member, _)| *member).collect()
                }
                (None, None) => Vec::new(),
            };
            if !carriers.is_empty() {
                let joint = format!("{} {}", name.get_ref(), end.name());
                match lap {
                    Some(side) => {
                        let how = (joint.as_str(), &how);
                        self.drawing
                            .lap((index, end), carriers[0], side, how, reader);
                    }
                    None => {
                        self.weld_to_face(index, &carriers, end, &joint, &how);
                    }
                }
            }
            self.drawing.ends.push(DescribedEnd {
                member: index,
                end,
                span,
                loose: how.sides.is_none(),
            });
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

    /// Cuts the end of a member to the face it meets, of one member or of several in one plane, and welds it there.
    pub(super) fn weld_to_face(
        &mut self,
        ending: usize,
        carriers: &[usize],
        end: End,
        joint: &str,
        how: &Welding,
    ) -> Option<()> {
        let (plane, carriers) = self.faces_met(ending, end, carriers, how)?;
        self.drawing.cut(ending, end, plane);
        let prism = &self.drawing.members[ending].prism;
        let at = match end {
            End::Start => prism.from,
            End::End => prism.to(),
        };
        let members: Vec<usize> = [ending].iter().chain(&carriers).copied().collect();
        let joint = self.joint(&members, joint, at);
        let seen_from = self.drawing.seen_from;
        let word = |side: &Side| seen_from.side(side.face);
        let on = (ending, carriers.as_slice());
        let before = self.drawing.welds.len();
        match self.drawing.weld_end(joint, on, plane, word, how) {
            Ok(_) => self.forget_unused(joint, before),
            Err(side) => {
                let ending = &self.drawing.members[ending];
                let turned = axis_word(ending.prism.across);
                self.reader.error(
                    &how.span,
                    format!(
                        "the {side} of {} overhangs {}",
                        ending.name,
                        self.names(&carriers)
                    ),
                    format!(
                        "turn it with depth = \"{turned}\", choose other sides as in welded = [\"front\", \"back\"], or \
                         move it"
                    ),
                );
            }
        }
        Some(())
    }

    /// Takes the members out of a new joint that none of its welds joins.
    fn forget_unused(&mut self, joint: usize, first_weld: usize) {
        let welds = &self.drawing.welds[first_weld..];
        if welds.is_empty() {
            return;
        }
        let used = |member: usize| welds.iter().any(|weld| weld.members.contains(&member));
        let members = &mut self.drawing.joints[joint].members;
        if members.len() > 2 {
            members.retain(|(member, _)| used(*member));
        }
    }

    /// The names of some members in a list.
    pub(super) fn names(&self, members: &[usize]) -> String {
        let names: Vec<&str> = members
            .iter()
            .map(|&member| self.drawing.members[member].name.as_str())
            .collect();
        crate::format::list(&names)
    }

    /// The plane in which the end of a member meets others, and those whose faces lie in it.
    fn faces_met(
        &self,
        ending: usize,
        end: End,
        carriers: &[usize],
        how: &Welding,
    ) -> Option<(Plane, Vec<usize>)> {
        let prism = &self.drawing.members[ending].prism;
        let far = match end {
            End::Start => prism.to(),
            End::End => prism.from,
        };
        let mut met: Vec<(usize, Plane, f64)> = carriers
            .iter()
            .filter_map(|&carrying| {
                let plane = self.face_met(ending, end, carrying)?;
                let at = plane.meets(prism.from, prism.along)?;
                Some((carrying, plane, (at - far).length()))
            })
            .collect();
        met.sort_by(|a, b| a.2.total_cmp(&b.2));
        let Some(&(_, plane, _)) = met.first() else {
            let is_open = |&member: &usize| {
                let shape = self.drawing.members[member].section.shape();
                matches!(shape, Shape::Angle { .. } | Shape::Channel { .. })
            };
            let hint = if carriers.iter().any(is_open) {
                "an angle or a channel has no face on its open side: turn it with legs_point or flanges_point, or let \
                 legs run through with corners = \"legs through\""
            } else {
                "the end must point at the other member, not run along it or inside it; or give the weld by coordinates"
            };
            self.reader.error(
                &how.span,
                format!(
                    "the {} of {} does not reach a face of {}",
                    end.name(),
                    self.drawing.members[ending].name,
                    self.names(carriers)
                ),
                hint,
            );
            return None;
        };
        // Members that the end meets on another side: one cut cannot fit both.
        let askew = met
            .iter()
            .find(|(_, other, _)| other.normal.dot(plane.normal) < 0.999);
        if let Some((other, ..)) = askew {
            let on = &self.drawing.members[met[0].0].name;
            self.reader.error(
                &how.span,
                format!(
                    "the {} of {} runs into the corner between {on} and {}: one cut does not fit both",
                    end.name(),
                    self.drawing.members[ending].name,
                    self.drawing.members[*other].name
                ),
                format!(
                    "end it on one of them, as in \"{on} at 60\"; a diagonal of a flat frame is a [frame.brace]"
                ),
            );
            return None;
        }
        let flush = |other: &Plane| (other.point - plane.point).dot(plane.normal).abs() < 0.1;
        let flush = met.iter().filter(|(_, other, _)| flush(other));
        Some((plane, flush.map(|(carrying, ..)| *carrying).collect()))
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
    pub(super) fn joint(&mut self, members: &[usize], name: &str, at: Point) -> usize {
        let same = |joint: &Joint| {
            members
                .iter()
                .all(|member| joint.members.iter().any(|(other, _)| other == member))
                && (joint.at - at).length() < 1.0
        };
        match self.drawing.joints.iter().position(same) {
            Some(joint) => joint,
            None => self.drawing.join(name.to_string(), at, members),
        }
    }
}

/// The axis of the drawing that is nearest to a direction.
fn axis_word(direction: Point) -> &'static str {
    let sizes = [direction.x.abs(), direction.y.abs(), direction.z.abs()];
    let largest = (0..3).max_by(|&a, &b| sizes[a].total_cmp(&sizes[b]));
    ["x", "y", "z"][largest.unwrap_or(2)]
}
