//! Rare events for developers, over defmt when the feature of that name is on; without it, nothing. Never use it where
//! every sample passes.

/// Prints a line at level info: a format string of defmt and its arguments.
macro_rules! log {
    ($($what:tt)*) => {{
        #[cfg(feature = "defmt")]
        defmt::info!($($what)*);
    }};
}

pub(crate) use log;
