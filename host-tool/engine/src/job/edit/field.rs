//! A form: groups of fields.

use serde::Serialize;

/// How the value of a field is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldKind {
    /// A length: a number in the units of the job, or one with its unit.
    Length,
    /// Lengths with commas between.
    Lengths,
    /// Any other quantity.
    Quantity,
    /// The least and the greatest, with a comma between.
    Range,
    /// A whole number.
    Count,
    /// The designation of a section.
    Section,
    /// One of the choices.
    Choice,
    /// Any of the choices.
    Sides,
    /// Any of the choices.
    Words,
    /// Coordinates, or a place on a member.
    Place,
    /// Text.
    Text,
}

/// A field.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Field {
    /// Where it is in the file; in a list of tables the name follows the key of the list.
    pub path: Vec<String>,
    /// What it is.
    pub label: &'static str,
    /// How it is written.
    pub kind: FieldKind,
    /// The value in the file; `None` where there is none.
    pub value: Option<String>,
    /// What holds when there is none.
    pub usual: &'static str,
    /// What may be chosen.
    pub choices: &'static [&'static str],
}

/// A group of fields: a table of the file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Group {
    /// Its key: "frame.bars".
    pub key: String,
    /// Its title.
    pub title: String,
    /// Whether the file has it.
    pub present: bool,
    /// Whether it can be taken out or added.
    pub optional: bool,
    /// Its fields; none while it is not there.
    pub fields: Vec<Field>,
}
