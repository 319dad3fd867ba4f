//! The short form of a public key, which people write on the logger's case and compare by eye.

use core::fmt;
use core::str::FromStr;
use sha2::{Digest, Sha256};

/// The first ten bytes of the SHA-256 of a public key. Written as five groups of four hexadecimal digits.
///
/// ```
/// use coldsquare_core::seal::Fingerprint;
///
/// let noted: Fingerprint = "0a1b 2C3D-4e5f:6071 8293".parse()?;
/// assert_eq!(noted.to_string(), "0A1B 2C3D 4E5F 6071 8293");
/// # Ok::<(), coldsquare_core::seal::NotAFingerprint>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fingerprint([u8; 10]);

impl Fingerprint {
    /// That of a public key.
    #[must_use]
    pub fn of(public: &[u8; 32]) -> Self {
        let sum: [u8; 32] = Sha256::digest(public).into();
        Self(sum.first_chunk().copied().unwrap_or_default())
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, pair) in self.0.chunks(2).enumerate() {
            f.write_str(if at == 0 { "" } else { " " })?;
            for byte in pair {
                write!(f, "{byte:02X}")?;
            }
        }
        Ok(())
    }
}

/// A text that is no fingerprint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotAFingerprint;

impl fmt::Display for NotAFingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(
            "a logger's fingerprint has 20 digits from 0 to F, such as 0A1B 2C3D 4E5F 6071 8293",
        )
    }
}

impl core::error::Error for NotAFingerprint {}

impl FromStr for Fingerprint {
    type Err = NotAFingerprint;

    /// Spaces, hyphens and colons between the digits mean nothing.
    fn from_str(text: &str) -> Result<Self, NotAFingerprint> {
        let mut bytes = [0u8; 10];
        let mut at = 0;
        for letter in text
            .chars()
            .filter(|letter| !matches!(letter, ' ' | '-' | ':'))
        {
            let digit = letter.to_digit(16).ok_or(NotAFingerprint)?;
            let byte = bytes.get_mut(at / 2).ok_or(NotAFingerprint)?;
            *byte = *byte * 16 + digit as u8;
            at += 1;
        }
        if at == 20 {
            Ok(Self(bytes))
        } else {
            Err(NotAFingerprint)
        }
    }
}
