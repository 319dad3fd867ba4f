//! Words for whoever develops: rare events, over defmt when the feature of that name is on, and nothing at all when it is
//! off. Never where every sample passes.

/// Says this at level info: a format string of defmt and what goes into it.
macro_rules! say {
    ($($what:tt)*) => {{
        #[cfg(feature = "defmt")]
        defmt::info!($($what)*);
    }};
}

pub(crate) use say;
