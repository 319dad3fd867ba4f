//! Rows of plain numbers, as nearly all are, in a fraction of the time that any row takes.

use super::layout::Layout;
use super::number::quick;
use crate::recording::{Decimal, Separator};

/// Where the numbers of a row are.
pub(super) struct Quick {
    separator: u8,
    point: u8,
    /// Columns from 0, in order of place, each with what it is: 0 time, 1 volts, 2 amps.
    wanted: [(usize, usize); 3],
    /// How many of them are wanted: two without a column of time.
    count: usize,
}

impl Quick {
    /// `None` where columns are separated by any number of spaces.
    pub(super) fn new(layout: &Layout) -> Option<Self> {
        if layout.separator == Separator::Comma && layout.decimal == Decimal::Comma {
            return None;
        }
        let separator = match layout.separator {
            Separator::Tab => b'\t',
            Separator::Semicolon => b';',
            Separator::Comma => b',',
            Separator::Space => return None,
        };
        let mut wanted = [
            (layout.time.unwrap_or(usize::MAX), 0),
            (layout.volts, 1),
            (layout.amps, 2),
        ];
        wanted.sort_unstable();
        Some(Self {
            separator,
            point: match layout.decimal {
                Decimal::Point => b'.',
                Decimal::Comma => b',',
            },
            wanted,
            count: if layout.time.is_some() { 3 } else { 2 },
        })
    }

    /// Time, volts and amps of a row, as written; `None` if one of them is anything but a plain number.
    #[inline]
    pub(super) fn row(&self, line: &[u8]) -> Option<(f64, f64, f64)> {
        let mut found = [0.0; 3];
        let (mut column, mut at) = (0, 0);
        for &(wanted, what) in &self.wanted[..self.count] {
            while column < wanted {
                // Right behind the number before there is nothing to look for.
                if line.get(at) != Some(&self.separator) {
                    at += memchr::memchr(self.separator, line.get(at..)?)?;
                }
                at += 1;
                column += 1;
            }
            let (value, end) = quick(line.get(at..)?, self.point)?;
            at += end;
            match line.get(at) {
                None => {}
                Some(&byte) if byte == self.separator => {}
                Some(_) => return None,
            }
            found[what] = value;
        }
        Some((found[0], found[1], found[2]))
    }
}
