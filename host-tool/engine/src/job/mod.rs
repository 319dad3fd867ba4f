//! The job: from a short file to members, joints and welds, or to every error in it.
//!
//! ```text
//! text -> tables (reader) -> what is written (file, procedure) -> what is drawn (frame, infill, free) -> Job
//! ```
//!
//! [`load`] is what commands call; [`from_text`] is the same without the disk. The job that comes out is complete and
//! checked; how it was written is forgotten.

mod changes;
mod check;
pub mod cut_list;
mod drawing;
mod file;
mod frame;
mod free;
mod infill;
pub mod model;
mod places;
mod procedure;
mod quantity;
mod reader;
mod sheet;
mod shop;
mod solid;
mod structural;

use crate::procedure::model::Procedure;
use crate::units::Units;
use model::{Job, Structural};

use crate::failure::Failure;
use crate::files::{self, Files, NoFiles};
use crate::file_error::{FileErrors, Source};
use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres, Newtons};
use drawing::Drawing;
use free::FreeHand;
use places::Places;
use reader::{Reader, Table};
use serde_spanned::Spanned;
use std::path::Path;
use structural::StructuralAsWritten;
use toml::de::DeTable;

/// Reads a job from a file, and the file of the shop that it names.
///
/// # Errors
/// [`Failure::Input`] with every error in the file, [`Failure::File`] when it cannot be read.
pub fn load(files: &dyn Files, path: &Path) -> Result<Job, Failure> {
    let mut job = load_alone(files, path)?;
    crate::shop::file::attach(files, &mut job, path)?;
    Ok(job)
}

/// Reads a job from a file, and not the file of the shop that it may name.
///
/// # Errors
/// [`Failure::Input`] with every error in the file, [`Failure::File`] when it cannot be read.
pub fn load_alone(files: &dyn Files, path: &Path) -> Result<Job, Failure> {
    let source = files::text(files, path)?;
    from_source(files, &source).map_err(|errors| Failure::Input(errors.to_string()))
}

/// Reads a job from a text that names no other file; `name` is what messages call it.
///
/// # Errors
/// Every error in the text, in its order.
pub fn from_text(name: &str, text: &str) -> Result<Job, FileErrors> {
    from_source(&NoFiles, &Source::new(name, text))
}

/// Reads a job from a text that knows its name, and the procedures that it names from `files`. A job without a name of its own is called after the file.
///
/// # Errors
/// Every error in the text, in its order.
pub fn from_source(files: &dyn Files, source: &Source) -> Result<Job, FileErrors> {
    let table = table_of(source)?;
    let reader = Reader::new(source, files);
    let span = table.span();
    let table = table.into_inner();
    let job = build(
        file::read(Table::new(
            &reader,
            &table,
            span.start..span.start,
            "the file",
        )),
        &reader,
    );
    FileErrors::none_of(reader.into_errors())?;
    job.ok_or_else(|| source.error(0..0, "the job could not be drawn").into())
}

/// A length as a person writes it: `3`, `"3 mm"`, `"1/8 in"`; a bare number is in mm. `None` when it is not one.
#[must_use]
pub fn length(text: &str) -> Option<Millimetres> {
    let length = quantity::Kind::Length.written(text, Units::Metric)?;
    length.is_finite().then_some(Millimetres(length))
}

/// A length as a person writes it, a bare number in these units. `None` when it is not one.
#[must_use]
pub fn length_in(text: &str, units: Units) -> Option<Millimetres> {
    let length = quantity::Kind::Length.written(text, units)?;
    length.is_finite().then_some(Millimetres(length))
}

/// A force as a person writes it: `"5 kN"`, `"1000 lbf"`; a bare number is in kN or, in US customary units, lbf. `None`
/// when it is not one.
#[must_use]
pub fn force_in(text: &str, units: Units) -> Option<Newtons> {
    let force = match (text.trim().parse::<f64>(), units) {
        (Ok(kilonewtons), Units::Metric) => 1000.0 * kilonewtons,
        _ => quantity::Kind::Force.written(text, units)?,
    };
    force.is_finite().then_some(Newtons(force))
}

/// A heat input as a person writes it; a bare number is in kJ/mm. `None` when it is not one, or not greater than zero.
#[must_use]
pub fn heat_input(text: &str) -> Option<JoulesPerMillimetre> {
    let heat = quantity::Kind::HeatInput.written(text, Units::Metric)?;
    (heat.is_finite() && heat > 0.0).then_some(JoulesPerMillimetre(heat))
}

/// A temperature as a person writes it; a bare number is in °C. `None` when it is not one.
#[must_use]
pub fn temperature(text: &str) -> Option<Celsius> {
    let degrees = quantity::Kind::Temperature.written(text, Units::Metric)?;
    degrees.is_finite().then_some(Celsius(degrees))
}

/// Reads a procedure file (the settings of `[procedure]` without the heading), and the units it is written in.
///
/// # Errors
/// Every error in the text, in its order.
pub fn procedure_from_source(source: &Source) -> Result<(Procedure, Units), FileErrors> {
    let table = table_of(source)?;
    let reader = Reader::new(source, &NoFiles);
    let start = table.span().start;
    let table = table.into_inner();
    let mut top = Table::new(&reader, &table, start..start, "the procedure");
    let units = file::units(&mut top);
    let named = top.has("name");
    let procedure = procedure::read(top, 0);
    let stem = reader.file_stem();
    FileErrors::none_of(reader.into_errors())?;
    let mut procedure =
        procedure.ok_or_else(|| source.error(0..0, "the procedure could not be read"))?;
    if !named {
        procedure.name = stem;
    }
    Ok((procedure, units))
}

/// The text as TOML. What could not be read would only bring more complaints about what seems to be missing.
fn table_of(source: &Source) -> Result<Spanned<DeTable<'_>>, FileErrors> {
    let (table, syntax) = DeTable::parse_recoverable(source.text());
    let errors = syntax.iter().map(|error| {
        source
            .error(error.span().unwrap_or(0..0), error.message())
            .hint("a job file is TOML: lines with [table], and lines with key = value")
    });
    FileErrors::none_of(errors.collect())?;
    Ok(table)
}

/// Draws what is written. `None` only when an error was noted.
fn build<'a>(file: file::File<'a>, reader: &'a Reader<'a>) -> Option<Job> {
    let before = reader.count();
    let mut drawing = match &file.frame {
        Some(frame) => frame::draw(frame, reader),
        None => Drawing::default(),
    };
    let mut places = Places::new(&drawing, file.points);
    let mut hand = FreeHand {
        drawing: &mut drawing,
        places: &mut places,
        procedures: &file.procedures,
        reader,
    };
    // A frame that could not be read would make every place on it look wrong.
    let complete = file.frame.is_some() || !file.has_frame;
    if complete {
        for table in file.members {
            hand.member(table);
        }
        for table in file.welds {
            hand.weld(table);
        }
    }
    let clamps = file.clamps.into_iter().filter(|_| complete);
    let (mut clamps, releases): (Vec<_>, Vec<_>) =
        clamps.filter_map(|table| hand.clamp(table)).unzip();
    let structural = match file.structural {
        // The members of a frame that could not be read have no names.
        StructuralAsWritten::Members(_) if !complete => Structural::Everything,
        written => written.found(&places, reader),
    };
    // Numbers of welds mean something only when all of them are drawn.
    if complete && reader.count() == before {
        let releases = clamps.iter_mut().zip(releases);
        changes::apply(
            file.changes,
            releases,
            &mut drawing,
            &file.procedures,
            reader,
        );
        check::check(&drawing, &file.procedures, file.opening.as_ref(), reader);
    }
    let (members, joints, welds) = drawing.finish();
    Some(Job {
        name: file.name.unwrap_or_else(|| reader.file_stem()),
        units: file.units,
        material: file.material?,
        members,
        joints,
        welds,
        structural,
        procedures: file.procedures,
        opening: file.opening.map(|(opening, _)| opening),
        goal: file.goal,
        clamps,
        machine: file.machine,
        prices: file.prices,
        shop_file: file.shop_file,
        shop: None,
    })
}

#[cfg(test)]
mod tests;
