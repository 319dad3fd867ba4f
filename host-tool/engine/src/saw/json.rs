//! The list as JSON, in mm and degrees.

use super::cuts::Sides;
use super::{Kind, SawList};
use crate::job::model::Job;
use serde_json::{Value, json};

/// The list as JSON.
#[must_use]
pub fn saw_json(job: &Job, list: &SawList) -> Value {
    let kinds: Vec<Value> = list.kinds.iter().map(|kind| one(job, list, kind)).collect();
    let bars: Vec<Value> = list
        .bars
        .iter()
        .map(|bar| {
            let pieces: Vec<&str> = bar
                .cuts
                .iter()
                .map(|cut| list.kinds[cut.kind].mark.as_str())
                .collect();
            json!({
                "section": bar.section.designation(),
                "length_mm": bar.length_mm,
                "is_offcut": bar.is_offcut,
                "pieces": pieces,
                "left_mm": bar.left_mm,
            })
        })
        .collect();
    let too_long: Vec<&str> = list
        .too_long
        .iter()
        .map(|&kind| list.kinds[kind].mark.as_str())
        .collect();
    json!({ "kerf_mm": list.kerf_mm, "pieces": kinds, "bars": bars, "too_long": too_long })
}

fn one(job: &Job, list: &SawList, kind: &Kind) -> Value {
    let members: Vec<&str> = kind
        .members
        .iter()
        .map(|&member| job.members[member].name.as_str())
        .collect();
    let ends = kind.ends.map(
        |end| json!({ "mitre_degrees": end.mitre_degrees, "bevel_degrees": end.bevel_degrees }),
    );
    let rounded = list.rounded(kind.long_mm);
    json!({
        "mark": kind.mark,
        "section": kind.section.designation(),
        "long_mm": kind.long_mm,
        "short_mm": kind.short_mm,
        "rounded_mm": rounded.mm,
        "rounding_added_mm": rounded.added_mm,
        "ends": ends,
        "long_points": match kind.sides {
            Sides::NoMatter => "no matter",
            Sides::OneSide => "one side",
            Sides::OppositeSides => "opposite sides",
            Sides::QuarterTurn => "quarter turn",
        },
        "lies_on_mm": kind.lies_on_mm,
        "members": members,
    })
}
