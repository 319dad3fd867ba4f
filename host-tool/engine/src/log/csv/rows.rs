//! Lines and fields, each with its place in the file.

use std::borrow::Cow;
use std::io::Read;

use crate::recording::Separator;

/// The longest line that is read: a file without line ends must not fill the memory.
pub(super) const MAX_LINE: usize = 1 << 16;

/// Bytes read at a time.
const PIECE: usize = 1 << 18;

/// Lines of a text file, numbered from 1. They end with a line feed, or with a carriage return in a file without any
/// line feed.
pub(super) struct Lines<R> {
    bytes: R,
    buffer: Vec<u8>,
    /// What of the buffer is not yet given out.
    from: usize,
    until: usize,
    number: u64,
    end: u8,
    /// The file has been read to its end.
    done: bool,
}

/// One line, without its end.
pub(super) struct Line<'a> {
    /// From 1.
    pub number: u64,
    /// Its bytes.
    pub bytes: &'a [u8],
}

impl Line<'_> {
    /// Its text; bytes that are not UTF-8 are replaced.
    pub(super) fn text(&self) -> Cow<'_, str> {
        String::from_utf8_lossy(self.bytes)
    }
}

/// Why there is no next line.
pub(super) enum LineError {
    /// The file cannot be read.
    File(std::io::Error),
    /// It is longer than [`MAX_LINE`].
    TooLong(u64),
}

/// The byte that ends lines in a file that begins like this.
pub(super) fn line_end(head: &[u8]) -> u8 {
    match head.contains(&b'\r') && !head.contains(&b'\n') {
        true => b'\r',
        false => b'\n',
    }
}

impl<R: Read> Lines<R> {
    pub(super) fn new(bytes: R, end: u8) -> Self {
        Self {
            bytes,
            buffer: vec![0; PIECE],
            from: 0,
            until: 0,
            number: 0,
            end,
            done: false,
        }
    }

    pub(super) fn next(&mut self) -> Result<Option<Line<'_>>, LineError> {
        let mut looked_at = 0;
        let length = loop {
            let waiting = &self.buffer[self.from..self.until];
            if let Some(at) = memchr::memchr(self.end, &waiting[looked_at..]) {
                break looked_at + at;
            }
            looked_at = waiting.len();
            if looked_at > MAX_LINE {
                return Err(LineError::TooLong(self.number + 1));
            }
            if self.done {
                if looked_at == 0 {
                    return Ok(None);
                }
                break looked_at;
            }
            self.fill().map_err(LineError::File)?;
        };
        self.number += 1;
        if length > MAX_LINE {
            return Err(LineError::TooLong(self.number));
        }
        let start = self.from;
        self.from = (start + length + 1).min(self.until);
        let mut bytes = &self.buffer[start..start + length];
        if self.number == 1 {
            bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        }
        Ok(Some(Line {
            number: self.number,
            bytes: bytes.trim_ascii_end(),
        }))
    }

    /// Reads on, with what is left of the buffer moved to its beginning.
    fn fill(&mut self) -> std::io::Result<()> {
        self.buffer.copy_within(self.from..self.until, 0);
        self.until -= self.from;
        self.from = 0;
        let read = loop {
            match self.bytes.read(&mut self.buffer[self.until..]) {
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                other => break other?,
            }
        };
        self.done = read == 0;
        self.until += read;
        Ok(())
    }
}

/// True for a line without a row: empty, or a comment. A file that was not closed can end in zeros.
pub(super) fn is_blank(text: &str) -> bool {
    is_blank_line(text.as_bytes())
}

/// The same for bytes.
pub(super) fn is_blank_line(line: &[u8]) -> bool {
    match line.trim_ascii_start() {
        [] | [b'#', ..] => true,
        [0, rest @ ..] => rest.iter().all(|&byte| byte == 0),
        _ => false,
    }
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
