//! The seal: what shows that a log is as its logger wrote it.
//!
//! A checksum finds accidents; anyone can make a new one. A signature cannot be made without the logger's secret, and
//! anyone can check it with the public key, which is in the log. A logger that seals writes notes among its records
//! ([`SealNote`]): its key and the number of the log at every start, then now and then a seal over everything since the
//! one before. `docs/log-format.md` gives the bytes. Nothing here stores or sends; the same code signs and checks.
//!
//! ```
//! use coldsquare_core::record::{Event, EventKind, MAX_FRAME, Record, encode};
//! use coldsquare_core::seal::{Secret, Section, is_signed_by};
//!
//! let secret = Secret::new([7; 32]).ok_or("not all zeros")?;
//! let event = Record::Event(Event { position: 0, kind: EventKind::PowerOn, value: 1 });
//! let mut frame = [0; MAX_FRAME];
//! let length = encode(0, &event, &mut frame)?;
//!
//! let mut section = Section::begin(&secret.public(), &[1; 32], &[0; 64]);
//! section.take(&event, &frame[..length]);
//! let sum = section.sum();
//! assert!(is_signed_by(&secret.public(), &sum, &secret.sign(&sum)));
//! # Ok::<(), Box<dyn core::error::Error>>(())
//! ```
//!
//! Source: S. Josefsson, I. Liusvaara, *Edwards-Curve Digital Signature Algorithm (EdDSA)*, RFC 8032, 2017, section 5.1;
//! NIST, *Secure Hash Standard*, FIPS 180-4, 2015, section 6.2.

mod fingerprint;
mod notes;
#[cfg(test)]
mod tests;

pub use fingerprint::{Fingerprint, NotAFingerprint};
pub use notes::SealNote;

use crate::framing::{SUFFIX, checksum};
use crate::record::Record;
use ed25519_compact::{KeyPair, PublicKey, Seed, Signature};
use sha2::{Digest, Sha256};

/// Begins what a seal is over, so that a signature of something else is never taken for one.
const WHAT: &[u8] = b"coldsquare seal 1";

/// The secret of every simulated logger. It is public, so a log sealed with it proves nothing, and readers say so.
pub const SIMULATION: [u8; 32] = *b"a simulated logger's open secret";

/// The secret of a logger. It never leaves it.
pub struct Secret(KeyPair);

impl core::fmt::Debug for Secret {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str("Secret")
    }
}

impl Secret {
    /// The secret that follows from 32 bytes of chance; `None` for zeros, which no source of chance gives.
    #[must_use]
    pub fn new(chance: [u8; 32]) -> Option<Self> {
        KeyPair::try_from_seed(Seed::new(chance)).ok().map(Self)
    }

    /// The public key.
    #[must_use]
    pub fn public(&self) -> [u8; 32] {
        *self.0.pk
    }

    /// Signs the sum of a section.
    #[must_use]
    pub fn sign(&self, sum: &[u8; 32]) -> [u8; 64] {
        *self.0.sk.sign(sum, None)
    }

    /// A number for a log that nobody can guess, from something that is different for each.
    #[must_use]
    pub fn number_for(&self, different: &[u8; 32]) -> [u8; 32] {
        let mut sum = Sha256::new_with_prefix(b"coldsquare log 1");
        sum.update(self.0.sk.seed().as_ref());
        sum.update(different);
        sum.finalize().into()
    }
}

/// The records from one seal to the next, as sums.
///
/// Windows have a sum of their own, which the seal states: they may be dropped to make room, and the rest can still be
/// checked then. The other records have short sums too: where a signature does not hold, they show which record it is.
#[derive(Clone, Debug)]
pub struct Section {
    kept: Sha256,
    windows: Sha256,
    short: ShortSums,
}

/// Sixteen short sums over the records of a section but its windows: the first is over records 1, 17, 33, …, the second
/// over 2, 18, 34, … They show where, never whether: only the signature is proof.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ShortSums {
    sums: [u16; 16],
    next: u8,
}

impl ShortSums {
    /// How many there are.
    pub const COUNT: usize = 16;

    /// Takes the frame of the next record. A checksum over one that ends with its own checksum is the same for every
    /// record, so that is left out.
    fn take(&mut self, frame: &[u8]) {
        let covered = frame.len().saturating_sub(SUFFIX + 1);
        let sum = checksum(frame.get(..covered).unwrap_or_default()).to_le_bytes();
        if let Some(to) = self.sums.get_mut(usize::from(self.next)) {
            *to ^= u16::from_le_bytes([sum[0], sum[1]]);
        }
        self.next = (self.next + 1) % 16;
    }

    /// All of them, each low byte first.
    #[must_use]
    pub fn bytes(&self) -> [u8; 32] {
        let mut bytes = [0; 32];
        for (to, sum) in bytes.as_chunks_mut().0.iter_mut().zip(self.sums) {
            *to = sum.to_le_bytes();
        }
        bytes
    }
}

impl Section {
    /// Begins after a seal with this signature, or after a start, with zeros.
    #[must_use]
    pub fn begin(public: &[u8; 32], log: &[u8; 32], before: &[u8; 64]) -> Self {
        let mut kept = Sha256::new_with_prefix(WHAT);
        kept.update(public);
        kept.update(log);
        kept.update(before);
        Self {
            kept,
            windows: Sha256::new(),
            short: ShortSums::default(),
        }
    }

    /// Takes a record with its frame, both boundaries included.
    pub fn take(&mut self, record: &Record, frame: &[u8]) {
        match record {
            Record::Window(_) => self.windows.update(frame),
            _ => {
                self.kept.update(frame);
                self.short.take(frame);
            }
        }
    }

    /// The short sums so far.
    #[must_use]
    pub const fn short(&self) -> &ShortSums {
        &self.short
    }

    /// The sum of the windows so far.
    #[must_use]
    pub fn windows(&self) -> [u8; 32] {
        self.windows.clone().finalize().into()
    }

    /// The sum that is signed: of everything but the windows.
    #[must_use]
    pub fn sum(&self) -> [u8; 32] {
        self.kept.clone().finalize().into()
    }
}

/// True when whoever has the secret of this public key signed this sum.
#[must_use]
pub fn is_signed_by(public: &[u8; 32], sum: &[u8; 32], signature: &[u8; 64]) -> bool {
    PublicKey::new(*public)
        .verify(sum, &Signature::new(*signature))
        .is_ok()
}

/// SHA-256 of some bytes.
#[must_use]
pub fn sum_of(bytes: &[u8]) -> [u8; 32] {
    Sha256::digest(bytes).into()
}
