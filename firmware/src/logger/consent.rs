//! Consent of somebody at the logger to what a computer asks for: clearing the store, and another calibration.
//!
//! Whoever reaches the port may not be whoever stands at the machine. So a request that cannot be taken back is refused
//! until both buttons were held; meanwhile the panel shows that somebody asks.

use super::asked::{Asked, kind};
use super::{Hardware, Logger};
use crate::panel::Panel;
use coldsquare_core::link::Request;

/// For how long the panel asks, and for how long consent holds, s.
const HOLDS_S: f64 = 60.0;

impl<H: Hardware> Logger<H> {
    /// Whether a request may be carried out; if not, the panel asks for consent from now on.
    pub(super) fn has_consent(&mut self, request: &Request) -> bool {
        let Some(kind) = kind(request).filter(|_| self.panel.can_confirm()) else {
            return true;
        };
        let asked = self.under_way().filter(|asked| asked.kind == kind);
        if asked.is_some_and(|asked| asked.agreed) {
            return true;
        }
        self.asked = Some(Asked {
            kind,
            since_s: self.now_s(),
            agreed: false,
        });
        false
    }

    /// Whether the panel is to ask.
    pub(super) fn is_asked(&self) -> bool {
        self.under_way().is_some_and(|asked| !asked.agreed)
    }

    /// Both buttons were held: true if that was consent.
    pub(super) fn agree(&mut self) -> bool {
        if !self.is_asked() {
            return false;
        }
        let now_s = self.now_s();
        if let Some(asked) = &mut self.asked {
            (asked.agreed, asked.since_s) = (true, now_s);
        }
        true
    }

    fn under_way(&self) -> Option<Asked> {
        self.asked
            .filter(|asked| self.now_s() - asked.since_s < HOLDS_S)
    }
}
