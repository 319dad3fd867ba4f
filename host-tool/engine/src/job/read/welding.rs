//! Reads how welds are made: sides, leg, procedure; and the section of a member.

use crate::procedure::model::Procedure;
use crate::reading::{QuantityKind, Reader, Span, Table, suggest};
use crate::section::Section;
use serde_spanned::Spanned;

/// How the welds that one table describes are made.
#[derive(Clone, Debug)]
pub(crate) struct Welding {
    pub sides: Sides,
    /// Leg of fillet welds, mm; by default that of the thinner wall.
    pub leg: Option<f64>,
    pub procedure: usize,
    /// The place of the table.
    pub span: Span,
}

/// Which sides of a joint are welded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Sides {
    All,
    These(Vec<&'static str>),
}

impl Sides {
    /// Words for the sides of an end.
    pub(crate) const WORDS: [&'static str; 6] = ["front", "back", "left", "right", "top", "bottom"];
    /// Words for the sides of a frame's corner that are neither front nor back.
    const OF_CORNERS: [&'static str; 2] = ["inside", "outside"];

    /// Whether no side is to be welded.
    pub(crate) fn is_none(&self) -> bool {
        matches!(self, Self::These(words) if words.is_empty())
    }

    pub(crate) fn has(&self, word: &str) -> bool {
        match self {
            Self::All => true,
            Self::These(words) => words.contains(&word),
        }
    }
}

/// The procedure that a table names, if it names one.
pub(crate) fn procedure_of(table: &mut Table<'_>, procedures: &[Procedure]) -> Option<usize> {
    let name = table.text("procedure")?;
    let found = procedures
        .iter()
        .position(|procedure| procedure.name == *name.get_ref());
    if found.is_none() {
        let known: Vec<_> = procedures
            .iter()
            .map(|procedure| procedure.name.as_str())
            .collect();
        let what = format!("there is no procedure '{}'", name.get_ref());
        table
            .reader()
            .error(&name.span(), what, suggest(name.get_ref(), &known));
    }
    found
}

/// How the welds that a table describes are made; what it leaves out is as in `outer`.
pub(crate) fn welding(
    table: &mut Table<'_>,
    procedures: &[Procedure],
    sides: Sides,
    outer: Option<&Welding>,
) -> Welding {
    let leg = table
        .positive("leg", QuantityKind::Length)
        .map(Spanned::into_inner);
    let own = procedure_of(table, procedures);
    Welding {
        sides: read_sides(table, sides),
        leg: leg.or(outer.and_then(|outer| outer.leg)),
        procedure: own.or(outer.map(|outer| outer.procedure)).unwrap_or(0),
        span: table.span().clone(),
    }
}

/// A section by its designation.
pub(crate) fn section(table: &mut Table<'_>) -> Option<Section> {
    if !table.has("section") {
        table.missing("section", "section = \"SHS 40x40x3\"");
    }
    let text = table.text("section")?;
    named_section(table.reader(), text.get_ref(), &text.span())
}

/// The section that a text names; none is an error.
pub(crate) fn named_section(reader: &Reader<'_>, text: &str, span: &Span) -> Option<Section> {
    let designation = text.trim();
    match reader.section(designation) {
        Ok(section) => Some(section),
        Err(error) => {
            let what = format!("'{designation}' is not a section");
            reader.error(span, what, error.to_string());
            None
        }
    }
}

/// The sides of one joint to weld, in place of those that its bar, rail or frame says.
pub(crate) struct JointSides {
    /// Name of the joint.
    pub name: Spanned<String>,
    pub sides: Sides,
}

/// Reads the `[joint.NAME]` tables.
pub(crate) fn joint_sides(joints: Option<Table<'_>>) -> Vec<JointSides> {
    let Some(joints) = joints else {
        return Vec::new();
    };
    let reader = joints.reader();
    let mut all = Vec::new();
    for (name, value) in joints.named() {
        let Some(inner) = value.get_ref().as_table() else {
            let hint = format!(
                "write a line [joint.\"{}\"] and below it welded = [\"front\"]",
                name.get_ref()
            );
            reader.error(&value.span(), "a joint must be a table", hint);
            continue;
        };
        let title = format!("[joint.{}]", name.get_ref());
        let mut inner = Table::new(reader, inner, value.span(), title);
        if !inner.has("welded") {
            inner.missing("welded", "welded = [\"front\"]");
        }
        let sides = read_sides(&mut inner, Sides::All);
        inner.finish();
        all.push(JointSides { name, sides });
    }
    all
}

/// The sides to weld: words, or "all".
fn read_sides(table: &mut Table<'_>, otherwise: Sides) -> Sides {
    let reader = table.reader();
    if !table.has("welded") {
        table.value("welded");
        return otherwise;
    }
    let mut chosen = Vec::new();
    for value in table.list("welded") {
        let word = value.get_ref().as_str().unwrap_or_default();
        if word == "all" {
            return Sides::All;
        }
        let mut words = Sides::WORDS.iter().chain(&Sides::OF_CORNERS);
        match words.find(|known| **known == word) {
            Some(known) => chosen.push(*known),
            None => {
                let mut known = vec!["all"];
                known.extend(Sides::WORDS);
                reader.error(
                    &value.span(),
                    "this is not a side of a member",
                    suggest(word, &known),
                );
            }
        }
    }
    Sides::These(chosen)
}
