//! A request of a computer that waits for consent at the logger.

use coldsquare_core::link::{Consent, Request};

/// What needs consent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Clear,
    Discard,
    Calibrate,
}

/// A request that needs consent.
#[derive(Clone, Copy, Debug)]
pub(super) struct Asked {
    pub(super) kind: Kind,
    /// When it was asked for, or agreed to.
    pub(super) since_s: f64,
    pub(super) agreed: bool,
}

/// What a request needs consent for.
pub(super) const fn kind(request: &Request) -> Option<Kind> {
    match request {
        Request::Clear {
            consent: Consent::Pulled { .. },
            ..
        } => Some(Kind::Clear),
        Request::Clear { .. } => Some(Kind::Discard),
        Request::Calibrate { .. } => Some(Kind::Calibrate),
        _ => None,
    }
}
