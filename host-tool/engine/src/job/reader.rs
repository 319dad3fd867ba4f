//! Walks the tables of a job file, value by value, and gathers every mistake on the way.
//!
//! A derived reader would stop at the first mistake; here a value that is wrong is noted with its place and read as
//! missing, and reading goes on. A key that nobody asked for is a mistake too.

use super::model::Point;
use super::quantity::Kind;
use crate::files::Files;
use crate::located::{Mistake, Source};
use crate::procedure::limits::Limits;
use crate::section::{Section, SectionError};
use crate::units::Units;
use serde_spanned::Spanned;
use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Greatest length taken, mm: more is a slip of the decimal point.
const GREATEST_LENGTH_MM: f64 = 100_000.0;

/// Where a value stands in the text.
pub(super) type Span = Range<usize>;

/// The text being read and the mistakes found so far.
pub(super) struct Reader<'a> {
    source: &'a Source,
    files: &'a dyn Files,
    mistakes: RefCell<Vec<Mistake>>,
    units: Cell<Units>,
    sections: RefCell<HashMap<String, Result<Section, SectionError>>>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(source: &'a Source, files: &'a dyn Files) -> Self {
        Self {
            source,
            files,
            mistakes: RefCell::default(),
            units: Cell::default(),
            sections: RefCell::default(),
        }
    }

    /// The name of the file without folder and ending.
    pub(super) fn file_stem(&self) -> String {
        let stem = std::path::Path::new(self.source.name()).file_stem();
        stem.unwrap_or_default().to_string_lossy().into_owned()
    }

    /// Where files that this one names are read from.
    pub(super) fn files(&self) -> &'a dyn Files {
        self.files
    }

    /// A file named in this one: beside it.
    pub(super) fn beside(&self, path: &str) -> std::path::PathBuf {
        let folder = std::path::Path::new(self.source.name()).parent();
        folder.unwrap_or(std::path::Path::new("")).join(path)
    }

    /// A section by its designation, computed once however many members have it.
    pub(super) fn section(&self, designation: &str) -> Result<Section, SectionError> {
        let mut sections = self.sections.borrow_mut();
        let known = sections.entry(designation.to_string());
        known
            .or_insert_with(|| read_section(designation, self.units()))
            .clone()
    }

    /// Units that bare numbers are in.
    pub(super) fn units(&self) -> Units {
        self.units.get()
    }

    pub(super) fn set_units(&self, units: Units) {
        self.units.set(units);
    }

    /// Notes a mistake.
    pub(super) fn wrong(&self, span: &Span, what: impl AsRef<str>, hint: impl AsRef<str>) {
        let mistake = self.source.mistake(span.clone(), what).hint(hint);
        self.mistakes.borrow_mut().push(mistake);
    }

    /// How many mistakes were noted so far.
    pub(super) fn count(&self) -> usize {
        self.mistakes.borrow().len()
    }

    pub(super) fn into_mistakes(self) -> Vec<Mistake> {
        self.mistakes.into_inner()
    }

    /// A number with its unit, in the metric unit of its kind, finite.
    pub(super) fn quantity(&self, value: &Spanned<DeValue<'_>>, kind: Kind) -> Option<f64> {
        let units = self.units();
        let read = match value.get_ref() {
            DeValue::String(text) => kind.written(text, units),
            other => bare_number(other).map(|number| kind.bare(number, units)),
        };
        let refuse = |what: &str| {
            self.wrong(&value.span(), what, format!("write {}", kind.wanted(units)));
            None
        };
        match read {
            None => refuse("this is not a quantity of the kind wanted here"),
            Some(number) if !number.is_finite() => refuse("this is not an ordinary number"),
            Some(number) if kind == Kind::Length && number.abs() > GREATEST_LENGTH_MM => {
                refuse("this is more than 100 m")
            }
            Some(number) => Some(number),
        }
    }

    /// As [`Reader::quantity`], greater than zero.
    pub(super) fn positive(
        &self,
        value: &Spanned<DeValue<'_>>,
        kind: Kind,
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
        self.wrong(&value.span(), what, "it must be greater than zero");
        None
    }

    /// A position or direction `[x, y, z]`.
    pub(super) fn point(&self, value: &Spanned<DeValue<'_>>, kind: Kind) -> Option<Point> {
        let coordinates = value.get_ref().as_array().map(|array| array.iter());
        let Some(coordinates) = coordinates.filter(|all| all.len() == 3) else {
            self.wrong(
                &value.span(),
                "this is not a position",
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

/// In an inch file a designation without a unit is in inches. It is printed as it is written either way.
fn read_section(designation: &str, units: Units) -> Result<Section, SectionError> {
    let lower = designation.to_lowercase();
    let has_unit = ["mm", "in", "\""].iter().any(|unit| lower.contains(unit));
    if units == Units::Metric || has_unit {
        return Section::parse(designation);
    }
    // The unit goes after the last size that is not a gauge, and after a root radius; sizes before it follow.
    let (sizes, root) = match lower.rsplit_once('r') {
        Some((sizes, root)) if root.trim().parse::<f64>().is_ok() => (sizes, format!("r{root}in")),
        _ => (lower.as_str(), String::new()),
    };
    let sizes = sizes.trim_end();
    let is_gauge = sizes.ends_with("ga") || sizes.ends_with("bwg");
    let in_inches = match sizes.rsplit_once('x').filter(|_| is_gauge) {
        Some((sizes, gauge)) => format!("{sizes}inx{gauge}"),
        None => format!("{sizes}in {root}"),
    };
    let section = Section::parse(&in_inches)?;
    Section::new(designation, *section.shape())
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

/// One table, and which of its keys have been asked for.
pub(super) struct Table<'a> {
    reader: &'a Reader<'a>,
    table: &'a DeTable<'a>,
    span: Span,
    title: String,
    asked: Vec<&'static str>,
}

impl<'a> Table<'a> {
    /// A table under the title that messages give it.
    pub(super) fn new(
        reader: &'a Reader<'a>,
        table: &'a DeTable<'a>,
        span: Span,
        title: impl Into<String>,
    ) -> Self {
        Self {
            reader,
            table,
            span,
            title: title.into(),
            asked: Vec::new(),
        }
    }

    pub(super) fn reader(&self) -> &'a Reader<'a> {
        self.reader
    }

    /// Where the table begins.
    pub(super) fn span(&self) -> &Span {
        &self.span
    }

    /// The value of a key, if it is there.
    pub(super) fn value(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.asked.push(key);
        self.table.get(key)
    }

    /// Whether a key is there, right or wrong.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Notes that a key is missing; `example` is what could be written.
    pub(super) fn missing(&self, key: &str, example: &str) {
        self.reader.wrong(
            &self.span,
            format!("{} does not say '{key}'", self.title),
            format!("add a line such as {example}"),
        );
    }

    pub(super) fn text(&mut self, key: &'static str) -> Option<Spanned<String>> {
        let value = self.value(key)?;
        let Some(text) = value.get_ref().as_str() else {
            self.reader.wrong(
                &value.span(),
                format!("'{key}' is a text"),
                "write it between quotes",
            );
            return None;
        };
        Some(Spanned::new(value.span(), text.to_string()))
    }

    pub(super) fn positive(&mut self, key: &'static str, kind: Kind) -> Option<Spanned<f64>> {
        let value = self.value(key)?;
        self.reader.positive(value, kind)
    }

    /// As [`Table::positive`], and missing is a mistake.
    pub(super) fn required(
        &mut self,
        key: &'static str,
        kind: Kind,
        example: &str,
    ) -> Option<Spanned<f64>> {
        if !self.has(key) {
            self.missing(key, example);
        }
        self.positive(key, kind)
    }

    /// A whole number in a range.
    pub(super) fn whole(
        &mut self,
        key: &'static str,
        least: u32,
        greatest: u32,
    ) -> Option<Spanned<u32>> {
        let value = self.value(key)?;
        let number = match value.get_ref() {
            DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix()).ok(),
            _ => None,
        };
        let fits = number
            .and_then(|number| u32::try_from(number).ok())
            .filter(|number| (least..=greatest).contains(number));
        if fits.is_none() {
            self.reader.wrong(
                &value.span(),
                format!("'{key}' is not a whole number from {least} to {greatest}"),
                "write digits, without quotes",
            );
        }
        fits.map(|number| Spanned::new(value.span(), number))
    }

    /// One of a few words.
    pub(super) fn choice<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&str, T)],
    ) -> Option<Spanned<T>> {
        let text = self.text(key)?;
        match words
            .iter()
            .find(|(word, _)| text.get_ref().eq_ignore_ascii_case(word))
        {
            Some((_, meaning)) => Some(Spanned::new(text.span(), *meaning)),
            None => {
                let known: Vec<_> = words.iter().map(|(word, _)| *word).collect();
                self.reader.wrong(
                    &text.span(),
                    format!("'{}' means nothing for '{key}'", text.get_ref()),
                    advice(text.get_ref(), &known),
                );
                None
            }
        }
    }

    /// Limits, written `[low, high]` or `{ min = … }`, `{ max = … }`, `{ min = …, max = … }`, in the kind's metric unit.
    pub(super) fn limits(&mut self, key: &'static str, kind: Kind) -> Limits<f64> {
        let Some(value) = self.value(key) else {
            return Limits::OPEN;
        };
        let reader = self.reader;
        let limits = match value.get_ref() {
            DeValue::Array(both) if both.len() == 2 => Limits {
                low: both
                    .first()
                    .and_then(|low| reader.positive(low, kind))
                    .map(Spanned::into_inner),
                high: both
                    .get(1)
                    .and_then(|high| reader.positive(high, kind))
                    .map(Spanned::into_inner),
            },
            DeValue::Table(ends) => {
                let mut ends = Table::new(reader, ends, value.span(), format!("'{key}'"));
                let limits = Limits {
                    low: ends.positive("min", kind).map(Spanned::into_inner),
                    high: ends.positive("max", kind).map(Spanned::into_inner),
                };
                ends.finish();
                limits
            }
            _ => {
                reader.wrong(
                    &value.span(),
                    format!("'{key}' is a range"),
                    "write [least, greatest], or { min = … } or { max = … } for one end",
                );
                Limits::OPEN
            }
        };
        if let (Some(low), Some(high)) = (limits.low, limits.high)
            && low > high
        {
            reader.wrong(
                &value.span(),
                format!("the least of '{key}' is more than the greatest"),
                "write the smaller number first",
            );
        }
        limits
    }

    /// A list; a single value counts as a list of one.
    pub(super) fn list(&mut self, key: &'static str) -> Vec<&'a Spanned<DeValue<'a>>> {
        match self.value(key) {
            None => Vec::new(),
            Some(value) => match value.get_ref().as_array() {
                Some(array) => array.iter().collect(),
                None => vec![value],
            },
        }
    }

    /// The table under a key.
    pub(super) fn table(&mut self, key: &'static str) -> Option<Table<'a>> {
        let value = self.value(key)?;
        match value.get_ref().as_table() {
            Some(table) => Some(Table::new(
                self.reader,
                table,
                value.span(),
                format!("[{key}]"),
            )),
            None => {
                self.reader.wrong(
                    &value.span(),
                    format!("'{key}' is a table"),
                    format!("write a line [{key}] and its settings below"),
                );
                None
            }
        }
    }

    /// The tables under a key that is written `[[key]]`; a single `[key]` counts as one.
    pub(super) fn tables(&mut self, key: &'static str) -> Vec<Table<'a>> {
        let reader = self.reader;
        self.list(key)
            .into_iter()
            .filter_map(|value| {
                let table = value.get_ref().as_table();
                if table.is_none() {
                    reader.wrong(
                        &value.span(),
                        format!("'{key}' is a table"),
                        format!("write a line [[{key}]] for each and its settings below"),
                    );
                }
                Some(Table::new(
                    reader,
                    table?,
                    value.span(),
                    format!("[[{key}]]"),
                ))
            })
            .collect()
    }

    /// Every key with its value, in the order of the text, for tables whose keys are names.
    pub(super) fn named(self) -> Vec<(Spanned<String>, &'a Spanned<DeValue<'a>>)> {
        let mut all: Vec<_> = self
            .table
            .iter()
            .map(|(key, value)| (Spanned::new(key.span(), key.get_ref().to_string()), value))
            .collect();
        all.sort_by_key(|(key, _)| key.span().start);
        all
    }

    /// Ends the reading of this table: every key that was not asked for is a mistake.
    pub(super) fn finish(self) {
        for key in self.table.keys() {
            let name = key.get_ref().as_ref();
            if !self.asked.contains(&name) {
                self.reader.wrong(
                    &key.span(),
                    format!("{} has no setting '{name}'", self.title),
                    advice(name, &self.asked),
                );
            }
        }
    }
}

/// The word that was probably meant, and the words there are.
pub(super) fn advice(found: &str, known: &[&str]) -> String {
    let nearest = known
        .iter()
        .map(|word| {
            (
                strsim::damerau_levenshtein(&found.to_lowercase(), &word.to_lowercase()),
                *word,
            )
        })
        .min()
        .filter(|(distance, word)| *distance <= 1 + word.len() / 4);
    match nearest {
        Some((_, word)) => format!("did you mean '{word}'?"),
        None if known.len() > 12 => format!("known are {}, …", known[..12].join(", ")),
        None => format!("known are {}", known.join(", ")),
    }
}
