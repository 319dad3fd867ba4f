//! `coldsquare check JOB`: members, cut list, joints and welds of a job, or every error in it.

use super::Io;
use super::table::Table;
use crate::disk::Disk;
use coldsquare_core::units::{Kilograms, Millimetres};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::file_error::FileErrors;
use coldsquare_engine::job::cut_list::{CutList, KERF};
use coldsquare_engine::job::model::{EndCut, Job, WeldKind};
use coldsquare_engine::job::{self};
use coldsquare_engine::units::Units;
use serde_json::{Value, json};
use std::io::Write;
use std::path::PathBuf;

/// Arguments of `check`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Print JSON in metric units, errors included
    #[arg(long)]
    pub json: bool,
}

/// Checks the job and prints what it comes to.
///
/// # Errors
/// [`Failure::Input`] with every error in the file, [`Failure::File`] when it cannot be read.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let source = coldsquare_engine::files::text(&Disk, &arguments.job)?;
    let mut job = match job::from_source(&Disk, &source) {
        Ok(job) => job,
        Err(errors) => {
            if arguments.json {
                io.print_json(&errors_json(&errors))?;
            }
            return Err(Failure::Input(errors.to_string()));
        }
    };
    coldsquare_engine::shop::file::attach(&Disk, &mut job, &arguments.job)?;
    let list = CutList::new(&job);
    if arguments.json {
        return io.print_json(&job_json(&job, &list));
    }
    let words = Words { units: job.units };
    print_summary(&job, &words, io)?;
    print_members(&job, &words, io.out)?;
    print_cut_list(&job, &list, &words, io.out)?;
    print_joints(&job, io.out)?;
    print_welds(&job, &words, io.out)?;
    Ok(())
}

/// Numbers as the maker reads them.
struct Words {
    units: Units,
}

impl Words {
    fn length(&self, length: Millimetres) -> String {
        match self.units {
            Units::Metric => format!("{:.1} mm", length.0),
            Units::UsCustomary => format!("{:.3} in", length.inches()),
        }
    }

    fn long(&self, length: Millimetres) -> String {
        match self.units {
            Units::Metric => format!("{:.2} m", length.0 / 1000.0),
            Units::UsCustomary => format!("{:.2} ft", length.inches() / 12.0),
        }
    }

    fn mass(&self, mass: Kilograms) -> String {
        // The avoirdupois pound is 0.453 592 37 kg by definition.
        match self.units {
            Units::Metric => format!("{:.2} kg", mass.0),
            Units::UsCustomary => format!("{:.2} lb", mass.0 / 0.453_592_37),
        }
    }
}

fn cut(end: EndCut) -> String {
    match end {
        EndCut::Square => "square".to_string(),
        EndCut::Mitre { degrees } => format!("{degrees:.1}°"),
    }
}

fn ends([start, end]: [EndCut; 2]) -> String {
    format!("{} / {}", cut(start), cut(end))
}

fn mass(job: &Job) -> Kilograms {
    Kilograms(
        job.members
            .iter()
            .map(|member| member.mass(&job.material).0)
            .sum(),
    )
}

fn weld_length(job: &Job) -> Millimetres {
    Millimetres(job.welds.iter().map(|weld| weld.length().0).sum())
}

fn print_summary(job: &Job, words: &Words, io: &mut Io<'_>) -> std::io::Result<()> {
    writeln!(
        io.out,
        "{}: {} members, {} joints, {} welds of {} in all, {} of {}",
        printable(&job.name),
        job.members.len(),
        job.joints.len(),
        job.welds.len(),
        words.long(weld_length(job)),
        words.mass(mass(job)),
        printable(&job.material.name),
    )?;
    if let Some(shop) = &job.shop {
        writeln!(io.out, "{}", printable(&shop.describe(job)))?;
    }
    Ok(())
}

/// A name that cannot steer the terminal.
fn printable(text: &str) -> String {
    text.replace(char::is_control, "\u{fffd}")
}

fn print_members(job: &Job, words: &Words, out: &mut dyn Write) -> std::io::Result<()> {
    writeln!(out, "\nMembers")?;
    let mut table = Table::new("<<>><");
    table.row(["name", "section", "cut length", "mass", "ends"]);
    for member in &job.members {
        table.row([
            printable(&member.name),
            member.section.to_string(),
            words.length(member.cut_length),
            words.mass(member.mass(&job.material)),
            ends(member.ends),
        ]);
    }
    table.print(out)
}

fn print_cut_list(
    job: &Job,
    list: &CutList,
    words: &Words,
    out: &mut dyn Write,
) -> std::io::Result<()> {
    writeln!(
        out,
        "\nCut list (long point to long point, before any allowance for shrinkage)"
    )?;
    let mut table = Table::new("><><<");
    table.row(["pieces", "section", "length", "ends", "members"]);
    for pieces in &list.pieces {
        let names: Vec<_> = pieces
            .members
            .iter()
            .map(|index| printable(&job.members[*index].name))
            .collect();
        table.row([
            names.len().to_string(),
            pieces.section.to_string(),
            words.length(pieces.length),
            ends(pieces.ends),
            in_short(&names),
        ]);
    }
    table.print(out)?;
    writeln!(
        out,
        "\nStock bars of {}, saw cut {}",
        words.long(list.stock_length),
        words.length(KERF)
    )?;
    let mut table = Table::new("><>>");
    table.row(["bars", "section", "pieces", "left over"]);
    for stock in &list.stock {
        table.row([
            stock.bars.to_string(),
            stock.section.to_string(),
            words.long(stock.total),
            words.long(stock.left_over),
        ]);
    }
    table.print(out)?;
    for stock in list.stock.iter().filter(|stock| stock.too_long > 0) {
        writeln!(
            out,
            "note: {} pieces of {} are longer than a stock bar",
            stock.too_long, stock.section
        )?;
    }
    Ok(())
}

/// The first and the last of many names.
fn in_short(names: &[String]) -> String {
    match names {
        [first, .., last] if names.len() > 4 => format!("{first} … {last}"),
        few => few.join(", "),
    }
}

fn print_joints(job: &Job, out: &mut dyn Write) -> std::io::Result<()> {
    writeln!(out, "\nJoints")?;
    let mut welds: Vec<Vec<u16>> = vec![Vec::new(); job.joints.len()];
    for weld in &job.welds {
        welds[weld.joint].push(weld.number);
    }
    let mut table = Table::new("<<><");
    table.row(["name", "members", "tacks", "welds"]);
    for (joint, numbers) in job.joints.iter().zip(welds) {
        let members: Vec<_> = joint
            .members
            .iter()
            .map(|(index, _)| printable(&job.members[*index].name))
            .collect();
        let numbers: Vec<_> = numbers.iter().map(u16::to_string).collect();
        table.row([
            printable(&joint.name),
            members.join(" + "),
            joint.tacks.len().to_string(),
            numbers.join(", "),
        ]);
    }
    table.print(out)
}

fn print_welds(job: &Job, words: &Words, out: &mut dyn Write) -> std::io::Result<()> {
    writeln!(out, "\nWelds")?;
    let mut table = Table::new("><<>>><");
    table.row([
        "no.", "where", "shape", "size", "length", "arc time", "after",
    ]);
    for weld in &job.welds {
        let (shape, size) = match weld.kind {
            WeldKind::Fillet { leg } => ("fillet, leg", leg),
            WeldKind::Butt { throat } => ("butt, throat", throat),
        };
        let after: Vec<_> = weld.after.iter().map(u16::to_string).collect();
        table.row([
            weld.number.to_string(),
            printable(&weld.name),
            shape.to_string(),
            words.length(size),
            words.length(weld.length()),
            format!(
                "{:.1} s",
                weld.planned_arc_time(&job.procedures[weld.procedure]).0
            ),
            after.join(", "),
        ]);
    }
    table.print(out)
}

fn errors_json(errors: &FileErrors) -> Value {
    let all = errors.iter().map(|error| {
        let (line, column) = error.line_and_column();
        json!({ "line": line, "column": column, "what": error.what(), "hint": error.advice() })
    });
    json!({ "errors": all.collect::<Vec<_>>() })
}

fn job_json(job: &Job, list: &CutList) -> Value {
    let name = |index: &usize| job.members[*index].name.as_str();
    let angles = |ends: [EndCut; 2]| {
        ends.map(|end| match end {
            EndCut::Square => 0.0,
            EndCut::Mitre { degrees } => degrees,
        })
    };
    let members = job.members.iter().map(|member| {
        json!({
            "name": member.name,
            "section": member.section.designation(),
            "cut_length_mm": member.cut_length.0,
            "mitre_degrees": angles(member.ends),
            "mass_kg": member.mass(&job.material).0,
            "from_mm": [member.from.x, member.from.y, member.from.z],
            "to_mm": [member.to.x, member.to.y, member.to.z],
        })
    });
    let welds = job.welds.iter().map(|weld| {
        let (kind, size) = match weld.kind {
            WeldKind::Fillet { leg } => ("fillet", leg),
            WeldKind::Butt { throat } => ("butt", throat),
        };
        json!({
            "number": weld.number,
            "name": weld.name,
            "joint": job.joints[weld.joint].name,
            "members": weld.members.each_ref().map(name),
            "kind": kind,
            "size_mm": size.0,
            "length_mm": weld.length().0,
            "procedure": job.procedures[weld.procedure].name,
            "planned_arc_time_s": weld.planned_arc_time(&job.procedures[weld.procedure]).0,
            "after": weld.after,
        })
    });
    let pieces = list.pieces.iter().map(|pieces| {
        json!({
            "section": pieces.section.designation(),
            "length_mm": pieces.length.0,
            "mitre_degrees": angles(pieces.ends),
            "members": pieces.members.iter().map(name).collect::<Vec<_>>(),
        })
    });
    let stock = list.stock.iter().map(|stock| {
        json!({
            "section": stock.section.designation(),
            "stock_length_mm": list.stock_length.0,
            "bars": stock.bars,
            "total_mm": stock.total.0,
            "left_over_mm": stock.left_over.0,
            "too_long": stock.too_long,
        })
    });
    json!({
        "name": job.name,
        "errors": [],
        "material": job.material.name,
        "mass_kg": mass(job).0,
        "weld_length_mm": weld_length(job).0,
        "joints": job.joints.len(),
        "members": members.collect::<Vec<_>>(),
        "welds": welds.collect::<Vec<_>>(),
        "cut_list": pieces.collect::<Vec<_>>(),
        "stock": stock.collect::<Vec<_>>(),
    })
}
