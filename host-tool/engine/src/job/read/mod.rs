//! What is written in a job file, table by table, before anything is drawn.
//!
//! A new key goes where its table is read, and into docs/guide/job-file.md.

pub(super) mod facing;
pub(super) mod finish;
pub(super) mod frame;
mod machine;
mod material;
mod opening;
pub(super) mod plates;
mod recording;
mod setup;
mod structural;
pub(super) mod welding;

use self::finish::FinishAsWritten;
use self::frame::Frame;
pub(super) use self::structural::StructuralAsWritten;
use self::welding::JointSides;
use super::finish::Panel;
use super::model::{Goal, Machine, Opening, Prices, SeenFrom, ShopFile};
use super::setup::{FixtureTable, RippedStock};
use crate::material::Material;
use crate::procedure::model::Procedure;
use crate::procedure::read as procedure;
use crate::reading::{Span, Table, suggest};
use crate::recording::RecordingOptions;
use crate::units::Units;
use serde_spanned::Spanned;
use toml::de::DeValue;

/// A job as it is written.
pub(super) struct JobFile<'a> {
    pub name: Option<String>,
    pub units: Units,
    pub seen_from: SeenFrom,
    pub material: Option<Material>,
    pub structural: StructuralAsWritten,
    pub procedures: Vec<Procedure>,
    pub frame: Option<Frame>,
    /// Whether there is a `[frame]`, even one with errors.
    pub has_frame: bool,
    pub fixture: FixtureTable,
    pub ripped: Vec<RippedStock>,
    pub finish: Option<FinishAsWritten<'a>>,
    pub panels: Vec<Panel>,
    pub machine: Option<Machine>,
    pub prices: Option<Prices>,
    pub shop_file: Option<ShopFile>,
    pub recording: RecordingOptions,
    pub opening: Option<(Opening, Span)>,
    pub goal: Goal,
    /// Tables that cannot be read without the drawing.
    pub points: Option<Table<'a>>,
    pub members: Vec<Table<'a>>,
    pub gussets: Vec<Table<'a>>,
    pub welds: Vec<Table<'a>>,
    pub changes: Option<Table<'a>>,
    pub clamps: Vec<Table<'a>>,
    pub holes: Vec<Table<'a>>,
    pub joints: Vec<JointSides>,
}

/// Reads the whole file and notes every error.
pub(super) fn read(mut top: Table<'_>) -> JobFile<'_> {
    let reader = top.reader();
    let name = top.text("name").map(Spanned::into_inner);
    let units = top.units();
    let material = material::read(&mut top);
    let structural = structural::read(&mut top);
    let procedures = procedures(&mut top);
    let written = top.choice("seen_from", &SeenFrom::WORDS);
    let frame = top.table("frame");
    // Legs run towards the viewer: a frame that has some is seen from above.
    let has_legs = frame.as_ref().is_some_and(|table| table.has("legs"));
    let seen_from = match written {
        Some(written) if has_legs && *written.get_ref() == SeenFrom::Front => {
            reader.error(
                &written.span(),
                "a frame with legs is seen from above",
                "leave out seen_from; the lower edge of the frame is the front",
            );
            SeenFrom::Above
        }
        Some(written) => written.into_inner(),
        None if has_legs => SeenFrom::Above,
        None => SeenFrom::Front,
    };
    let frame = frame.and_then(|table| frame::frame(table, &procedures, seen_from));
    let file = JobFile {
        name,
        units,
        seen_from,
        material,
        structural,
        frame,
        has_frame: top.has("frame"),
        fixture: top
            .table("fixture")
            .map(setup::fixture)
            .unwrap_or_else(|| FixtureTable::usual(units)),
        ripped: top
            .tables("ripped")
            .into_iter()
            .filter_map(setup::ripped)
            .collect(),
        finish: top.table("finish").map(finish::finish),
        panels: top
            .tables("panel")
            .into_iter()
            .filter_map(finish::panel)
            .collect(),
        holes: top.tables("hole"),
        machine: top.table("machine").and_then(machine::machine),
        prices: top.table("prices").map(machine::prices),
        shop_file: machine::shop_file(&mut top),
        recording: recording::read(&mut top),
        opening: top.table("opening").and_then(opening::opening),
        goal: goal(&mut top),
        points: top.table("points"),
        members: top.tables("member"),
        gussets: top.tables("gusset"),
        welds: top.tables("weld"),
        changes: top.table("change"),
        clamps: top.tables("clamp"),
        joints: welding::joint_sides(top.table("joint")),
        procedures,
    };
    if !top.has("frame") && !top.has("member") {
        reader.error(
            &(0..0),
            "the file describes no member",
            "add [frame] with width, height and section, or a [[member]] for each",
        );
    }
    top.finish();
    file
}

/// What the user wants most: one word or several.
fn goal(top: &mut Table<'_>) -> Goal {
    let reader = top.reader();
    let mut goal = Goal::default();
    for value in top.list("goal") {
        let word = value.get_ref().as_str().unwrap_or_default();
        if !goal.add(word) {
            let what = format!("unknown goal '{word}'");
            reader.error(&value.span(), what, suggest(word, &Goal::WORDS));
        }
    }
    goal
}

fn procedures(top: &mut Table<'_>) -> Vec<Procedure> {
    let reader = top.reader();
    if !top.has("procedure") {
        reader.error(
            &(0..0),
            "the file has no procedure",
            "add [procedure] with process, volts, amps, travel_speed and heat_input; `coldsquare new` writes one to start from",
        );
    }
    let mut procedures: Vec<Procedure> = Vec::new();
    for (index, value) in top.list("procedure").into_iter().enumerate() {
        let span = value.span();
        let read = match value.get_ref() {
            DeValue::String(path) => procedure::from_file(path, &span, reader),
            DeValue::Table(table) => {
                let table = Table::new(reader, table, span.clone(), "[[procedure]]");
                procedure::read(table, index)
            }
            _ => {
                reader.error(
                    &span,
                    "'procedure' must be a table, or the name of a file",
                    "write a line [procedure] and its keys below it, or procedure = \"mag-thin.toml\" near the top",
                );
                None
            }
        };
        let Some(procedure) = read else {
            continue;
        };
        if procedures.iter().any(|other| other.name == procedure.name) {
            let what = format!("two procedures are called '{}'", procedure.name);
            reader.error(&span, what, "give each its own name");
        }
        procedures.push(procedure);
    }
    procedures
}
