//! What a logger that seals writes into its log, as notes: readers that know nothing of seals read past them.

use crate::record::{Marker, MarkerKind};
use base64::Engine;
use base64::engine::general_purpose::STANDARD_NO_PAD;
use heapless::String;

/// Characters of the name of a note, and of its 32 bytes.
const NAME: usize = 5;
const VALUE: usize = 43;

/// A note of the seal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SealNote {
    /// The public key of the logger. Its first record after a start.
    Key([u8; 32]),
    /// The number of the log, which stays until the store is cleared. The second record after a start.
    Log([u8; 32]),
    /// A seal begins: the short sums of the records since the one before, without windows.
    Short([u8; 32]),
    /// The sum of the windows since the one before.
    Seal([u8; 32]),
    /// The same, for the last seal of a log that was handed out.
    LastSeal([u8; 32]),
    /// The first half of the signature.
    FirstHalf([u8; 32]),
    /// The second half.
    SecondHalf([u8; 32]),
}

impl SealNote {
    /// What a marker says, if it is a note of the seal.
    #[must_use]
    pub fn of(marker: &Marker) -> Option<Self> {
        if marker.kind != MarkerKind::Note || marker.weld.is_some() {
            return None;
        }
        let (name, value) = marker.note.split_at_checked(NAME)?;
        let bytes = || {
            // The decoder asks for room for a byte more than 43 characters hold.
            let mut bytes = [0; 33];
            let length = STANDARD_NO_PAD.decode_slice(value, &mut bytes).ok()?;
            bytes.first_chunk().copied().filter(|_| length == 32)
        };
        Some(match name {
            "key1=" => Self::Key(bytes()?),
            "log1=" => Self::Log(bytes()?),
            "sum1=" => Self::Short(bytes()?),
            "win1=" => Self::Seal(bytes()?),
            "end1=" => Self::LastSeal(bytes()?),
            "sigR=" => Self::FirstHalf(bytes()?),
            "sigS=" => Self::SecondHalf(bytes()?),
            _ => return None,
        })
    }

    /// The marker that says it.
    #[must_use]
    pub fn at(&self, position: u64) -> Marker {
        let (name, bytes) = match self {
            Self::Key(bytes) => ("key1=", bytes),
            Self::Log(bytes) => ("log1=", bytes),
            Self::Short(bytes) => ("sum1=", bytes),
            Self::Seal(bytes) => ("win1=", bytes),
            Self::LastSeal(bytes) => ("end1=", bytes),
            Self::FirstHalf(bytes) => ("sigR=", bytes),
            Self::SecondHalf(bytes) => ("sigS=", bytes),
        };
        let mut note = String::new();
        let mut text = [0; VALUE];
        // A note has room for name and value.
        let _ = note.push_str(name);
        if let Ok(VALUE) = STANDARD_NO_PAD.encode_slice(bytes, &mut text)
            && let Ok(value) = core::str::from_utf8(&text)
        {
            let _ = note.push_str(value);
        }
        Marker {
            position,
            kind: MarkerKind::Note,
            weld: None,
            note,
        }
    }
}
