//! A part of a weld: segments in a row that are welded in one go, and what each of them does in turn.
//!
//! A segment joins its pair of members. Where a weld runs along both members, a segment pulls between the points where
//! it begins and ends, and joins the members at both: first at the point where the torch begins.
//!
//! Whatever the parts, their order and their direction, each point is joined once and each segment pulls once.

use super::segment::Segment;
use std::ops::Range;

/// Segments of a weld in a row, and the direction in which they are welded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WeldPart {
    /// Index of the weld.
    pub weld: usize,
    /// Which of its segments, counted from the start as drawn.
    pub segments: Range<usize>,
    /// Welded from the end of the last of them to the start of the first.
    pub reversed: bool,
}

/// The segments of a weld.
#[derive(Clone, Debug)]
pub(crate) struct WeldSegments {
    /// Where it joins its members, from the start as drawn.
    pub(crate) segments: Vec<Segment>,
    /// Whether each segment joins where it begins and where it ends. Then the first entry is the start of the weld,
    /// which joins and does not pull, and there is one entry more than segments.
    pub(crate) joins_at_both_ends: bool,
}

/// One act on the build state: a segment joins, or shrinks, or both.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SegmentStep {
    /// The entry of [`WeldSegments::segments`] that joins its pair.
    pub(crate) joins: Option<usize>,
    /// Index of the segment whose tendons pull.
    pub(crate) pulls: Option<usize>,
}

impl WeldSegments {
    /// How many segments it has, 1 or more.
    pub(crate) fn count(&self) -> usize {
        self.segments.len() - usize::from(self.joins_at_both_ends)
    }

    /// The acts of welding a part of this weld, one after the other. `joined` marks the segments that have joined, by
    /// index.
    pub(crate) fn steps(&self, part: &WeldPart, joined: &mut [bool]) -> Vec<SegmentStep> {
        let mut join = |entry: usize| {
            let index = self.segments[entry].index;
            (!std::mem::replace(&mut joined[index], true)).then_some(entry)
        };
        let mut steps = Vec::with_capacity(part.segments.len() + 1);
        let (first, count) = (part.segments.start, part.segments.len());
        for k in 0..count {
            let segment = if part.reversed {
                first + count - 1 - k
            } else {
                first + k
            };
            let (mut near, mut far) = (segment, segment + usize::from(self.joins_at_both_ends));
            let pulls = Some(self.segments[far].index);
            if part.reversed {
                (near, far) = (far, near);
            }
            if let Some(entry) = join(near) {
                let joins = Some(entry);
                if near == far {
                    steps.push(SegmentStep { joins, pulls });
                    continue;
                }
                steps.push(SegmentStep { joins, pulls: None });
            }
            let joins = join(far);
            steps.push(SegmentStep { joins, pulls });
        }
        steps
    }
}
