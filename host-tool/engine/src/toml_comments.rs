//! Text of a file of settings that a person will go on writing in: a line each, with the remarks in one column.

/// The lines so far.
#[derive(Debug)]
pub struct Lines {
    /// The text.
    pub text: String,
    remarks_at: usize,
}

impl Lines {
    /// No lines yet; remarks begin in this column, or after a longer line.
    #[must_use]
    pub const fn new(remarks_at: usize) -> Self {
        Self {
            text: String::new(),
            remarks_at,
        }
    }

    /// Adds a line.
    pub fn text(&mut self, line: &str) {
        self.text += line;
        self.text += "\n";
    }

    /// Adds a setting, with a remark where there is one.
    pub fn setting(&mut self, key: &str, value: &str, remark: &str) {
        let line = format!("{key} = {value}");
        if remark.is_empty() {
            self.text(&line);
        } else {
            self.text(&format!(
                "{line:<width$} # {remark}",
                width = self.remarks_at
            ));
        }
    }

    /// Adds a setting of a least and a greatest value, with so many decimals.
    pub fn range(
        &mut self,
        key: &str,
        (least, greatest): (f64, f64),
        decimals: usize,
        remark: &str,
    ) {
        let value = format!("[{least:.decimals$}, {greatest:.decimals$}]");
        self.setting(key, &value, remark);
    }
}
