//! Codes and values, with their places in the text.

use crate::file_error::{FileError, Source};
use crate::reading::Span;

/// A code and its value.
#[derive(Clone, Debug)]
pub(super) struct Pair<'a> {
    pub code: i32,
    pub value: &'a str,
    /// Where the value stands.
    pub span: Span,
    /// The line of the code, from 1.
    pub line: usize,
}

/// The pairs of a text, one after the other.
pub(super) struct Pairs<'a> {
    source: &'a Source,
    at: usize,
    line: usize,
}

impl<'a> Pairs<'a> {
    pub(super) const fn new(source: &'a Source) -> Self {
        Self {
            source,
            at: 0,
            line: 1,
        }
    }

    fn line(&mut self) -> Option<(&'a str, Span)> {
        let text = self.source.text();
        if self.at >= text.len() {
            return None;
        }
        let start = self.at;
        let end = text[start..].find('\n').map_or(text.len(), |n| start + n);
        self.at = end + 1;
        self.line += 1;
        let content = text[start..end].trim_end_matches('\r');
        Some((content, start..start + content.len()))
    }

    /// The next pair; `None` at the end of the text.
    pub(super) fn next(&mut self) -> Result<Option<Pair<'a>>, FileError> {
        let line = self.line;
        let Some((code, span)) = self.line() else {
            return Ok(None);
        };
        let Ok(number) = code.trim().parse::<i32>() else {
            // Empty lines at the end of a file are common.
            if self.source.text()[span.start..].trim().is_empty() {
                return Ok(None);
            }
            return Err(self
                .source
                .error(span, "this is not the number of a group code")
                .hint(
                    "a DXF file has a code and its value on every two lines: save the drawing anew",
                ));
        };
        let Some((value, span)) = self.line() else {
            return Err(self
                .source
                .error(span, "the file ends after a group code")
                .hint("the file is cut off: save the drawing anew"));
        };
        Ok(Some(Pair {
            code: number,
            value: value.trim(),
            span,
            line,
        }))
    }
}
