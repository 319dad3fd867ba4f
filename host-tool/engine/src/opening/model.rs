//! What was read of an opening, and the walls that follow from it.

use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;
use std::ops::Range;

/// A tool that reads lengths, plumb or level, with its usual expanded uncertainty ± (k = 2).
///
/// The values are common practice for a careful reading on site, no source; `[tools]` of the file replaces them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tool {
    /// A tape: ± 1 mm, as for readings of the frame.
    Tape,
    /// A laser that shows distances: ± 2 mm.
    Laser,
    /// A plumb line and a rule: ± 1 mm.
    PlumbLine,
    /// A spirit level of at least a metre: ± 1 mm for each metre it is carried over, and never less than 0.5 mm.
    SpiritLevel,
    /// A cross line laser and a rule: ± 1 mm.
    LineLaser,
    /// A straightedge and a rule: ± 1 mm.
    Straightedge,
}

impl Tool {
    /// All of them, with the words of the file.
    pub const ALL: [(&'static str, Self); 6] = [
        ("tape", Self::Tape),
        ("laser", Self::Laser),
        ("plumb line", Self::PlumbLine),
        ("spirit level", Self::SpiritLevel),
        ("line laser", Self::LineLaser),
        ("straightedge", Self::Straightedge),
    ];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        let found = Self::ALL.iter().find(|(_, tool)| *tool == self);
        found.map_or("tape", |(name, _)| name)
    }

    /// Usual expanded uncertainty, mm, of a reading over a length.
    #[must_use]
    pub fn usual_mm(self, over_mm: f64) -> f64 {
        match self {
            Self::Laser => 2.0,
            Self::SpiritLevel => (over_mm.abs() / 1000.0).max(0.5),
            Self::Tape | Self::PlumbLine | Self::LineLaser | Self::Straightedge => 1.0,
        }
    }
}

/// What a reading is of; places along the wall or the floor in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// From wall to wall at this height.
    Width(f64),
    /// From floor to top at this distance from the left.
    Height(f64),
    /// Corner to corner: bottom left to top right if rising.
    Diagonal {
        /// Bottom left to top right.
        rising: bool,
    },
    /// How far the second place is off a plumb or level line through the first, positive to the right or up.
    Off(Side, f64, f64),
    /// How far the middle between two places stands off a straightedge on them, positive to the right or up.
    Bow(Side, f64, f64),
    /// How far a side stands to the right of, or above, itself at the front.
    FromFront(Side),
}

/// A side of the opening.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// The left wall.
    Left,
    /// The right wall.
    Right,
    /// The floor, sill or whatever the frame stands on.
    Floor,
    /// The top: lintel or ceiling.
    Top,
}

impl Side {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Left, Self::Right, Self::Floor, Self::Top];

    /// As text for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Left => "left wall",
            Self::Right => "right wall",
            Self::Floor => "floor",
            Self::Top => "top",
        }
    }
}

/// A reading with its standard uncertainty and its place in the file.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Index of the depth it was taken at.
    pub depth: usize,
    /// What it is of.
    pub kind: Kind,
    /// What was read, mm.
    pub mm: f64,
    /// Standard uncertainty, mm.
    pub standard_mm: f64,
    /// Its bytes in the file.
    pub span: Range<usize>,
}

/// A skirting or lining: height from the floor and how far it stands out of the wall, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skirting {
    /// Its wall.
    pub side: Side,
    /// Height, mm.
    pub height_mm: f64,
    /// How far it stands out of the wall, mm.
    pub thickness_mm: f64,
}

/// A file of readings, checked each by itself.
#[derive(Clone, Debug)]
pub struct Readings {
    /// Units to print in.
    pub units: Units,
    /// Depths at which was measured, mm from the front edge, with their names ("front", "middle", "back").
    pub depths: Vec<(f64, &'static str)>,
    /// All readings.
    pub readings: Vec<Reading>,
    /// Skirtings that the readings were taken above.
    pub skirtings: Vec<Skirting>,
}

/// A place on a wall: a fixed combination of the unknowns.
#[derive(Clone, Debug)]
pub struct Station {
    /// Which side.
    pub side: Side,
    /// Index of the depth.
    pub depth: usize,
    /// Height of a place on a wall, distance from the left of one on floor or top, mm.
    pub along_mm: f64,
    /// Where the wall is: x of a wall, y of floor or top, mm.
    pub at_mm: f64,
    /// Weights of the unknowns in it.
    pub of: Vec<(usize, f64)>,
    /// Whether it is the face of a skirting in front of the wall.
    pub proud: bool,
}

/// The opening as it follows from all readings.
#[derive(Clone, Debug)]
pub struct Walls {
    /// Units to print in.
    pub units: Units,
    /// Depths, mm from the front edge, with their names.
    pub depths: Vec<(f64, &'static str)>,
    /// Places on all sides.
    pub stations: Vec<Station>,
    /// Covariance of the unknowns, mm².
    pub covariance: Vec<Vec<f64>>,
    /// What was assumed because it was not measured.
    pub assumed: Vec<String>,
}

impl Walls {
    /// The stations of one side at one depth.
    pub fn on(&self, side: Side, depth: usize) -> impl Iterator<Item = &Station> {
        let all = self.stations.iter();
        all.filter(move |one| one.side == side && one.depth == depth)
    }

    /// Where a wall, floor or top is at a place between those measured, with the weights of the unknowns: straight
    /// between the two nearest, and on beyond the last two. Skirtings are left out.
    #[must_use]
    pub fn between(&self, side: Side, depth: usize, along_mm: f64) -> Option<Station> {
        let on: Vec<&Station> = self.on(side, depth).filter(|one| !one.proud).collect();
        let (first, rest) = on.split_first()?;
        let Some(last) = rest.last() else {
            return Some((*first).clone());
        };
        let after = on.windows(2).find(|two| two[1].along_mm >= along_mm);
        let [a, b] = match after {
            Some(two) => [two[0], two[1]],
            None => [on[on.len() - 2], last],
        };
        let share = (along_mm - a.along_mm) / (b.along_mm - a.along_mm);
        let of_a =
            a.of.iter()
                .map(|&(unknown, weight)| (unknown, weight * (1.0 - share)));
        let of_b =
            b.of.iter()
                .map(|&(unknown, weight)| (unknown, weight * share));
        Some(Station {
            along_mm,
            at_mm: a.at_mm + share * (b.at_mm - a.at_mm),
            of: of_a.chain(of_b).collect(),
            ..a.clone()
        })
    }

    /// Whether heights were measured.
    #[must_use]
    pub fn has_height(&self) -> bool {
        self.stations.iter().any(|one| one.side == Side::Top)
    }

    /// Standard uncertainty of a sum of unknowns with these weights, mm.
    #[must_use]
    pub fn standard_mm(&self, weights: &[f64]) -> f64 {
        let mut variance = 0.0;
        for (row, a) in self.covariance.iter().zip(weights) {
            variance += a * row.iter().zip(weights).map(|(c, b)| c * b).sum::<f64>();
        }
        variance.max(0.0).sqrt()
    }

    /// A station with its uncertainty.
    #[must_use]
    pub fn uncertain(&self, station: &Station) -> Uncertain {
        let mut weights = vec![0.0; self.covariance.len()];
        for &(unknown, weight) in &station.of {
            weights[unknown] += weight;
        }
        Uncertain {
            value: station.at_mm,
            standard: self.standard_mm(&weights),
        }
    }

    /// The place of a station in words: "left wall, 1780 mm up, at the back".
    #[must_use]
    pub fn place(&self, station: &Station) -> String {
        let along = self
            .units
            .length_with_unit(station.along_mm, crate::format::Precision::Mark);
        let along = match station.side {
            Side::Left | Side::Right => format!("{along} up"),
            Side::Floor | Side::Top => format!("{along} from the left"),
        };
        let depth = self.depths.get(station.depth).map_or("", |depth| depth.1);
        format!("{}, {along}, at the {depth}", station.side.name())
    }
}
