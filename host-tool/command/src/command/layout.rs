//! `coldsquare layout JOB`: running marks from the centre, what the rule is worth, which piece goes where, full-size
//! prints.

use super::Io;
use super::table::Table;
use crate::disk::Disk;
use crate::save::{Existing, refuse_input, save};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::format::{Precision, count, list};
use coldsquare_engine::job::cut_list::CutList;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::layout::marks::{Marked, marked, places_across};
use coldsquare_engine::layout::places::{Placing, place};
use coldsquare_engine::layout::stack::{MarkStack, Tolerances, stacks};
use coldsquare_engine::layout::wrap::{Cut, wraps};
use coldsquare_engine::page::{Paper, layout_html};
use coldsquare_engine::sanitise::plain;
use coldsquare_engine::units::Units;
use serde_json::json;
use std::path::PathBuf;

/// Arguments of `layout`.
#[derive(Debug, clap::Args)]
#[command(after_help = HOW)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Give the lengths of pieces as cut, to sort them into places: "bar 1 = 830.2, 829.9, 830.0, 830.4"
    #[arg(long, value_name = "MEMBER=LENGTHS")]
    pub cut: Vec<String>,
    /// Set the tolerance of one mark, ±
    #[arg(long, value_name = "LENGTH", default_value = "0.5 mm")]
    pub mark: String,
    /// Set the tolerance of a cut length, ±
    #[arg(long, value_name = "LENGTH", default_value = "0.5 mm")]
    pub length: String,
    /// Set the tolerance of the centre as found, ±
    #[arg(long, value_name = "LENGTH", default_value = "0.5 mm")]
    pub centre: String,
    /// Print in these units, and read bare numbers in them [default: those of the job]
    #[arg(long, value_parser = ["mm", "inch"])]
    pub units: Option<String>,
    /// Print JSON (always in mm) instead of text
    #[arg(long)]
    pub json: bool,
    /// Write story sticks and templates at full size to this page
    #[arg(long, value_name = "FILE")]
    pub page: Option<PathBuf>,
    /// Set the paper of the page [default: a4, or letter for a job in inches]
    #[arg(long, value_enum)]
    pub paper: Option<Paper>,
    /// Replace the page if it exists
    #[arg(long)]
    pub force: bool,
}

const HOW: &str = "\
Find the centre of a member, mark it, and set every other mark out from there, in pairs. Print the page at 100 % and \
measure its check square before you use it.";

/// Prints the layout.
///
/// # Errors
/// [`Failure::Input`] for a job with errors, [`Failure::Usage`] for lengths that are none or too few.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    if let Some(page) = &arguments.page {
        refuse_input(page, [arguments.job.as_path()])?;
    }
    let mut job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    job.units = match arguments.units.as_deref() {
        Some("mm") => Units::Metric,
        Some("inch") => Units::UsCustomary,
        _ => job.units,
    };
    let tolerances = tolerances(arguments, job.units)?;
    let marked = marked(&job);
    let sorted: Result<Vec<Sorted>, Failure> =
        arguments.cut.iter().map(|text| sort(&job, text)).collect();
    let sorted = sorted?;
    if arguments.json {
        io.print_json(&as_json(&job, &marked, &tolerances, &sorted))?;
    } else {
        print(&job, &marked, &tolerances, &sorted, io)?;
    }
    if let Some(page) = &arguments.page {
        let usual = match job.units {
            Units::Metric => Paper::A4,
            Units::UsCustomary => Paper::Letter,
        };
        let html = layout_html(&job, arguments.paper.unwrap_or(usual));
        save(page, html.as_bytes(), Existing::with_force(arguments.force))?;
        if !arguments.json {
            writeln!(io.out, "\nPage: {}", page.display())?;
        }
    }
    Ok(())
}

fn tolerances(arguments: &Arguments, units: Units) -> Result<Tolerances, Failure> {
    let one = |name: &str, text: &str| {
        let length = units.parse_length(text).filter(|length| length.0 >= 0.0);
        length.map(|length| length.0).ok_or_else(|| {
            Failure::Usage(format!(
                "--{name} {text} is not a length; write it as \"0.5 mm\" or \"1/32 in\""
            ))
        })
    };
    Ok(Tolerances {
        mark_mm: one("mark", &arguments.mark)?,
        length_mm: one("length", &arguments.length)?,
        centre_mm: one("centre", &arguments.centre)?,
    })
}

/// Pieces of one kind in their places.
struct Sorted {
    members: Vec<usize>,
    lengths_mm: Vec<f64>,
    placing: Placing,
}

/// Reads `MEMBER = LENGTHS` and puts the pieces into their places.
fn sort(job: &Job, text: &str) -> Result<Sorted, Failure> {
    let usage = |what: String| Failure::Usage(format!("--cut {}: {what}", plain(text)));
    let (name, lengths) = text
        .split_once('=')
        .ok_or_else(|| usage("write it as \"bar 1 = 830.2, 829.9, 830.0\"".into()))?;
    let name = name.trim();
    let list = CutList::new(job);
    let named = |member: &usize| job.members[*member].name.eq_ignore_ascii_case(name);
    let pieces = list.pieces.iter().find(|one| one.members.iter().any(named));
    let pieces = pieces.ok_or_else(|| {
        usage(format!(
            "there is no member '{name}'; `coldsquare check` lists them"
        ))
    })?;
    let lengths_mm: Option<Vec<f64>> = lengths
        .split(',')
        .map(|one| job.units.parse_length(one).map(|length| length.0))
        .collect();
    let lengths_mm = lengths_mm.ok_or_else(|| usage("write lengths with commas between".into()))?;
    let drawn = pieces.length.0;
    if let Some(off) = lengths_mm
        .iter()
        .find(|one| (*one / drawn - 1.0).abs() > 0.05)
    {
        let [off, drawn] = [*off, drawn].map(|mm| job.units.length_with_unit(mm, Precision::Drawn));
        return Err(usage(format!(
            "{off} is not near the {drawn} drawn; check the unit"
        )));
    }
    let places = places_across(job, &pieces.members);
    let places = places.ok_or_else(|| usage("there is only one place for it".into()))?;
    let placing = place(&lengths_mm, &places).ok_or_else(|| {
        let places = count(pieces.members.len(), "place");
        usage(format!("{} for {places}", count(lengths_mm.len(), "piece")))
    })?;
    Ok(Sorted {
        members: pieces.members.clone(),
        lengths_mm,
        placing,
    })
}

fn names(job: &Job, members: &[usize]) -> String {
    let names: Vec<String> = members
        .iter()
        .map(|&member| plain(&job.members[member].name))
        .collect();
    list(&names)
}

fn print(
    job: &Job,
    marked: &[Marked],
    tolerances: &Tolerances,
    sorted: &[Sorted],
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let units = job.units;
    if marked.is_empty() {
        writeln!(
            io.out,
            "No member lands on the side of another: there is nothing to mark."
        )?;
    }
    for one in marked {
        let together = if one.members.len() > 1 {
            "; mark them together, clamped side by side"
        } else {
            ""
        };
        writeln!(
            io.out,
            "{}, {} long{together}",
            names(job, &one.members),
            units.length_with_unit(one.length_mm, Precision::Drawn)
        )?;
        marks(job, one, tolerances, io)?;
    }
    for wrap in wraps(job) {
        let ends: Vec<String> = wrap
            .ends
            .iter()
            .map(|&(member, end)| {
                format!(
                    "{} {}",
                    plain(&job.members[member].name),
                    ["start", "end"][end]
                )
            })
            .collect();
        let how = match wrap.cut {
            Cut::Mitre { degrees } => format!("mitre, {degrees:.1}° from square"),
            Cut::Cope {
                main_radius_mm,
                degrees,
                ..
            } => format!(
                "cope on {} at {degrees:.1}°",
                units.length_with_unit(2.0 * main_radius_mm, Precision::Drawn)
            ),
        };
        writeln!(
            io.out,
            "Template for {}: {how}, {} deep. --page prints it.",
            list(&ends),
            units.length_with_unit(wrap.depth_mm, Precision::Drawn)
        )?;
    }
    for one in sorted {
        writeln!(
            io.out,
            "\nPieces into places, so that the frame comes out squarest"
        )?;
        let mut table = Table::new("<>>");
        table.row(["place", "piece", "length"]);
        for (&member, &piece) in one.members.iter().zip(&one.placing.pieces) {
            let length = units.length_with_unit(one.lengths_mm[piece], Precision::Calculated);
            table.row([
                plain(&job.members[member].name),
                format!("{}", piece + 1),
                length,
            ]);
        }
        table.print(io.out)?;
        writeln!(
            io.out,
            "  Taper over the places {}; laid in the worst order it would be {}.",
            units.length_with_unit(one.placing.taper_mm.abs(), Precision::Calculated),
            units.length_with_unit(one.placing.worst_mm, Precision::Calculated)
        )?;
    }
    Ok(())
}

/// The marks of one row with what they may be off by.
fn marks(job: &Job, one: &Marked, tolerances: &Tolerances, io: &mut Io<'_>) -> Result<(), Failure> {
    let units = job.units;
    let length = |mm: f64| units.length(mm, Precision::Drawn);
    let fine = |mm: f64| units.length(mm, Precision::Calculated);
    let stacks = stack_of(one, tolerances);
    let mut table = Table::new("<>>><>>>>");
    table.row([
        "lands",
        "middle",
        "from",
        "to",
        "pair",
        "end, worst",
        "end, rss",
        "centre, worst",
        "centre, rss",
    ]);
    let pairs = one.pairs();
    for (index, mark) in one.marks.iter().enumerate() {
        let pair = pairs
            .iter()
            .position(|pair| pair.0 == index || pair.1 == index);
        let pair = match pair {
            Some(pair) if pairs[pair].0 == pairs[pair].1 => "on the centre".to_owned(),
            Some(pair) => format!("{}", pair + 1),
            None => "alone".to_owned(),
        };
        let MarkStack {
            from_end,
            from_centre,
        } = stacks[index];
        table.row([
            plain(&job.members[mark.member].name),
            units.signed_length(mark.at_mm, Precision::Drawn),
            length(mark.at_mm - mark.half_mm),
            length(mark.at_mm + mark.half_mm),
            pair,
            fine(from_end.worst_mm),
            fine(from_end.root_sum_square_mm),
            fine(from_centre.worst_mm),
            fine(from_centre.root_sum_square_mm),
        ]);
    }
    table.print(io.out)?;
    let most = |of: fn(&MarkStack) -> f64| stacks.iter().map(of).fold(0.0, f64::max);
    writeln!(
        io.out,
        "  From the centre, in {}; right or up is +. The mark that is off most: at worst {} stepped off from the centre, \
         {} from one end; by root sum square (rss) {} and {}.\n",
        units.length_name(),
        fine(most(|one| one.from_centre.worst_mm)),
        fine(most(|one| one.from_end.worst_mm)),
        fine(most(|one| one.from_centre.root_sum_square_mm)),
        fine(most(|one| one.from_end.root_sum_square_mm)),
    )?;
    Ok(())
}

fn stack_of(one: &Marked, tolerances: &Tolerances) -> Vec<MarkStack> {
    let at: Vec<f64> = one.marks.iter().map(|mark| mark.at_mm).collect();
    stacks(&at, tolerances)
}

fn as_json(
    job: &Job,
    marked: &[Marked],
    tolerances: &Tolerances,
    sorted: &[Sorted],
) -> serde_json::Value {
    let name = |member: &usize| job.members[*member].name.clone();
    let rows: Vec<_> = marked
        .iter()
        .map(|one| {
            let stacks = stack_of(one, tolerances);
            let marks: Vec<_> = one.marks.iter().zip(&stacks).map(|(mark, stack)| {
                json!({
                    "lands": name(&mark.member),
                    "from_centre_mm": mark.at_mm,
                    "half_mm": mark.half_mm,
                    "off_from_end_mm": [stack.from_end.worst_mm, stack.from_end.root_sum_square_mm],
                    "off_from_centre_mm": [stack.from_centre.worst_mm, stack.from_centre.root_sum_square_mm],
                })
            }).collect();
            json!({
                "members": one.members.iter().map(name).collect::<Vec<_>>(),
                "length_mm": one.length_mm,
                "marks": marks,
                "pairs": one.pairs(),
            })
        })
        .collect();
    let places: Vec<_> = sorted
        .iter()
        .map(|one| {
            json!({
                "members": one.members.iter().map(name).collect::<Vec<_>>(),
                "pieces": one.placing.pieces.iter().map(|piece| piece + 1).collect::<Vec<_>>(),
                "taper_mm": one.placing.taper_mm,
                "worst_mm": one.placing.worst_mm,
            })
        })
        .collect();
    let templates: Vec<_> = wraps(job)
        .iter()
        .map(|one| {
            json!({
                "ends": one.ends.iter().map(|&(member, end)| json!({ "member": name(&member), "end": end })).collect::<Vec<_>>(),
                "radius_mm": one.radius_mm,
                "depth_mm": one.depth_mm,
                "curve_mm": one.curve,
            })
        })
        .collect();
    json!({ "marked": rows, "places": places, "templates": templates })
}
