//! The job file of a drawing's frame.

use super::dxf::write::designation_of;
use super::ends::{Arranged, LineMember, Place, arrange};
use super::lines::{Line, Net, distance};
use super::model::{LeftOut, LineDrawing};
use super::rectangle::{Rectangle, SIDES};
use crate::format;
use crate::geometry::Point;
use crate::job::start::procedure_table;
use crate::reading::suggest;
use crate::section::{Section, SectionError};
use crate::toml_comments::{TomlLines, quoted};
use crate::units::Units;
use coldsquare_core::units::MILLIMETRES_PER_INCH;
use std::collections::BTreeMap;
use std::fmt;

/// Most of what was left out that the job file lists.
const MAX_LISTED: usize = 20;

/// How a drawing becomes a job.
#[derive(Clone, Debug)]
pub struct Wanted<'a> {
    /// What the job is called.
    pub title: &'a str,
    /// Units of the job file.
    pub units: Units,
    /// Millimetres in a unit of the drawing, whatever the drawing says.
    pub mm_per_unit: Option<f64>,
    /// Ends within this distance are one node, mm.
    pub tolerance_mm: f64,
    /// Section of the lines of a layer: the layer, then the designation.
    pub sections: &'a [(String, String)],
    /// Section of the lines of every other layer.
    pub section: Option<&'a str>,
    /// Layers that are not part of the frame.
    pub leave_out: &'a [String],
}

impl Default for Wanted<'_> {
    fn default() -> Self {
        Self {
            title: "Frame",
            units: Units::Metric,
            mm_per_unit: None,
            tolerance_mm: 1.0,
            sections: &[],
            section: None,
            leave_out: &[],
        }
    }
}

/// A job file, and what became of the drawing.
#[derive(Clone, Debug, Default)]
pub struct Imported {
    /// The text of the job file.
    pub job_file: String,
    /// Lines of the drawing that are part of the frame.
    pub lines: usize,
    /// Members that they came to.
    pub members: usize,
    /// Lines that go straight on in another and became one member with it.
    pub joined: usize,
    /// The farthest that an end was moved to meet another, mm.
    pub moved_mm: f64,
    /// Whether the drawing said its unit.
    pub unit_said: bool,
    /// What was left out.
    pub left_out: Vec<LeftOut>,
    /// What could not be arranged.
    pub notes: Vec<String>,
}

/// Why there is no job file.
#[derive(Clone, Debug, PartialEq)]
pub enum NoImport {
    /// There is no line that could be a member.
    NoLines {
        /// How many things were left out.
        left_out: usize,
    },
    /// Layers without a section, with the number of their lines.
    NoSection(Vec<(String, usize)>),
    /// A section that is none, and the layer that it is for.
    BadSection {
        /// The layer.
        layer: String,
        /// What is wrong.
        error: SectionError,
    },
    /// A layer that the drawing does not have.
    NoLayer {
        /// The name that was given.
        layer: String,
        /// The name that was probably meant, or those there are.
        hint: String,
    },
}

impl fmt::Display for NoImport {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoLines { left_out } => write!(
                out,
                "the drawing has no straight line in the model; left out: {left_out}. Draw the centre line of every member"
            ),
            Self::NoSection(layers) => {
                let each = |(layer, lines): &(String, usize)| {
                    format!("{layer} ({})", format::count(*lines, "line"))
                };
                let layers: Vec<String> = layers.iter().map(each).collect();
                write!(
                    out,
                    "no section for layer {}: give --layer \"NAME=SHS 40x40x2\", --section for all that have none, or \
                     --leave-out NAME",
                    format::list(&layers)
                )
            }
            Self::BadSection { layer, error } => write!(out, "section of layer {layer}: {error}"),
            Self::NoLayer { layer, hint } => {
                write!(out, "the drawing has no layer '{layer}': {hint}")
            }
        }
    }
}

impl std::error::Error for NoImport {}

/// The job file of a drawing.
///
/// # Errors
/// [`NoImport`]: no lines, or a layer whose section is not known.
pub fn import(drawing: &LineDrawing, wanted: &Wanted<'_>) -> Result<Imported, NoImport> {
    known_layers(drawing, wanted)?;
    let is_wanted = |layer: &str| !wanted.leave_out.iter().any(|out| same(out, layer));
    let mm_per_unit = wanted
        .mm_per_unit
        .or(drawing.mm_per_unit)
        .unwrap_or(match wanted.units {
            Units::Metric => 1.0,
            Units::UsCustomary => MILLIMETRES_PER_INCH,
        });
    let mut net = Net::of(drawing, mm_per_unit, wanted.tolerance_mm, |line| {
        is_wanted(&line.layer)
    });
    let mut left_out = drawing.left_out.clone();
    left_out.append(&mut net.left_out);
    left_out.sort_by_key(|left| left.line);
    if net.lines.is_empty() {
        return Err(NoImport::NoLines {
            left_out: left_out.len(),
        });
    }
    let sections = sections(&net.lines, wanted)?;
    let mut members: Vec<LineMember> = net
        .lines
        .iter()
        .map(|line| LineMember {
            name: line.name.clone().unwrap_or_default(),
            section: sections[line.layer.as_str()].clone(),
            ends: line.nodes.map(|node| net.nodes[node]),
            first: false,
        })
        .collect();
    // Names that a table gives stay, unless they are those that the sides have anyhow.
    let rectangle = Rectangle::among(&members, wanted.tolerance_mm).filter(|rectangle| {
        let mut sides = rectangle.sides.iter().zip(SIDES);
        net.lines.iter().all(|line| line.name.is_none())
            || sides.all(|(&side, name)| members[side].name == name)
    });
    if let Some(rectangle) = rectangle {
        for (&side, name) in rectangle.sides.iter().zip(SIDES) {
            name.clone_into(&mut members[side].name);
            members[side].first = true;
        }
    }
    name(&mut members);
    let arranged = arrange(&members, wanted.tolerance_mm);
    let mut writer = Writer {
        wanted,
        members: &members,
        arranged: &arranged,
        rectangle,
        lines: TomlLines::new(32),
    };
    writer.file(drawing, &left_out);
    Ok(Imported {
        job_file: writer.lines.text,
        lines: net.lines.len() + net.joined,
        members: members.len(),
        joined: net.joined,
        moved_mm: net.moved_mm,
        unit_said: wanted.mm_per_unit.or(drawing.mm_per_unit).is_some(),
        left_out,
        notes: arranged.notes,
    })
}

/// Names of layers do not tell capitals from small letters.
fn same(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

fn known_layers(drawing: &LineDrawing, wanted: &Wanted<'_>) -> Result<(), NoImport> {
    let mut layers: Vec<&str> = drawing
        .lines
        .iter()
        .map(|line| line.layer.as_str())
        .collect();
    layers.sort_unstable();
    layers.dedup();
    let named = wanted.sections.iter().map(|(layer, _)| layer);
    for layer in named.chain(wanted.leave_out) {
        if !layers.iter().any(|known| same(known, layer)) {
            return Err(NoImport::NoLayer {
                layer: layer.clone(),
                hint: suggest(layer, &layers),
            });
        }
    }
    Ok(())
}

/// The section of every layer: as it was given, as the layer is named, or that of all others.
fn sections<'a>(
    lines: &'a [Line],
    wanted: &Wanted<'_>,
) -> Result<BTreeMap<&'a str, Section>, NoImport> {
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for line in lines {
        *count.entry(line.layer.as_str()).or_default() += 1;
    }
    let parsed = |designation: &str| match wanted.units {
        Units::Metric => Section::parse(designation),
        Units::UsCustomary => Section::parse_inches(designation),
    };
    let mut sections = BTreeMap::new();
    let mut without = Vec::new();
    for (layer, lines) in count {
        let given = wanted.sections.iter().find(|(name, _)| same(name, layer));
        let section = match (given, wanted.section) {
            (Some((_, designation)), _) => parsed(designation),
            (None, fallback) => match (
                parsed(layer).or_else(|_| parsed(&designation_of(layer))),
                fallback,
            ) {
                (Ok(section), _) => Ok(section),
                (Err(_), Some(designation)) => parsed(designation),
                (Err(_), None) => {
                    without.push((layer.to_owned(), lines));
                    continue;
                }
            },
        };
        let section = section.map_err(|error| NoImport::BadSection {
            layer: layer.to_owned(),
            error,
        })?;
        sections.insert(layer, section);
    }
    match without.is_empty() {
        true => Ok(sections),
        false => Err(NoImport::NoSection(without)),
    }
}

/// Whether all members lie in one plane, as the frame lies on the table.
fn is_flat(members: &[LineMember]) -> bool {
    let mut ends = members.iter().flat_map(|member| member.ends);
    let first = ends.next();
    first.is_some_and(|first| ends.all(|end| (end.z - first.z).abs() < 1.0))
}

/// Names those that have none after the way they run.
fn name(members: &mut [LineMember]) {
    let is_flat = is_flat(members);
    let mut taken: Vec<String> = members.iter().map(|member| member.name.clone()).collect();
    let mut numbers: BTreeMap<&str, usize> = BTreeMap::new();
    for (k, member) in members.iter_mut().enumerate() {
        if !member.name.is_empty() {
            continue;
        }
        let along = (member.ends[1] - member.ends[0]).unit().unwrap_or_default();
        let runs = |axis: f64| axis.abs() > 0.999;
        let word = match is_flat {
            _ if runs(along.z) => "leg",
            _ if runs(along.x) => "rail",
            true if runs(along.y) => "upright",
            false if runs(along.y) => "side rail",
            _ => "brace",
        };
        let number = numbers.entry(word).or_default();
        loop {
            *number += 1;
            member.name = format!("{word} {number}");
            if !taken.contains(&member.name) {
                break;
            }
        }
        taken[k].clone_from(&member.name);
    }
}

struct Writer<'a> {
    wanted: &'a Wanted<'a>,
    members: &'a [LineMember],
    arranged: &'a Arranged,
    rectangle: Option<Rectangle>,
    lines: TomlLines,
}

impl Writer<'_> {
    fn file(&mut self, drawing: &LineDrawing, left_out: &[LeftOut]) {
        let text = |lines: &mut TomlLines, line: &str| lines.text(line);
        text(
            &mut self.lines,
            &format!("# From the centre lines in {}.", one_line(&drawing.name)),
        );
        for left in left_out.iter().take(MAX_LISTED) {
            let what = one_line(&left.what);
            let line = format!("# Left out: line {}, {what}: {}.", left.line, left.why);
            text(&mut self.lines, &line);
        }
        if let Some(more) = left_out
            .len()
            .checked_sub(MAX_LISTED)
            .filter(|more| *more > 0)
        {
            text(&mut self.lines, &format!("# Left out: {more} more."));
        }
        let units = match self.wanted.units {
            Units::Metric => "mm",
            Units::UsCustomary => "inch",
        };
        self.lines.setting("name", &quoted(self.wanted.title), "");
        self.lines
            .setting("units", &quoted(units), "of bare numbers");
        if !is_flat(self.members) {
            let above = quoted("above");
            self.lines
                .setting("seen_from", &above, "z is up as it stands");
        }
        self.lines.text("");
        if let Some(rectangle) = self.rectangle {
            self.frame(&rectangle);
        }
        for &member in &self.arranged.order {
            if !self.members[member].first {
                self.member(member);
            }
        }
        let mut designations: Vec<&str> = Vec::new();
        for member in self.members {
            let designation = member.section.designation();
            if !designations.contains(&designation) {
                designations.push(designation);
            }
        }
        procedure_table(&mut self.lines, &designations, self.wanted.units);
    }

    fn frame(&mut self, rectangle: &Rectangle) {
        let [width, height] = rectangle.size.map(|size| size + rectangle.face_mm);
        let section = self.members[rectangle.sides[0]]
            .section
            .designation()
            .to_owned();
        self.lines.text("[frame]");
        let (width, height) = (self.number(width), self.number(height));
        self.lines.setting("width", &width, "outside to outside");
        self.lines.setting("height", &height, "");
        self.lines.setting("section", &quoted(&section), "");
        let remark = "mitred, rails through, uprights through";
        self.lines.setting("corners", "\"mitred\"", remark);
        self.lines.text("");
    }

    fn member(&mut self, member: usize) {
        let [from, to] = [0, 1].map(|end| self.place(member, end));
        let member = &self.members[member];
        self.lines.text("[[member]]");
        self.lines.setting("name", &quoted(&member.name), "");
        let section = quoted(member.section.designation());
        self.lines.setting("section", &section, "");
        self.lines.setting("from", &from, "");
        self.lines.setting("to", &to, "");
        self.lines.text("");
    }

    /// The line of a member as the job has it: with its free ends as long as they are built.
    fn built(&self, member: usize) -> [Point; 2] {
        let ends = self.members[member].ends;
        let along = (ends[1] - ends[0]).unit().unwrap_or_default();
        [0, 1].map(|end| match self.arranged.places[member][end] {
            Place::Free { longer_mm } if end == 0 => ends[0] - along * longer_mm,
            Place::Free { longer_mm } => ends[1] + along * longer_mm,
            Place::On { .. } => ends[end],
        })
    }

    fn place(&self, member: usize, end: usize) -> String {
        match self.arranged.places[member][end] {
            Place::Free { .. } => {
                let at = self.built(member)[end];
                let at = self.rectangle.map_or(at, |rectangle| rectangle.in_job(at));
                let axes = [at.x, at.y, at.z].map(|axis| self.number(axis));
                format!("[{}]", axes.join(", "))
            }
            Place::On { carrier } => {
                let at = self.members[member].ends[end];
                let along = match self.rectangle {
                    // A tape on a side of the frame is hooked over the left or lower outside edge.
                    Some(rectangle) if self.members[carrier].first => {
                        let at = rectangle.in_job(at);
                        let is_rail =
                            carrier == rectangle.sides[0] || carrier == rectangle.sides[2];
                        if is_rail { at.x } else { at.y }
                    }
                    _ => self.along(carrier, at),
                };
                quoted(&format!(
                    "{} at {}",
                    self.members[carrier].name,
                    self.number(along)
                ))
            }
        }
    }

    /// How far along a member a point is: from the start of its line, which is where its first end meets another.
    fn along(&self, carrier: usize, at: Point) -> f64 {
        distance(at, self.built(carrier)).0
    }

    /// A length as short as it can be written.
    fn number(&self, mm: f64) -> String {
        let text = match self.wanted.units {
            Units::Metric => format::number(mm, 2),
            Units::UsCustomary => format::number(mm / MILLIMETRES_PER_INCH, 4),
        };
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }
}

/// A text without what could end a remark.
fn one_line(text: &str) -> String {
    crate::sanitise::plain(text).replace(['\n', '\r'], " ")
}
