//! A prediction in words and columns, for a terminal or a printed sheet.

use super::answers::MeasureKind;
use super::holding::{OnTheWay, on_the_way};
use super::predict::{Fit, Predicted, Prediction};
use crate::job::model::Job;
use crate::order::too_early;
use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::MILLIMETRES_PER_INCH;
use std::fmt::Write;

/// Bows and gaps below this are summed up in a line, mm: a straightedge and feeler gauges do not show them.
const WORTH_A_LINE_MM: f64 = 0.05;

/// What a prediction was made from, in words.
#[derive(Clone, Debug)]
pub struct Basis {
    /// The order ("the order drawn").
    pub order: String,
    /// The heat ("planned heat").
    pub heat: String,
}

/// The whole prediction; ends with a line break.
#[must_use]
pub fn text(job: &Job, prediction: &Prediction, basis: &Basis) -> String {
    let show = Show(job.units);
    let clamped = !job.clamps.is_empty();
    let mut page = String::new();
    let mut line = |text: String| {
        page.push_str(text.trim_end());
        page.push('\n');
    };
    line(format!(
        "{}: how the frame moves, {} welds in {}",
        plain(&job.name),
        job.welds.len(),
        plain(&basis.order)
    ));
    line(format!(
        "{}, {}. All in {}; ± is k = 2, about 95 %.",
        plain(&job.material.name),
        plain(&basis.heat),
        show.length_unit()
    ));
    for (title, kinds) in [
        ("Size", [MeasureKind::Size, MeasureKind::Size]),
        ("Square", [MeasureKind::Diagonal, MeasureKind::Racking]),
        ("Flat", [MeasureKind::Wind, MeasureKind::Wind]),
    ] {
        let rows: Vec<&Predicted> = prediction
            .measures
            .iter()
            .filter(|m| kinds.contains(&m.kind))
            .collect();
        line(measures(show, clamped, title, &rows));
    }
    line(bows(show, clamped, prediction));
    for part in [
        fits(show, &prediction.fits),
        clamps(job, show, prediction),
        gaps(job, show, prediction),
        cuts(job, show, prediction),
        notes(job, prediction),
    ] {
        line(part);
    }
    let mut blank = false;
    let kept = page.lines().filter(|line| {
        let drop = blank && line.is_empty();
        blank = line.is_empty();
        !drop
    });
    let mut tidy: String = kept.flat_map(|line| [line, "\n"]).collect();
    tidy.truncate(tidy.trim_end().len());
    tidy.push('\n');
    tidy
}

/// Lengths and forces in the maker's units.
#[derive(Clone, Copy)]
struct Show(Units);

impl Show {
    fn metric(self) -> bool {
        self.0 == Units::Metric
    }

    fn length_unit(self) -> &'static str {
        if self.metric() { "mm" } else { "inches" }
    }

    fn short_unit(self) -> &'static str {
        if self.metric() { "mm" } else { "in" }
    }

    /// A length, to 0.1 mm or 0.001 in.
    fn length(self, mm: f64) -> String {
        if self.metric() {
            format!("{mm:.1}")
        } else {
            format!("{:.3}", mm / MILLIMETRES_PER_INCH)
        }
    }

    /// A change, with its sign, to 0.01 mm or 0.001 in.
    fn change(self, mm: f64) -> String {
        let (value, decimals) = if self.metric() {
            (mm, 2)
        } else {
            (mm / MILLIMETRES_PER_INCH, 3)
        };
        let text = format!("{value:+.decimals$}");
        // Nothing is neither more nor less.
        if text.trim_start_matches(['+', '-', '0', '.']).is_empty() {
            format!(" {}", text.trim_start_matches(['+', '-']))
        } else {
            text
        }
    }

    /// A change with its doubt.
    fn doubted(self, change: Uncertain) -> String {
        let doubt = self.change(change.expanded());
        format!(
            "{} ± {}",
            self.change(change.value),
            doubt.trim_start_matches(['+', ' '])
        )
    }

    fn force(self, newtons: f64) -> String {
        const NEWTONS_PER_POUND: f64 = 4.448_221_615_260_5;
        if self.metric() {
            format!("{newtons:.0} N")
        } else {
            format!("{:.0} lbf", newtons / NEWTONS_PER_POUND)
        }
    }
}

/// A text of the job on one line, harmless to a terminal.
fn plain(text: &str) -> String {
    let harmless = |c: char| if c.is_control() { ' ' } else { c };
    text.chars().map(harmless).collect()
}

/// Rows with the first column to the left and the others to the right, under a title.
fn columns(title: &str, head: &[&str], rows: &[Vec<String>]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let head: Vec<String> = [title]
        .iter()
        .chain(head)
        .map(|word| (*word).to_owned())
        .collect();
    let width = |column: usize| {
        let indent = if column == 0 { 2 } else { 0 };
        let cell = |row: &Vec<String>| row.get(column).map_or(0, |cell| cell.chars().count());
        let rows = rows.iter().map(cell).max().unwrap_or(0) + indent;
        rows.max(cell(&head))
    };
    let widths: Vec<usize> = (0..head.len()).map(width).collect();
    let mut table = String::from("\n");
    for (k, row) in [&head].into_iter().chain(rows).enumerate() {
        let indent = if k == 0 { "" } else { "  " };
        let first = format!("{indent}{}", row[0]);
        let _ = write!(table, "{first:<0$}", widths[0]);
        for (cell, width) in row.iter().zip(&widths).skip(1) {
            let _ = write!(table, "  {cell:>width$}");
        }
        table.truncate(table.trim_end().len());
        table.push('\n');
    }
    table
}

/// With clamps, what is there before and after they come off; without, just what is there.
fn measures(show: Show, clamped: bool, title: &str, rows: &[&Predicted]) -> String {
    let has_before = rows.iter().any(|m| m.nominal_mm != 0.0);
    let before = |m: &Predicted| {
        if m.nominal_mm == 0.0 {
            String::new()
        } else {
            show.length(m.nominal_mm)
        }
    };
    let columns_of = [
        has_before.then_some("before"),
        clamped.then_some("clamps on"),
        Some(if clamped { "clamps off" } else { "change" }),
    ];
    let rows: Vec<Vec<String>> = rows
        .iter()
        .map(|m| {
            let cells = [
                has_before.then(|| before(m)),
                clamped.then(|| show.change(m.clamped_mm.value)),
                Some(show.doubted(m.released_mm)),
            ];
            let name = plain(&m.name);
            [name]
                .into_iter()
                .chain(cells.into_iter().flatten())
                .collect()
        })
        .collect();
    let head: Vec<&str> = columns_of.into_iter().flatten().collect();
    columns(title, &head, &rows)
}

fn bows(show: Show, clamped: bool, prediction: &Prediction) -> String {
    let (listed, small): (Vec<&Predicted>, Vec<&Predicted>) = prediction
        .measures
        .iter()
        .filter(|m| m.kind == MeasureKind::Bow)
        .partition(|m| {
            let greatest = m.released_mm.value.abs() + m.released_mm.expanded();
            greatest.max(m.clamped_mm.value.abs()) >= WORTH_A_LINE_MM
        });
    let mut text = measures(show, clamped, "Bow in the middle of each member", &listed);
    let limit = format!(
        "{} {}",
        show.change(WORTH_A_LINE_MM).trim_start_matches('+'),
        show.short_unit()
    );
    match (listed.len(), small.len()) {
        (_, 0) => {}
        (0, _) => text += &format!("\nAll bows are below {limit}, doubt included.\n"),
        (_, 1) => text += &format!("  One more is below {limit}, doubt included.\n"),
        (_, more) => text += &format!("  {more} more are below {limit}, doubt included.\n"),
    }
    text
}

fn fits(show: Show, fits: &[Fit]) -> String {
    let mut text = String::new();
    for fit in fits {
        let word = if fit.is_sure() {
            "fits"
        } else if fit.clearance_mm + fit.size_mm.expanded() / 2.0 < fit.wanted_mm {
            "does not leave what is wanted"
        } else {
            "too close to call"
        };
        let _ = writeln!(
            text,
            "\nOpening: {} {} {unit} clear, frame {} ± {} {unit}, leaves {} {unit} on each side, {} wanted: {word}",
            fit.direction,
            show.length(fit.opening_mm),
            show.length(fit.size_mm.value),
            show.change(fit.size_mm.expanded())
                .trim_start_matches(['+', ' ']),
            show.length(fit.clearance_mm),
            show.length(fit.wanted_mm),
            unit = show.short_unit(),
        );
    }
    text
}

fn clamps(job: &Job, show: Show, prediction: &Prediction) -> String {
    let mut text = String::new();
    for (k, off) in on_the_way(job, &prediction.order).into_iter().enumerate() {
        let place = match off {
            Some(OnTheWay::After(weld)) => format!("after weld {}", weld + 1),
            Some(OnTheWay::Before(weld)) => format!("before weld {}", weld + 1),
            None => continue,
        };
        let _ = writeln!(text, "  Clamp {} comes off on the way, {place}.", k + 1);
    }
    let rows: Vec<Vec<String>> = job
        .clamps
        .iter()
        .zip(prediction.clamp_forces_n.iter().zip(&prediction.clamp_slips_mm))
        .enumerate()
        .map(|(k, (clamp, (force, &slip)))| {
            let member = plain(&job.members[clamp.member].name);
            if let Some(limit) = clamp.force {
                let (number, limit_n) = (k + 1, show.force(limit.0));
                if slip > 0.0 {
                    let far = show.change(slip);
                    let far = far.trim_start_matches('+');
                    let unit = show.short_unit();
                    let _ = writeln!(
                        text,
                        "  Clamp {number} holds {limit_n} at most and slips {far} {unit} on the way."
                    );
                } else if force.value + force.expanded() > limit.0 {
                    let _ = writeln!(
                        text,
                        "  Clamp {number} holds {limit_n} at most and may slip: then the frame moves a little further."
                    );
                }
            }
            vec![
                format!("clamp {} on {member}", k + 1),
                format!("{} ± {}", show.force(force.value), show.force(force.expanded())),
            ]
        })
        .collect();
    columns("Clamps, before they come off", &["holds back"], &rows) + &text
}

fn gaps(job: &Job, show: Show, prediction: &Prediction) -> String {
    let place = |weld: usize| format!("weld {} ({})", weld + 1, plain(&job.welds[weld].name));
    let worst = |sign: f64| {
        prediction
            .gaps_mm
            .iter()
            .map(|gap| sign * gap)
            .enumerate()
            .filter(|&(_, gap)| gap >= WORTH_A_LINE_MM)
            .max_by(|a, b| a.1.total_cmp(&b.1))
    };
    let mut text = String::new();
    for (sign, does) in [(1.0, "opens by"), (-1.0, "is pressed together by")] {
        if let Some((weld, gap)) = worst(sign) {
            let _ = writeln!(
                text,
                "\nBefore its turn the joint of {} {does} {} {}, the most of all.",
                place(weld),
                show.change(gap).trim_start_matches('+'),
                show.short_unit()
            );
        }
    }
    text
}

/// Members of the same section that are cut alike share a row.
fn cuts(job: &Job, show: Show, prediction: &Prediction) -> String {
    let mut rows: Vec<(Vec<String>, Vec<String>)> = Vec::new();
    for (index, member) in job.members.iter().enumerate() {
        let allowance = prediction.allowances.iter().find(|a| a.member == index);
        let add = allowance.map_or(Uncertain::exact(0.0), |allowance| allowance.add_mm);
        let row = vec![
            plain(member.section.designation()),
            show.length(member.cut_length.0),
            allowance.map_or_else(|| "none known".into(), |_| show.doubted(add)),
            show.length(member.cut_length.0 + add.value),
        ];
        match rows.iter_mut().find(|(_, known)| *known == row) {
            Some((names, _)) => names.push(plain(&member.name)),
            None => rows.push((vec![plain(&member.name)], row)),
        }
    }
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|(names, row)| [vec![few(&names)], row].concat())
        .collect();
    columns(
        "Cut list",
        &["section", "as drawn", "add for shrinkage", "cut to"],
        &rows,
    )
}

/// Names in a row; of many the first and the last.
fn few(names: &[String]) -> String {
    match names {
        [first, .., last] if names.len() > 3 => {
            format!("{first} … {last} ({} pieces)", names.len())
        }
        _ => names.join(", "),
    }
}

fn notes(job: &Job, prediction: &Prediction) -> String {
    let mut text = String::from("\n");
    for (weld, first) in too_early(job, &prediction.order) {
        let _ = writeln!(
            text,
            "Note: weld {weld} comes before weld {first}, which the job wants done first."
        );
    }
    if let Some(shop) = &job.shop {
        text += &format!("{}\n", plain(&shop.describe(job)));
    }
    let factors = match &job.shop {
        Some(shop) if shop.revision > 0 => "the shop's own factors",
        _ => "published starting factors",
    };
    text += &format!(
        "Worked out, not measured: a beam model with {factors}; docs/theory.md says what it leaves out.\n"
    );
    text += "Weld a trial corner and measure it before you cut everything.\n";
    text += "Next: `coldsquare plan` looks for an order that moves it less; `--order` shows what another one does.\n";
    text
}
