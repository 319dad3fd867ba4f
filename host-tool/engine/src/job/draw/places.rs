//! Places by name: points of the file, joints of the frame, and "top rail at 300".

use super::drawing::{Drawing, DrawnMember};
use crate::job::model::Point;
use crate::reading::renamed::{new_word, now_called};
use crate::reading::{QuantityKind, Reader, Span, Table, suggest};
use serde_spanned::Spanned;
use std::collections::BTreeMap;
use toml::de::DeValue;

/// Most names searched for the one that was meant.
const MAX_SEARCHED: usize = 300;

/// The members and points that a file can name so far.
pub(super) struct Places {
    points: BTreeMap<String, Point>,
    /// Joints of the frame by their names.
    joints: BTreeMap<String, usize>,
    members: BTreeMap<String, usize>,
}

/// A place in the job.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub at: Point,
    /// The member that names the place.
    pub on: Option<usize>,
    /// The joint that names the place.
    pub joint: Option<usize>,
}

impl Place {
    /// A place that no member and no joint names.
    const fn at(at: Point) -> Self {
        Self {
            at,
            on: None,
            joint: None,
        }
    }
}

impl Places {
    /// The members and joints that are drawn, and the points that the file names.
    pub(super) fn new(drawing: &Drawing, named: Option<Table<'_>>) -> Self {
        let members = drawing.members.iter().enumerate();
        let joints = drawing.joints.iter();
        let mut places = Self {
            members: members
                .map(|(k, member)| (member.name.clone(), k))
                .collect(),
            joints: joints
                .enumerate()
                .map(|(k, joint)| (joint.name.clone(), k))
                .collect(),
            points: BTreeMap::new(),
        };
        if let Some(table) = named {
            let reader = table.reader();
            for (name, value) in table.named() {
                if let Some(point) = reader.point(value, QuantityKind::Length) {
                    places.points.insert(name.into_inner(), point);
                }
            }
        }
        places
    }

    /// Adds a member under its name; a name that is taken is an error.
    pub(super) fn add_member(
        &mut self,
        name: &str,
        index: usize,
        span: &Span,
        reader: &Reader<'_>,
    ) {
        if self.members.contains_key(name) {
            let what = format!("two members are called '{name}'");
            reader.error(
                span,
                what,
                "give each its own name; the members of the frame have theirs already",
            );
        }
        self.members.entry(name.to_string()).or_insert(index);
    }

    /// The member with this name; the name of no member is an error.
    pub(super) fn member(&self, name: &Spanned<String>, reader: &Reader<'_>) -> Option<usize> {
        let found = self.members.get(name.get_ref().trim()).copied();
        if found.is_none() {
            let word = name.get_ref().trim();
            let what = match new_word(word) {
                Some(new) => now_called(word, new),
                None => format!("there is no member '{word}'"),
            };
            reader.error(&name.span(), what, self.suggest_member(word));
        }
        found
    }

    fn suggest_member(&self, name: &str) -> String {
        let known: Vec<&str> = self
            .members
            .keys()
            .map(String::as_str)
            .take(MAX_SEARCHED)
            .collect();
        format!(
            "{}; describe a member before you name it",
            suggest(name, &known)
        )
    }

    /// A place: `[x, y, z]`, the name of a point or joint, or a member with "at 300", "start", "middle" or "end".
    pub(super) fn place(
        &self,
        value: &Spanned<DeValue<'_>>,
        drawing: &Drawing,
        reader: &Reader<'_>,
    ) -> Option<Place> {
        let Some(text) = value.get_ref().as_str() else {
            let at = reader.point(value, QuantityKind::Length)?;
            return Some(Place::at(at));
        };
        let text = text.trim();
        if let Some(at) = self.points.get(text) {
            return Some(Place::at(*at));
        }
        if let Some(&joint) = self.joints.get(text) {
            return Some(Place {
                joint: Some(joint),
                ..Place::at(drawing.joints[joint].at)
            });
        }
        let (name, station) = text
            .rsplit_once(" at ")
            .or_else(|| text.rsplit_once(' '))
            .unwrap_or((text, ""));
        let span = value.span();
        let Some(&index) = self.members.get(name.trim()) else {
            let what = match new_word(name.trim()) {
                Some(new) => now_called(name.trim(), new),
                None => format!("there is no place '{text}'"),
            };
            let hint = format!(
                "write [x, y, z], the name of a point or joint, or a member as in \"top rail at 300\"; {}",
                self.suggest_member(name)
            );
            reader.error(&span, what, hint);
            return None;
        };
        let at = place_on(&drawing.members[index], name, station.trim(), &span, reader)?;
        Some(Place {
            on: Some(index),
            ..Place::at(at)
        })
    }
}

/// The point at a station of a member: "300", "start", "middle" or "end".
fn place_on(
    member: &DrawnMember,
    name: &str,
    station: &str,
    span: &Span,
    reader: &Reader<'_>,
) -> Option<Point> {
    let prism = &member.prism;
    let at = match station {
        "start" => prism.from,
        "middle" => prism.at(prism.length / 2.0),
        "end" => prism.to(),
        length => {
            let Some(distance) = QuantityKind::Length.written(length, reader.units()) else {
                let what = format!("'{length}' is not a place on {name}");
                let hint = format!("write \"{name} at 300\", or start, middle or end");
                reader.error(span, what, hint);
                return None;
            };
            let (origin, direction) = member.measured_from;
            origin + direction * distance
        }
    };
    let (low, high) = prism.reach;
    if !(low..=high).contains(&prism.station(at)) {
        let what = format!("{name} is not as long as that");
        let hint = format!(
            "it is {:.1} mm long; rails and uprights are measured from the left or lower outside edge",
            high - low
        );
        reader.error(span, what, hint);
        return None;
    }
    Some(at)
}
