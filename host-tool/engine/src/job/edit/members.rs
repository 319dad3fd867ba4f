//! Turning members, and clamps on them.

use super::error::EditError;
use super::tables::{named, table_at};
use super::value::put;
use crate::job::model::{Job, Joint, Point};
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value};

fn job_of(text: &str) -> Result<Job, EditError> {
    crate::job::from_text("job", text)
        .map_err(|_| EditError::Value("mend the errors in the job first".into()))
}

/// Turns a member a quarter turn.
pub(super) fn turn(text: &str, file: &mut DocumentMut, name: &str) -> Result<(), EditError> {
    let members = file.get("member").and_then(Item::as_array_of_tables);
    if members.is_some_and(|members| members.iter().any(|member| named(member) == Some(name))) {
        let job = job_of(text)?;
        let member = job.members.iter().find(|member| member.name == name);
        let member = member.ok_or_else(|| EditError::Unknown(format!("member '{name}'")))?;
        let along = (member.to - member.from).unit().unwrap_or_default();
        let path = ["member".to_owned(), name.to_owned()];
        put(
            table_at(file, &path)?,
            "depth",
            direction(along.cross(member.depth_axis)),
        );
        return Ok(());
    }
    let infill = [
        ("bar ", "bars"),
        ("mid rail", "mid_rails"),
        ("brace", "brace"),
    ];
    let key = infill
        .iter()
        .find(|(start, _)| name.starts_with(start))
        .map(|(_, key)| *key);
    let path: Vec<String> = ["frame"]
        .into_iter()
        .chain(key)
        .map(str::to_owned)
        .collect();
    let of_frame = file
        .get("frame")
        .and_then(|frame| frame.get("section")?.as_value().cloned());
    let table = table_at(file, &path)?;
    // Mid rails that take the section of the frame need one of their own to lie differently.
    if let (false, Some(section)) = (table.contains_key("section"), of_frame) {
        put(table, "section", section);
    }
    let now = table.get("front_face").and_then(Item::as_str);
    let other = if now == Some("width") {
        "depth"
    } else {
        "width"
    };
    put(table, "front_face", other.into());
    Ok(())
}

/// "z" for a direction along an axis, otherwise its coordinates.
fn direction(depth: Point) -> Value {
    let axes = [("x", depth.x), ("y", depth.y), ("z", depth.z)];
    if let Some((word, _)) = axes.iter().find(|(_, part)| *part > 0.999_999) {
        return (*word).into();
    }
    // Adding zero turns a negative zero into an ordinary one.
    let rounded = axes.map(|(_, part)| (part * 1e6).round() / 1e6 + 0.0);
    rounded.into_iter().collect::<Array>().into()
}

/// Adds a clamp at a place.
pub(super) fn clamp(file: &mut DocumentMut, at: String) {
    let mut table = Table::new();
    table.insert("at", Item::Value(at.into()));
    match file.get_mut("clamp") {
        Some(Item::ArrayOfTables(clamps)) => clamps.push(table),
        _ => {
            let mut clamps = ArrayOfTables::new();
            clamps.push(table);
            file.insert("clamp", Item::ArrayOfTables(clamps));
        }
    }
}

/// A clamp at each corner of the frame, in place of those that are there.
pub(super) fn clamp_corners(text: &str, file: &mut DocumentMut) -> Result<(), EditError> {
    let job = job_of(text)?;
    let is_corner = |joint: &&Joint| joint.name.ends_with(" corner") && joint.members.len() == 2;
    let corners: Vec<&Joint> = job.joints.iter().filter(is_corner).collect();
    if corners.len() != 4 {
        return Err(EditError::Unknown("frame with four corners".into()));
    }
    file.remove("clamp");
    let clamps = corners.into_iter().map(|corner| {
        let mut table = Table::new();
        table.insert("at", Item::Value(corner.name.as_str().into()));
        // On the rail: of a joint's members that which runs from left to right.
        let runs = |index: usize| {
            let member = &job.members[index];
            (member.to - member.from).x.abs()
        };
        let members = corner.members.iter().map(|(member, _)| *member);
        let rail = members.max_by(|&a, &b| runs(a).total_cmp(&runs(b)));
        let rail = rail.map_or("", |member| job.members[member].name.as_str());
        table.insert("member", Item::Value(rail.into()));
        table
    });
    file.insert("clamp", Item::ArrayOfTables(clamps.collect()));
    Ok(())
}
