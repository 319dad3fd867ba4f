//! Writes SVG, one element a line, so that two versions of a drawing can be compared line by line.

use crate::sanitise::plain;
use maud::Escaper;
use std::fmt::Write;

/// SVG text as it grows.
#[derive(Clone, Debug, Default)]
pub(crate) struct Svg {
    text: String,
    open: Vec<&'static str>,
}

impl Svg {
    /// Opens an element, which holds everything up to the matching [`Svg::close`].
    pub(crate) fn open(&mut self, name: &'static str, attributes: &[(&str, &str)]) {
        self.element(name, attributes, None, false);
        self.open.push(name);
    }

    /// Closes the element that was opened last.
    pub(crate) fn close(&mut self) {
        if let Some(name) = self.open.pop() {
            self.indent();
            let _ = writeln!(self.text, "</{name}>");
        }
    }

    /// An element without content.
    pub(crate) fn leaf(&mut self, name: &'static str, attributes: &[(&str, &str)]) {
        self.element(name, attributes, Some(""), true);
    }

    /// An element with text, which is sanitised.
    pub(crate) fn text(&mut self, name: &'static str, attributes: &[(&str, &str)], content: &str) {
        self.element(name, attributes, Some(content), false);
    }

    /// A style sheet of our own, as it is.
    pub(crate) fn style(&mut self, css: &str) {
        let _ = writeln!(self.text, "<style>\n{css}</style>");
    }

    /// Elements written elsewhere with this writer, as they are.
    pub(crate) fn raw(&mut self, elements: &str) {
        self.text.push_str(elements);
    }

    /// The whole text; open elements are closed.
    #[must_use]
    pub(crate) fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.text
    }

    fn indent(&mut self) {
        for _ in 0..self.open.len() {
            self.text.push(' ');
        }
    }

    fn element(
        &mut self,
        name: &str,
        attributes: &[(&str, &str)],
        content: Option<&str>,
        empty: bool,
    ) {
        self.indent();
        let _ = write!(self.text, "<{name}");
        for (key, value) in attributes {
            let _ = write!(self.text, " {key}=\"{}\"", escape(value));
        }
        let _ = match content {
            _ if empty => writeln!(self.text, "/>"),
            Some(content) => writeln!(self.text, ">{}</{name}>", escape(content)),
            None => writeln!(self.text, ">"),
        };
    }
}

/// Text as it stands in an element or a quoted attribute.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    // Writing to a string cannot fail.
    let _ = Escaper::new(&mut out).write_str(&plain(text));
    out
}

/// A number with at most one decimal, as short as possible.
#[must_use]
pub(crate) fn number(value: f64) -> String {
    let tenths = (value * 10.0).round();
    if !tenths.is_finite() || tenths == 0.0 {
        return "0".into();
    }
    let whole = format!("{:.1}", tenths / 10.0);
    whole.strip_suffix(".0").map_or(whole.clone(), Into::into)
}

/// Millimetres of a drawing at full size, to a thousandth.
#[must_use]
pub(crate) fn mm(value: f64) -> String {
    let text = format!("{value:.3}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" {
        "0".into()
    } else {
        short.into()
    }
}

/// A path through points, closed or open.
#[must_use]
pub(crate) fn path(points: &[[f64; 2]], closed: bool) -> String {
    let mut text = String::new();
    for (k, [x, y]) in points.iter().enumerate() {
        let letter = if k == 0 { 'M' } else { 'L' };
        let _ = write!(text, "{letter}{},{}", number(*x), number(*y));
    }
    if closed {
        text.push('Z');
    }
    text
}
