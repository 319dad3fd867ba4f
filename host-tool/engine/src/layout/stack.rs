//! How tolerances add up along a row of marks, set out from one end and from the centre.
//!
//! Marks are stepped off, each from the one before it, as with a spacer or a rule carried along. Errors are counted from
//! where a mark should be about the true middle of the member as it was cut. From an end, half of what the member is too
//! long comes in, and the errors of all steps before; from the centre, the error of finding the centre, and those of
//! half as many steps. Worst case is the sum; the other is the root of the sum of squares, for independent errors
//! (GUM, JCGM 100:2008, 5.1.2).

/// What each act may be off by, ± mm (k = 2, or the limit that is kept).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerances {
    /// One mark set from another.
    pub mark_mm: f64,
    /// The length of the member as cut.
    pub length_mm: f64,
    /// The centre as found, by halving or from both ends.
    pub centre_mm: f64,
}

impl Default for Tolerances {
    /// Half a millimetre each. Common practice for a scriber and a rule, and for a saw with a stop; no source.
    fn default() -> Self {
        Self {
            mark_mm: 0.5,
            length_mm: 0.5,
            centre_mm: 0.5,
        }
    }
}

/// How far a mark may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stack {
    /// All errors to one side, mm.
    pub worst_mm: f64,
    /// Root of the sum of squares, mm.
    pub root_sum_square_mm: f64,
}

impl Stack {
    fn of(parts: &[f64]) -> Self {
        Self {
            worst_mm: parts.iter().sum(),
            root_sum_square_mm: parts.iter().map(|part| part * part).sum::<f64>().sqrt(),
        }
    }
}

/// One mark of a row, set out both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MarkStack {
    /// From the left or lower end.
    pub from_end: Stack,
    /// From the centre.
    pub from_centre: Stack,
}

/// The stack of each mark, by its distance from the centre, from the left or from below.
#[must_use]
pub fn stacks(marks_mm: &[f64], tolerances: &Tolerances) -> Vec<MarkStack> {
    let steps = steps_from_centre(marks_mm);
    let row = |index: usize| {
        let chain = |first: f64, count: usize| {
            let mut parts = vec![tolerances.mark_mm; count];
            parts.push(first);
            Stack::of(&parts)
        };
        MarkStack {
            from_end: chain(tolerances.length_mm / 2.0, index + 1),
            from_centre: chain(tolerances.centre_mm, steps[index]),
        }
    };
    (0..marks_mm.len()).map(row).collect()
}

/// How many steps each mark is from the centre, outwards on each side; a mark on the centre is none.
#[must_use]
pub fn steps_from_centre(marks_mm: &[f64]) -> Vec<usize> {
    let on_centre = |at: f64| at.abs() < 0.05;
    let between = |at: f64| {
        let nearer = |other: f64| !on_centre(other) && other * at > 0.0 && other.abs() <= at.abs();
        marks_mm.iter().filter(|&&other| nearer(other)).count()
    };
    marks_mm
        .iter()
        .map(|&at| if on_centre(at) { 0 } else { between(at) })
        .collect()
}
