//! Which sides of a joint are welded.

use super::error::EditError;
use super::tables::table_at;
use super::value::put;
use crate::job::model::{Job, Joint};
use toml_edit::{Array, DocumentMut, Item};

/// The joints that take their welded sides from the same line of the file as this one, by index.
#[must_use]
pub fn alike(job: &Job, joint: usize) -> Vec<usize> {
    let Some(this) = job.joints.get(joint) else {
        return Vec::new();
    };
    let kind = kind(job, this);
    let all = job.joints.iter().enumerate();
    all.filter(|(_, other)| self::kind(job, other) == kind)
        .map(|(index, _)| index)
        .collect()
}

/// Those joints in words: "all ends of bars".
#[must_use]
pub fn alike_words(job: &Job, joint: usize) -> String {
    match job.joints.get(joint).map(|joint| kind(job, joint)) {
        Some(Kind::Corners) => "all corners".into(),
        Some(Kind::Infill("bars")) => "all ends of bars".into(),
        Some(Kind::Infill("mid_rails")) => "all ends of mid rails".into(),
        Some(Kind::Infill(_)) => "all ends of braces".into(),
        Some(Kind::Member(name)) => format!("both ends of {name}"),
        None => String::new(),
    }
}

/// The line of the file that says which sides of a joint are welded.
#[derive(PartialEq, Eq)]
enum Kind {
    /// That of `[frame]`.
    Corners,
    /// That of a table in `[frame]`.
    Infill(&'static str),
    /// That of a `[[member]]`, by its name.
    Member(String),
}

fn kind(job: &Job, joint: &Joint) -> Kind {
    // A joint is named after the member that ends there.
    let member = joint
        .members
        .iter()
        .filter_map(|(member, _)| job.members.get(*member));
    let named = member.filter(|member| joint.name.starts_with(&member.name));
    let Some(name) = named
        .max_by_key(|member| member.name.len())
        .map(|member| &member.name)
    else {
        return Kind::Corners;
    };
    // "bar 3 top", "mid rail left end"; the ends of a member that has a table of its own are called start and end.
    let at_infill = [" top", " bottom", " left end", " right end"];
    let of_frame = at_infill.iter().any(|end| joint.name.ends_with(end));
    let infill = [
        ("bar ", "bars"),
        ("mid rail", "mid_rails"),
        ("brace", "brace"),
    ];
    for (start, key) in infill {
        if of_frame && name.starts_with(start) {
            return Kind::Infill(key);
        }
    }
    Kind::Member(name.clone())
}

pub(super) fn weld_sides(
    text: &str,
    file: &mut DocumentMut,
    name: &str,
    sides: &[String],
    for_all: bool,
) -> Result<(), EditError> {
    let unknown = || EditError::Unknown(format!("joint '{name}'"));
    let job = crate::job::from_text("job", text)
        .map_err(|_| EditError::Value("mend the errors in the job first".into()))?;
    let index = job
        .joints
        .iter()
        .position(|joint| joint.name == name)
        .ok_or_else(unknown)?;
    let joint = &job.joints[index];
    let offered = || joint.sides.iter().map(|side| side.name);
    if let Some(wrong) = sides
        .iter()
        .find(|side| offered().all(|offered| offered != side.as_str()))
    {
        return Err(EditError::Unknown(format!("side '{wrong}' of {name}")));
    }
    // In the order in which the welds are numbered.
    let chosen: Array = offered()
        .filter(|side| sides.iter().any(|one| one == side))
        .collect();
    if !for_all {
        let own = ["joint".to_owned(), name.to_owned()];
        put(table_at(file, &own)?, "welded", chosen.into());
        // No empty line [joint] above [joint."bar 1 top"].
        if let Some(Item::Table(joints)) = file.get_mut("joint") {
            joints.set_implicit(true);
        }
        return Ok(());
    }
    let path = match kind(&job, joint) {
        Kind::Corners => vec!["frame".to_owned()],
        Kind::Infill(key) => vec!["frame".into(), key.into()],
        Kind::Member(name) => vec!["member".into(), name],
    };
    put(table_at(file, &path)?, "welded", chosen.into());
    if let Some(own) = file.get_mut("joint").and_then(Item::as_table_like_mut) {
        for other in alike(&job, index) {
            own.remove(&job.joints[other].name);
        }
        if own.is_empty() {
            file.remove("joint");
        }
    }
    Ok(())
}
