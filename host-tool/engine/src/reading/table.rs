//! One table of a file, and which of its keys have been read.

use super::quantity::QuantityKind;
use super::reader::{Reader, Span};
use super::renamed::{new_key, new_word, now_called};
use super::suggest::suggest;
use crate::limits::Limits;
use crate::units::Units;
use serde_spanned::Spanned;
use toml::de::{DeTable, DeValue};

/// A table under its title; [`Table::finish`] reports the keys that nobody read.
pub(crate) struct Table<'a> {
    reader: &'a Reader<'a>,
    table: &'a DeTable<'a>,
    span: Span,
    title: String,
    /// Keys that have been read, whether there or not.
    keys: Vec<&'static str>,
}

impl<'a> Table<'a> {
    /// A table under the title that messages give it.
    pub(crate) fn new(
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
            keys: Vec::new(),
        }
    }

    pub(crate) fn reader(&self) -> &'a Reader<'a> {
        self.reader
    }

    /// Reads `units`: those of all bare numbers that are read after it.
    pub(crate) fn units(&mut self) -> Units {
        let known = [("mm", Units::Metric), ("inch", Units::UsCustomary)];
        if let Some(units) = self.choice("units", &known) {
            self.reader.set_units(units.into_inner());
        }
        self.reader.units()
    }

    /// The bytes of the table.
    pub(crate) fn span(&self) -> &Span {
        &self.span
    }

    /// The value of a key, if it is there.
    pub(crate) fn value(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.keys.push(key);
        self.table.get(key)
    }

    /// Whether a key is there, whatever its value.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Notes that a key is missing; `example` is a line that could be added.
    pub(crate) fn missing(&self, key: &str, example: &str) {
        // Under its old name it is not missing: `finish` gives the new one.
        if self
            .table
            .keys()
            .any(|old| new_key(old.get_ref()) == Some(key))
        {
            return;
        }
        self.reader.error(
            &self.span,
            format!("{} has no '{key}'", self.title),
            format!("add a line such as {example}"),
        );
    }

    pub(crate) fn text(&mut self, key: &'static str) -> Option<Spanned<String>> {
        let value = self.value(key)?;
        let Some(text) = value.get_ref().as_str() else {
            self.reader.error(
                &value.span(),
                format!("'{key}' must be text"),
                "put it in quotes",
            );
            return None;
        };
        Some(Spanned::new(value.span(), text.to_string()))
    }

    pub(crate) fn positive(
        &mut self,
        key: &'static str,
        kind: QuantityKind,
    ) -> Option<Spanned<f64>> {
        let value = self.value(key)?;
        self.reader.positive(value, kind)
    }

    /// As [`Table::positive`], and must be there.
    pub(crate) fn required(
        &mut self,
        key: &'static str,
        kind: QuantityKind,
        example: &str,
    ) -> Option<Spanned<f64>> {
        if !self.has(key) {
            self.missing(key, example);
        }
        self.positive(key, kind)
    }

    /// `true` or `false`; false if it is not there.
    pub(crate) fn flag(&mut self, key: &'static str) -> bool {
        let Some(value) = self.value(key) else {
            return false;
        };
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            let what = format!("'{key}' must be true or false");
            self.reader
                .error(&value.span(), what, "write it without quotes");
        }
        flag.unwrap_or_default()
    }

    /// A whole number in a range.
    pub(crate) fn whole(&mut self, key: &'static str, min: u32, max: u32) -> Option<Spanned<u32>> {
        let value = self.value(key)?;
        let number = match value.get_ref() {
            DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix()).ok(),
            _ => None,
        };
        let fits = number
            .and_then(|number| u32::try_from(number).ok())
            .filter(|number| (min..=max).contains(number));
        if fits.is_none() {
            self.reader.error(
                &value.span(),
                format!("'{key}' must be a whole number from {min} to {max}"),
                "write it in digits, without quotes",
            );
        }
        fits.map(|number| Spanned::new(value.span(), number))
    }

    /// One of a few words.
    pub(crate) fn choice<T: Copy>(
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
                let word = text.get_ref();
                let what = match new_word(word) {
                    Some(new) => now_called(word, new),
                    None => format!("unknown value '{word}' for '{key}'"),
                };
                self.reader.error(&text.span(), what, suggest(word, &known));
                None
            }
        }
    }

    /// Limits, written `[low, high]` or `{ min = … }`, `{ max = … }`, `{ min = …, max = … }`, in the kind's metric unit.
    pub(crate) fn limits(&mut self, key: &'static str, kind: QuantityKind) -> Limits<f64> {
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
                reader.error(
                    &value.span(),
                    format!("'{key}' must be a range"),
                    "write [lowest, highest], or { min = … } or { max = … } for one end only",
                );
                Limits::OPEN
            }
        };
        if let (Some(low), Some(high)) = (limits.low, limits.high)
            && low > high
        {
            reader.error(
                &value.span(),
                format!("the lowest value of '{key}' is above the highest"),
                "write the smaller number first",
            );
        }
        limits
    }

    /// A list; a single value counts as a list of one.
    pub(crate) fn list(&mut self, key: &'static str) -> Vec<&'a Spanned<DeValue<'a>>> {
        match self.value(key) {
            None => Vec::new(),
            Some(value) => match value.get_ref().as_array() {
                Some(array) => array.iter().collect(),
                None => vec![value],
            },
        }
    }

    /// The table under a key.
    pub(crate) fn table(&mut self, key: &'static str) -> Option<Table<'a>> {
        let value = self.value(key)?;
        match value.get_ref().as_table() {
            Some(table) => Some(Table::new(
                self.reader,
                table,
                value.span(),
                self.title_of(key),
            )),
            None => {
                self.reader.error(
                    &value.span(),
                    format!("'{key}' must be a table"),
                    format!("write a line {} and its keys below it", self.title_of(key)),
                );
                None
            }
        }
    }

    /// The line that begins a table under a key: "[frame.bars]" inside "[frame]".
    fn title_of(&self, key: &str) -> String {
        let outer = self
            .title
            .strip_prefix('[')
            .and_then(|t| t.strip_suffix(']'));
        match outer.filter(|outer| !outer.starts_with('[')) {
            Some(outer) => format!("[{outer}.{key}]"),
            None => format!("[{key}]"),
        }
    }

    /// The tables under a key that is written `[[key]]`; a single `[key]` counts as one.
    pub(crate) fn tables(&mut self, key: &'static str) -> Vec<Table<'a>> {
        let reader = self.reader;
        self.list(key)
            .into_iter()
            .filter_map(|value| {
                let table = value.get_ref().as_table();
                if table.is_none() {
                    reader.error(
                        &value.span(),
                        format!("'{key}' must be a table"),
                        format!("write a line [[{key}]] for each, and its keys below it"),
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
    pub(crate) fn named(self) -> Vec<(Spanned<String>, &'a Spanned<DeValue<'a>>)> {
        let mut all: Vec<_> = self
            .table
            .iter()
            .map(|(key, value)| (Spanned::new(key.span(), key.get_ref().to_string()), value))
            .collect();
        all.sort_by_key(|(key, _)| key.span().start);
        all
    }

    /// Ends the reading of this table: every key that was not read is an error.
    pub(crate) fn finish(self) {
        for key in self.table.keys() {
            let name = key.get_ref().as_ref();
            if self.keys.contains(&name) {
                continue;
            }
            match new_key(name).filter(|new| self.keys.contains(new)) {
                Some(new) => {
                    let hint = format!("write {new} instead of {name}");
                    self.reader.error(&key.span(), now_called(name, new), hint);
                }
                None => {
                    let what = format!("unknown key '{name}' in {}", self.title);
                    self.reader
                        .error(&key.span(), what, suggest(name, &self.keys));
                }
            }
        }
    }
}
