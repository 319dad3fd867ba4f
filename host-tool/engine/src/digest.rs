//! What tells that a file is still the same.

use sha2::{Digest, Sha256};
use std::io::{Result, Write};

/// SHA-256 of some bytes, in hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    let mut sum = Digesting::default();
    sum.0.update(bytes);
    sum.finish()
}

/// Takes the SHA-256 of what is written to it.
#[derive(Default)]
pub struct Digesting(Sha256);

impl Digesting {
    /// The digest of all that was written, in hexadecimal.
    #[must_use]
    pub fn finish(self) -> String {
        let digest = self.0.finalize();
        digest.iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

impl Write for Digesting {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        self.0.update(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        Ok(())
    }
}
