//! Lines and fields, each with its place in the file.

use std::io::{BufRead, Read};

use super::options::Separator;

/// The longest line that is read: a file without line ends must not fill the memory.
pub(super) const MAX_LINE: usize = 1 << 16;

/// Lines of a text file, numbered from 1.
pub(super) struct Lines<R> {
    bytes: R,
    buffer: Vec<u8>,
    number: u64,
}

/// One line, without its end.
pub(super) struct Line<'a> {
    /// From 1.
    pub number: u64,
    /// Its text.
    pub text: std::borrow::Cow<'a, str>,
}

/// Why there is no next line.
pub(super) enum LineError {
    /// The file cannot be read.
    File(std::io::Error),
    /// It is longer than [`MAX_LINE`].
    TooLong(u64),
}

impl<R: BufRead> Lines<R> {
    pub(super) fn new(bytes: R) -> Self {
        Self {
            bytes,
            buffer: Vec::new(),
            number: 0,
        }
    }

    pub(super) fn next(&mut self) -> Result<Option<Line<'_>>, LineError> {
        self.buffer.clear();
        let limit = MAX_LINE as u64 + 1;
        self.bytes
            .by_ref()
            .take(limit)
            .read_until(b'\n', &mut self.buffer)
            .map_err(LineError::File)?;
        if self.buffer.is_empty() {
            return Ok(None);
        }
        self.number += 1;
        if self.buffer.len() > MAX_LINE {
            return Err(LineError::TooLong(self.number));
        }
        let mut text = self.buffer.as_slice();
        if self.number == 1 {
            text = text.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(text);
        }
        Ok(Some(Line {
            number: self.number,
            text: String::from_utf8_lossy(text.trim_ascii_end()),
        }))
    }
}

/// True for a line without a row: empty, or a comment.
pub(super) fn is_blank(text: &str) -> bool {
    let text = text.trim_start();
    text.is_empty() || text.starts_with('#')
}

/// The fields of a line, each with the byte at which it begins. Quotes around a field are removed; a separator inside
/// them does not separate.
pub(super) fn fields(line: &str, separator: Separator) -> Fields<'_> {
    Fields {
        line,
        at: 0,
        separator,
        done: false,
    }
}

/// See [`fields`].
pub(super) struct Fields<'a> {
    line: &'a str,
    at: usize,
    separator: Separator,
    done: bool,
}

impl<'a> Iterator for Fields<'a> {
    type Item = (usize, &'a str);

    fn next(&mut self) -> Option<Self::Item> {
        if self.done {
            return None;
        }
        if self.separator == Separator::Space {
            self.at += self.rest().len() - self.rest().trim_ascii_start().len();
            if self.rest().is_empty() {
                self.done = true;
                return None;
            }
        }
        let start = self.at;
        let rest = self.rest();
        let (field, length) = match rest.strip_prefix('"').and_then(|rest| rest.split_once('"')) {
            Some((quoted, after)) => (quoted, rest.len() - after.len() + self.end_of(after)),
            None => {
                let end = self.end_of(rest);
                (&rest[..end], end)
            }
        };
        self.at = start + length;
        // Past the separator, which is always one byte.
        match self.rest().is_empty() {
            true => self.done = true,
            false => self.at += 1,
        }
        Some((start, field))
    }
}

impl<'a> Fields<'a> {
    fn rest(&self) -> &'a str {
        &self.line[self.at..]
    }

    fn end_of(&self, text: &str) -> usize {
        let ends = |byte: u8| match self.separator {
            Separator::Tab => byte == b'\t',
            Separator::Semicolon => byte == b';',
            Separator::Comma => byte == b',',
            Separator::Space => byte == b' ' || byte == b'\t',
        };
        text.bytes().position(ends).unwrap_or(text.len())
    }
}
