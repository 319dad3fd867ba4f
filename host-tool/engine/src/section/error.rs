//! What can be wrong with the designation of a section.

use super::gauge::GaugeTable;
use std::fmt;

/// Why a designation was refused. [`fmt::Display`] gives one line: what is wrong, what is allowed, what to do.
#[non_exhaustive]
#[derive(Clone, Debug, PartialEq)]
pub enum SectionError {
    /// Nothing was written, or only a prefix.
    Empty,
    /// The word in front is not a known shape.
    UnknownShape {
        /// The word as written.
        found: String,
    },
    /// Too few or too many sizes.
    SizeCount {
        /// Number of sizes found.
        found: usize,
        /// The sizes of the shape, in words.
        wanted: &'static str,
        /// A correct designation.
        example: &'static str,
    },
    /// A size that is not a number.
    NotANumber {
        /// The size as written.
        found: String,
    },
    /// A fraction without `in`: probably inches, but the tool does not guess.
    FractionOfWhat {
        /// The size as written.
        found: String,
    },
    /// A gauge for a size that is not a wall or a thickness.
    GaugeOutOfPlace {
        /// The size as written.
        found: String,
    },
    /// A gauge number that the table does not have.
    UnknownGauge {
        /// The table it was looked up in.
        table: GaugeTable,
        /// The number as written.
        number: String,
    },
    /// A gauge on a tube that does not say which table it is from.
    WhichGauge {
        /// The number of the gauge.
        number: u32,
        /// The wall as tube gauge, in.
        tube_in: f64,
        /// The wall as sheet gauge, in.
        sheet_in: f64,
    },
    /// A size without a unit that would be more inches than a light frame has.
    InchesMeant {
        /// The largest size, in.
        largest_in: f64,
    },
    /// A size out of range.
    OutOfRange {
        /// Which size.
        what: &'static str,
        /// The size found, mm.
        found_mm: f64,
        /// Lowest size allowed, mm.
        min_mm: f64,
        /// Highest size allowed, mm.
        max_mm: f64,
    },
    /// A wall that leaves no hollow, or a leg thinner than its thickness.
    TooThick {
        /// Which thickness.
        what: &'static str,
        /// The thickness found, mm.
        found_mm: f64,
        /// It must be less than this, mm.
        limit_mm: f64,
    },
    /// A corner radius that does not fit the sides.
    RadiusTooLarge {
        /// The radius, mm.
        found_mm: f64,
        /// It must not exceed this, mm.
        limit_mm: f64,
    },
    /// A square section with two different sides.
    NotSquare {
        /// The sides, mm.
        sides_mm: (f64, f64),
    },
    /// Something after the sizes that this shape does not have.
    Trailing {
        /// The text as written.
        found: String,
    },
}

impl fmt::Display for SectionError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(out, "the section is empty; write for example SHS 40x40x3"),
            Self::UnknownShape { found } => write!(
                out,
                "'{found}' is not a section shape; known are SHS, RHS, CHS (HF in front for hot finished), HSS (in \
                 inches), L angle, U channel, FL flat, SQ square bar, RD round bar"
            ),
            Self::SizeCount {
                found,
                wanted,
                example,
            } => {
                write!(
                    out,
                    "there are {found} sizes, but this shape has {wanted}; for example {example}"
                )
            }
            Self::NotANumber { found } => {
                write!(
                    out,
                    "'{found}' is not a size; write 40, 1.5in, 1-1/2in, or for a wall 14ga tube or 14ga sheet"
                )
            }
            Self::FractionOfWhat { found } => write!(
                out,
                "'{found}' is a fraction without a unit; write {found}in for inches"
            ),
            Self::GaugeOutOfPlace { found } => {
                write!(
                    out,
                    "'{found}' is a gauge, but only the last size, a wall or thickness, can be one"
                )
            }
            Self::InchesMeant { largest_in } => write!(
                out,
                "this file is in inches, so the section would be {largest_in} in wide; write mm after the sizes, or \
                 units = \"mm\" at the top; if it is that wide, write in after the sizes"
            ),
            Self::WhichGauge {
                number,
                tube_in,
                sheet_in,
            } => write!(
                out,
                "{number} gauge is {tube_in:.3} in on a tube and {sheet_in:.4} in on sheet; write {number}ga tube or \
                 {number}ga sheet, whichever your supplier means, or the wall itself"
            ),
            Self::UnknownGauge { table, number } => write!(
                out,
                "there is no gauge {number}; write 3{0} to 20{0}",
                table.suffix()
            ),
            Self::OutOfRange { .. }
            | Self::TooThick { .. }
            | Self::RadiusTooLarge { .. }
            | Self::NotSquare { .. } => self.describe_sizes(out),
            Self::Trailing { found } => {
                write!(
                    out,
                    "'{found}' after the sizes is not allowed here; only L and U have a root radius, as in r6"
                )
            }
        }
    }
}

impl SectionError {
    /// Sizes that cannot be, or do not fit each other.
    fn describe_sizes(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange {
                what,
                found_mm,
                min_mm,
                max_mm,
            } => write!(
                out,
                "{what} of {found_mm} mm is outside {min_mm} to {max_mm} mm; for inches write \"in\" after the size"
            ),
            Self::TooThick {
                what,
                found_mm,
                limit_mm,
            } => write!(
                out,
                "{what} of {found_mm:.2} mm does not fit: it must be less than {limit_mm:.2} mm here; \
                 for inches write \"in\" after the sizes"
            ),
            Self::RadiusTooLarge { found_mm, limit_mm } => write!(
                out,
                "corner radius of {found_mm:.2} mm does not fit: at most {limit_mm:.2} mm here; \
                 such a thick wall is not cold formed (try HF, or a thinner wall)"
            ),
            Self::NotSquare { sides_mm: (a, b) } => {
                write!(
                    out,
                    "SHS is square, but its sides are {a} and {b} mm; write RHS for a rectangular section"
                )
            }
            _ => Ok(()),
        }
    }
}

impl std::error::Error for SectionError {}
