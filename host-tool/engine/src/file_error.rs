//! Errors in a file that the user wrote: what is wrong, in which line and column, and what to do.
//!
//! Only [`Source::error`] makes a [`FileError`], from a place in a text: there is none without a place.
//!
//! ```
//! use coldsquare_engine::file_error::Source;
//!
//! let source = Source::new("gate.toml", "width = -3");
//! let error = source.error(8..10, "width is negative").hint("write the size outside to outside");
//! assert_eq!(error.line_and_column(), (1, 9));
//! assert!(error.to_string().starts_with("error: width is negative"));
//! ```

use crate::sanitise::plain;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// A text with its name, usually the path as the user gave it.
#[derive(Clone, Debug)]
pub struct Source(Arc<Named>);

#[derive(Debug)]
struct Named {
    name: String,
    text: String,
}

impl Source {
    /// A text under the name that messages show.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self(Arc::new(Named {
            name: name.into(),
            text: text.into(),
        }))
    }

    /// The name that messages show.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// The whole text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0.text
    }

    /// An error at these bytes of the text; a span that does not fit the text is moved into it.
    #[must_use]
    pub fn error(&self, span: Range<usize>, what: impl AsRef<str>) -> FileError {
        let text = self.text();
        let boundary = |at: usize| {
            let at = at.min(text.len());
            (0..=at)
                .rev()
                .find(|at| text.is_char_boundary(*at))
                .unwrap_or(0)
        };
        let start = boundary(span.start);
        let end = boundary(span.end).max(start);
        FileError {
            source: self.clone(),
            span: start..end,
            what: plain(what.as_ref()),
            hint: None,
        }
    }
}

/// An error in a text.
#[derive(Clone, Debug)]
pub struct FileError {
    source: Source,
    span: Range<usize>,
    what: String,
    hint: Option<String>,
}

impl FileError {
    /// The same error with a hint that says what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl AsRef<str>) -> Self {
        self.hint = Some(plain(hint.as_ref()));
        self
    }

    /// What is wrong, in one line.
    #[must_use]
    pub fn what(&self) -> &str {
        &self.what
    }

    /// What to do about it, in one line, if there is a hint.
    #[must_use]
    pub fn advice(&self) -> Option<&str> {
        self.hint.as_deref()
    }

    /// Line and column, both from 1, the column in characters.
    #[must_use]
    pub fn line_and_column(&self) -> (usize, usize) {
        let before = &self.source.text()[..self.span.start];
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        (
            before.matches('\n').count() + 1,
            before[line_start..].chars().count() + 1,
        )
    }

    /// The lines of the span, as bytes of the text: the only ones shown.
    fn lines(&self) -> Range<usize> {
        let text = self.source.text();
        let start = text[..self.span.start].rfind('\n').map_or(0, |at| at + 1);
        // An error about a whole table points at its first line.
        let last = self.first_line().end;
        let end = text[last..].find('\n').map_or(text.len(), |at| last + at);
        start..end
    }

    /// The part of the span on its first line.
    fn first_line(&self) -> Range<usize> {
        let marked = &self.source.text()[self.span.clone()];
        let length = marked.find('\n').unwrap_or(marked.len());
        self.span.start..self.span.start + length
    }
}

impl fmt::Display for FileError {
    /// `path:line:column`, the line with carets under it, and the hint; plain text, no colours.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (shown, marked) = (self.lines(), self.first_line());
        let snippet = Snippet::source(&self.source.text()[shown.clone()])
            .line_start(self.line_and_column().0)
            .path(self.source.name())
            .annotation(
                AnnotationKind::Primary.span(marked.start - shown.start..marked.end - shown.start),
            );
        let mut group: Group<'_> = Level::ERROR
            .primary_title(self.what.as_str())
            .element(snippet);
        if let Some(hint) = &self.hint {
            group = group.element(Level::HELP.message(hint.as_str()));
        }
        out.write_str(&Renderer::plain().render(&[group]))
    }
}

/// All errors in a text, at least one.
#[derive(Clone, Debug)]
pub struct FileErrors(Vec<FileError>);

/// Errors printed at once.
const MAX_ERRORS_SHOWN: usize = 50;

impl FileErrors {
    /// `Err` with the errors in the order of the text, or `Ok` when there are none.
    ///
    /// # Errors
    /// The errors, when there is at least one.
    pub fn none_of(mut errors: Vec<FileError>) -> Result<(), Self> {
        if errors.is_empty() {
            return Ok(());
        }
        errors.sort_by_key(|error| error.span.start);
        Err(Self(errors))
    }

    /// The errors in the order of the text.
    pub fn iter(&self) -> impl Iterator<Item = &FileError> {
        self.0.iter()
    }

    /// How many there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.0.len()
    }
}

impl From<FileError> for FileErrors {
    fn from(error: FileError) -> Self {
        Self(vec![error])
    }
}

impl fmt::Display for FileErrors {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.0.first().map_or("", |first| first.source.name());
        let count = crate::format::count(self.count(), "error");
        writeln!(out, "{count} in {name}")?;
        for error in self.0.iter().take(MAX_ERRORS_SHOWN) {
            write!(out, "\n{error}\n")?;
        }
        match self.count().saturating_sub(MAX_ERRORS_SHOWN) {
            0 => Ok(()),
            more => write!(out, "\n… and {more} more; correct these first"),
        }
    }
}

impl std::error::Error for FileErrors {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_shows_its_place_a_caret_and_what_to_do() {
        let text = "[frame]\nwidth = -3 # wide\n";
        let source = Source::new("gate.toml", text);
        let at = text.find("-3").expect("in the text");
        let error = source
            .error(at..at + 2, "width is negative")
            .hint("write the size outside to outside");
        assert_eq!(error.line_and_column(), (2, 9));
        assert_eq!(
            error.to_string(),
            "error: width is negative\n \
             --> gate.toml:2:9\n  \
             |\n\
             2 | width = -3 # wide\n  \
             |         ^^\n  \
             |\n  \
             = help: write the size outside to outside"
        );
    }

    #[test]
    fn errors_come_in_the_order_of_the_text_and_not_in_thousands() {
        let source = Source::new("x", "a\n".repeat(200));
        let errors = (0..200)
            .rev()
            .map(|line| source.error(2 * line..2 * line + 1, format!("no {line}")))
            .collect();
        let errors = FileErrors::none_of(errors).expect_err("two hundred of them");
        assert_eq!(errors.iter().next().expect("first").what(), "no 0");
        assert!(
            errors
                .to_string()
                .ends_with("and 150 more; correct these first")
        );
    }

    #[test]
    fn no_span_and_no_name_can_harm_the_terminal_or_the_tool() {
        let source = Source::new("ß.toml", "naïve = \"\u{1b}[2J\"");
        for start in 0..25 {
            for end in 0..25 {
                let shown = source.error(start..end, "clears \u{1b}[2J").to_string();
                assert!(!shown.contains('\u{1b}'), "{shown:?}");
            }
        }
    }
}
