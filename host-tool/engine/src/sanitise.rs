//! Text from others made safe to print: names in jobs, logs and arguments that somebody else wrote.
//!
//! A control character could move the cursor or hide a line, a mark that turns the direction of writing could make a
//! number read backwards, and an invisible character could make two names look alike. There is one set of such
//! characters, [`is_unsafe`], and two ways to show them: [`plain`] in a table, page or drawing, [`escape`] in what goes
//! to a terminal as a whole. To refuse another character, add it to the set.
//!
//! ```
//! use coldsquare_engine::sanitise::{escape, plain};
//!
//! assert_eq!(plain("gate\u{1b}[2J"), "gate\u{FFFD}[2J");
//! assert_eq!(escape("gate\u{1b}[2J\n"), "gate\\u001b[2J\n");
//! ```

use std::borrow::Cow;
use std::io::{Result, Write};

/// Whether a character steers a terminal or a page instead of being shown: control characters, line breaks, marks of
/// the direction of writing, invisible characters, and what Unicode keeps free of characters.
#[must_use]
pub fn is_unsafe(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
        || matches!(c, '\u{FFFE}' | '\u{FFFF}')
}

/// The text on one line, with U+FFFD for each unsafe character.
#[must_use]
pub fn plain(text: &str) -> String {
    text.replace(is_unsafe, "\u{FFFD}")
}

/// As [`plain`], cut to `max` characters.
#[must_use]
pub fn short(text: &str, max: usize) -> String {
    let text = plain(text);
    if text.chars().count() <= max {
        return text;
    }
    let kept: String = text.chars().take(max.saturating_sub(1)).collect();
    kept + "…"
}

/// The text with `\u001b` and the like for each unsafe character but the line break. In JSON, where they occur in strings
/// only, that means the same character, so a program reads back what was written.
#[must_use]
pub fn escape(text: &str) -> Cow<'_, str> {
    let is_escaped = |c| is_unsafe(c) && c != '\n';
    if !text.contains(is_escaped) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_escaped(c) {
            out += &format!("\\u{:04x}", u32::from(c));
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// A stream to a terminal that escapes what is written to it, see [`escape`].
pub struct EscapingWriter<'a> {
    to: &'a mut dyn Write,
    /// The first bytes of a character whose other bytes have not come yet.
    partial: Vec<u8>,
}

impl<'a> EscapingWriter<'a> {
    /// Writes to `to`.
    pub fn new(to: &'a mut dyn Write) -> Self {
        Self {
            to,
            partial: Vec::new(),
        }
    }
}

impl Write for EscapingWriter<'_> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        self.partial.extend_from_slice(bytes);
        let complete = match std::str::from_utf8(&self.partial) {
            Ok(text) => text.len(),
            Err(error) if error.error_len().is_none() => error.valid_up_to(),
            // Not text: shown as U+FFFD.
            Err(_) => self.partial.len(),
        };
        let text = String::from_utf8_lossy(&self.partial[..complete]);
        self.to.write_all(escape(&text).as_bytes())?;
        self.partial.drain(..complete);
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
        let name = "a\u{1b}[2J\u{9b}b\u{202E}c\r\n\td\u{7f}é🔥\u{200B}\u{FFFE}";
        let json = serde_json::to_string(name).expect("text");
        let printed = escape(&json);
        assert!(!printed.contains(is_unsafe), "{printed}");
        assert_eq!(
            serde_json::from_str::<String>(&printed).expect("JSON"),
            name
        );
    }

    #[test]
    fn a_table_keeps_its_lines_whatever_a_name_holds() {
        assert_eq!(plain("a\nb\u{202E}c é"), "a\u{FFFD}b\u{FFFD}c é");
        assert_eq!(short("a long name", 6), "a lon…");
    }

    #[test]
    fn characters_come_whole_however_their_bytes_are_cut() {
        let text = "ab\u{202E} سلام 🔥\u{1b}é\n";
        for cut in 0..text.len() {
            let mut out = Vec::new();
            let mut stream = EscapingWriter::new(&mut out);
            stream.write_all(&text.as_bytes()[..cut]).expect("memory");
            stream.write_all(&text.as_bytes()[cut..]).expect("memory");
            assert_eq!(
                String::from_utf8(out).expect("text"),
                "ab\\u202e سلام 🔥\\u001bé\n"
            );
        }
    }
}
