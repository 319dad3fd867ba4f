//! The job as it is built: members, joints, welds, procedure, opening and what holds it on the table.
//!
//! This is what every later stage works on. It is complete and checked: indices are valid, lengths are positive,
//! numbers are finite. How it is written in a file is the business of `parse`; errors are found in `check`.
//!
//! Coordinates, mm: x to the right and y up the frame as it is drawn, z towards the viewer. The frame is built lying
//! down: z points up from the table and the *front* is the face that looks at the welder, the *back* the face on the
//! table until the frame is turned over.

use crate::material::Material;
use crate::procedure::model::Procedure;
use crate::section::Section;
use crate::units::Units;
use crate::formulas::duty::Rating;
use coldsquare_core::units::{Amperes, Kilograms, Millimetres, Newtons, Seconds};

pub use crate::geometry::Point;

/// A whole job.
#[derive(Clone, Debug)]
pub struct Job {
    /// Title, as the maker wrote it: text, never markup.
    pub name: String,
    /// Units to print in.
    pub units: Units,
    /// What the members are made of.
    pub material: Material,
    /// Members; a member's index is its identity.
    pub members: Vec<Member>,
    /// Joints; a joint's index is its identity.
    pub joints: Vec<Joint>,
    /// Welds in the order drawn; `welds[k].number == k + 1`.
    pub welds: Vec<Weld>,
    /// What of it lives or a code depend on: to heat, bend or weld that afterwards is not for this tool to advise.
    pub structural: Structural,
    /// Procedures; never empty.
    pub procedures: Vec<Procedure>,
    /// The gap the finished frame must fit, if any.
    pub opening: Option<Opening>,
    /// What the maker wants most of the finished frame.
    pub goal: Goal,
    /// What holds the frame while it is welded.
    pub clamps: Vec<Clamp>,
    /// The power source, where the job names one.
    pub machine: Option<Machine>,
    /// What things cost, where the job says so.
    pub prices: Option<Prices>,
    /// The file of the shop's own factors as the job names it, and the revision it wants (the latest for none).
    pub shop_file: Option<ShopFile>,
    /// What that file says; nothing until it was read.
    pub shop: Option<crate::shop::ShopFactors>,
}

/// What of a job lives or a code depend on.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Structural {
    /// Nothing.
    #[default]
    Nothing,
    /// These members, by index.
    Members(Vec<usize>),
    /// All of it.
    Everything,
}

impl Structural {
    /// Whether a member is structural, by index.
    #[must_use]
    pub fn has(&self, member: usize) -> bool {
        match self {
            Self::Nothing => false,
            Self::Members(members) => members.contains(&member),
            Self::Everything => true,
        }
    }

    /// Whether anything is.
    #[must_use]
    pub fn any(&self) -> bool {
        *self != Self::Nothing
    }
}

/// What the maker wants most of the finished frame; nothing named is the usual mixture.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Goal {
    /// Members straight, the frame without wind.
    pub flat: bool,
    /// Diagonals alike.
    pub square: bool,
    /// Sizes as drawn.
    pub size: bool,
    /// Opposite sides as far apart at one end as at the other.
    pub parallel: bool,
}

impl Goal {
    /// The words for it.
    pub const WORDS: [&'static str; 4] = ["flat", "square", "size", "parallel"];

    /// What is named, in these words.
    #[must_use]
    pub fn words(&self) -> Vec<&'static str> {
        let named = [self.flat, self.square, self.size, self.parallel];
        let words = Self::WORDS.into_iter().zip(named);
        words
            .filter_map(|(word, named)| named.then_some(word))
            .collect()
    }

    /// Adds what a word asks for; false when it means nothing.
    pub fn add(&mut self, word: &str) -> bool {
        match word {
            "flat" => self.flat = true,
            "square" => self.square = true,
            "size" => self.size = true,
            "parallel" => self.parallel = true,
            _ => return false,
        }
        true
    }
}

/// A file of a shop's own factors, as a job names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShopFile {
    /// Its path, as seen from the job file.
    pub path: String,
    /// The revision wanted; the latest for none.
    pub revision: Option<usize>,
}

/// A power source, by its plate (EN IEC 60974-1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Machine {
    /// Rated current.
    pub rated_current: Amperes,
    /// Share of ten minutes that it stands at the rated current, over 0 up to 1.
    pub rated_duty: f64,
    /// Both, to reckon with.
    pub rating: Rating,
    /// Energy at the arc over energy from the socket, over 0 up to 1.
    pub efficiency: Option<f64>,
}

/// Prices in one currency.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prices {
    /// Name or sign of the currency; may be empty.
    pub currency: String,
    /// Wire or rod, a kilogram.
    pub wire_per_kg: Option<f64>,
    /// Shielding gas, a cubic metre.
    pub gas_per_m3: Option<f64>,
    /// Energy from the socket, a kilowatt-hour.
    pub energy_per_kwh: Option<f64>,
    /// Working time, an hour.
    pub labour_per_hour: Option<f64>,
}

/// A straight bar.
#[derive(Clone, Debug)]
pub struct Member {
    /// Name, as the maker wrote it or the frame gave it ("top rail", "bar 3").
    pub name: String,
    /// Its section.
    pub section: Section,
    /// Start of the line through the centroids, at the theoretical joint.
    pub from: Point,
    /// End of that line.
    pub to: Point,
    /// Unit vector of the section's depth (its local z), at right angles to the line.
    pub depth_axis: Point,
    /// How each end is cut, start first.
    pub ends: [EndCut; 2],
    /// Length to cut, long point to long point, before any shrinkage allowance.
    pub cut_length: Millimetres,
    /// Length of the line of centroids between the cuts; times the area it is the volume of metal.
    pub centre_length: Millimetres,
}

/// How the end of a member is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EndCut {
    /// Square to the line.
    Square,
    /// At an angle from square, degrees, greater than 0 and less than 90.
    Mitre {
        /// Degrees from a square cut.
        degrees: f64,
    },
}

/// Where on a member something sits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Station {
    /// At the start of its line.
    Start,
    /// At the end of its line.
    End,
    /// Part of the way along.
    Along(Millimetres),
}

/// A place where members meet.
#[derive(Clone, Debug)]
pub struct Joint {
    /// Name ("bottom left corner", "bar 3 top").
    pub name: String,
    /// Where the lines of the members meet, or the nearest point to it.
    pub at: Point,
    /// The members that meet, and where on each: two or more.
    pub members: Vec<(usize, Station)>,
    /// Where tacks hold it before it is welded; may be empty.
    pub tacks: Vec<Point>,
}

/// The shape of a weld.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WeldKind {
    /// A fillet, by its leg length.
    Fillet {
        /// Leg length.
        leg: Millimetres,
    },
    /// A butt weld, by its throat (penetration plus reinforcement is not counted).
    Butt {
        /// Throat thickness.
        throat: Millimetres,
    },
}

/// A planned deposit along a straight line.
#[derive(Clone, Debug)]
pub struct Weld {
    /// Number on the map and in the plan, from 1.
    pub number: u16,
    /// Where it is, in words ("bottom left corner, front").
    pub name: String,
    /// Index of its joint.
    pub joint: usize,
    /// The two members it joins.
    pub members: [usize; 2],
    /// Fillet or butt, and how large.
    pub kind: WeldKind,
    /// Where the arc starts.
    pub from: Point,
    /// Where it ends.
    pub to: Point,
    /// Unit vector out of the metal, towards the torch.
    pub outward: Point,
    /// Index of its procedure.
    pub procedure: usize,
    /// Number of runs, 1 or more.
    pub runs: u8,
    /// Numbers of the welds that must be finished before this one.
    pub after: Vec<u16>,
}

/// The gap that the finished frame must fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// Clear width.
    pub width: Millimetres,
    /// Clear height, where it is bounded.
    pub height: Option<Millimetres>,
    /// Least clearance wanted on each side.
    pub clearance: Millimetres,
}

/// A clamp on the table.
#[derive(Clone, Debug)]
pub struct Clamp {
    /// Where it holds.
    pub at: Point,
    /// The member it holds.
    pub member: usize,
    /// The most it can hold before it slips; `None` when it is taken as firm.
    pub force: Option<Newtons>,
    /// Numbers of the welds for which it stays on: it comes off as soon as all of them are done. Without any, and
    /// without `release_before`, it comes off when the last weld is cold.
    pub release_after: Vec<u16>,
    /// Numbers of the welds for which it is off: it comes off before the first of them is begun. None of them is in
    /// `release_after`.
    pub release_before: Vec<u16>,
}

impl Clamp {
    /// A clamp that does not slip and stays to the end.
    #[must_use]
    pub const fn firm(member: usize, at: Point) -> Self {
        Self {
            at,
            member,
            force: None,
            release_after: Vec::new(),
            release_before: Vec::new(),
        }
    }
}

impl Member {
    /// Mass of the member as cut.
    #[must_use]
    pub fn mass(&self, material: &Material) -> Kilograms {
        Kilograms(self.section.mass_kg_per_m(material) * self.centre_length.0 / 1000.0)
    }
}

impl Weld {
    /// Length of the weld line.
    #[must_use]
    pub fn length(&self) -> Millimetres {
        Millimetres((self.to - self.from).length())
    }

    /// Arc time to expect, from the length, the number of runs and the planned travel speed.
    #[must_use]
    pub fn planned_arc_time(&self, procedure: &Procedure) -> Seconds {
        self.length() * f64::from(self.runs) / procedure.planned_travel_speed
    }
}
