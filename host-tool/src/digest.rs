//! What tells that a file is still the same.

use crate::failure::Failure;
use sha2::{Digest, Sha256};
use std::io::Read;
use std::path::Path;

/// SHA-256 of some bytes, in hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// SHA-256 of a file, read piece by piece: logs may be long.
///
/// # Errors
/// [`Failure::File`] when it cannot be read.
pub fn sha256_of(path: &Path) -> Result<String, Failure> {
    let mut file = std::fs::File::open(path).map_err(Failure::file(path, "read"))?;
    let mut sum = Sha256::new();
    let mut piece = vec![0; 1 << 16];
    loop {
        let read = file.read(&mut piece).map_err(Failure::file(path, "read"))?;
        if read == 0 {
            break;
        }
        sum.update(&piece[..read]);
    }
    let digest = sum.finalize();
    Ok(digest.iter().map(|byte| format!("{byte:02x}")).collect())
}
