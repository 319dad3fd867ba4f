//! Reads a file of readings, and refuses what cannot be read of an opening.

use super::model::{Kind, Reading, Readings, Side, Skirting, Tool};
use super::plausible;
use crate::failure::Failure;
use crate::file_error::{FileErrors, Source};
use crate::files::{self, Files, NoFiles};
use crate::format::Precision;
use crate::reading::{QuantityKind, Reader, Span, Table, parse};
use coldsquare_core::uncertainty::COVERAGE_FACTOR;
use serde_spanned::Spanned;
use std::path::Path;
use toml::de::DeValue;

/// A wall that is further out of plumb than this share of its length is no wall: another unit.
const MAX_LEAN: f64 = 0.05;

/// Reads a file of readings.
///
/// # Errors
/// [`Failure::Input`] with every error, [`Failure::File`] when it cannot be read.
pub fn load(files: &dyn Files, path: &Path) -> Result<(Readings, Source), Failure> {
    let source = files::text(files, path)?;
    let readings = from_source(&source).map_err(|errors| Failure::Input(errors.to_string()))?;
    Ok((readings, source))
}

/// Reads the text of a file of readings.
///
/// # Errors
/// Every error in it: not TOML, unknown keys, readings in another unit, too few of them.
pub fn from_source(source: &Source) -> Result<Readings, FileErrors> {
    let table = parse(source)?;
    let reader = Reader::new(source, &NoFiles);
    let start = table.span().start;
    let table = table.into_inner();
    if ["frame", "member", "procedure"]
        .iter()
        .any(|key| table.contains_key(*key))
    {
        let error = source.error(start..start, "this is a job file, not a file of readings");
        let hint = "give the file that it names under [opening], as in readings = \"alcove.opening.toml\"; `coldsquare \
                    fit` with the job says whether its frame goes in";
        return Err(error.hint(hint).into());
    }
    let top = Table::new(&reader, &table, start..start, "the file");
    let readings = read(top);
    FileErrors::none_of(reader.into_errors())?;
    Ok(readings)
}

/// The tools of the file.
struct Tools {
    lengths: Tool,
    plumb: Tool,
    level: Tool,
    /// Expanded uncertainty that replaces the usual one, mm.
    own: Vec<(Tool, f64)>,
}

impl Tools {
    fn standard_mm(&self, tool: Tool, over_mm: f64) -> f64 {
        let own = self.own.iter().find(|(one, _)| *one == tool);
        own.map_or_else(|| tool.usual_mm(over_mm), |(_, mm)| *mm) / COVERAGE_FACTOR
    }
}

fn read(mut top: Table<'_>) -> Readings {
    let reader = top.reader();
    let units = top.units();
    let depth = top.positive("depth", QuantityKind::Length);
    let tools = tools(&mut top);
    let mut readings = Readings {
        units,
        depths: Vec::new(),
        readings: Vec::new(),
        skirtings: Vec::new(),
    };
    for (name, share) in [("front", 0.0), ("middle", 0.5), ("back", 1.0)] {
        let Some(table) = top.table(name) else {
            continue;
        };
        if share > 0.0 && depth.is_none() {
            reader.error(
                table.span(),
                format!("[{name}] needs the depth of the opening"),
                "add a line such as depth = 310 above the first table",
            );
        }
        let at_mm = share * depth.as_ref().map_or(0.0, |depth| *depth.get_ref());
        readings.depths.push((at_mm, name));
        let index = readings.depths.len() - 1;
        at_depth(table, index, &tools, &mut readings.readings);
    }
    if let Some(table) = top.table("skirting") {
        readings.skirtings = skirting(table);
    }
    top.finish();
    if readings.depths.is_empty() {
        reader.error(
            &(0..0),
            "the file has no readings",
            "add a table [front] with widths = [[60, 906], [1780, 905]] and what a plumb line shows",
        );
    }
    plausible::sizes(reader, &readings);
    plausible::enough(reader, &readings);
    readings
}

fn tools(top: &mut Table<'_>) -> Tools {
    let mut choice = |key, usual| {
        let tool = top.choice(key, &Tool::ALL);
        tool.map_or(usual, Spanned::into_inner)
    };
    let (lengths, plumb) = (
        choice("lengths_by", Tool::Tape),
        choice("plumb_by", Tool::PlumbLine),
    );
    let level = choice("level_by", Tool::SpiritLevel);
    let mut own = Vec::new();
    if let Some(mut table) = top.table("tools") {
        let keys = [
            ("tape", Tool::Tape),
            ("laser", Tool::Laser),
            ("plumb_line", Tool::PlumbLine),
            ("spirit_level", Tool::SpiritLevel),
            ("line_laser", Tool::LineLaser),
            ("straightedge", Tool::Straightedge),
        ];
        for (key, tool) in keys {
            let mm = table.positive(key, QuantityKind::Length);
            own.extend(mm.map(|mm| (tool, mm.into_inner())));
        }
        table.finish();
    }
    Tools {
        lengths,
        plumb,
        level,
        own,
    }
}

fn skirting(mut table: Table<'_>) -> Vec<Skirting> {
    let mut found = Vec::new();
    for (key, side) in [("left", Side::Left), ("right", Side::Right)] {
        let Some(value) = table.value(key) else {
            continue;
        };
        let sizes = numbers::<2>(table.reader(), value, "[height, thickness]");
        found.extend(sizes.map(|[height_mm, thickness_mm]| Skirting {
            side,
            height_mm,
            thickness_mm,
        }));
    }
    table.finish();
    found
}

/// A list of exactly so many lengths.
fn numbers<const N: usize>(
    reader: &Reader<'_>,
    value: &Spanned<DeValue<'_>>,
    shape: &str,
) -> Option<[f64; N]> {
    let items = value.get_ref().as_array().filter(|all| all.len() == N);
    let Some(items) = items else {
        let hint = format!("write {shape}");
        reader.error(&value.span(), "this is not a reading", hint);
        return None;
    };
    let mut found = [0.0; N];
    for (found, item) in found.iter_mut().zip(items.iter()) {
        *found = reader.quantity(item, QuantityKind::Length)?;
    }
    Some(found)
}

/// The readings at one depth.
fn at_depth(mut table: Table<'_>, depth: usize, tools: &Tools, into: &mut Vec<Reading>) {
    let reader = table.reader();
    let by_tape = tools.standard_mm(tools.lengths, 0.0);
    let mut note = |kind, mm, standard_mm, span: Span| {
        into.push(Reading {
            depth,
            kind,
            mm,
            standard_mm,
            span,
        });
    };
    for (key, width, shape) in [
        (
            "widths",
            true,
            "[height above the floor, width], as [900, 906]",
        ),
        (
            "heights",
            false,
            "[distance from the left wall, height], as [40, 1822]",
        ),
    ] {
        for value in table.list(key) {
            if let Some([place, mm]) = numbers::<2>(reader, value, shape) {
                let kind = if width {
                    Kind::Width(place)
                } else {
                    Kind::Height(place)
                };
                let span = value.get_ref().as_array().and_then(|all| all.get(1));
                note(kind, mm, by_tape, span.map_or(value.span(), Spanned::span));
            }
        }
    }
    if let Some(value) = table.value("diagonals") {
        let shape = "[bottom left to top right, bottom right to top left]";
        if let Some(both) = numbers::<2>(reader, value, shape) {
            for (rising, mm) in [true, false].into_iter().zip(both) {
                note(Kind::Diagonal { rising }, mm, by_tape, value.span());
            }
        }
    }
    for (keys, side) in SIDES {
        for value in table.list(keys[0]) {
            if let Some((from, to, mm)) = off(reader, value, side) {
                let upright = matches!(side, Side::Left | Side::Right);
                let tool = if upright { tools.plumb } else { tools.level };
                let standard = tools.standard_mm(tool, to - from);
                note(Kind::Off(side, from, to), mm, standard, value.span());
            }
        }
        for value in table.list(keys[1]) {
            if let Some((from, to, mm)) = off(reader, value, side) {
                let standard = tools.standard_mm(Tool::Straightedge, to - from);
                note(Kind::Bow(side, from, to), mm, standard, value.span());
            }
        }
        if let Some(value) = table.value(keys[2])
            && let Some(mm) = direction(reader, value, side)
        {
            note(Kind::FromFront(side), mm, by_tape, value.span());
        }
    }
    table.finish();
}

/// The keys of each side: off plumb or level, bow, against the front.
const SIDES: [([&str; 3], Side); 4] = [
    (
        ["left_wall", "left_wall_bow", "left_wall_from_front"],
        Side::Left,
    ),
    (
        ["right_wall", "right_wall_bow", "right_wall_from_front"],
        Side::Right,
    ),
    (["floor", "floor_bow", "floor_from_front"], Side::Floor),
    (["top", "top_bow", "top_from_front"], Side::Top),
];

/// `[from, to, "6 right"]`.
fn off(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>, side: Side) -> Option<(f64, f64, f64)> {
    let items = value.get_ref().as_array().filter(|all| all.len() == 3);
    let words = words(side);
    let Some([from, to, read]) = items.and_then(|all| all.first_chunk::<3>()) else {
        let hint = format!("write [from, to, \"6 {}\"]", words[0]);
        reader.error(&value.span(), "this is not such a reading", hint);
        return None;
    };
    let from_mm = reader.quantity(from, QuantityKind::Length)?;
    let to_mm = reader.quantity(to, QuantityKind::Length)?;
    let mm = direction(reader, read, side)?;
    if to_mm - from_mm < 1.0 {
        let hint = "write the lower or left place first, and places that are apart";
        reader.error(
            &value.span(),
            "the second place is not past the first",
            hint,
        );
        return None;
    }
    if mm.abs() > MAX_LEAN * (to_mm - from_mm) {
        let units = reader.units();
        let (read_mm, over_mm) = [mm.abs(), to_mm - from_mm]
            .map(|mm| units.length_with_unit(mm, Precision::Drawn))
            .into();
        let what = format!("{read_mm} over {over_mm} is more than a twentieth");
        let hint =
            "check the unit; write \"6 mm right\" if it was read in another one than the file's";
        reader.error(&read.span(), what, hint);
        return None;
    }
    Some((from_mm, to_mm, mm))
}

fn words(side: Side) -> [&'static str; 2] {
    match side {
        Side::Left | Side::Right => ["right", "left"],
        Side::Floor | Side::Top => ["up", "down"],
    }
}

/// `"6 right"`, `"2 mm down"` or 0.
fn direction(reader: &Reader<'_>, value: &Spanned<DeValue<'_>>, side: Side) -> Option<f64> {
    let [plus, minus] = words(side);
    let text = value.get_ref().as_str().map(str::trim);
    let signed = text.and_then(|text| {
        let (text, sign) = match (text.strip_suffix(plus), text.strip_suffix(minus)) {
            (Some(rest), _) => (rest, 1.0),
            (None, Some(rest)) => (rest, -1.0),
            (None, None) => return None,
        };
        let mm = reader.units().parse_length(text)?.0;
        (mm >= 0.0).then_some(sign * mm)
    });
    if signed.is_some() {
        return signed;
    }
    if text.is_none() && reader.quantity(value, QuantityKind::Length)? == 0.0 {
        return Some(0.0);
    }
    let hint = format!("write \"6 {plus}\" or \"6 {minus}\", and 0 where it is true");
    reader.error(&value.span(), "this does not say to which side", hint);
    None
}
