//! Job files written from a few sizes: what `coldsquare new` writes.
//!
//! ```
//! use coldsquare_engine::job::start::{Shape, Wanted, write};
//!
//! let trolley = write(&Wanted { title: "Trolley", ..Wanted::of(Shape::Trolley) });
//! assert!(coldsquare_engine::job::from_text("trolley.toml", &trolley).is_ok());
//! ```

use crate::format::{self, Precision};
use crate::procedure::start::settings_for;
use crate::section::Section;
use crate::toml_comments::{TomlLines, quoted};
use crate::units::Units;
use coldsquare_core::units::{MILLIMETRES_PER_INCH, Millimetres};

/// What is to be built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A flat frame, with or without bars.
    Frame,
    /// Uprights and rails that are welded on one side.
    Shelf,
    /// Two uprights with rungs.
    Ladder,
    /// A base frame, four legs up and rails round them.
    Box,
    /// A box with a bar across its base and two levels of rails.
    Trolley,
    /// A top frame on four legs.
    Table,
    /// A top frame on four splayed round legs.
    Stand,
    /// A flat with a rib along its middle.
    Tee,
    /// An arm on an upright with a stay below it.
    Bracket,
}

impl Shape {
    /// Their names, the simplest first.
    pub const NAMES: [(&'static str, Self); 9] = [
        ("frame", Self::Frame),
        ("shelf", Self::Shelf),
        ("ladder", Self::Ladder),
        ("box", Self::Box),
        ("trolley", Self::Trolley),
        ("table", Self::Table),
        ("stand", Self::Stand),
        ("tee", Self::Tee),
        ("bracket", Self::Bracket),
    ];

    /// Usual width, depth and height, mm or in. What is flat has no depth.
    pub(super) const fn usual(self, units: Units) -> [f64; 3] {
        let both = match self {
            Self::Frame => [[1200.0, 0.0, 900.0], [48.0, 0.0, 36.0]],
            Self::Shelf => [[900.0, 0.0, 1800.0], [36.0, 0.0, 72.0]],
            Self::Ladder => [[450.0, 0.0, 2400.0], [18.0, 0.0, 96.0]],
            Self::Box => [[600.0, 400.0, 500.0], [24.0, 16.0, 20.0]],
            Self::Trolley => [[800.0, 500.0, 850.0], [32.0, 20.0, 34.0]],
            Self::Table => [[1200.0, 700.0, 750.0], [48.0, 28.0, 30.0]],
            Self::Stand => [[400.0, 400.0, 700.0], [16.0, 16.0, 28.0]],
            Self::Tee => [[1000.0, 0.0, 60.0], [40.0, 0.0, 2.5]],
            Self::Bracket => [[400.0, 0.0, 500.0], [16.0, 0.0, 20.0]],
        };
        both[is_inch(units)]
    }

    /// Usual sections of the main members and of the bars.
    pub(super) const fn sections(self, units: Units) -> [&'static str; 2] {
        let both = match self {
            Self::Frame => [
                ["SHS 40x40x3", "SHS 20x20x2"],
                ["SHS 1-1/2x1-1/2x11ga tube", "SHS 3/4x3/4x14ga tube"],
            ],
            Self::Stand => [
                ["SHS 30x30x2", "CHS 26.9x2"],
                ["SHS 1-1/4x1-1/4x14ga tube", "CHS 1x14ga tube"],
            ],
            Self::Tee => [["FL 80x6", "FL 60x6"], ["FL 3x1/4", "FL 2-1/2x1/4"]],
            _ => [
                ["SHS 40x40x2", "SHS 25x25x2"],
                ["SHS 1-1/2x1-1/2x14ga tube", "SHS 1x1x14ga tube"],
            ],
        };
        both[is_inch(units)]
    }
}

const fn is_inch(units: Units) -> usize {
    match units {
        Units::Metric => 0,
        Units::UsCustomary => 1,
    }
}

/// A shape with its sizes; what is left out is as usual.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// What it is.
    pub shape: Shape,
    /// What the job is called.
    pub title: &'a str,
    /// Units of the file.
    pub units: Units,
    /// Outside to outside.
    pub width: Option<Millimetres>,
    /// Front to back.
    pub depth: Option<Millimetres>,
    /// From the floor to the top.
    pub height: Option<Millimetres>,
    /// Designation of the section of the main members.
    pub section: Option<&'a str>,
    /// Designation of the section of bars, or of the legs of a stand.
    pub bar_section: Option<&'a str>,
    /// Number of bars or rungs.
    pub bars: Option<u32>,
    /// How far splayed legs stand out.
    pub splay: Option<Millimetres>,
    /// The corners of a flat frame, as the job file names them.
    pub corners: Option<&'a str>,
}

impl Wanted<'_> {
    /// The number of bars or rungs that are usual.
    pub(super) const fn usual_bars(&self) -> u32 {
        match self.shape {
            Shape::Shelf => 3,
            Shape::Ladder => 8,
            Shape::Trolley => 1,
            _ => 0,
        }
    }

    fn bars(&self) -> u32 {
        self.bars.unwrap_or(self.usual_bars())
    }

    /// The usual one of a shape.
    #[must_use]
    pub const fn of(shape: Shape) -> Self {
        Self {
            shape,
            title: "Frame",
            units: Units::Metric,
            width: None,
            depth: None,
            height: None,
            section: None,
            bar_section: None,
            bars: None,
            splay: None,
            corners: None,
        }
    }
}

/// The usual sides of a bar.
const FRONT_AND_BACK: &str = "[\"front\", \"back\"]";

/// Column of the remarks.
const REMARKS_AT: usize = 32;

/// Writes the file; sizes that make no frame are found when it is read.
#[must_use]
pub fn write(wanted: &Wanted<'_>) -> String {
    let inch = wanted.units == Units::UsCustomary;
    let usual = wanted.shape.usual(wanted.units);
    let sections = wanted.shape.sections(wanted.units);
    let own = |given: Option<Millimetres>, usual: f64| match given {
        Some(given) if inch => given.inches(),
        Some(given) => given.0,
        None => usual,
    };
    let mut file = Writer {
        wanted,
        lines: TomlLines::new(REMARKS_AT),
        width: own(wanted.width, usual[0]),
        depth: own(wanted.depth, usual[1]),
        height: own(wanted.height, usual[2]),
        section: wanted.section.unwrap_or(sections[0]),
        bar: wanted.bar_section.unwrap_or(sections[1]),
    };
    file.heading();
    let with_bars = match wanted.shape {
        Shape::Frame => file.frame(),
        Shape::Shelf => file.shelf(),
        Shape::Ladder => file.ladder(),
        Shape::Box | Shape::Trolley => file.boxed(),
        Shape::Table | Shape::Stand => file.on_legs(),
        Shape::Tee => file.tee(),
        Shape::Bracket => file.bracket(),
    };
    let mut designations = vec![file.section];
    if with_bars {
        designations.push(file.bar);
    }
    procedure(&mut file.lines, &designations, wanted.units);
    file.lines.text
}

struct Writer<'a> {
    wanted: &'a Wanted<'a>,
    lines: TomlLines,
    width: f64,
    depth: f64,
    height: f64,
    section: &'a str,
    bar: &'a str,
}

impl Writer<'_> {
    fn heading(&mut self) {
        let units = match self.wanted.units {
            Units::Metric => "mm",
            Units::UsCustomary => "inch",
        };
        self.lines
            .text("# A job for coldsquare; docs/guide/job-file.md explains every setting.");
        self.lines.setting("name", &quoted(self.wanted.title), "");
        self.lines
            .setting("units", &quoted(units), "of bare numbers");
        self.lines
            .setting("material", "\"steel\"", "steel, 304 or 6061");
        if self.wanted.shape == Shape::Tee {
            let remark = "it lies: the lower edge is the front";
            self.lines.setting("seen_from", "\"above\"", remark);
        }
        self.lines.text("");
    }

    /// A number as short as it can be written.
    fn number(&self, value: f64) -> String {
        let decimals = if self.wanted.units == Units::Metric {
            2
        } else {
            4
        };
        let text = format::number(value, decimals);
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }

    fn size(&mut self, key: &str, value: f64, remark: &str) {
        let number = self.number(value);
        self.lines.setting(key, &number, remark);
    }

    fn outer(&mut self, height: f64, corners: &str) {
        self.lines.text("[frame]");
        self.size("width", self.width, "outside to outside");
        self.size("height", height, "");
        let section = quoted(self.section);
        self.lines.setting("section", &section, "");
        let remark = "mitred, rails through, uprights through, open";
        self.lines.setting("corners", &quoted(corners), remark);
        self.lines.text("");
    }

    fn frame(&mut self) -> bool {
        let corners = self.wanted.corners.unwrap_or("mitred");
        self.outer(self.height, corners);
        let direction = if corners == "open" {
            "horizontal"
        } else {
            "vertical"
        };
        let bars = self.wanted.bars.filter(|bars| *bars > 0);
        // Without bars their lines stand there to be uncommented.
        let first = self.lines.text.len();
        self.bars(bars.unwrap_or(9), direction, FRONT_AND_BACK);
        if bars.is_none() {
            let lines = self.lines.text.split_off(first);
            for line in lines.lines() {
                let mark = if line.is_empty() { "" } else { "# " };
                self.lines.text(&format!("{mark}{line}"));
            }
        }
        self.lines
            .text("# [opening]                      # what the finished frame must fit into");
        let (clear, clearance) = match self.wanted.units {
            Units::Metric => (self.width + 16.0, "6"),
            Units::UsCustomary => (self.width + 0.75, "0.25"),
        };
        let clear = self.number(clear);
        self.lines.setting("# width", &clear, "");
        self.lines
            .setting("# clearance", clearance, "wanted on each side");
        self.lines.text("");
        bars.is_some()
    }

    fn bars(&mut self, count: u32, direction: &str, welded: &str) {
        self.lines.text("[frame.bars]");
        let remark = "or positions, spacing, gap, largest_gap";
        self.lines.setting("count", &count.to_string(), remark);
        let bar = quoted(self.bar);
        self.lines.setting("section", &bar, "");
        // What is as usual needs no line.
        if direction != "vertical" {
            self.lines.setting("direction", &quoted(direction), "");
        }
        if welded != FRONT_AND_BACK {
            self.lines
                .setting("welded", welded, "or \"all\", or [\"front\", \"back\"]");
        }
        self.lines.text("");
    }

    fn shelf(&mut self) -> bool {
        self.outer(self.height, "uprights through");
        self.bars(self.wanted.bars(), "horizontal", "[\"front\"]");
        true
    }

    fn ladder(&mut self) -> bool {
        self.outer(self.height, "open");
        self.bars(self.wanted.bars(), "horizontal", "\"all\"");
        true
    }

    fn boxed(&mut self) -> bool {
        self.lines
            .text("# The base, seen from above: its lower edge is the front.");
        self.outer(self.depth, "mitred");
        let is_trolley = self.wanted.shape == Shape::Trolley;
        let bars = self.wanted.bars();
        if bars > 0 {
            self.bars(bars, "vertical", FRONT_AND_BACK);
        }
        self.lines.text("[frame.legs]");
        self.size("height", self.height, "from the floor to the top");
        let top = self.height - self.deep() / 2.0;
        let rails = if is_trolley {
            format!("[{}, {}]", self.number(self.height / 2.0), self.number(top))
        } else {
            format!("[{}]", self.number(top))
        };
        let remark = "heights of the rails round the legs, to their middle";
        self.lines.setting("rails", &rails, remark);
        self.lines.text("");
        bars > 0
    }

    /// Size of the main section, in the units of the file.
    fn deep(&self) -> f64 {
        let section = self.parsed(self.section);
        let mm = section.map_or(40.0, |section| section.properties().depth_mm);
        match self.wanted.units {
            Units::Metric => mm,
            Units::UsCustomary => mm / MILLIMETRES_PER_INCH,
        }
    }

    fn parsed(&self, designation: &str) -> Option<Section> {
        parsed(designation, self.wanted.units)
    }

    fn on_legs(&mut self) -> bool {
        let is_stand = self.wanted.shape == Shape::Stand;
        self.lines
            .text("# The top, seen from above: its lower edge is the front.");
        self.outer(self.depth, "mitred");
        let bars = self.wanted.bars();
        if bars > 0 {
            self.bars(bars, "vertical", FRONT_AND_BACK);
        }
        self.lines.text("[frame.legs]");
        self.lines
            .setting("direction", "\"down\"", "the frame is the top");
        self.size("height", self.height, "from the floor to the top");
        if is_stand {
            let bar = quoted(self.bar);
            self.lines.setting("section", &bar, "");
            let splay =
                self.wanted
                    .splay
                    .map_or(self.height / 10.0, |splay| match self.wanted.units {
                        Units::Metric => splay.0,
                        Units::UsCustomary => splay.inches(),
                    });
            self.size("splay", splay, "how far the feet stand out, each way");
        }
        self.lines.text("");
        is_stand || bars > 0
    }

    fn tee(&mut self) -> bool {
        let [flat, rib] = [self.section, self.bar].map(|text| self.parsed(text));
        let [flat, rib] = [flat, rib].map(|section| {
            section.map_or((6.0, 60.0), |section| {
                let size = section.properties();
                (size.width_mm, size.depth_mm)
            })
        });
        let per = match self.wanted.units {
            Units::Metric => 1.0,
            Units::UsCustomary => 1.0 / MILLIMETRES_PER_INCH,
        };
        let length = self.number(self.width);
        let height = self.number((flat.0 + rib.1) / 2.0 * per);
        let [side, top] = [rib.0 / 2.0 * per, flat.0 / 2.0 * per].map(|value| self.number(value));
        self.lines.text(
            "# A flat on the table with a rib along its middle, a fillet on each side of the rib.",
        );
        let (flat, rib) = (quoted(self.section), quoted(self.bar));
        self.rows("member", &[
            format!(
                "name = \"flat\", section = {flat}, from = [0, 0, 0], to = [{length}, 0, 0], depth = \"y\""
            ),
            format!(
                "name = \"rib\", section = {rib}, from = [0, 0, {height}], to = [{length}, 0, {height}]"
            ),
        ]);
        let fillet = |name: &str, sign: &str| {
            format!(
                "name = \"{name}\", members = [\"rib\", \"flat\"], from = [0, {sign}{side}, {top}], \
                 to = [{length}, {sign}{side}, {top}]"
            )
        };
        self.rows(
            "weld",
            &[fillet("back fillet", ""), fillet("front fillet", "-")],
        );
        true
    }

    /// Tables of one kind, one a line.
    fn rows(&mut self, key: &str, rows: &[String]) {
        self.lines.text(&format!("{key} = ["));
        for row in rows {
            self.lines.text(&format!("  {{ {row} }},"));
        }
        self.lines.text("]");
        self.lines.text("");
    }

    fn bracket(&mut self) -> bool {
        let [height, reach] = [self.height, self.width].map(|value| self.number(value));
        let arm = self.number(self.height - self.deep());
        let low = self.number(self.height * 0.25);
        let out = self.number(self.width * 0.7);
        self.lines.text(
            "# An upright, an arm that reaches out from it to the right, and a stay below the arm.",
        );
        let (main, stay) = (quoted(self.section), quoted(self.bar));
        self.rows("member", &[
            format!("name = \"upright\", section = {main}, from = [0, 0, 0], to = [0, {height}, 0]"),
            format!(
                "name = \"arm\", section = {main}, from = \"upright at {arm}\", to = [{reach}, {arm}, 0]"
            ),
            format!(
                "name = \"stay\", section = {stay}, from = \"upright at {low}\", to = \"arm at {out}\""
            ),
        ]);
        true
    }
}

fn parsed(designation: &str, units: Units) -> Option<Section> {
    match units {
        Units::Metric => Section::parse(designation).ok(),
        Units::UsCustomary => Section::parse_inches(designation).ok(),
    }
}

/// A procedure with settings that suit the walls of these sections.
pub(crate) fn procedure(lines: &mut TomlLines, designations: &[&str], units: Units) {
    let mut walls: Vec<Millimetres> = Vec::new();
    for section in designations.iter().filter_map(|text| parsed(text, units)) {
        let wall = Millimetres(section.properties().thinnest_wall_mm);
        if !walls.contains(&wall) {
            walls.push(wall);
        }
    }
    let settings = settings_for(&walls);
    let of_walls: Vec<String> = walls
        .iter()
        .map(|wall| units.length(wall.0, Precision::Drawn))
        .collect();
    let what = match &settings {
        Some(_) => format!(
            "for walls of {} {} of mild steel, from published tables",
            format::list(&of_walls),
            units.length_symbol()
        ),
        None => "for about 3 mm of mild steel: the published tables have none for these walls"
            .to_owned(),
    };
    lines.text(&format!("# Starting points only, {what}."));
    lines.text("# Set them on scrap of the same section; for structural work take them from a qualified procedure.");
    lines.text("[procedure]");
    let process = "ISO 4063: MAG with solid wire; or mag, mig, tig, stick";
    lines.setting("process", "135", process);
    let (per_speed, per_heat, decimals, [speed_unit, heat_unit, interpass, degrees]) = match units {
        Units::Metric => (1.0, 1e-3, [1, 3], ["mm/s", "kJ/mm", "150", "°C"]),
        Units::UsCustomary => (
            60.0 / MILLIMETRES_PER_INCH,
            1e-3 * MILLIMETRES_PER_INCH,
            [1, 2],
            ["in/min", "kJ/in", "300", "°F"],
        ),
    };
    let times = |(low, high): (f64, f64), factor: f64| (low * factor, high * factor);
    // Where the tables have nothing: short-circuit MAG on about 3 mm; common practice, no source.
    let (volts, amps, speed, heat) = settings.map_or(
        ((17.0, 20.0), (95.0, 135.0), (6.0, 9.0), (144.0, 360.0)),
        |s| (s.volts, s.amps, s.travel_speed_mm_s, s.heat_input_j_mm),
    );
    lines.range("volts", volts, 1, "");
    lines.range("amps", amps, 0, "");
    lines.range(
        "travel_speed",
        times(speed, per_speed),
        decimals[0],
        speed_unit,
    );
    let remark = format!("{heat_unit}, what the ranges above come to");
    lines.range("heat_input", times(heat, per_heat), decimals[1], &remark);
    lines.setting(
        "interpass",
        interpass,
        &format!("{degrees}, highest before the next run"),
    );
}
