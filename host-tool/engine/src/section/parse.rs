//! Reads a designation such as `SHS 40x40x3`, `HF RHS 50x30x3.2`, `L 1-1/2x1-1/2x1/8in` or `CHS 42.4x14bwg`.

use super::error::SectionError;
use super::gauge::GaugeTable;
use super::shape::Shape;

const MM_PER_INCH: f64 = coldsquare_core::units::MILLIMETRES_PER_INCH;

/// A size as written, before the unit of its neighbours is known.
#[derive(Clone, Copy)]
enum Size {
    Plain(f64),
    Millimetres(f64),
    Inches(f64),
    Gauge(f64),
}

/// Shape and sizes of a designation; the sizes are not yet checked against each other.
pub(super) fn parse(text: &str) -> Result<Shape, SectionError> {
    let text = text.trim().to_lowercase();
    let (hot_finished, text) = match text.strip_prefix("hf") {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix("cf").unwrap_or(&text).trim_start()),
    };
    let (word, rest) = shape_word(text);
    if word.is_empty() && rest.is_empty() {
        return Err(SectionError::Empty);
    }
    let (sizes, root) = match rest.split_once('r') {
        Some((sizes, root)) => (sizes, Some(root.trim())),
        None => (rest, None),
    };
    let shape = match word {
        "l" | "angle" => return angle(sizes, root),
        "u" | "channel" => return channel(sizes, root),
        // The American designation is in inches.
        "hss" if !names_unit(sizes) => plain(word, &in_inches(sizes), hot_finished)?,
        _ => plain(word, sizes, hot_finished)?,
    };
    match (shape, root) {
        (Some(shape), None) => Ok(shape),
        (Some(_), Some(found)) => Err(SectionError::Trailing {
            found: format!("r{found}"),
        }),
        (None, _) => Err(SectionError::UnknownShape {
            found: if word.is_empty() { rest } else { word }.to_string(),
        }),
    }
}

/// The word of the shape in front of the sizes: one of the two words known, or all letters.
fn shape_word(text: &str) -> (&str, &str) {
    const TWO_WORDS: [&str; 8] = [
        "square tube",
        "sq tube",
        "rect tube",
        "rectangular tube",
        "round tube",
        "flat bar",
        "square bar",
        "round bar",
    ];
    let two = TWO_WORDS
        .iter()
        .find_map(|words| text.strip_prefix(words).map(|rest| (*words, rest)));
    two.unwrap_or_else(|| {
        let letters = text.find(|c: char| !c.is_alphabetic());
        text.split_at(letters.unwrap_or(text.len()))
    })
}

/// Shapes without a root radius; `None` for a word that is none of them.
fn plain(word: &str, sizes: &str, hot_finished: bool) -> Result<Option<Shape>, SectionError> {
    gauge_is_clear(word, sizes)?;
    Ok(Some(match word {
        "shs" | "square tube" | "sq tube" => square_tube(sizes, hot_finished)?,
        "rhs" | "rect tube" | "rectangular tube" => {
            let [depth, width, wall] =
                sizes_of(sizes, "three (depth, width, wall)", "RHS 50x30x3")?;
            Shape::box_section(depth, width, wall, hot_finished)
        }
        "hss" | "tube" if all_sizes(sizes)?.len() == 3 => {
            let [depth, width, wall] =
                sizes_of(sizes, "three (depth, width, wall)", "HSS 2x2x1/8")?;
            Shape::box_section(depth, width, wall, hot_finished)
        }
        "chs" | "round tube" | "hss" | "tube" => {
            let [diameter_mm, wall_mm] = sizes_of(sizes, "two (diameter, wall)", "CHS 42.4x3")?;
            Shape::Tube {
                diameter_mm,
                wall_mm,
            }
        }
        "fl" | "flat" | "flat bar" => {
            let [depth_mm, width_mm] = sizes_of(sizes, "two (depth, thickness)", "FL 40x5")?;
            Shape::Bar { depth_mm, width_mm }
        }
        "sq" | "square bar" => {
            let [side] = sizes_of(sizes, "one (side)", "SQ 12")?;
            Shape::Bar {
                depth_mm: side,
                width_mm: side,
            }
        }
        "rd" | "round bar" => {
            let [diameter_mm] = sizes_of(sizes, "one (diameter)", "RD 12")?;
            Shape::Round { diameter_mm }
        }
        _ => return Ok(None),
    }))
}

fn square_tube(sizes: &str, hot_finished: bool) -> Result<Shape, SectionError> {
    let [depth, width, wall] = sizes_of(sizes, "three (side, side, wall)", "SHS 40x40x3")?;
    if depth != width {
        return Err(SectionError::NotSquare {
            sides_mm: (depth, width),
        });
    }
    Ok(Shape::box_section(depth, width, wall, hot_finished))
}

/// A tube whose wall is a plain `16ga` may be of either table: the file must say which.
fn gauge_is_clear(word: &str, sizes: &str) -> Result<(), SectionError> {
    let is_tube = word.ends_with("hs") || word.ends_with("tube") || word == "hss";
    let last = sizes.rsplit(SIZE_SIGNS).next().unwrap_or_default().trim();
    let number = last
        .strip_suffix("ga")
        .and_then(|number| number.trim().parse().ok());
    let both = number.and_then(|number: u32| {
        let inches = |table: GaugeTable| table.inches(number);
        Some((
            number,
            inches(GaugeTable::Tube)?,
            inches(GaugeTable::Sheet)?,
        ))
    });
    match both.filter(|_| is_tube) {
        Some((number, tube_in, sheet_in)) => Err(SectionError::WhichGauge {
            number,
            tube_in,
            sheet_in,
        }),
        None => Ok(()),
    }
}

/// The gauge table that the wall of a designation is from, if it is a gauge.
pub(super) fn gauge_of(designation: &str) -> Option<GaugeTable> {
    let text = designation.to_lowercase();
    gauge_suffix(text.rsplit(SIZE_SIGNS).next()?.trim()).map(|(table, _)| table)
}

/// What stands between two sizes.
const SIZE_SIGNS: [char; 3] = ['x', '×', '*'];

/// How the two gauges are written after their number.
const GAUGE_WORDS: [(&str, GaugeTable); 6] = [
    ("ga sheet", GaugeTable::Sheet),
    ("ga tube", GaugeTable::Tube),
    ("msg", GaugeTable::Sheet),
    ("bwg", GaugeTable::Tube),
    ("gauge", GaugeTable::Sheet),
    ("ga", GaugeTable::Sheet),
];

/// The table of a gauge, and the text before its word.
fn gauge_suffix(word: &str) -> Option<(GaugeTable, &str)> {
    let found = GAUGE_WORDS.iter();
    found
        .filter_map(|(suffix, table)| Some((*table, word.strip_suffix(suffix)?)))
        .next()
}

/// Whether any size has a unit.
pub(super) fn names_unit(text: &str) -> bool {
    let text = text.to_lowercase();
    ["mm", "in", "\""].iter().any(|unit| text.contains(unit))
}

/// A designation without units as one in inches: a size without a unit takes that of the size after it, so the last
/// one that is no gauge gets it.
pub(super) fn in_inches(designation: &str) -> String {
    let lower = designation.to_lowercase();
    let (sizes, root) = match lower.rsplit_once('r') {
        Some((sizes, root)) if root.trim().parse::<f64>().is_ok() => (sizes, format!("r{root}in")),
        _ => (lower.as_str(), String::new()),
    };
    let sizes = sizes.trim_end();
    let is_gauge = gauge_suffix(sizes).is_some();
    match sizes.rsplit_once('x').filter(|_| is_gauge) {
        Some((sizes, gauge)) => format!("{sizes}inx{gauge}"),
        None => format!("{sizes}in {root}"),
    }
}

/// Root radius of rolled angles with unequal legs, mm: longer leg, shorter leg, radius. EN 10056-1:2017, table 2, from
/// memory; the areas that follow were checked against rows of printed tables, `tests/evidence/sections.rs`.
const UNEQUAL_ANGLE_ROOT_MM: [(f64, f64, f64); 20] = [
    (30.0, 20.0, 4.0),
    (40.0, 20.0, 4.0),
    (40.0, 25.0, 4.0),
    (45.0, 30.0, 4.5),
    (50.0, 30.0, 5.0),
    (60.0, 30.0, 5.0),
    (60.0, 40.0, 6.0),
    (65.0, 50.0, 6.0),
    (70.0, 50.0, 7.0),
    (75.0, 50.0, 7.0),
    (80.0, 40.0, 7.0),
    (80.0, 60.0, 8.0),
    (100.0, 50.0, 8.0),
    (100.0, 65.0, 10.0),
    (100.0, 75.0, 10.0),
    (120.0, 80.0, 11.0),
    (125.0, 75.0, 11.0),
    (150.0, 75.0, 12.0),
    (150.0, 100.0, 12.0),
    (200.0, 100.0, 15.0),
];

/// Root radius of rolled angles by the longer leg, mm, after EN 10056-1:2017, table 1 (from memory); the toe radius
/// is half of it. For a leg between two rows, the row below applies. These are the angles with equal legs.
const ANGLE_ROOT_MM: [(f64, f64); 12] = [
    (0.0, 3.5),
    (30.0, 5.0),
    (40.0, 6.0),
    (45.0, 7.0),
    (60.0, 8.0),
    (65.0, 9.0),
    (75.0, 10.0),
    (90.0, 11.0),
    (100.0, 12.0),
    (120.0, 13.0),
    (150.0, 16.0),
    (180.0, 18.0),
];

fn angle(sizes: &str, root: Option<&str>) -> Result<Shape, SectionError> {
    let [depth_mm, width_mm, thickness_mm] =
        sizes_of(sizes, "three (leg, leg, thickness)", "L 40x40x4")?;
    let root_radius_mm = match root {
        Some(text) => one_size(text)?,
        None => {
            // A small folded angle has no room for the rolled radius.
            let room = depth_mm.min(width_mm) - thickness_mm;
            rolled_root_mm(depth_mm.max(width_mm), depth_mm.min(width_mm))
                .min(room / 2.0)
                .max(0.0)
        }
    };
    let toe_radius_mm = (root_radius_mm / 2.0).min(thickness_mm);
    Ok(Shape::Angle {
        depth_mm,
        width_mm,
        thickness_mm,
        root_radius_mm,
        toe_radius_mm,
    })
}

/// The root radius that the standard gives for these legs, or else that of an equal angle of the longer leg.
fn rolled_root_mm(longer: f64, shorter: f64) -> f64 {
    let same = |a: f64, b: f64| (a - b).abs() < 0.1;
    let unequal = UNEQUAL_ANGLE_ROOT_MM
        .iter()
        .find(|(long, short, _)| same(*long, longer) && same(*short, shorter))
        .map(|(.., radius)| *radius);
    let equal = || {
        let row = ANGLE_ROOT_MM
            .iter()
            .rev()
            .find(|(leg, _)| *leg <= longer + 0.1);
        row.map_or(0.0, |(_, radius)| *radius)
    };
    unequal.unwrap_or_else(equal)
}

fn channel(sizes: &str, root: Option<&str>) -> Result<Shape, SectionError> {
    const WANTED: &str = "three (depth, width, thickness) or four (depth, width, web, flange)";
    let (depth_mm, width_mm, web_mm, flange_mm) = match all_sizes(sizes)?.as_slice() {
        [depth, width, thickness] => (*depth, *width, *thickness, *thickness),
        [depth, width, web, flange] => (*depth, *width, *web, *flange),
        other => {
            return Err(SectionError::SizeCount {
                found: other.len(),
                wanted: WANTED,
                example: "U 50x38x5",
            });
        }
    };
    let root_radius_mm = root.map_or(Ok(0.0), one_size)?;
    Ok(Shape::Channel {
        depth_mm,
        width_mm,
        web_mm,
        flange_mm,
        root_radius_mm,
    })
}

fn sizes_of<const N: usize>(
    text: &str,
    wanted: &'static str,
    example: &'static str,
) -> Result<[f64; N], SectionError> {
    let sizes = all_sizes(text)?;
    let found = sizes.len();
    sizes.try_into().map_err(|_| SectionError::SizeCount {
        found,
        wanted,
        example,
    })
}

fn one_size(text: &str) -> Result<f64, SectionError> {
    sizes_of(text, "one (radius)", "L 40x40x4 r6").map(|[size]| size)
}

/// All sizes in mm. A size without a unit has that of the next size with one, or else that of the one before.
fn all_sizes(text: &str) -> Result<Vec<f64>, SectionError> {
    if text.trim().is_empty() {
        return Ok(Vec::new());
    }
    let words: Vec<&str> = text.split(SIZE_SIGNS).map(str::trim).collect();
    let sizes = words
        .iter()
        .map(|word| size(word))
        .collect::<Result<Vec<_>, _>>()?;
    let in_inches = |s: &Size| match s {
        Size::Inches(_) => Some(true),
        Size::Millimetres(_) => Some(false),
        Size::Plain(_) | Size::Gauge(..) => None,
    };
    let mut resolved = Vec::with_capacity(sizes.len());
    for (k, (written, word)) in sizes.iter().zip(&words).enumerate() {
        let neighbour = sizes[k..]
            .iter()
            .find_map(in_inches)
            .or_else(|| sizes[..k].iter().rev().find_map(in_inches));
        resolved.push(match *written {
            Size::Millimetres(value) => value,
            Size::Inches(value) => value * MM_PER_INCH,
            Size::Plain(value) if neighbour == Some(true) => value * MM_PER_INCH,
            Size::Plain(_) if word.contains('/') => {
                return Err(SectionError::FractionOfWhat {
                    found: (*word).to_string(),
                });
            }
            Size::Plain(value) => value,
            Size::Gauge(..) if k == 0 || k + 1 < sizes.len() => {
                return Err(SectionError::GaugeOutOfPlace {
                    found: (*word).to_string(),
                });
            }
            Size::Gauge(inches) => inches * MM_PER_INCH,
        });
    }
    Ok(resolved)
}

fn size(word: &str) -> Result<Size, SectionError> {
    if let Some((table, number)) = gauge_suffix(word) {
        let unknown = || SectionError::UnknownGauge {
            table,
            number: number.trim().to_string(),
        };
        let inches = number
            .trim()
            .parse()
            .ok()
            .and_then(|n| table.inches(n))
            .ok_or_else(unknown)?;
        return Ok(Size::Gauge(inches));
    }
    let wrong = || SectionError::NotANumber {
        found: word.to_string(),
    };
    let read = |text: &str| number(text.trim()).ok_or_else(wrong);
    if let Some(value) = word.strip_suffix("mm") {
        return Ok(Size::Millimetres(read(value)?));
    }
    if let Some(value) = word.strip_suffix("in").or_else(|| word.strip_suffix('"')) {
        return Ok(Size::Inches(read(value)?));
    }
    Ok(Size::Plain(read(word)?))
}

/// A decimal number, a fraction `1/8`, or a whole and a fraction `1-1/2` or `1 1/2`.
fn number(text: &str) -> Option<f64> {
    let Some((before, below)) = text.split_once('/') else {
        return decimal(text);
    };
    let (whole, above) = match before.trim().split_once(['-', ' ']) {
        Some((whole, above)) => (decimal(whole)?, above),
        None => (0.0, before),
    };
    let value = whole + decimal(above.trim())? / decimal(below.trim())?;
    value.is_finite().then_some(value)
}

fn decimal(text: &str) -> Option<f64> {
    let plain = !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || c == '.');
    if plain { text.parse().ok() } else { None }
}
