//! Clears a logger's memory once its log is safe.

use super::pull::{fetch, tally};
use super::source::Source;
use super::verify::Verified;
use super::{Client, LinkError};
use coldsquare_core::link::{Consent, Identity, Refusal, Request};
use coldsquare_core::record::ReadCounts;
use coldsquare_engine::failure::Failure;
use std::fs::OpenOptions;
use std::path::Path;

/// How often to fetch what was added meanwhile before giving up on a logger that keeps logging.
const MOST_GROWN: u32 = 20;

/// Clears the memory of a logger whose log was pulled into `out`, once that file is synced to disk and was compared with
/// the logger's, to its end. Adds to the file what was logged meanwhile. Returns its length and what a reader finds in it.
///
/// # Errors
/// [`Failure`]; the logger's log is then unchanged.
pub fn clear_pulled(source: &mut dyn Source, out: &Path) -> Result<(u64, ReadCounts), Failure> {
    let fail = |cause| Failure::file(out, "use")(cause);
    let mut file = OpenOptions::new()
        .read(true)
        .write(true)
        .open(out)
        .map_err(fail)?;
    let mut verified: Option<Verified> = None;
    for _ in 0..MOST_GROWN {
        let (first, end) = source.extent()?;
        let length = fetch(source, (&mut file, out), (first, end), &mut |_| true)?;
        let until = first.saturating_add(length);
        let verified = verified.get_or_insert(Verified::nothing(first));
        verified
            .go_on(source, out, until, 0, &mut |_| true)
            .map_err(not_cleared)?;
        let sum = verified.sum();
        if source.clear(until, Consent::Pulled { sum })? {
            let tally = tally(&mut file).map_err(fail)?;
            return Ok((length, tally));
        }
    }
    Err(Failure::Input(format!(
        "the logger was not cleared: it is still logging, or its log is not the one in {}",
        out.display()
    )))
}

/// The failure, and what it means for the logger.
fn not_cleared(failure: Failure) -> Failure {
    match failure {
        Failure::Input(why) => Failure::Input(format!("{why}; the logger was not cleared")),
        other => other,
    }
}

/// Clears the memory of the logger with this name, whether or not its log was pulled. Returns the logger's identity
/// from before.
///
/// # Errors
/// [`LinkError`]: it has another name, cannot clear, or a bead is under way.
pub fn clear_named(client: &mut Client<'_>, name: &str) -> Result<Identity, LinkError> {
    // No logger has a name this long.
    let name = name
        .try_into()
        .map_err(|_| LinkError::Refused(Refusal::Value))?;
    let consent = Consent::Named(name);
    for _ in 0..MOST_GROWN {
        let identity = client.identify()?;
        let end = identity.log.1;
        let consent = consent.clone();
        match client.tell(&Request::Clear { end, consent }) {
            Ok(()) => return Ok(identity),
            Err(LinkError::Refused(Refusal::NotPulled)) => {}
            Err(error) => return Err(error),
        }
    }
    Err(LinkError::Refused(Refusal::NotPulled))
}
