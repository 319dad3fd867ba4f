//! The layout of a job at full size: a story stick with the running marks of each member, and templates for the ends of
//! round tubes.

use super::tiles::{Cover, FullSize, Paper, full_size_html};
use crate::drawing::svg::{Svg, mm};
use crate::format::{Precision, list};
use crate::job::model::Job;
use crate::layout::marks::{Marked, marked};
use crate::layout::wrap::{Cut, Wrap, wraps};
use crate::units::Units;

/// Height of a strip, mm.
const STRIP_MM: f64 = 34.0;
/// Paper past the longest point of a template, up to its straight edge, mm.
const STRAIGHT_MM: f64 = 25.0;
/// Paper to glue over, mm.
const TAB_MM: f64 = 8.0;

/// Story stick, running-mark strips and templates of a job at full size.
#[must_use]
pub fn layout_html(job: &Job, paper: Paper) -> String {
    let mut drawings: Vec<FullSize> = marked(job).iter().map(|one| strip(job, one)).collect();
    drawings.extend(wraps(job).iter().map(|one| template(job, one)));
    let sentences = [
        format!("Print on {} on its side, at 100 % (\"actual size\"), then measure the square on the first sheet.", paper.name()),
        "A strip is as long as its member. Lay its centre on the centre of the member, never its end on an end, and carry the marks over with a square.".to_owned(),
        "The shaded width is where the other member lands: keep its edges between the lines.".to_owned(),
        "A template goes round the outside of the tube with its straight edge square to it. It is drawn for the outside of the wall; dress the inside edge until it seats.".to_owned(),
    ];
    let title = format!("Layout: {}", crate::sanitise::short(&job.name, 60));
    let cover = Cover {
        title: &title,
        sentences: &sentences,
        units: job.units,
    };
    full_size_html(&cover, &drawings, paper)
}

fn names(job: &Job, members: &[usize]) -> String {
    let names: Vec<&str> = members
        .iter()
        .map(|&member| job.members[member].name.as_str())
        .collect();
    list(&names)
}

/// The strip of members that are marked alike.
fn strip(job: &Job, marked: &Marked) -> FullSize {
    let mut svg = Svg::default();
    let length = |value: f64| job.units.length(value, Precision::Drawn);
    let middle = marked.length_mm / 2.0;
    let text = |svg: &mut Svg, class: &str, at: [f64; 2], text: &str| {
        svg.text(
            "text",
            &[("class", class), ("x", &mm(at[0])), ("y", &mm(at[1]))],
            text,
        );
    };
    svg.leaf(
        "rect",
        &[
            ("class", "bold"),
            ("x", "0"),
            ("y", "0"),
            ("width", &mm(marked.length_mm)),
            ("height", &mm(STRIP_MM)),
        ],
    );
    let pairs = marked.pairs();
    for (index, mark) in marked.marks.iter().enumerate() {
        let (low, high) = (
            middle + mark.at_mm - mark.half_mm,
            middle + mark.at_mm + mark.half_mm,
        );
        svg.leaf(
            "rect",
            &[
                ("class", "lands"),
                ("x", &mm(low)),
                ("y", "8"),
                ("width", &mm(high - low)),
                ("height", &mm(STRIP_MM - 8.0)),
            ],
        );
        for edge in [low, high] {
            svg.leaf(
                "path",
                &[
                    ("class", "line mark"),
                    ("d", &format!("M{} 8V{}", mm(edge), mm(STRIP_MM))),
                ],
            );
        }
        let pair = pairs
            .iter()
            .position(|one| one.0 == index || one.1 == index);
        let pair = match pair {
            Some(pair) if pairs[pair].0 == pairs[pair].1 => ", centre".into(),
            Some(pair) => format!(", pair {}", pair + 1),
            None => String::new(),
        };
        let at = middle + mark.at_mm;
        text(
            &mut svg,
            "tiny middle",
            [at, 12.0],
            &format!("{}{pair}", job.members[mark.member].name),
        );
        text(
            &mut svg,
            "small middle",
            [at, 17.5],
            &length(mark.at_mm.abs()),
        );
        text(
            &mut svg,
            "tiny middle",
            [at, 22.5],
            &format!(
                "{} to {}",
                length((mark.at_mm - mark.half_mm).abs()),
                length((mark.at_mm + mark.half_mm).abs())
            ),
        );
    }
    svg.leaf(
        "path",
        &[
            ("class", "centre"),
            ("d", &format!("M{} 0V{}", mm(middle), mm(STRIP_MM))),
        ],
    );
    text(&mut svg, "small middle", [middle, 5.5], "centre");
    let unit = job.units.length_symbol();
    let name = job.units.length_name();
    text(
        &mut svg,
        "small",
        [2.0, 5.5],
        &format!(
            "{}, {} {unit} long, from the centre in {name}",
            names(job, &marked.members),
            length(marked.length_mm)
        ),
    );
    FullSize {
        title: format!("Story stick of {}", names(job, &marked.members)),
        width_mm: marked.length_mm,
        height_mm: STRIP_MM,
        body: svg.finish(),
    }
}

/// How an end is cut, in words.
fn cut_in_words(cut: Cut, units: Units) -> String {
    let length = |value: f64| units.length_with_unit(value, Precision::Drawn);
    match cut {
        Cut::Mitre { degrees } => format!("mitre, {degrees:.1}° from square"),
        Cut::Cope {
            main_radius_mm,
            degrees,
            offset_mm,
        } if offset_mm > 0.05 => format!(
            "cope on {} at {degrees:.1}°, {} off its axis",
            length(2.0 * main_radius_mm),
            length(offset_mm)
        ),
        Cut::Cope {
            main_radius_mm,
            degrees,
            ..
        } => format!("cope on {} at {degrees:.1}°", length(2.0 * main_radius_mm)),
    }
}

/// The template of ends that are cut alike.
fn template(job: &Job, wrap: &Wrap) -> FullSize {
    let round = wrap.curve.last().map_or(0.0, |last| last[0]);
    let height = STRAIGHT_MM + wrap.depth_mm;
    let mut svg = Svg::default();
    svg.leaf(
        "path",
        &[
            ("class", "bold"),
            (
                "d",
                &format!(
                    "M0 {high}V0H{wide}V{high}",
                    high = mm(height),
                    wide = mm(round + TAB_MM)
                ),
            ),
        ],
    );
    let mut path = String::new();
    for (k, [along, s]) in wrap.curve.iter().enumerate() {
        path += if k == 0 { "M" } else { "L" };
        path += &format!("{} {}", mm(*along), mm(height - s));
    }
    svg.leaf("path", &[("class", "bold curve"), ("d", &path)]);
    let sides = match wrap.cut {
        Cut::Mitre { .. } => ["short side", "long side"],
        Cut::Cope { .. } => ["blunt side", "sharp side"],
    };
    let quarters = [
        format!("0° {}", sides[0]),
        "90°".into(),
        format!("180° {}", sides[1]),
        "270°".into(),
        "0°, glue".into(),
    ];
    for (k, name) in quarters.iter().enumerate() {
        let at = round * k as f64 / 4.0;
        svg.leaf(
            "path",
            &[
                ("class", "centre"),
                ("d", &format!("M{} 0V{}", mm(at), mm(STRAIGHT_MM - 2.0))),
            ],
        );
        svg.text(
            "text",
            &[("class", "tiny"), ("x", &mm(at + 0.8)), ("y", "4")],
            name,
        );
    }
    let words = [
        format!(
            "{}: cut off below the curve",
            cut_in_words(wrap.cut, job.units)
        ),
        format!(
            "tube {}, {} round",
            job.units
                .length_with_unit(2.0 * wrap.radius_mm, Precision::Drawn),
            job.units.length_with_unit(round, Precision::Drawn)
        ),
    ];
    for (k, line) in words.iter().enumerate() {
        svg.text(
            "text",
            &[
                ("class", "tiny"),
                ("x", "1"),
                ("y", &mm(10.0 + 4.0 * k as f64)),
            ],
            line,
        );
    }
    let ends: Vec<String> = wrap
        .ends
        .iter()
        .map(|&(member, end)| format!("{} {}", job.members[member].name, ["start", "end"][end]))
        .collect();
    FullSize {
        title: format!(
            "Template, {}: {}",
            cut_in_words(wrap.cut, job.units),
            list(&ends)
        ),
        width_mm: round + TAB_MM,
        height_mm: height,
        body: svg.finish(),
    }
}
