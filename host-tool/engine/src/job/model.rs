//! The job: members, joints, welds, procedures, opening and clamps.
//!
//! Every later stage works on it. It is complete and checked: indices are valid, lengths are positive, numbers are
//! finite.
//!
//! Coordinates, mm: x to the right and y up the frame as it is drawn, z towards the viewer. The frame is welded lying
//! down: z points up from the table; the *front* is the face towards you, the *back* the face on the table until you
//! flip the frame.
//! [`SeenFrom`] says what these directions are called on the object as it stands.

use super::finish::Finish;
use super::setup::{FixtureTable, RippedStock};
use crate::formulas::duty::Rating;
use crate::material::Material;
use crate::procedure::model::Procedure;
use crate::recording::RecordingOptions;
use crate::section::Section;
use crate::units::Units;
use coldsquare_core::units::{Amperes, Kilograms, Millimetres, Newtons, Seconds};

pub use super::seen_from::SeenFrom;
pub use crate::geometry::Point;

/// A whole job.
#[derive(Clone, Debug)]
pub struct Job {
    /// Title, as the user wrote it: text, never markup.
    pub name: String,
    /// Units to print in.
    pub units: Units,
    /// Where the drawing is seen from: what its directions are called.
    pub seen_from: SeenFrom,
    /// What the members are made of.
    pub material: Material,
    /// Members; a member's index is its identity.
    pub members: Vec<Member>,
    /// Joints; a joint's index is its identity.
    pub joints: Vec<Joint>,
    /// Welds in file order; `welds[k].number == k + 1`.
    pub welds: Vec<Weld>,
    /// The members that people or a code depend on: Coldsquare gives no advice on heating, bending or welding them
    /// afterwards.
    pub structural: Structural,
    /// Procedures; never empty.
    pub procedures: Vec<Procedure>,
    /// The opening that the finished frame must fit, if any.
    pub opening: Option<Opening>,
    /// What matters most on the finished frame.
    pub goal: Goal,
    /// The clamps that hold the frame while it is welded.
    pub clamps: Vec<Clamp>,
    /// The table that the frame is set up on.
    pub fixture: FixtureTable,
    /// Stock that is ripped to size first.
    pub ripped: Vec<RippedStock>,
    /// What is done to the frame after it is welded.
    pub finish: Finish,
    /// The power source, if the job names one.
    pub machine: Option<Machine>,
    /// Prices, if the job gives any.
    pub prices: Option<Prices>,
    /// The shop factors file that the job names, and the revision that it wants.
    pub shop_file: Option<ShopFile>,
    /// How recordings of its builds are to be read.
    pub recording: RecordingOptions,
    /// The factors in that file; `None` until it has been read.
    pub shop: Option<crate::shop::ShopFactors>,
}

impl Job {
    /// Mass of all members before welding.
    #[must_use]
    pub fn mass(&self) -> Kilograms {
        let masses = self.members.iter().map(|one| one.mass(&self.material).0);
        Kilograms(masses.sum())
    }

    /// Length of all welds together.
    #[must_use]
    pub fn weld_length(&self) -> Millimetres {
        Millimetres(self.welds.iter().map(|weld| weld.length().0).sum())
    }
}

/// The members that people or a code depend on.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Structural {
    /// None.
    #[default]
    Nothing,
    /// These members, by index.
    Members(Vec<usize>),
    /// All of them.
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

    /// Whether any member is structural.
    #[must_use]
    pub fn any(&self) -> bool {
        *self != Self::Nothing
    }
}

/// What matters most on the finished frame; with nothing named, everything matters as usual.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Goal {
    /// Members straight, the frame without twist.
    pub flat: bool,
    /// Equal diagonals.
    pub square: bool,
    /// Sizes as drawn.
    pub size: bool,
    /// Opposite members as far apart at one end as at the other.
    pub parallel: bool,
}

impl Goal {
    /// The words of the job file.
    pub const WORDS: [&'static str; 4] = ["flat", "square", "size", "parallel"];

    /// The words of what is named.
    #[must_use]
    pub fn words(&self) -> Vec<&'static str> {
        let named = [self.flat, self.square, self.size, self.parallel];
        let words = Self::WORDS.into_iter().zip(named);
        words
            .filter_map(|(word, named)| named.then_some(word))
            .collect()
    }

    /// Adds what a word names; false for an unknown word.
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

/// A shop factors file, as a job names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShopFile {
    /// Its path, relative to the job file.
    pub path: String,
    /// The revision wanted; `None` for the latest.
    pub revision: Option<usize>,
}

/// A power source, by its rating plate (EN IEC 60974-1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Machine {
    /// Rated current.
    pub rated_current: Amperes,
    /// Duty cycle at the rated current, as a share of ten minutes: over 0 up to 1.
    pub rated_duty_cycle: f64,
    /// Both, for calculations.
    pub rating: Rating,
    /// Energy at the arc over energy from the socket: over 0 up to 1.
    pub efficiency: Option<f64>,
}

/// Prices in one currency.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prices {
    /// Name or sign of the currency; may be empty.
    pub currency: String,
    /// Wire or rod, per kilogram.
    pub wire_per_kg: Option<f64>,
    /// Shielding gas, per cubic metre.
    pub gas_per_m3: Option<f64>,
    /// Energy from the socket, per kilowatt-hour.
    pub energy_per_kwh: Option<f64>,
    /// Working time, per hour.
    pub labour_per_hour: Option<f64>,
}

/// A straight piece of section bar or tube.
#[derive(Clone, Debug)]
pub struct Member {
    /// Name, from the file or from the frame ("top rail", "bar 3").
    pub name: String,
    /// Its section.
    pub section: Section,
    /// Start of the centroid line, at the theoretical joint.
    pub from: Point,
    /// End of that line.
    pub to: Point,
    /// Unit vector of the section's depth (its local z), at right angles to the line.
    pub depth_axis: Point,
    /// How each end is cut, start first.
    pub ends: [EndCut; 2],
    /// Length to cut, long point to long point, before any shrinkage allowance.
    pub cut_length: Millimetres,
    /// Length of the centroid line between the cuts; times the area, this is the volume of metal.
    pub centre_length: Millimetres,
    /// How far the metal on that line goes past the start and the end; negative where it is cut short.
    pub past_ends: [Millimetres; 2],
    /// What it is cut from, if it is no length of bar: its line and section are then those of the flat of equal area.
    pub plate: Option<Plate>,
}

/// What a piece of plate is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlateKind {
    /// A triangle in the corner between two members.
    Gusset,
    /// A square under a leg.
    Foot,
}

/// A piece of plate.
#[derive(Clone, Debug)]
pub struct Plate {
    /// What it is for.
    pub kind: PlateKind,
    /// The corners of its middle plane, in order: a convex outline.
    pub outline: Vec<Point>,
    /// Thickness.
    pub thickness: Millimetres,
    /// Its two sides.
    pub sizes: [Millimetres; 2],
    /// What is cut off the corner of a gusset, along each side.
    pub clip: Millimetres,
}

impl Plate {
    /// Area of one face, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        let Some(&first) = self.outline.first() else {
            return 0.0;
        };
        let pairs = self.outline.windows(2).skip(1);
        let twice = pairs.map(|two| (two[0] - first).cross(two[1] - first).length());
        twice.sum::<f64>() / 2.0
    }

    /// "triangle 80 x 80, corner cut by 8" or "80 x 80", in these units.
    #[must_use]
    pub fn cut_words(&self, units: Units) -> String {
        let length = |mm: Millimetres| units.length(mm.0, crate::format::Precision::Drawn);
        let sizes = format!("{} x {}", length(self.sizes[0]), length(self.sizes[1]));
        match self.kind {
            PlateKind::Foot => sizes,
            PlateKind::Gusset if self.clip.0 == 0.0 => format!("triangle {sizes}"),
            PlateKind::Gusset => format!("triangle {sizes}, corner cut by {}", length(self.clip)),
        }
    }
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

/// A place on a member.
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
    /// Where the centroid lines of the members meet, or the point nearest to them.
    pub at: Point,
    /// The members that meet, two or more, and the place on each.
    pub members: Vec<(usize, Station)>,
    /// Its tacks; may be empty.
    pub tacks: Vec<Point>,
    /// The sides where its welds are numbered, in that order, and whether each is welded. Empty where every weld is
    /// described on its own.
    pub sides: Vec<JointSide>,
}

/// A side of a joint where a weld can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct JointSide {
    /// Its name: front, back, left, right, top, bottom, inside or outside.
    pub name: &'static str,
    /// Whether it is welded.
    pub welded: bool,
}

/// The shape of a weld.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WeldKind {
    /// A fillet weld, by its leg.
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

impl WeldKind {
    /// "fillet" or "butt".
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Fillet { .. } => "fillet",
            Self::Butt { .. } => "butt",
        }
    }
}

/// A planned weld along a straight line.
#[derive(Clone, Debug)]
pub struct Weld {
    /// Number on the map and in the plan, from 1.
    pub number: u16,
    /// Name ("bottom left corner, front").
    pub name: String,
    /// Index of its joint.
    pub joint: usize,
    /// The two members it joins.
    pub members: [usize; 2],
    /// Fillet or butt weld, and its size.
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

/// The opening that the finished frame must fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// Clear width.
    pub width: Millimetres,
    /// Clear height, if it is limited.
    pub height: Option<Millimetres>,
    /// Least clearance wanted on each side; not at the bottom if the frame stands on the floor.
    pub clearance: Millimetres,
    /// Whether the frame stands on the floor of the opening.
    pub on_floor: bool,
    /// Whether it stays at the front of the opening.
    pub at_front: bool,
    /// The file of readings, relative to the job file, that width and height follow from.
    pub readings: Option<String>,
}

impl Opening {
    /// Sides of a direction that need the clearance: two, or one for the height of a frame on the floor.
    #[must_use]
    pub fn clear_sides(&self, direction: &str) -> f64 {
        if self.on_floor && direction == "height" {
            1.0
        } else {
            2.0
        }
    }
}

/// A clamp on the table.
#[derive(Clone, Debug)]
pub struct Clamp {
    /// Where it holds.
    pub at: Point,
    /// The member it holds.
    pub member: usize,
    /// The most it holds before it slips; `None` for a clamp that never slips.
    pub force: Option<Newtons>,
    /// Numbers of the welds for which it is on: it is released once all of them are done. Without any, and without
    /// `release_before`, it is released when the last weld is cold.
    pub release_after: Vec<u16>,
    /// Numbers of the welds for which it is off: it is released before the first of them. None of them is in
    /// `release_after`.
    pub release_before: Vec<u16>,
}

impl Clamp {
    /// A clamp that never slips and stays on to the end.
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

    /// Expected arc time, from the length, the number of runs and the planned travel speed.
    #[must_use]
    pub fn planned_arc_time(&self, procedure: &Procedure) -> Seconds {
        self.length() * f64::from(self.runs) / procedure.planned_travel_speed
    }
}
