//! Colours named by purpose, in light and in dark. Colour alone never carries a meaning.
//!
//! docs/design-language.md says what each is for. Tests check the contrast, and that the verdicts are far apart for
//! every kind of colour vision. To change a colour, change [`COLOURS`] and run them.
//!
//! ```
//! use coldsquare_engine::drawing::palette::COLOURS;
//!
//! let ink = COLOURS.iter().find(|colour| colour.name == "ink").expect("a colour for text");
//! assert_eq!(ink.light, "#1b2127");
//! ```

use crate::verdict::Verdict;

/// A colour with a purpose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour {
    /// Its name in style sheets, `var(--name)`.
    pub name: &'static str,
    /// On light ground, `#rrggbb`.
    pub light: &'static str,
    /// On dark ground.
    pub dark: &'static str,
}

const fn colour(name: &'static str, light: &'static str, dark: &'static str) -> Colour {
    Colour { name, light, dark }
}

/// Every colour.
pub const COLOURS: [Colour; 21] = [
    colour("paper", "#f6f4ef", "#14171a"),
    colour("sheet", "#fffefb", "#1b1f23"),
    colour("ink", "#1b2127", "#ece8df"),
    colour("quiet", "#525c66", "#a9b1b8"),
    colour("line", "#cbc8bf", "#3b4249"),
    colour("metal-1", "#ffffff", "#505a64"),
    colour("metal-2", "#e6e9ec", "#48525b"),
    colour("metal-3", "#d7dce0", "#3f4851"),
    colour("metal-4", "#c5ccd2", "#363f47"),
    colour("metal-5", "#b0b9c1", "#2d353c"),
    colour("edge-of-metal", "#66717b", "#8d98a2"),
    colour("hollow", "#4c565f", "#101316"),
    colour("within-limits", "#0b5c8f", "#6cb6ea"),
    colour("within-limits-fill", "#dcecf6", "#12374f"),
    colour("marginal", "#7d4e00", "#ffcf70"),
    colour("marginal-fill", "#ffe3a6", "#4a3506"),
    colour("out-of-limits", "#a50f3c", "#ff7d9d"),
    colour("on-out-of-limits", "#ffffff", "#2a0510"),
    colour("volts", "#5a3d99", "#b9a3f0"),
    colour("amps", "#0b6b5d", "#5ecdb9"),
    colour("heat", "#9c3d10", "#f59f72"),
];

/// Name of a verdict in style sheets and in the data of a page.
#[must_use]
pub(crate) const fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::WithinLimits => "within-limits",
        Verdict::Marginal => "marginal",
        Verdict::OutOfLimits => "out-of-limits",
        Verdict::NotMeasured => "not-measured",
        Verdict::NoLimit => "no-limit",
    }
}

/// The outline of a mark about its middle, as an SVG path; the same shapes in drawings, tables and legends.
///
/// Round: nothing to do. Pointed: look closer. Square and filled: act.
#[must_use]
pub(crate) fn outline(class: &str) -> &'static str {
    match class {
        "marginal" => "M-19,0L-9,-14.5H9L19,0L9,14.5H-9Z",
        "out-of-limits" => "M-14,-14H14V14H-14Z",
        "no-limit" => "M-12,11H12",
        "next" => "M-15,-15H8L21,0L8,15H-15Z",
        _ => "M-14,0A14,14 0 1 1 14,0A14,14 0 1 1 -14,0Z",
    }
}

/// A style sheet with `var(--name)` filled in, for drawings that stand alone: light, and dark by the reader's choice.
#[must_use]
pub(crate) fn filled_in(css: &str) -> String {
    let fill = |of: fn(&Colour) -> &'static str| {
        COLOURS.iter().fold(css.to_string(), |css, colour| {
            css.replace(&format!("var(--{})", colour.name), of(colour))
        })
    };
    let light = fill(|colour| colour.light);
    let dark = fill(|colour| colour.dark);
    format!("{light}@media (prefers-color-scheme:dark){{\n{dark}}}\n")
}

/// The colours as custom properties for a page: light, dark by the reader's choice, and always light on paper.
#[must_use]
pub(crate) fn properties() -> String {
    let list = |of: fn(&Colour) -> &'static str| {
        let each = COLOURS.iter().map(|c| format!("--{}:{};", c.name, of(c)));
        each.collect::<String>()
    };
    let light = list(|colour| colour.light);
    let dark = list(|colour| colour.dark);
    format!(
        ":root{{color-scheme:light dark;{light}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
    )
}
