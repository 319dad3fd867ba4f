//! The request to clear the logger's memory.

use super::payload::{Fault, require};
use crate::link::message::{Consent, Request};
use heapless::String;

/// End, why (0 pulled, 1 named), checksum of the log (0 when named), name (empty when pulled).
pub(super) type ClearWire = (u64, u8, u32, String<24>);

pub(super) fn write(end: u64, consent: &Consent) -> ClearWire {
    match consent {
        Consent::Pulled { sum } => (end, 0, *sum, String::new()),
        Consent::Named(name) => (end, 1, 0, name.clone()),
    }
}

pub(super) fn read((end, why, sum, name): ClearWire) -> Result<Request, Fault> {
    let consent = match why {
        0 => {
            require(name.is_empty())?;
            Consent::Pulled { sum }
        }
        1 => {
            require(sum == 0)?;
            Consent::Named(name)
        }
        _ => return Err(Fault::Value),
    };
    Ok(Request::Clear { end, consent })
}
