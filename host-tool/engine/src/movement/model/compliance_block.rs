//! Compliance in blocks of six rows, which are a joint's, by eight columns.
//!
//! A block stays in the processor's registers while all updates go into it, and eight is a whole number of the widest
//! vectors of any processor.

/// Columns of a block.
pub(crate) const COLUMNS: usize = 8;

/// The six rows of a joint over eight columns.
pub(crate) type ComplianceBlock = [[f64; COLUMNS]; 6];

/// A block of zeros.
pub(crate) const ZERO: ComplianceBlock = [[0.0; COLUMNS]; 6];
