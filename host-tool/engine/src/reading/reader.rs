//! The text being read, the units of its bare numbers, and the errors found so far.

use super::quantity::QuantityKind;
use crate::file_error::{FileError, FileErrors, Source};
use crate::files::Files;
use crate::geometry::Point;
use crate::section::{Section, SectionError};
use crate::units::Units;
use serde_spanned::Spanned;
use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A longer length is a slip of the decimal point, mm.
const MAX_LENGTH_MM: f64 = 100_000.0;

/// The bytes of a value in the text.
pub(crate) type Span = Range<usize>;

/// The text being read and the errors found so far.
pub(crate) struct Reader<'a> {
    source: &'a Source,
    files: &'a dyn Files,
    errors: RefCell<Vec<FileError>>,
    units: Cell<Units>,
    sections: RefCell<HashMap<String, Result<Section, SectionError>>>,
}

impl<'a> Reader<'a> {
    pub(crate) fn new(source: &'a Source, files: &'a dyn Files) -> Self {
        Self {
            source,
            files,
            errors: RefCell::default(),
            units: Cell::default(),
            sections: RefCell::default(),
        }
    }

    /// The file name without folder and extension.
    pub(crate) fn file_stem(&self) -> String {
        let stem = std::path::Path::new(self.source.name()).file_stem();
        stem.unwrap_or_default().to_string_lossy().into_owned()
    }

    /// Opens the files that this one names.
    pub(crate) fn files(&self) -> &'a dyn Files {
        self.files
    }

    /// The path of a file that this one names relative to itself.
    pub(crate) fn beside(&self, path: &str) -> std::path::PathBuf {
        let folder = std::path::Path::new(self.source.name()).parent();
        folder.unwrap_or(std::path::Path::new("")).join(path)
    }

    /// A section by its designation, computed once for all members that have it.
    pub(crate) fn section(&self, designation: &str) -> Result<Section, SectionError> {
        let mut sections = self.sections.borrow_mut();
        let known = sections.entry(designation.to_string());
        known
            .or_insert_with(|| match self.units() {
                Units::Metric => Section::parse(designation),
                Units::UsCustomary => Section::parse_inches(designation),
            })
            .clone()
    }

    /// Units of bare numbers.
    pub(crate) fn units(&self) -> Units {
        self.units.get()
    }

    pub(crate) fn set_units(&self, units: Units) {
        self.units.set(units);
    }

    /// Notes an error.
    pub(crate) fn error(&self, span: &Span, what: impl AsRef<str>, hint: impl AsRef<str>) {
        let error = self.source.error(span.clone(), what).hint(hint);
        self.errors.borrow_mut().push(error);
    }

    /// How many errors have been noted.
    pub(crate) fn count(&self) -> usize {
        self.errors.borrow().len()
    }

    pub(crate) fn into_errors(self) -> Vec<FileError> {
        self.errors.into_inner()
    }

    /// A finite number in the metric unit of its kind.
    pub(crate) fn quantity(&self, value: &Spanned<DeValue<'_>>, kind: QuantityKind) -> Option<f64> {
        let units = self.units();
        let read = match value.get_ref() {
            DeValue::String(text) => kind.written(text, units),
            other => bare_number(other).map(|number| kind.bare(number, units)),
        };
        let refuse = |what: &str| {
            self.error(
                &value.span(),
                what,
                format!("write {}", kind.examples(units)),
            );
            None
        };
        match read {
            None => refuse(&format!("this is not {}", kind.name())),
            Some(number) if !number.is_finite() => refuse("this is not an ordinary number"),
            Some(number) if kind == QuantityKind::Length && number.abs() > MAX_LENGTH_MM => {
                refuse("this is more than 100 m")
            }
            Some(number) => Some(number),
        }
    }

    /// As [`Reader::quantity`], and greater than zero.
    pub(crate) fn positive(
        &self,
        value: &Spanned<DeValue<'_>>,
        kind: QuantityKind,
    ) -> Option<Spanned<f64>> {
        let number = self.quantity(value, kind)?;
        if number > 0.0 {
            return Some(Spanned::new(value.span(), number));
        }
        let what = if number < 0.0 {
            "this is negative"
        } else {
            "this is zero"
        };
        self.error(&value.span(), what, "it must be greater than zero");
        None
    }

    /// A position or direction `[x, y, z]`.
    pub(crate) fn point(&self, value: &Spanned<DeValue<'_>>, kind: QuantityKind) -> Option<Point> {
        let coordinates = value.get_ref().as_array().map(|array| array.iter());
        let Some(coordinates) = coordinates.filter(|all| all.len() == 3) else {
            self.error(
                &value.span(),
                "this is not a position or direction",
                "write three numbers: [right, up, towards the viewer], for example [300, 0, -20]",
            );
            return None;
        };
        let numbers: Vec<_> = coordinates.map(|one| self.quantity(one, kind)).collect();
        match numbers.as_slice() {
            [Some(x), Some(y), Some(z)] => Some(Point::new(*x, *y, *z)),
            _ => None,
        }
    }
}

/// The text as TOML. With a syntax error it is read no further: what follows would only bring false errors.
///
/// # Errors
/// Every syntax error.
pub(crate) fn parse(source: &Source) -> Result<Spanned<DeTable<'_>>, FileErrors> {
    let (table, syntax) = DeTable::parse_recoverable(source.text());
    let errors = syntax.iter().map(|error| {
        source
            .error(error.span().unwrap_or(0..0), error.message())
            .hint("a job file is TOML: lines with [table], and lines with key = value")
    });
    FileErrors::none_of(errors.collect())?;
    Ok(table)
}

fn bare_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix())
            .ok()
            .map(|whole| whole as f64),
        DeValue::Float(float) => float.as_str().parse().ok(),
        _ => None,
    }
}
