//! PNG pictures, if the program was built with them.

use coldsquare_engine::failure::Failure;

/// The bytes of a PNG file.
#[cfg(feature = "png")]
pub(super) fn painted(svg: &str) -> Result<Vec<u8>, Failure> {
    use crate::png::{SCALE, png};
    png(svg, SCALE).map_err(|error| Failure::Input(format!("no PNG: {error}")))
}

/// Reports the missing feature.
#[cfg(not(feature = "png"))]
pub(super) fn painted(_: &str) -> Result<Vec<u8>, Failure> {
    Err(Failure::Usage(
        "this program was built without PNG pictures; write .svg instead".into(),
    ))
}
