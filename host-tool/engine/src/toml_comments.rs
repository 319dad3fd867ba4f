//! A TOML file to be edited by hand: one key a line, with comments in one column.
//!
//! ```
//! let mut file = coldsquare_engine::toml_comments::TomlLines::new(16);
//! file.setting("process", "135", "MAG");
//! file.range("amps", (95.0, 135.0), 0, "");
//! assert_eq!(file.text, "process = 135    # MAG\namps = [95, 135]\n");
//! ```

/// A text as TOML writes it, in quotes.
#[must_use]
pub(crate) fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// The lines so far.
#[derive(Debug)]
pub struct TomlLines {
    /// The text.
    pub text: String,
    comment_column: usize,
}

impl TomlLines {
    /// No lines yet; comments begin in this column, or after a longer line.
    #[must_use]
    pub const fn new(comment_column: usize) -> Self {
        Self {
            text: String::new(),
            comment_column,
        }
    }

    /// Adds a line as it is.
    pub fn text(&mut self, line: &str) {
        self.text += line;
        self.text += "\n";
    }

    /// Adds a key with its value, and a comment unless it is empty.
    pub fn setting(&mut self, key: &str, value: &str, comment: &str) {
        let line = format!("{key} = {value}");
        if comment.is_empty() {
            self.text(&line);
        } else {
            let width = self.comment_column;
            self.text(&format!("{line:<width$} # {comment}"));
        }
    }

    /// Adds a key with its lowest and highest value.
    pub fn range(&mut self, key: &str, (low, high): (f64, f64), decimals: usize, comment: &str) {
        let value = format!("[{low:.decimals$}, {high:.decimals$}]");
        self.setting(key, &value, comment);
    }
}
