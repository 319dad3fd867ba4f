//! What can be changed in a job file, as groups of fields: a form that shows the text.

use super::error::EditError;
use super::field::{Field, FieldKind, Group};
use super::tables::{named, table_at};
use super::value::{put, shown};
use crate::job::read::welding::Sides;
use toml_edit::{Array, DocumentMut, Item, TableLike, Value};

/// Key, label, kind, what holds without it, choices.
type Row = (
    &'static str,
    &'static str,
    FieldKind,
    &'static str,
    &'static [&'static str],
);

const FACES: &[&str] = &["depth", "width"];
const JOB: &[Row] = &[
    ("name", "Name", FieldKind::Text, "", &[]),
    ("units", "Units", FieldKind::Choice, "mm", &["mm", "inch"]),
    (
        "material",
        "Material",
        FieldKind::Choice,
        "steel",
        &["steel", "304", "6061"],
    ),
    (
        "goal",
        "What matters most",
        FieldKind::Words,
        "all alike",
        &["flat", "square", "size", "parallel"],
    ),
];
const FRAME: &[Row] = &[
    ("width", "Width, outside", FieldKind::Length, "", &[]),
    ("height", "Height, outside", FieldKind::Length, "", &[]),
    ("section", "Section", FieldKind::Section, "", &[]),
    (
        "front_face",
        "Side that faces the front",
        FieldKind::Choice,
        "depth",
        FACES,
    ),
    (
        "corners",
        "Corners",
        FieldKind::Choice,
        "mitred",
        &["mitred", "rails through", "uprights through", "open"],
    ),
    (
        "leg",
        "Leg of fillet welds",
        FieldKind::Length,
        "thinner wall",
        &[],
    ),
];
const BARS: &[Row] = &[
    ("count", "Number of bars", FieldKind::Count, "", &[]),
    ("largest_gap", "or largest gap", FieldKind::Length, "", &[]),
    ("section", "Section", FieldKind::Section, "", &[]),
    (
        "front_face",
        "Side that faces the front",
        FieldKind::Choice,
        "depth",
        FACES,
    ),
    (
        "direction",
        "Direction",
        FieldKind::Choice,
        "vertical",
        &["vertical", "horizontal"],
    ),
    (
        "welded",
        "Sides welded",
        FieldKind::Sides,
        "front, back",
        &Sides::WORDS,
    ),
];
const MID_RAILS: &[Row] = &[
    (
        "heights",
        "Heights of their centre lines",
        FieldKind::Lengths,
        "",
        &[],
    ),
    (
        "section",
        "Section",
        FieldKind::Section,
        "that of the frame",
        &[],
    ),
    (
        "welded",
        "Sides welded",
        FieldKind::Sides,
        "all",
        &Sides::WORDS,
    ),
];
const BRACE: &[Row] = &[
    ("section", "Section", FieldKind::Section, "", &[]),
    (
        "direction",
        "Direction",
        FieldKind::Choice,
        "rising",
        &["rising", "falling"],
    ),
    (
        "welded",
        "Sides welded",
        FieldKind::Sides,
        "front, back",
        &Sides::WORDS,
    ),
];
const OPENING: &[Row] = &[
    ("width", "Width of the opening", FieldKind::Length, "", &[]),
    (
        "height",
        "Height of the opening",
        FieldKind::Length,
        "any",
        &[],
    ),
    (
        "clearance",
        "Clearance on each side",
        FieldKind::Length,
        "0",
        &[],
    ),
];
const MEMBER: &[Row] = &[
    ("section", "Section", FieldKind::Section, "", &[]),
    ("from", "From", FieldKind::Place, "", &[]),
    ("to", "To", FieldKind::Place, "", &[]),
    (
        "depth",
        "Direction of its depth",
        FieldKind::Place,
        "z, or y for an upright",
        &[],
    ),
    (
        "welded",
        "Sides welded",
        FieldKind::Sides,
        "all",
        &Sides::WORDS,
    ),
];
const PROCEDURE: &[Row] = &[
    ("process", "Process", FieldKind::Text, "", &[]),
    (
        "volts",
        "Volts, least and greatest",
        FieldKind::Range,
        "",
        &[],
    ),
    (
        "amps",
        "Amps, least and greatest",
        FieldKind::Range,
        "",
        &[],
    ),
    (
        "travel_speed",
        "Travel speed, least and greatest",
        FieldKind::Range,
        "",
        &[],
    ),
    (
        "heat_input",
        "Heat input, least and greatest",
        FieldKind::Range,
        "",
        &[],
    ),
    (
        "planned_heat_input",
        "Heat input you expect",
        FieldKind::Quantity,
        "middle of the range",
        &[],
    ),
    (
        "interpass",
        "Highest temperature before the next run",
        FieldKind::Quantity,
        "",
        &[],
    ),
];

/// The form of a job file, with the values in it.
///
/// # Errors
/// [`EditError::NotToml`].
pub fn form(text: &str) -> Result<Vec<Group>, EditError> {
    let mut file: DocumentMut = text.parse().map_err(|_| EditError::NotToml)?;
    let mut groups = vec![group(&mut file, &[], "Job", false, JOB)];
    let has_frame = file.contains_key("frame");
    if has_frame {
        groups.push(group(&mut file, &["frame"], "Frame", false, FRAME));
        for (key, title, rows) in [
            ("mid_rails", "Mid rails", MID_RAILS),
            ("bars", "Bars", BARS),
            ("brace", "Brace", BRACE),
        ] {
            groups.push(group(&mut file, &["frame", key], title, true, rows));
        }
    }
    for name in member_names(&file) {
        let title = name.clone();
        groups.push(group(&mut file, &["member", &name], &title, false, MEMBER));
    }
    if has_frame {
        groups.push(group(
            &mut file,
            &["opening"],
            "Opening it must fit",
            true,
            OPENING,
        ));
    }
    for path in procedures(&file) {
        let path: Vec<&str> = path.iter().map(String::as_str).collect();
        let title = match path.get(1) {
            Some(name) => format!("Procedure {name}"),
            None => "Procedure".into(),
        };
        groups.push(group(&mut file, &path, &title, false, PROCEDURE));
    }
    Ok(groups)
}

fn group(
    file: &mut DocumentMut,
    path: &[&str],
    title: &str,
    optional: bool,
    rows: &[Row],
) -> Group {
    let path: Vec<String> = path.iter().map(|part| (*part).to_owned()).collect();
    let present = is_there(file, &path);
    let mut fields = Vec::new();
    if present && let Ok(table) = table_at(file, &path) {
        fields.extend(
            rows.iter()
                .map(|&(key, label, kind, usual, choices)| Field {
                    path: path.iter().cloned().chain([key.to_owned()]).collect(),
                    label,
                    kind,
                    value: table.get(key).and_then(shown),
                    usual,
                    choices,
                }),
        );
    }
    Group {
        key: path.join("."),
        title: title.to_owned(),
        present,
        optional,
        fields,
    }
}

fn is_there(file: &DocumentMut, path: &[String]) -> bool {
    let mut item = file.as_item();
    for part in path {
        if item.is_array_of_tables() {
            return true;
        }
        match item.get(part.as_str()) {
            Some(inner) => item = inner,
            None => return false,
        }
    }
    true
}

fn member_names(file: &DocumentMut) -> Vec<String> {
    let members = file.get("member").and_then(Item::as_array_of_tables);
    let names = members.into_iter().flatten().filter_map(named);
    names.map(str::to_owned).collect()
}

/// Paths of the procedures that are written in the file itself.
fn procedures(file: &DocumentMut) -> Vec<Vec<String>> {
    match file.get("procedure") {
        Some(Item::ArrayOfTables(all)) => {
            let names = all.iter().filter_map(named);
            names
                .map(|name| vec!["procedure".into(), name.to_owned()])
                .collect()
        }
        Some(item) if item.is_table_like() => vec![vec!["procedure".into()]],
        _ => Vec::new(),
    }
}

/// Adds a group with usual values, to be changed by the user.
///
/// # Errors
/// [`EditError::Unknown`].
pub(super) fn add(file: &mut DocumentMut, group: &str) -> Result<(), EditError> {
    let inches = file.get("units").and_then(Item::as_str) == Some("inch");
    let frame = |key: &str| file.get("frame")?.get(key)?.as_value().cloned();
    let number = |value: Option<Value>| {
        let value = value?;
        value
            .as_float()
            .or(value.as_integer().map(|whole| whole as f64))
    };
    let [width, height] = ["width", "height"].map(|key| number(frame(key)));
    let bar: Value = if inches {
        "SHS 3/4x3/4x14ga tube"
    } else {
        "SHS 20x20x2"
    }
    .into();
    let whole = |size: f64| Value::from(if inches { size } else { size.round() });
    let values: Vec<(&str, Value)> = match group {
        "frame.bars" => vec![("count", 5.into()), ("section", bar)],
        "frame.mid_rails" => {
            let middle = height.map_or(Value::from("500 mm"), |height| whole(height / 2.0));
            vec![
                ("heights", Array::from_iter([middle]).into()),
                ("section", bar),
            ]
        }
        "frame.brace" => vec![("section", bar)],
        "opening" => {
            let (more, clearance) = if inches { (0.75, 0.25) } else { (16.0, 6.0) };
            let opening = width.map_or(Value::from("1200 mm"), |width| whole(width + more));
            vec![("width", opening), ("clearance", whole(clearance))]
        }
        _ => return Err(EditError::Unknown(format!("[{group}]"))),
    };
    let path: Vec<String> = group.split('.').map(str::to_owned).collect();
    let table: &mut dyn TableLike = table_at(file, &path)?;
    for (key, value) in values {
        put(table, key, value);
    }
    Ok(())
}
