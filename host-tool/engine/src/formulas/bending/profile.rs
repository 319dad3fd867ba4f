//! A section for bending: the width of metal at each height.

use coldsquare_core::formula::{Allowed, Formula, FormulaError};
use core::f64::consts::FRAC_PI_2;

pub(super) const BENDING: Formula = Formula {
    name: "bending of a bar",
    clause: "plane sections, elastic then plastic; Beer and Johnston, Mechanics of Materials, ch. 4",
};

/// A rectangle with rounded corners between two heights, of metal or hollow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Height of its lower edge, mm.
    pub low_mm: f64,
    /// Height of its upper edge, mm.
    pub high_mm: f64,
    /// Its width, perpendicular to the plane of bending, mm.
    pub width_mm: f64,
    /// Radius of its four corners, at most half of either side, mm.
    pub radius_mm: f64,
    /// Whether it is the hollow of a tube.
    pub hollow: bool,
}

/// What carries the load where a bar is pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wall {
    /// Two side walls and a face: square and rectangular tube.
    Flat,
    /// A round tube.
    Round,
    /// No hollow: bars, angles, channels pressed on solid metal.
    Solid,
}

/// The most blocks in a profile.
const MAX_BLOCKS: usize = 4;

/// The most edges where width or stress has a kink: four a block, and three of the stress.
const MAX_EDGES: usize = 4 * MAX_BLOCKS + 3;

/// A section for bending in one plane, of up to four blocks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Profile {
    blocks: [Option<Block>; MAX_BLOCKS],
    wall: Wall,
    wall_mm: f64,
}

impl Profile {
    /// From blocks, with hollows inside metal. `wall_mm` is the thinnest metal.
    ///
    /// # Errors
    /// [`FormulaError`] when a size is out of range (0.1 to 2000 mm), a radius does not fit, there are more than four
    /// blocks, or no metal is left.
    pub fn of_blocks(given: &[Block], wall: Wall, wall_mm: f64) -> Result<Self, FormulaError> {
        let size = Allowed::Between(0.1, 2000.0);
        BENDING.require("wall", wall_mm, "mm", size)?;
        BENDING.require(
            "number of blocks",
            given.len() as f64,
            "",
            Allowed::Between(1.0, MAX_BLOCKS as f64),
        )?;
        let mut blocks = [None; MAX_BLOCKS];
        for (slot, block) in blocks.iter_mut().zip(given) {
            BENDING.require(
                "lower edge",
                block.low_mm,
                "mm",
                Allowed::Between(-2000.0, 2000.0),
            )?;
            let depth = BENDING.require("depth", block.high_mm - block.low_mm, "mm", size)?;
            let width = BENDING.require("width", block.width_mm, "mm", size)?;
            // Subtracting walls may give slightly more than half.
            let half = 0.5 * depth.min(width) * (1.0 + 1e-9);
            BENDING.require(
                "corner radius",
                block.radius_mm,
                "mm",
                Allowed::Between(0.0, half),
            )?;
            *slot = Some(*block);
        }
        let profile = Self {
            blocks,
            wall,
            wall_mm,
        };
        BENDING.positive("area", profile.area_mm2(), "mm²")?;
        BENDING.positive("second moment", profile.second_moment_mm4(), "mm⁴")?;
        Ok(profile)
    }

    /// A flat or square bar.
    ///
    /// # Errors
    /// As [`Profile::of_blocks`].
    pub fn bar(depth_mm: f64, width_mm: f64) -> Result<Self, FormulaError> {
        let metal = block(0.0, depth_mm, width_mm, 0.0, false);
        Self::of_blocks(&[metal], Wall::Solid, depth_mm.min(width_mm))
    }

    /// A round bar.
    ///
    /// # Errors
    /// As [`Profile::of_blocks`].
    pub fn round_bar(diameter_mm: f64) -> Result<Self, FormulaError> {
        let metal = block(0.0, diameter_mm, diameter_mm, 0.5 * diameter_mm, false);
        Self::of_blocks(&[metal], Wall::Solid, diameter_mm)
    }

    /// A square or rectangular tube with its corner radii, outside and inside.
    ///
    /// # Errors
    /// As [`Profile::of_blocks`].
    pub fn tube(
        depth_mm: f64,
        width_mm: f64,
        wall_mm: f64,
        radii_mm: [f64; 2],
    ) -> Result<Self, FormulaError> {
        let metal = block(0.0, depth_mm, width_mm, radii_mm[0], false);
        let hollow = block(
            wall_mm,
            depth_mm - wall_mm,
            width_mm - 2.0 * wall_mm,
            radii_mm[1],
            true,
        );
        Self::of_blocks(&[metal, hollow], Wall::Flat, wall_mm)
    }

    /// A round tube.
    ///
    /// # Errors
    /// As [`Profile::of_blocks`].
    pub fn round_tube(diameter_mm: f64, wall_mm: f64) -> Result<Self, FormulaError> {
        let inner = diameter_mm - 2.0 * wall_mm;
        let metal = block(0.0, diameter_mm, diameter_mm, 0.5 * diameter_mm, false);
        let hollow = block(wall_mm, diameter_mm - wall_mm, inner, 0.5 * inner, true);
        Self::of_blocks(&[metal, hollow], Wall::Round, wall_mm)
    }

    /// What carries a load pressed on it.
    #[must_use]
    pub const fn wall(&self) -> Wall {
        self.wall
    }

    /// Its thinnest metal, mm.
    #[must_use]
    pub const fn wall_mm(&self) -> f64 {
        self.wall_mm
    }

    /// Lowest and highest fibre, mm.
    #[must_use]
    pub fn edges_mm(&self) -> (f64, f64) {
        self.blocks()
            .fold((f64::MAX, f64::MIN), |(low, high), block| {
                (low.min(block.low_mm), high.max(block.high_mm))
            })
    }

    /// Greatest width of its metal, mm.
    #[must_use]
    pub fn width_mm(&self) -> f64 {
        self.blocks()
            .filter(|b| !b.hollow)
            .fold(0.0, |most, b| b.width_mm.max(most))
    }

    /// Area, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.integral(0.0, f64::MAX, |_| 1.0)
    }

    /// Height of the centroid, mm.
    #[must_use]
    pub fn centroid_mm(&self) -> f64 {
        self.integral(0.0, f64::MAX, |z| z) / self.area_mm2()
    }

    /// Second moment about the centroid, mm⁴.
    #[must_use]
    pub fn second_moment_mm4(&self) -> f64 {
        let centre = self.centroid_mm();
        self.integral(0.0, f64::MAX, |z| (z - centre) * (z - centre))
    }

    /// Elastic modulus to the farther fibre, mm³.
    #[must_use]
    pub fn elastic_modulus_mm3(&self) -> f64 {
        let (low, high) = self.edges_mm();
        let centre = self.centroid_mm();
        self.second_moment_mm4() / (high - centre).max(centre - low)
    }

    /// Plastic modulus, mm³: the moment of all metal at unit stress about the line that halves the area.
    #[must_use]
    pub fn plastic_modulus_mm3(&self) -> f64 {
        let half = self.zero_of(|z| self.integral(z, 0.0, |at| if at > z { 1.0 } else { -1.0 }));
        self.integral(half, 0.0, |z| libm::fabs(z - half))
    }

    /// The height between the edges where a function that falls with height passes zero.
    pub(super) fn zero_of(&self, of: impl Fn(f64) -> f64) -> f64 {
        let (mut low, mut high) = self.edges_mm();
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if of(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        f64::midpoint(low, high)
    }

    fn blocks(&self) -> impl Iterator<Item = &Block> {
        self.blocks.iter().flatten()
    }

    /// ∫ of(z) dA, where `of` may have a kink at a height and at a distance to both sides of it.
    pub(super) fn integral(&self, kink_mm: f64, beside_mm: f64, of: impl Fn(f64) -> f64) -> f64 {
        let mut edges = [f64::NAN; MAX_EDGES];
        let kinks = [kink_mm, kink_mm - beside_mm, kink_mm + beside_mm];
        let of_blocks = self.blocks().flat_map(|b| {
            [
                b.low_mm,
                b.low_mm + b.radius_mm,
                b.high_mm - b.radius_mm,
                b.high_mm,
            ]
        });
        let (low, high) = self.edges_mm();
        let count = edges
            .iter_mut()
            .zip(of_blocks.chain(kinks))
            .map(|(slot, edge)| *slot = edge.clamp(low, high))
            .count();
        let edges = edges.get_mut(..count).unwrap_or_default();
        edges.sort_unstable_by(f64::total_cmp);
        let pieces = edges.iter().zip(edges.iter().skip(1));
        pieces.map(|(&from, &to)| self.piece(from, to, &of)).sum()
    }

    /// ∫ of(z) · width dz over an interval without kinks. With z = middle + half · sin φ the square roots of round corners
    /// become smooth, so few points are exact to rounding.
    fn piece(&self, from: f64, to: f64, of: &impl Fn(f64) -> f64) -> f64 {
        let (middle, half) = (f64::midpoint(from, to), 0.5 * (to - from));
        if half <= 0.0 {
            return 0.0;
        }
        let at = |x: f64, weight: f64| {
            let angle = FRAC_PI_2 * x;
            let z = middle + half * libm::sin(angle);
            let width: f64 = self.blocks().map(|block| block.width_at(z, middle)).sum();
            weight * of(z) * width * half * libm::cos(angle) * FRAC_PI_2
        };
        GAUSS
            .iter()
            .map(|&(x, weight)| at(x, weight) + at(-x, weight))
            .sum()
    }
}

fn block(low_mm: f64, high_mm: f64, width_mm: f64, radius_mm: f64, hollow: bool) -> Block {
    Block {
        low_mm,
        high_mm,
        width_mm,
        radius_mm,
        hollow,
    }
}

impl Block {
    /// Its width at a height, negative for a hollow; zero if the interval with this middle is outside it.
    fn width_at(&self, z: f64, middle: f64) -> f64 {
        if middle < self.low_mm || middle > self.high_mm {
            return 0.0;
        }
        let sign = if self.hollow { -1.0 } else { 1.0 };
        let to_edge = (z - self.low_mm).min(self.high_mm - z).max(0.0);
        let into_corner = (self.radius_mm - to_edge).max(0.0);
        let square = self.radius_mm * self.radius_mm - into_corner * into_corner;
        sign * (self.width_mm - 2.0 * (self.radius_mm - libm::sqrt(square.max(0.0))))
    }
}

/// Gauss-Legendre points and weights of order 16, positive half. Abramowitz and Stegun, table 25.4.
pub(super) const GAUSS: [(f64, f64); 8] = [
    (0.095_012_509_837_637_44, 0.189_450_610_455_068_5),
    (0.281_603_550_779_258_9, 0.182_603_415_044_923_6),
    (0.458_016_777_657_227_4, 0.169_156_519_395_002_54),
    (0.617_876_244_402_643_7, 0.149_595_988_816_576_73),
    (0.755_404_408_355_003, 0.124_628_971_255_533_87),
    (0.865_631_202_387_831_7, 0.095_158_511_682_492_78),
    (0.944_575_023_073_232_6, 0.062_253_523_938_647_89),
    (0.989_400_934_991_649_9, 0.027_152_459_411_754_095),
];
