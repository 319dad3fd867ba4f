//! The layout of a job file: which tables there are and what each setting means.

use super::drawing::{Sides, Welding};
use super::frame::{Bars, Brace, Corners, Count, Direction, Frame, MidRails, Part, Seen, Stock};
use super::model::{Goal, Machine, Opening, Prices, ShopFile};
use super::procedure;
use super::quantity::Kind;
use super::reader::{Span, Table, advice};
use super::shop;
use super::structural::{self, StructuralAsWritten};
use crate::material::Material;
use crate::procedure::model::Procedure;
use crate::section::Section;
use crate::units::Units;
use coldsquare_core::units::Millimetres;
use serde_spanned::Spanned;
use toml::de::DeValue;

/// A job as it is written, before anything is drawn.
pub(super) struct File<'a> {
    pub name: Option<String>,
    pub units: Units,
    pub material: Option<Material>,
    pub structural: StructuralAsWritten,
    pub procedures: Vec<Procedure>,
    pub frame: Option<Frame>,
    /// Whether there is a [frame], right or wrong.
    pub has_frame: bool,
    pub machine: Option<Machine>,
    pub prices: Option<Prices>,
    pub shop_file: Option<ShopFile>,
    pub opening: Option<(Opening, Span)>,
    pub goal: Goal,
    /// Tables that need the drawing to be understood.
    pub points: Option<Table<'a>>,
    pub members: Vec<Table<'a>>,
    pub welds: Vec<Table<'a>>,
    pub changes: Option<Table<'a>>,
    pub clamps: Vec<Table<'a>>,
}

/// Reads the whole file; whatever is wrong is noted with the reader.
pub(super) fn read(mut top: Table<'_>) -> File<'_> {
    let reader = top.reader();
    let name = top.text("name").map(Spanned::into_inner);
    units(&mut top);
    let material = material(&mut top);
    let structural = structural::read(&mut top);
    let procedures = procedures(&mut top);
    let frame = top
        .table("frame")
        .and_then(|table| frame(table, &procedures));
    let file = File {
        name,
        units: reader.units(),
        material,
        structural,
        frame,
        has_frame: top.has("frame"),
        machine: top.table("machine").and_then(shop::machine),
        prices: top.table("prices").map(shop::prices),
        shop_file: shop::file(&mut top),
        opening: top.table("opening").and_then(opening),
        goal: goal(&mut top),
        points: top.table("points"),
        members: top.tables("member"),
        welds: top.tables("weld"),
        changes: top.table("change"),
        clamps: top.tables("clamp"),
        procedures,
    };
    if !top.has("frame") && !top.has("member") {
        reader.wrong(
            &(0..0),
            "the file describes no member",
            "add [frame] with width, height and section, or [[member]] for each",
        );
    }
    top.finish();
    file
}

/// Reads what bare numbers are in, for all that is read after it.
pub(super) fn units(top: &mut Table<'_>) -> Units {
    let reader = top.reader();
    if let Some(units) = top.choice(
        "units",
        &[("mm", Units::Metric), ("inch", Units::UsCustomary)],
    ) {
        reader.set_units(units.into_inner());
    }
    reader.units()
}

fn material(top: &mut Table<'_>) -> Option<Material> {
    let reader = top.reader();
    let Some(value) = top.value("material") else {
        return Some(Material::mild_steel());
    };
    let known = |name: &str, span: &Span| {
        let found = Material::by_name(name);
        if found.is_none() {
            let known: Vec<_> = Material::known_names().collect();
            let what = format!("'{name}' is no material that is known here");
            reader.wrong(
                span,
                what,
                format!("{}; or describe it under [material]", advice(name, &known)),
            );
        }
        found
    };
    match value.get_ref() {
        DeValue::String(name) => known(name, &value.span()),
        DeValue::Table(table) => {
            let mut table = Table::new(reader, table, value.span(), "[material]");
            let like = match table.text("like") {
                Some(name) => known(name.get_ref(), &name.span()),
                None => Some(Material::mild_steel()),
            };
            let mut material = like?;
            if let Some(name) = table.text("name") {
                material.name = name.into_inner();
            }
            for (key, field) in [
                ("density_kg_m3", &mut material.density_kg_m3),
                ("youngs_modulus_mpa", &mut material.youngs_modulus_mpa),
                ("poisson_ratio", &mut material.poisson_ratio),
                (
                    "thermal_expansion_per_k",
                    &mut material.thermal_expansion_per_k,
                ),
                ("yield_mpa", &mut material.yield_mpa),
                ("conductivity_w_mk", &mut material.conductivity_w_mk),
                (
                    "volumetric_heat_j_mm3k",
                    &mut material.volumetric_heat_j_mm3k,
                ),
            ] {
                if let Some(given) = table.positive(key, Kind::Number) {
                    *field = given.into_inner();
                }
            }
            table.finish();
            if let Err(error) = material.check() {
                reader.wrong(
                    &value.span(),
                    error.to_string(),
                    "mind the unit in the name of the setting",
                );
            }
            Some(material)
        }
        _ => {
            reader.wrong(
                &value.span(),
                "'material' is a name or a table",
                "write material = \"steel\"",
            );
            None
        }
    }
}

/// What the maker wants most: one word or several.
fn goal(top: &mut Table<'_>) -> Goal {
    let reader = top.reader();
    let mut goal = Goal::default();
    for value in top.list("goal") {
        let word = value.get_ref().as_str().unwrap_or_default();
        if !goal.add(word) {
            let what = format!("'{word}' is nothing that a plan can aim at");
            reader.wrong(&value.span(), what, advice(word, &Goal::WORDS));
        }
    }
    goal
}

fn procedures(top: &mut Table<'_>) -> Vec<Procedure> {
    let reader = top.reader();
    if !top.has("procedure") {
        reader.wrong(
            &(0..0),
            "the file has no procedure",
            "add [procedure] with process, volts, amps, travel_speed and heat_input; `coldsquare new` writes one to begin with",
        );
    }
    let mut procedures: Vec<Procedure> = Vec::new();
    for (number, value) in top.list("procedure").into_iter().enumerate() {
        let span = value.span();
        let read = match value.get_ref() {
            DeValue::String(path) => procedure::from_file(path, &span, reader),
            DeValue::Table(table) => {
                let table = Table::new(reader, table, span.clone(), "[[procedure]]");
                procedure::read(table, number)
            }
            _ => {
                reader.wrong(
                    &span,
                    "'procedure' is a table, or the name of a file",
                    "write a line [procedure] and its settings below, or procedure = \"mag-thin.toml\" near the top",
                );
                None
            }
        };
        let Some(procedure) = read else {
            continue;
        };
        if procedures.iter().any(|other| other.name == procedure.name) {
            let what = format!("two procedures are called '{}'", procedure.name);
            reader.wrong(&span, what, "give each its own name");
        }
        procedures.push(procedure);
    }
    procedures
}

/// The procedure that a table names, if it names one.
pub(super) fn procedure_of(table: &mut Table<'_>, procedures: &[Procedure]) -> Option<usize> {
    let name = table.text("procedure")?;
    let found = procedures
        .iter()
        .position(|procedure| procedure.name == *name.get_ref());
    if found.is_none() {
        let known: Vec<_> = procedures
            .iter()
            .map(|procedure| procedure.name.as_str())
            .collect();
        let what = format!("there is no procedure '{}'", name.get_ref());
        table
            .reader()
            .wrong(&name.span(), what, advice(name.get_ref(), &known));
    }
    found
}

/// How the welds that a table describes are made; what it does not say is as beside it.
pub(super) fn welding(
    table: &mut Table<'_>,
    procedures: &[Procedure],
    sides: Sides,
    beside: Option<&Welding>,
) -> Welding {
    let leg = table.positive("leg", Kind::Length).map(Spanned::into_inner);
    let own = procedure_of(table, procedures);
    Welding {
        sides: self::sides(table, sides),
        leg: leg.or(beside.and_then(|beside| beside.leg)),
        procedure: own.or(beside.map(|beside| beside.procedure)).unwrap_or(0),
        span: table.span().clone(),
    }
}

/// A section by its designation.
pub(super) fn section(table: &mut Table<'_>) -> Option<Section> {
    if !table.has("section") {
        table.missing("section", "section = \"SHS 40x40x3\"");
    }
    let text = table.text("section")?;
    let (designation, span) = (text.get_ref().trim(), text.span());
    match table.reader().section(designation) {
        Ok(section) => Some(section),
        Err(error) => {
            let what = format!("'{designation}' is not a section that can be made");
            table.reader().wrong(&span, what, error.to_string());
            None
        }
    }
}

fn stock(table: &mut Table<'_>) -> Option<Stock> {
    let seen = table.choice("seen", &[("depth", Seen::Depth), ("width", Seen::Width)]);
    let section = section(table)?;
    Some(Stock {
        section,
        seen: seen.map_or(Seen::Depth, Spanned::into_inner),
    })
}

/// The sides to weld: words, or "all".
pub(super) fn sides(table: &mut Table<'_>, otherwise: Sides) -> Sides {
    let reader = table.reader();
    if !table.has("welded") {
        table.value("welded");
        return otherwise;
    }
    let mut chosen = Vec::new();
    for value in table.list("welded") {
        let word = value.get_ref().as_str().unwrap_or_default();
        if word == "all" {
            return Sides::All;
        }
        match Sides::WORDS.iter().find(|known| **known == word) {
            Some(known) => chosen.push(*known),
            None => {
                let mut known = vec!["all"];
                known.extend(Sides::WORDS);
                reader.wrong(
                    &value.span(),
                    "this is no side of a member",
                    advice(word, &known),
                );
            }
        }
    }
    Sides::These(chosen)
}

fn front_and_back() -> Sides {
    Sides::These(vec!["front", "back"])
}

fn frame(mut table: Table<'_>, procedures: &[Procedure]) -> Option<Frame> {
    let width = table.required("width", Kind::Length, "width = 1200");
    let height = table.required("height", Kind::Length, "height = 900");
    let stock = stock(&mut table);
    let corners = table.choice(
        "corners",
        &[
            ("mitred", Corners::Mitred),
            ("mitered", Corners::Mitred),
            ("butted", Corners::RailsThrough),
            ("rails through", Corners::RailsThrough),
            ("stiles through", Corners::StilesThrough),
            ("open", Corners::Open),
        ],
    );
    // The corners of a frame are welded wherever the section has metal.
    let welding = welding(&mut table, procedures, Sides::All, None);
    let beside = &welding;
    let mid_rails = table
        .table("mid_rails")
        .map(|inner| mid_rails(inner, procedures, beside, stock.as_ref()));
    let bars = table
        .table("bars")
        .map(|inner| bars(inner, procedures, beside));
    let brace = table
        .table("brace")
        .map(|inner| brace(inner, procedures, beside));
    table.finish();
    Some(Frame {
        width: width?,
        height: height?,
        corners: corners.map_or(Corners::Mitred, Spanned::into_inner),
        mid_rails: optional(mid_rails)?,
        bars: optional(bars)?,
        brace: optional(brace)?,
        part: Part {
            stock: stock?,
            welding,
        },
    })
}

/// Absent is fine, present and wrong is not.
fn optional<T>(part: Option<Option<T>>) -> Option<Option<T>> {
    match part {
        None => Some(None),
        Some(read) => read.map(Some),
    }
}

fn mid_rails(
    mut table: Table<'_>,
    procedures: &[Procedure],
    beside: &Welding,
    outer: Option<&Stock>,
) -> Option<MidRails> {
    let reader = table.reader();
    if !table.has("heights") {
        table.missing("heights", "heights = [450]");
    }
    let heights: Vec<_> = table
        .list("heights")
        .into_iter()
        .filter_map(|height| reader.positive(height, Kind::Length))
        .collect();
    let stock = if table.has("section") {
        stock(&mut table)
    } else {
        table.value("section");
        table.value("seen");
        outer.cloned()
    };
    let welding = welding(&mut table, procedures, Sides::All, Some(beside));
    table.finish();
    Some(MidRails {
        part: Part {
            stock: stock?,
            welding,
        },
        heights,
    })
}

fn bars(mut table: Table<'_>, procedures: &[Procedure], beside: &Welding) -> Option<Bars> {
    let stock = stock(&mut table);
    let direction = table.choice(
        "direction",
        &[
            ("vertical", Direction::Vertical),
            ("horizontal", Direction::Horizontal),
        ],
    );
    let count = table.whole("count", 1, 1000);
    let gap = table.positive("largest_gap", Kind::Length);
    match (table.has("count"), table.has("largest_gap")) {
        (false, false) => table.missing("count", "count = 9, or largest_gap = 110"),
        (true, true) => table.reader().wrong(
            table.span(),
            "both 'count' and 'largest_gap' are given",
            "keep one of them",
        ),
        _ => {}
    }
    let count = count
        .map(|count| Spanned::new(count.span(), Count::Number(count.into_inner())))
        .or(gap.map(|gap| Spanned::new(gap.span(), Count::LargestGap(gap.into_inner()))));
    let welding = welding(&mut table, procedures, front_and_back(), Some(beside));
    table.finish();
    Some(Bars {
        part: Part {
            stock: stock?,
            welding,
        },
        count: count?,
        direction: direction.map_or(Direction::Vertical, Spanned::into_inner),
    })
}

fn brace(mut table: Table<'_>, procedures: &[Procedure], beside: &Welding) -> Option<Brace> {
    let stock = stock(&mut table);
    let rising = table.choice("direction", &[("rising", true), ("falling", false)]);
    let welding = welding(&mut table, procedures, front_and_back(), Some(beside));
    table.finish();
    Some(Brace {
        part: Part {
            stock: stock?,
            welding,
        },
        rising: rising.is_none_or(Spanned::into_inner),
    })
}

fn opening(mut table: Table<'_>) -> Option<(Opening, Span)> {
    let width = table.required("width", Kind::Length, "width = 1216");
    let height = table.positive("height", Kind::Length);
    let clearance = table.positive("clearance", Kind::Length);
    let span = table.span().clone();
    table.finish();
    let opening = Opening {
        width: Millimetres(width?.into_inner()),
        height: height.map(|height| Millimetres(height.into_inner())),
        clearance: Millimetres(clearance.map_or(0.0, Spanned::into_inner)),
    };
    Some((opening, span))
}
