//! A logger whose log goes out as it is made.

use crate::fed::logger;
use crate::{exit, stack};
use coldsquare_core::record::Header;
use coldsquare_firmware::feed::Pressed;
use coldsquare_firmware::front_end::FrontEnd;
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::logger::Progress;
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::store::{Store, StoreError};
use core::fmt::Write;
use cortex_m::singleton;

/// A store that sends each record to where it is listened to.
pub struct Listener<F>(pub F);

impl<F: FnMut(&[u8])> Store for Listener<F> {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        (self.0)(record);
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        Ok(())
    }
}

/// Logs into a store until the front end has no more readings, then says how deep the stack became. The first caller alone:
/// there is one plan.
#[inline(always)]
pub fn run(
    front_end: impl FrontEnd,
    store: impl Store,
    of: (Header, &'static str),
    pressed: &Pressed,
    figures: &mut impl Write,
) -> ! {
    let Some(plan) = singleton!(: NextWeld = NextWeld::new()) else {
        exit(false)
    };
    let Some(mut logger) = logger(front_end, (store, Unconnected), of, plan, pressed) else {
        exit(false)
    };
    while logger.poll() == Progress::Took {}
    logger.finish();
    exit(writeln!(figures, "stack_bytes {}", stack::deepest()).is_ok())
}
