//! What a terminal would obey, shown instead: everything that is printed goes through here.
//!
//! Names come from jobs, logs and arguments that somebody else wrote. A control character in one could move the cursor
//! or hide a line, and a mark that turns the direction of writing could make a number read backwards.

use std::borrow::Cow;
use std::io::{Result, Write};

/// Whether a terminal obeys a character instead of showing it: control characters but for the line break, and marks
/// that turn the direction of writing.
#[must_use]
pub fn is_obeyed(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}

/// The text with each such character as `\u001b`. In JSON, where they stand in strings only, that means the same
/// character, so that a program gets back what was typed.
#[must_use]
pub fn shown(text: &str) -> Cow<'_, str> {
    if !text.contains(is_obeyed) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match is_obeyed(c) {
            true => out += &format!("\\u{:04x}", u32::from(c)),
            false => out.push(c),
        }
    }
    Cow::Owned(out)
}

/// A stream that shows what would be obeyed.
pub struct Shown<'a> {
    to: &'a mut dyn Write,
    /// The beginning of a character whose other bytes have not come yet.
    begun: Vec<u8>,
}

impl<'a> Shown<'a> {
    /// In front of another stream.
    pub fn new(to: &'a mut dyn Write) -> Self {
        Self {
            to,
            begun: Vec::new(),
        }
    }
}

impl Write for Shown<'_> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        self.begun.extend_from_slice(bytes);
        let whole = match std::str::from_utf8(&self.begun) {
            Ok(text) => text.len(),
            Err(error) if error.error_len().is_none() => error.valid_up_to(),
            // No text at all: what is wrong is shown as such.
            Err(_) => self.begun.len(),
        };
        let text = String::from_utf8_lossy(&self.begun[..whole]);
        self.to.write_all(shown(&text).as_bytes())?;
        self.begun.drain(..whole);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        self.to.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_terminal_shows_what_it_would_have_obeyed_and_json_reads_it_back() {
        let name = "a\u{1b}[2J\u{9b}b\u{202E}c\r\n\td\u{7f}é🔥";
        let json = serde_json::to_string(name).expect("text");
        let printed = shown(&json);
        assert!(!printed.contains(is_obeyed), "{printed}");
        assert_eq!(
            serde_json::from_str::<String>(&printed).expect("JSON"),
            name
        );
    }

    #[test]
    fn characters_come_whole_however_their_bytes_are_cut() {
        let text = "ab\u{202E} سلام 🔥\u{1b}é\n";
        for cut in 0..text.len() {
            let mut out = Vec::new();
            let mut stream = Shown::new(&mut out);
            stream.write_all(&text.as_bytes()[..cut]).expect("memory");
            stream.write_all(&text.as_bytes()[cut..]).expect("memory");
            assert_eq!(
                String::from_utf8(out).expect("text"),
                "ab\\u202e سلام 🔥\\u001bé\n"
            );
        }
    }
}
