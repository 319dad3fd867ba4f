//! `coldsquare check JOB`: members, cut list, joints and welds of a job, or every error in it.

use super::Io;
use super::table::Table;
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_core::units::Millimetres;
use coldsquare_engine::drawing;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::file_error::{FileErrors, Source};
use coldsquare_engine::format::{Precision, count, in_short};
use coldsquare_engine::job;
use coldsquare_engine::job::cut_list::{CutList, KERF};
use coldsquare_engine::job::from_centre::from_centre;
use coldsquare_engine::job::json::{errors_json, job_json};
use coldsquare_engine::job::model::{EndCut, Job, WeldKind};
use coldsquare_engine::job::which_way::which_way;
use coldsquare_engine::page;
use coldsquare_engine::sanitise::plain;
use coldsquare_engine::section::GaugeTable;
use coldsquare_engine::units::Units;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Arguments of `check`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Print JSON in metric units, errors included
    #[arg(long)]
    pub json: bool,
    /// Leave the picture out of the text
    #[arg(long)]
    pub no_picture: bool,
    /// Set the width of the picture in characters [default: the terminal's, or 80]
    #[arg(long, value_name = "COLUMNS")]
    pub width: Option<usize>,
    /// Write a page (.html), which shows errors too, or the picture (.svg or .png) to this file
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
}

/// Checks the job and prints what it comes to.
///
/// # Errors
/// [`Failure::Input`] with every error in the file, [`Failure::File`] when it cannot be read.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    if let Some(path) = &arguments.out {
        refuse_input(path, [arguments.job.as_path()])?;
    }
    let source = coldsquare_engine::files::text(&Disk, &arguments.job)?;
    let mut job = match job::from_source(&Disk, &source) {
        Ok(job) => job,
        Err(errors) => {
            if arguments.json {
                io.print_json(&errors_json(&errors))?;
            }
            if !arguments.json && !arguments.no_picture {
                print_sketch(&source, &errors, arguments.width, io)?;
            }
            if let Some(path) = arguments.out.as_ref().filter(|path| ending(path) == "html") {
                let sketch = job::sketch(&Disk, &source);
                let html = page::errors_html(source.name(), sketch.as_ref(), &errors);
                save(path, html.as_bytes(), Existing::with_force(arguments.force))?;
                writeln!(io.err, "Written: {}", path.display())?;
            }
            return Err(Failure::Input(errors.to_string()));
        }
    };
    coldsquare_engine::job::attach_shop_factors(&Disk, &mut job, &arguments.job)?;
    let list = CutList::new(&job);
    if arguments.json {
        return io.print_json(&job_json(&job, &list));
    }
    let units = job.units;
    print_summary(&job, units, io)?;
    if !arguments.no_picture {
        let columns = arguments.width.unwrap_or_else(super::map::terminal_columns);
        write!(io.out, "\n{}", drawing::frame_in_characters(&job, columns))?;
        print_from_centre(&job, units, io.out)?;
    }
    print_members(&job, units, io.out)?;
    print_gauges(&job, io.out)?;
    print_cut_list(&job, &list, units, io.out)?;
    print_joints(&job, io.out)?;
    print_welds(&job, units, io.out)?;
    match &arguments.out {
        Some(path) => write_picture((&job, &list), path, arguments.force, io),
        None => Ok(()),
    }
}

/// The ending of a file name; empty if it has none.
fn ending(path: &Path) -> &str {
    let ending = path.extension().and_then(|ending| ending.to_str());
    ending.unwrap_or_default()
}

/// The picture or the page as a file.
fn write_picture(
    (job, list): (&Job, &CutList),
    path: &Path,
    force: bool,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let bytes = match ending(path) {
        "html" => page::check_html(job, list).into_bytes(),
        "svg" => drawing::frame_svg(job).into_bytes(),
        "png" => super::picture::painted(&drawing::frame_svg(job))?,
        _ => {
            let what = format!("{} ends in none of .html, .svg and .png", path.display());
            return Err(Failure::Usage(what));
        }
    };
    save(path, &bytes, Existing::with_force(force))?;
    writeln!(io.out, "Written: {}", path.display())?;
    Ok(())
}

/// Where the centre lines of the members are from the middle of the frame.
fn print_from_centre(job: &Job, units: Units, out: &mut dyn Write) -> std::io::Result<()> {
    for row in from_centre(job) {
        writeln!(out, "Centre lines, {} {}", units.length_symbol(), row.what)?;
        let mut table = Table::new("><");
        for (at, names) in row.marks {
            let names: Vec<String> = names.iter().map(|name| plain(name)).collect();
            table.row([units.signed_length(at, Precision::Drawn), names.join(", ")]);
        }
        table.print(out)?;
        writeln!(out)?;
    }
    Ok(())
}

/// What can be drawn of a job with errors, with the members that they name.
pub(super) fn print_sketch(
    source: &Source,
    errors: &FileErrors,
    width: Option<usize>,
    io: &mut Io<'_>,
) -> std::io::Result<()> {
    let Some(job) = job::sketch(&Disk, source) else {
        return Ok(());
    };
    let named = |name: &str| errors.iter().any(|error| page::names(error.what(), name));
    let members = job.members.iter().enumerate();
    let marked: Vec<usize> = members
        .filter(|(_, member)| named(&member.name))
        .map(|(index, _)| index)
        .collect();
    let columns = width.unwrap_or_else(super::map::terminal_columns);
    writeln!(
        io.err,
        "As far as it can be drawn; the errors are about what has a ! in front:\n"
    )?;
    write!(
        io.err,
        "{}",
        drawing::sketch_in_characters(&job, columns, &marked)
    )
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

fn print_summary(job: &Job, units: Units, io: &mut Io<'_>) -> std::io::Result<()> {
    writeln!(
        io.out,
        "{}: {}, {}, {} of {} in all, {} of {}",
        plain(&job.name),
        count(job.members.len(), "member"),
        count(job.joints.len(), "joint"),
        count(job.welds.len(), "weld"),
        units.total_length(job.weld_length()),
        units.mass(job.mass()),
        plain(&job.material.name),
    )?;
    if let Some(shop) = &job.shop {
        writeln!(io.out, "{}", plain(&shop.describe()))?;
    }
    Ok(())
}

fn print_members(job: &Job, units: Units, out: &mut dyn Write) -> std::io::Result<()> {
    writeln!(out, "\nMembers")?;
    let mut table = Table::new("<<>><<");
    table.row(["name", "section", "cut length", "mass", "ends", ""]);
    for member in &job.members {
        let section = member.section.to_string();
        let mass = units.mass(member.mass(&job.material));
        let Some(plate) = &member.plate else {
            table.row([
                plain(&member.name),
                section,
                units.length_with_unit(member.cut_length.0, Precision::Drawn),
                mass,
                ends(member.ends),
                which_way(member, job.seen_from).unwrap_or_default(),
            ]);
            continue;
        };
        let cut = plate.cut_words(units);
        table.row([
            plain(&member.name),
            section,
            String::new(),
            mass,
            String::new(),
            cut,
        ]);
    }
    table.print(out)
}

/// Which wall each gauge was taken for.
fn print_gauges(job: &Job, out: &mut dyn Write) -> std::io::Result<()> {
    let mut told: Vec<&str> = Vec::new();
    for section in job.members.iter().map(|member| &member.section) {
        let Some(table) = section
            .gauge()
            .filter(|_| !told.contains(&section.designation()))
        else {
            continue;
        };
        told.push(section.designation());
        let wall_mm = section.properties().thinnest_wall_mm;
        writeln!(
            out,
            "  {}: by {}, a wall of {:.4} in ({wall_mm:.2} mm)",
            plain(section.designation()),
            match table {
                GaugeTable::Sheet => "sheet gauge",
                GaugeTable::Tube => "tube gauge",
            },
            Millimetres(wall_mm).inches(),
        )?;
    }
    Ok(())
}

fn print_cut_list(
    job: &Job,
    list: &CutList,
    units: Units,
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
            .map(|index| plain(&job.members[*index].name))
            .collect();
        table.row([
            names.len().to_string(),
            pieces.section.to_string(),
            units.length_with_unit(pieces.length.0, Precision::Drawn),
            ends(pieces.ends),
            in_short(&names),
        ]);
    }
    table.print(out)?;
    writeln!(
        out,
        "\nStock bars of {}, saw cut {}",
        units.total_length(list.stock_length),
        units.length_with_unit(KERF.0, Precision::Drawn)
    )?;
    let mut table = Table::new("><>>");
    table.row(["bars", "section", "pieces", "left over"]);
    for stock in &list.stock {
        table.row([
            stock.bars.to_string(),
            stock.section.to_string(),
            units.total_length(stock.total),
            units.total_length(stock.left_over),
        ]);
    }
    table.print(out)?;
    print_plates(job, list, units, out)?;
    for stock in list.stock.iter().filter(|stock| stock.too_long > 0) {
        writeln!(
            out,
            "note: {} pieces of {} are longer than a stock bar",
            stock.too_long, stock.section
        )?;
    }
    Ok(())
}

/// What is cut from plate.
fn print_plates(
    job: &Job,
    list: &CutList,
    units: Units,
    out: &mut dyn Write,
) -> std::io::Result<()> {
    if list.plates.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nPlate, {}", units.length_symbol())?;
    let mut table = Table::new("><<<");
    table.row(["pieces", "thickness", "cut", "members"]);
    for pieces in &list.plates {
        let names: Vec<_> = pieces
            .members
            .iter()
            .map(|index| plain(&job.members[*index].name))
            .collect();
        table.row([
            names.len().to_string(),
            units.length(pieces.plate.thickness.0, Precision::Drawn),
            pieces.plate.cut_words(units),
            in_short(&names),
        ]);
    }
    table.print(out)
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
            .map(|(index, _)| plain(&job.members[*index].name))
            .collect();
        let numbers: Vec<_> = numbers.iter().map(u16::to_string).collect();
        table.row([
            plain(&joint.name),
            members.join(" + "),
            joint.tacks.len().to_string(),
            numbers.join(", "),
        ]);
    }
    table.print(out)
}

fn print_welds(job: &Job, units: Units, out: &mut dyn Write) -> std::io::Result<()> {
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
            plain(&weld.name),
            shape.to_string(),
            units.length_with_unit(size.0, Precision::Drawn),
            units.length_with_unit(weld.length().0, Precision::Drawn),
            format!(
                "{:.1} s",
                weld.planned_arc_time(&job.procedures[weld.procedure]).0
            ),
            after.join(", "),
        ]);
    }
    table.print(out)
}
