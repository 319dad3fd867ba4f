//! A job and its cut list for programs: metric, with the unit in each name.

use super::cut_list::{CutList, Pieces, PlatePieces, Stock};
use super::model::{EndCut, Job, Member, PlateKind, Weld, WeldKind};
use crate::file_error::FileErrors;
use serde::Serialize;

/// A job that was read without errors.
#[derive(Serialize)]
struct JobJson<'a> {
    name: &'a str,
    errors: [(); 0],
    material: &'a str,
    mass_kg: f64,
    weld_length_mm: f64,
    joints: usize,
    members: Vec<MemberJson<'a>>,
    welds: Vec<WeldJson<'a>>,
    cut_list: Vec<PiecesJson<'a>>,
    stock: Vec<StockJson<'a>>,
    plates: Vec<PlateJson<'a>>,
}

#[derive(Serialize)]
struct PlateJson<'a> {
    kind: &'static str,
    thickness_mm: f64,
    sizes_mm: [f64; 2],
    clip_mm: f64,
    members: Vec<&'a str>,
}

#[derive(Serialize)]
struct MemberJson<'a> {
    name: &'a str,
    section: &'a str,
    cut_length_mm: f64,
    mitre_degrees: [f64; 2],
    mass_kg: f64,
    from_mm: [f64; 3],
    to_mm: [f64; 3],
}

#[derive(Serialize)]
struct WeldJson<'a> {
    number: u16,
    name: &'a str,
    joint: &'a str,
    members: [&'a str; 2],
    kind: &'static str,
    size_mm: f64,
    length_mm: f64,
    procedure: &'a str,
    planned_arc_time_s: f64,
    after: &'a [u16],
}

#[derive(Serialize)]
struct PiecesJson<'a> {
    section: &'a str,
    length_mm: f64,
    mitre_degrees: [f64; 2],
    members: Vec<&'a str>,
}

#[derive(Serialize)]
struct StockJson<'a> {
    section: &'a str,
    stock_length_mm: f64,
    bars: usize,
    total_mm: f64,
    left_over_mm: f64,
    too_long: usize,
}

/// A job and its cut list as JSON.
#[must_use]
pub fn job_json<'a>(job: &'a Job, list: &'a CutList) -> impl Serialize + use<'a> {
    JobJson {
        name: &job.name,
        errors: [],
        material: &job.material.name,
        mass_kg: job.mass().0,
        weld_length_mm: job.weld_length().0,
        joints: job.joints.len(),
        members: job.members.iter().map(|one| member(job, one)).collect(),
        welds: job.welds.iter().map(|one| weld(job, one)).collect(),
        cut_list: list.pieces.iter().map(|one| pieces(job, one)).collect(),
        stock: list.stock.iter().map(|one| stock(list, one)).collect(),
        plates: list.plates.iter().map(|one| plates(job, one)).collect(),
    }
}

/// The errors of a job as JSON, each with its place and advice.
#[must_use]
pub fn errors_json(errors: &FileErrors) -> serde_json::Value {
    let all = errors.iter().map(|error| {
        let (line, column) = error.line_and_column();
        serde_json::json!({ "line": line, "column": column, "what": error.what(), "hint": error.advice() })
    });
    serde_json::json!({ "errors": all.collect::<Vec<_>>() })
}

fn degrees(ends: [EndCut; 2]) -> [f64; 2] {
    ends.map(|end| match end {
        EndCut::Square => 0.0,
        EndCut::Mitre { degrees } => degrees,
    })
}

fn member<'a>(job: &Job, member: &'a Member) -> MemberJson<'a> {
    MemberJson {
        name: &member.name,
        section: member.section.designation(),
        cut_length_mm: member.cut_length.0,
        mitre_degrees: degrees(member.ends),
        mass_kg: member.mass(&job.material).0,
        from_mm: member.from.into(),
        to_mm: member.to.into(),
    }
}

fn weld<'a>(job: &'a Job, weld: &'a Weld) -> WeldJson<'a> {
    let (kind, size) = match weld.kind {
        WeldKind::Fillet { leg } => ("fillet", leg),
        WeldKind::Butt { throat } => ("butt", throat),
    };
    let procedure = &job.procedures[weld.procedure];
    WeldJson {
        number: weld.number,
        name: &weld.name,
        joint: &job.joints[weld.joint].name,
        members: weld.members.map(|index| job.members[index].name.as_str()),
        kind,
        size_mm: size.0,
        length_mm: weld.length().0,
        procedure: &procedure.name,
        planned_arc_time_s: weld.planned_arc_time(procedure).0,
        after: &weld.after,
    }
}

fn pieces<'a>(job: &'a Job, pieces: &'a Pieces) -> PiecesJson<'a> {
    let members = pieces.members.iter();
    PiecesJson {
        section: pieces.section.designation(),
        length_mm: pieces.length.0,
        mitre_degrees: degrees(pieces.ends),
        members: members
            .map(|&index| job.members[index].name.as_str())
            .collect(),
    }
}

fn plates<'a>(job: &'a Job, pieces: &'a PlatePieces) -> PlateJson<'a> {
    let members = pieces.members.iter();
    PlateJson {
        kind: match pieces.plate.kind {
            PlateKind::Gusset => "gusset",
            PlateKind::Foot => "foot",
        },
        thickness_mm: pieces.plate.thickness.0,
        sizes_mm: pieces.plate.sizes.map(|size| size.0),
        clip_mm: pieces.plate.clip.0,
        members: members
            .map(|&index| job.members[index].name.as_str())
            .collect(),
    }
}

fn stock<'a>(list: &CutList, stock: &'a Stock) -> StockJson<'a> {
    StockJson {
        section: stock.section.designation(),
        stock_length_mm: list.stock_length.0,
        bars: stock.bars,
        total_mm: stock.total.0,
        left_over_mm: stock.left_over.0,
        too_long: stock.too_long,
    }
}
