//! Draws what a job file describes: members, joints and welds in the order in which they are numbered.
//!
//! ```text
//! frame, infill ([frame]) -> members, welds ([[member]], [[weld]]) -> clamps -> changes -> check -> Job
//! ```
//!
//! `solid` holds the geometry of members as prisms, `drawing` what has been drawn, `places` the names it gives.

mod changes;
mod check;
mod clamps;
mod drawing;
mod facing;
mod finish;
mod frame;
mod holes;
mod infill;
mod lap;
mod legs;
mod loose;
mod members;
mod names;
mod places;
mod plates;
mod solid;
mod welds;

use self::drawing::Drawing;
use self::places::Places;
use super::finish::Finish;
use super::model::{Job, Structural};
use super::read::{JobFile, StructuralAsWritten};
use crate::procedure::model::Procedure;
use crate::reading::Reader;

/// Draws the tables that describe members, welds and clamps one by one.
struct ByTable<'a> {
    drawing: &'a mut Drawing,
    places: &'a mut Places,
    procedures: &'a [Procedure],
    reader: &'a Reader<'a>,
}

/// Draws what is written. `None` only when an error was noted.
pub(super) fn draw<'a>(file: JobFile<'a>, reader: &'a Reader<'a>) -> Option<Job> {
    let errors_before = reader.count();
    let mut drawing = match &file.frame {
        Some(frame) => frame::draw(frame, Drawing::with(file.joints, file.seen_from), reader),
        None => Drawing::with(file.joints, file.seen_from),
    };
    let mut places = Places::new(&drawing, file.points);
    let mut tables = ByTable {
        drawing: &mut drawing,
        places: &mut places,
        procedures: &file.procedures,
        reader,
    };
    // A frame that could not be read would make every place on it look wrong.
    let is_complete = file.frame.is_some() || !file.has_frame;
    if is_complete {
        if let Some(frame) = &file.frame {
            if let Some(legs) = &frame.legs {
                tables.legs(frame, legs);
            }
            if let Some(feet) = &frame.feet {
                tables.feet(frame, feet);
            }
            if let Some(gussets) = &frame.gussets {
                tables.gussets(gussets);
            }
        }
        for table in file.members {
            tables.member(table);
        }
        for table in file.gussets {
            tables.gusset_between(table);
        }
        for table in file.welds {
            tables.weld(table);
        }
    }
    let clamps = file.clamps.into_iter().filter(|_| is_complete);
    let (mut clamps, releases): (Vec<_>, Vec<_>) =
        clamps.filter_map(|table| tables.clamp(table)).unzip();
    let holes = file.holes.into_iter().filter(|_| is_complete);
    let holes: Vec<_> = holes.filter_map(|table| tables.hole(table)).collect();
    let structural = match file.structural {
        // The members of a frame that could not be read have no names.
        StructuralAsWritten::Members(_) if !is_complete => Structural::Everything,
        written => structural(written, &places, reader),
    };
    // The numbers of welds are right only when all of them are drawn.
    if is_complete && reader.count() == errors_before {
        let releases = clamps.iter_mut().zip(releases);
        let procedures = &file.procedures;
        drawing.check_joint_sides(reader);
        loose::check(&drawing, reader);
        changes::apply(file.changes, releases, &mut drawing, procedures, reader);
        check::check(&drawing, procedures, file.opening.as_ref(), reader);
    }
    let (members, joints, welds) = drawing.finish();
    let finish = Finish {
        holes,
        panels: file.panels,
        ..finish::finish(file.finish, &welds, &structural, reader)
    };
    Some(Job {
        name: file.name.unwrap_or_else(|| reader.file_stem()),
        units: file.units,
        seen_from: file.seen_from,
        material: file.material?,
        members,
        joints,
        welds,
        structural,
        procedures: file.procedures,
        opening: file.opening.map(|(opening, _)| opening),
        goal: file.goal,
        clamps,
        fixture: file.fixture,
        ripped: file.ripped,
        finish,
        machine: file.machine,
        prices: file.prices,
        shop_file: file.shop_file,
        recording: file.recording,
        shop: None,
    })
}

/// The structural members by index; the name of no member is an error.
fn structural(written: StructuralAsWritten, places: &Places, reader: &Reader<'_>) -> Structural {
    match written {
        StructuralAsWritten::Whole(true) => Structural::Everything,
        StructuralAsWritten::Whole(false) => Structural::Nothing,
        StructuralAsWritten::Members(names) => {
            let found = names.iter().filter_map(|name| places.member(name, reader));
            let mut members: Vec<usize> = found.collect();
            members.sort_unstable();
            members.dedup();
            if members.is_empty() {
                Structural::Nothing
            } else {
                Structural::Members(members)
            }
        }
    }
}
