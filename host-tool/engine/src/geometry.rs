//! Points and directions in the coordinates of the frame, mm.
//!
//! ```
//! use coldsquare_engine::geometry::Point;
//!
//! let diagonal = Point::new(1200.0, 900.0, 0.0) - Point::default();
//! assert_eq!(diagonal.length(), 1500.0);
//! ```

/// A position or direction in the frame's coordinates, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Up the frame.
    pub y: f64,
    /// Towards the viewer, away from the table.
    pub z: f64,
}

impl Point {
    /// A point or direction from its coordinates, mm.
    #[must_use]
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// Scalar product.
    #[must_use]
    pub const fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// Vector product, right-handed.
    #[must_use]
    pub const fn cross(self, other: Self) -> Self {
        Self {
            x: self.y * other.z - self.z * other.y,
            y: self.z * other.x - self.x * other.z,
            z: self.x * other.y - self.y * other.x,
        }
    }

    /// Distance from the origin, mm.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The same direction with length one; `None` when there is no direction (zero length or not finite).
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let length = self.length();
        (length.is_finite() && length > 0.0).then(|| self * (1.0 / length))
    }
}

impl From<Point> for [f64; 3] {
    fn from(point: Point) -> Self {
        [point.x, point.y, point.z]
    }
}

impl std::ops::Add for Point {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y, self.z + other.z)
    }
}

impl std::ops::Sub for Point {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y, self.z - other.z)
    }
}

impl std::ops::Neg for Point {
    type Output = Self;
    fn neg(self) -> Self {
        self * -1.0
    }
}

impl std::ops::Mul<f64> for Point {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor, self.z * factor)
    }
}
