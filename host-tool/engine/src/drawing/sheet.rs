//! A drawing that stands alone as a file: title, figures one below the other with a line or more over each, a foot.
//!
//! ```
//! use coldsquare_engine::drawing::sheet::Sheet;
//!
//! let mut sheet = Sheet::new("Gate");
//! sheet.line("Front");
//! assert!(sheet.finish().starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\""));
//! ```

use super::figure::Figures;
use super::palette;
use super::svg::{Svg, number};
use super::view::View;

/// Height of a line of text, units of the page.
const LINE: f64 = 22.0;
const LEFT: f64 = 24.0;

/// A drawing as it grows downwards.
pub struct Sheet<'t> {
    title: &'t str,
    body: Svg,
    at: f64,
    width: f64,
}

impl<'t> Sheet<'t> {
    /// A sheet with its title.
    #[must_use]
    pub fn new(title: &'t str) -> Self {
        let mut body = Svg::default();
        body.text(
            "text",
            &[("class", "caption"), ("x", "24"), ("y", "36")],
            title,
        );
        Self {
            title,
            body,
            at: 52.0,
            width: 700.0,
        }
    }

    /// A line of text over the figure that follows.
    pub fn line(&mut self, line: &str) {
        let (x, y) = (number(LEFT), number(self.at + LINE - 2.0));
        self.body
            .text("text", &[("class", "small"), ("x", &x), ("y", &y)], line);
        self.at += LINE;
    }

    /// The frame from one side.
    pub fn figure(&mut self, figures: &Figures<'_>, view: &View, numbered: &[usize]) {
        // The margin of a figure leaves room for the last line of text.
        let size = figures.size(view);
        // Where many numbers stand together they need more room than that.
        let (mut over, mut under) = (0.0_f64, 0.0_f64);
        for placed in figures.placed(view, numbered) {
            over = over.max(LINE + placed.half[1] - placed.at[1]);
            under = under.max(placed.at[1] + placed.half[1] - size[1] + LINE);
        }
        self.at += over;
        figures.draw(&mut self.body, view, numbered, [0.0, self.at - LINE]);
        self.width = self.width.max(size[0]);
        self.at += size[1] - LINE + under;
    }

    /// What is below the figures; `draw` begins at the point it is given and returns its height.
    pub(super) fn foot(&mut self, draw: impl Fn(&mut Svg, [f64; 2]) -> f64) {
        self.at += draw(&mut self.body, [LEFT, self.at + 20.0]);
    }

    /// The file.
    #[must_use]
    pub fn finish(self) -> String {
        let (width, height) = (number(self.width), number(self.at + LEFT));
        let frame = format!("0 0 {width} {height}");
        let mut svg = Svg::default();
        svg.open(
            "svg",
            &[
                ("xmlns", "http://www.w3.org/2000/svg"),
                ("class", "figure"),
                ("viewBox", &frame),
                ("width", &width),
                ("height", &height),
                ("role", "img"),
            ],
        );
        svg.text("title", &[], self.title);
        svg.style(&palette::filled_in(super::STYLE));
        svg.leaf(
            "rect",
            &[("class", "ground"), ("width", &width), ("height", &height)],
        );
        let head = svg.finish();
        let head = head.strip_suffix("</svg>\n").unwrap_or(&head);
        format!("{head}{}</svg>\n", self.body.finish())
    }
}
