//! Drawings as PNG pictures, for messages and for pages that take no SVG.

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb::Database};
use std::sync::Arc;

const REGULAR: &[u8] = include_bytes!("fonts/regular.ttf");
const BOLD: &[u8] = include_bytes!("fonts/bold.ttf");
const FAMILY: &str = "Noto Sans";

/// Pixels per unit of the drawing: numbers of 15 units stay sharp on paper and on dense screens.
pub const SCALE: f32 = 2.0;
/// Greatest side in pixels; larger drawings are scaled down.
const MAX_SIDE: f32 = 12_000.0;

/// Why there is no picture.
#[derive(Debug)]
pub enum PngError {
    /// The text is not a drawing.
    Svg(String),
    /// The drawing has no size.
    NoSize,
    /// The picture could not be packed.
    Pack(String),
}

impl std::fmt::Display for PngError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Svg(cause) => write!(out, "the drawing cannot be read: {cause}"),
            Self::NoSize => write!(out, "the drawing has no size"),
            Self::Pack(cause) => write!(out, "the picture cannot be packed: {cause}"),
        }
    }
}

impl std::error::Error for PngError {}

/// Paints a drawing on a light background, with `scale` pixels per unit: [`SCALE`] for a file.
///
/// # Errors
/// [`PngError`] if the text is not SVG or has no size.
pub fn png(svg: &str, scale: f32) -> Result<Vec<u8>, PngError> {
    let mut fonts = Database::new();
    // Names may use any script.
    fonts.load_system_fonts();
    fonts.load_font_data(REGULAR.to_vec());
    fonts.load_font_data(BOLD.to_vec());
    fonts.set_sans_serif_family(FAMILY);
    let options = Options {
        fontdb: Arc::new(fonts),
        font_family: FAMILY.into(),
        ..Options::default()
    };
    // Use the same font on every machine.
    let svg = svg.replace("system-ui,\"DejaVu Sans\",sans-serif", FAMILY);
    let tree = Tree::from_str(&svg, &options).map_err(|cause| PngError::Svg(cause.to_string()))?;
    let size = tree.size();
    let scale = scale.min(MAX_SIDE / size.width().max(size.height()));
    let pixels = |length: f32| (length * scale).ceil() as u32;
    let mut picture =
        Pixmap::new(pixels(size.width()), pixels(size.height())).ok_or(PngError::NoSize)?;
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut picture.as_mut(),
    );
    picture
        .encode_png()
        .map_err(|cause| PngError::Pack(cause.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use coldsquare_engine::drawing::figure::{Figures, Mark};
    use coldsquare_engine::drawing::scene::Scene;
    use coldsquare_engine::drawing::sheet::Sheet;
    use coldsquare_engine::drawing::view::View;

    const CRIMSON: [u8; 3] = [0xa5, 0x0f, 0x3c];

    fn drawing(title: &str, numbered: &[usize]) -> String {
        let job =
            coldsquare_engine::job::from_text("gate.toml", coldsquare_engine::example::GARDEN_GATE)
                .expect("a job");
        let scene = Scene::of(&job);
        let marks: Vec<Mark> = job
            .welds
            .iter()
            .map(|weld| Mark {
                label: weld.number.to_string(),
                class: "out-of-limits",
                title: String::new(),
                arrow: false,
            })
            .collect();
        let mut sheet = Sheet::new(title);
        sheet.figure(&Figures::new(&scene, &marks), &View::FRONT, numbered);
        sheet.finish()
    }

    fn painted(svg: &str) -> Pixmap {
        Pixmap::decode_png(&png(svg, SCALE).expect("a picture")).expect("PNG")
    }

    fn count(picture: &Pixmap, wanted: impl Fn([u8; 3]) -> bool) -> usize {
        let colours = picture
            .pixels()
            .iter()
            .map(|p| [p.red(), p.green(), p.blue()]);
        colours.filter(|colour| wanted(*colour)).count()
    }

    #[test]
    fn a_picture_has_twice_the_size_of_its_drawing_its_marks_and_its_letters() {
        let svg = drawing("Gate", &[0]);
        let width = svg
            .split("width=\"")
            .nth(1)
            .and_then(|rest| rest.split('"').next());
        let width: f32 = width.expect("a width").parse().expect("a number");
        let picture = painted(&svg);
        assert_eq!(picture.width(), (2.0 * width).ceil() as u32);
        // A mark of 28 units, two pixels each, less its number in white.
        let crimson = |picture: &Pixmap| count(picture, |colour| colour == CRIMSON);
        let mark = crimson(&picture) - crimson(&painted(&drawing("Gate", &[])));
        assert!((2_000..=56 * 56).contains(&mark), "{mark} pixels");
        let dark = |title: &str| {
            let picture = painted(&drawing(title, &[]));
            count(&picture, |[red, green, blue]| {
                red < 60 && green < 60 && blue < 60
            })
        };
        let letters = dark("Gate of oak ± 3") - dark("");
        assert!(letters > 300, "the title is {letters} dark pixels");
    }

    #[test]
    fn a_name_in_another_script_or_full_of_markup_is_no_reason_to_fail() {
        for title in [
            "سلام 门 🔥",
            "</text><script>",
            "\u{202E}abc",
            &"x".repeat(400),
        ] {
            assert!(png(&drawing(title, &[]), 0.2).is_ok(), "{title}");
        }
    }

    #[test]
    fn what_is_no_drawing_is_refused() {
        assert!(matches!(png("<p>", SCALE), Err(PngError::Svg(_))));
    }
}
