//! SHA-256, which tells whether a file is still the same.
//!
//! ```
//! assert!(coldsquare_engine::digest::sha256(b"").starts_with("e3b0c44298fc1c14"));
//! ```

use sha2::{Digest, Sha256};
use std::io::{Result, Write};

/// SHA-256 of these bytes, in hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    let mut sum = Sha256Writer::default();
    sum.0.update(bytes);
    sum.finish()
}

/// Sums up the SHA-256 of what is written to it.
#[derive(Default)]
pub struct Sha256Writer(Sha256);

impl Sha256Writer {
    /// The SHA-256 of everything written, in hexadecimal.
    #[must_use]
    pub fn finish(self) -> String {
        let digest = self.0.finalize();
        digest.iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

impl Write for Sha256Writer {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        self.0.update(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        Ok(())
    }
}
