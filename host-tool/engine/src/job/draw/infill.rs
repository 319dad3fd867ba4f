//! Draws what fills the frame: mid rails, bars and braces, each cut to the faces that it meets.

use super::drawing::{Drawing, End, MAX_COUNT};
use super::frame::{FrameBuilder, RIGHT, UP};
use super::solid::Side;
use crate::job::model::Point;
use crate::job::read::frame::{Bars, Brace, Corners, Count, Direction, MidRails, Part};
use serde_spanned::Spanned;

/// A clear field between two rails and two uprights.
#[derive(Clone, Copy)]
pub(super) struct Panel {
    /// Index of the member below, above, at the left and at the right; `None` where the frame is open.
    below: Option<usize>,
    above: Option<usize>,
    uprights: [usize; 2],
    bottom: f64,
    top: f64,
}

impl FrameBuilder<'_> {
    pub(super) fn panels(
        &mut self,
        bottom: Option<usize>,
        top: Option<usize>,
        uprights: [usize; 2],
    ) -> Option<Vec<Panel>> {
        let face = self.face();
        let open = self.frame.corners == Corners::Open;
        let edge = if open { 0.0 } else { face };
        let mut panels = vec![Panel {
            below: bottom,
            above: top,
            uprights,
            bottom: edge,
            top: self.height - edge,
        }];
        let frame = self.frame;
        let Some(mid) = &frame.mid_rails else {
            return Some(panels);
        };
        for (k, height) in mid.heights.iter().enumerate() {
            let name = match mid.heights.len() {
                1 => "mid rail".to_string(),
                _ => format!("mid rail {}", k + 1),
            };
            let below = panels.pop()?;
            panels.extend(self.mid_rail(mid, &name, height, below)?);
        }
        Some(panels)
    }

    /// Divides a panel by a mid rail.
    fn mid_rail(
        &mut self,
        mid: &MidRails,
        name: &str,
        height: &Spanned<f64>,
        panel: Panel,
    ) -> Option<[Panel; 2]> {
        let placed = mid.part.stock.placed_along(RIGHT, self.drawing.seen_from);
        let half = (placed.outer + placed.inner) / 2.0;
        let (low, high) = (height.get_ref() - half, height.get_ref() + half);
        if low <= panel.bottom || high >= panel.top {
            self.reader.error(
                &height.span(),
                "this mid rail does not fit between the rail below it and the top rail",
                format!(
                    "its centre line can be {:.1} to {:.1} mm above the lower outside edge; write the lowest height first",
                    panel.bottom + half,
                    panel.top - half
                ),
            );
            return None;
        }
        let (y, o) = (low + placed.outer, self.bar.outer);
        let line = (Point::new(o, y, 0.0), Point::new(self.width - o, y, 0.0));
        let (uprights, faces) = (panel.uprights, [RIGHT, -RIGHT]);
        let ends = ["left end", "right end"];
        let rail = self.between(name, &mid.part, line, uprights, faces, ends)?;
        let lower = Panel {
            above: Some(rail),
            top: low,
            ..panel
        };
        let upper = Panel {
            below: Some(rail),
            bottom: high,
            ..panel
        };
        Some([lower, upper])
    }

    /// A member between two others, cut to their faces and welded at both ends.
    fn between(
        &mut self,
        name: &str,
        part: &Part,
        (from, to): (Point, Point),
        carrying: [usize; 2],
        faces: [Point; 2],
        ends: [&str; 2],
    ) -> Option<usize> {
        let span = &part.welding.span;
        let member = part
            .stock
            .member(name, (from, to), self.drawing.seen_from, span)?;
        let member = self.drawing.add(member);
        for (k, end) in [End::Start, End::End].into_iter().enumerate() {
            let plane = self.face_of(carrying[k], faces[k])?;
            self.drawing.cut(member, end, plane);
            let prism = &self.drawing.members[member].prism;
            let at = [prism.from, prism.to()][k];
            let members = [member, carrying[k]];
            let joint = self
                .drawing
                .join(format!("{name} {}", ends[k]), at, &members);
            let seen_from = self.drawing.seen_from;
            let word = |side: &Side| seen_from.side(side.face);
            let on = (member, &carrying[k..=k]);
            let done = self.drawing.weld_end(joint, on, plane, word, &part.welding);
            if let Err(side) = done {
                let carrier = &self.drawing.members[carrying[k]].name;
                self.reader.error(
                    span,
                    format!("the {side} of {name} overhangs the {carrier}"),
                    "take a section no thicker through the frame than the outer members, or do not weld that side",
                );
                return None;
            }
        }
        Some(member)
    }

    pub(super) fn bars(&mut self, panels: &[Panel]) -> Option<()> {
        let bars = self.frame.bars.as_ref()?;
        let vertical = bars.direction == Direction::Vertical;
        if !vertical && panels.len() > 1 {
            self.reader.error(
                &bars.part.welding.span,
                "a frame cannot have both horizontal bars and mid rails",
                "give the bars alone, or all of them as heights of mid rails",
            );
            return None;
        }
        if vertical && self.frame.corners == Corners::Open {
            self.reader.error(
                &bars.part.welding.span,
                "vertical bars need rails to stand on, and an open frame has none",
                "write direction = \"horizontal\", or close the corners",
            );
            return None;
        }
        let along = if vertical { UP } else { RIGHT };
        let placed = bars.part.stock.placed_along(along, self.drawing.seen_from);
        let size = placed.outer + placed.inner;
        let panel = panels.first()?;
        let (start, clear) = if vertical {
            (self.face(), self.width - 2.0 * self.face())
        } else {
            (panel.bottom, panel.top - panel.bottom)
        };
        let lows = self.lows(bars, size, (start, clear), panels.len())?;
        for (k, low) in lows.into_iter().enumerate() {
            // The outer side is on the right of a vertical bar and at the bottom of a horizontal one.
            let centroid = if vertical {
                low + size - placed.outer
            } else {
                low + placed.outer
            };
            for (n, panel) in panels.iter().enumerate() {
                let name = match panels.len() {
                    1 => format!("bar {}", k + 1),
                    _ => format!("bar {} panel {}", k + 1, n + 1),
                };
                self.bar(bars, &name, centroid, panel)?;
            }
        }
        Some(())
    }

    fn bar(&mut self, bars: &Bars, name: &str, centroid: f64, panel: &Panel) -> Option<()> {
        let line_of = |member: usize, drawing: &Drawing| drawing.members[member].prism.from;
        let (ends, carrying, faces, words) = match bars.direction {
            Direction::Vertical => {
                let (below, above) = (panel.below?, panel.above?);
                let low = Point::new(centroid, line_of(below, &self.drawing).y, 0.0);
                let high = Point::new(centroid, line_of(above, &self.drawing).y, 0.0);
                ((low, high), [below, above], [UP, -UP], self.names.ends())
            }
            Direction::Horizontal => {
                let [left, right] = panel.uprights;
                let from = Point::new(line_of(left, &self.drawing).x, centroid, 0.0);
                let to = Point::new(line_of(right, &self.drawing).x, centroid, 0.0);
                (
                    (from, to),
                    [left, right],
                    [RIGHT, -RIGHT],
                    ["left end", "right end"],
                )
            }
        };
        match &bars.lap {
            Some(side) => self.lapped(name, &bars.part, ends, (carrying, words), side),
            None => self
                .between(name, &bars.part, ends, carrying, faces, words)
                .map(|_| ()),
        }
    }

    /// A bar that lies on two others.
    fn lapped(
        &mut self,
        name: &str,
        part: &Part,
        (from, to): (Point, Point),
        (carrying, words): ([usize; 2], [&str; 2]),
        side: &Spanned<String>,
    ) -> Option<()> {
        let seen_from = self.drawing.seen_from;
        let span = &part.welding.span;
        let side = self
            .drawing
            .lap_side(side, (to - from).unit()?, self.reader)?;
        let member = part.stock.member(name, (from, to), seen_from, span)?;
        let member = self.drawing.add(member);
        self.drawing.lay_on(member, carrying[0], side);
        for (k, end) in [End::Start, End::End].into_iter().enumerate() {
            let joint = format!("{name} {}", words[k]);
            let how = (joint.as_str(), &part.welding);
            self.drawing
                .lap((member, end), carrying[k], side, how, self.reader)?;
        }
        Some(())
    }

    /// The left or lower edge of every bar.
    fn lows(
        &self,
        bars: &Bars,
        size: f64,
        (start, clear): (f64, f64),
        panels: usize,
    ) -> Option<Vec<f64>> {
        let middle = start + clear / 2.0;
        // So many centre lines so far apart, with the middle of the group in the middle of the field.
        let spread = |count: u32, apart: f64| -> Vec<f64> {
            let first = middle - f64::from(count - 1) * apart / 2.0 - size / 2.0;
            (0..count).map(|k| first + f64::from(k) * apart).collect()
        };
        let lows = match bars.count.get_ref() {
            Count::Number(_) | Count::MaxGap(_) => {
                let count = self.count(bars, size, clear, panels)?;
                let gap = (clear - f64::from(count) * size) / (f64::from(count) + 1.0);
                let low = |k: u32| start + gap + f64::from(k) * (size + gap);
                return Some((0..count).map(low).collect());
            }
            Count::Spaced { apart, count } => {
                let fit = ((clear - size) / apart + 1e-9).floor().clamp(0.0, 1000.0) as u32 + 1;
                spread(count.unwrap_or(fit), *apart)
            }
            Count::Gapped { gap, count } => spread(*count, gap + size),
            Count::At {
                places,
                from_centre,
            } => {
                let origin = if *from_centre { middle } else { 0.0 };
                let mut lows: Vec<f64> = places.iter().map(|at| origin + at - size / 2.0).collect();
                lows.sort_by(f64::total_cmp);
                lows
            }
        };
        let fits = |low: &f64| *low > start - 1e-6 && low + size < start + clear + 1e-6;
        let apart = lows.windows(2).all(|two| two[1] - two[0] > size - 1e-6);
        if !lows.iter().all(fits) || !apart || lows.is_empty() {
            self.reader.error(
                &bars.count.span(),
                format!("these bars do not fit between {start:.1} and {:.1} mm side by side", start + clear),
                format!(
                    "a bar is {size:.1} mm wide; its centre line can be {:.1} to {:.1} mm from the outside edge, or \
                     {:.1} mm to either side of the middle",
                    start + size / 2.0,
                    start + clear - size / 2.0,
                    (clear - size) / 2.0
                ),
            );
            return None;
        }
        Some(lows)
    }

    fn count(&self, bars: &Bars, size: f64, clear: f64, panels: usize) -> Option<u32> {
        let count = match *bars.count.get_ref() {
            Count::Spaced { .. } | Count::Gapped { .. } | Count::At { .. } => return None,
            Count::Number(count) => count,
            // The fewest bars that leave no wider gap.
            Count::MaxGap(gap) => ((clear - gap) / (size + gap))
                .ceil()
                .clamp(0.0, f64::from(u32::MAX)) as u32,
        };
        if f64::from(count) * size >= clear {
            self.reader.error(
                &bars.count.span(),
                format!(
                    "{} of {size:.1} mm will not fit into {clear:.1} mm",
                    crate::format::count(count as usize, "bar")
                ),
                format!(
                    "at most {} fit with a gap between them",
                    ((clear / size).ceil() - 1.0).max(0.0)
                ),
            );
            return None;
        }
        if count as usize * panels > MAX_COUNT / 8 {
            self.reader.error(
                &bars.count.span(),
                format!("{count} bars are too many for {panels} panels"),
                format!("a job has at most {MAX_COUNT} members and {MAX_COUNT} welds"),
            );
            return None;
        }
        Some(count)
    }

    pub(super) fn braces(&mut self, panels: &[Panel]) -> Option<()> {
        let brace = self.frame.brace.as_ref()?;
        if self.frame.bars.is_some() {
            self.reader.error(
                &brace.part.welding.span,
                "the brace would cross the bars",
                "give the frame bars or a brace, not both; describe anything else with [[member]]",
            );
            return None;
        }
        for (n, panel) in panels.iter().enumerate() {
            let name = match panels.len() {
                1 => "brace".to_string(),
                _ => format!("brace {}", n + 1),
            };
            self.brace(brace, &name, panel)?;
        }
        Some(())
    }

    /// A brace on the rails, its edge in the corner against the upright.
    fn brace(&mut self, brace: &Brace, name: &str, panel: &Panel) -> Option<()> {
        let placed = brace.part.stock.placed_along(RIGHT, self.drawing.seen_from);
        let size = placed.outer + placed.inner;
        let (clear, rise) = (self.width - 2.0 * self.face(), panel.top - panel.bottom);
        let open = panel.below.is_none() || panel.above.is_none();
        let angle = brace_angle(clear, rise, size).filter(|_| !open);
        let Some(angle) = angle else {
            self.reader.error(
                &brace.part.welding.span,
                format!("{name} does not fit into a panel of {clear:.1} x {rise:.1} mm"),
                "take a smaller section, or leave the brace out; a brace needs a rail below and above it",
            );
            return None;
        };
        let (below, above) = (panel.below?, panel.above?);
        // The two edges of the brace cross the face of the lower rail; its centroid line is between them.
        let sign = if brace.rising { 1.0 } else { -1.0 };
        let along = Point::new(sign * angle.cos(), angle.sin(), 0.0);
        let placed = brace.part.stock.placed_along(along, self.drawing.seen_from);
        let corner = if brace.rising {
            self.face()
        } else {
            self.width - self.face()
        };
        // Rising to the right, its left edge is in the corner; rising to the left, its right edge.
        let (near, _) = if brace.rising {
            (placed.inner, placed.outer)
        } else {
            (placed.outer, placed.inner)
        };
        let foot = Point::new(corner + sign * near / angle.sin(), panel.bottom, 0.0);
        let reach = |member: usize, drawing: &Drawing| {
            let height = drawing.members[member].prism.from.y;
            foot + along * ((height - panel.bottom) / angle.sin())
        };
        let ends = (reach(below, &self.drawing), reach(above, &self.drawing));
        let words = self.names.ends();
        self.between(name, &brace.part, ends, [below, above], [UP, -UP], words)?;
        Some(())
    }
}

/// Angle from horizontal of a brace of this size whose edges touch two opposite corners of a clear field:
/// tan θ = rise / (clear − size / sin θ), solved by bisection; `None` when it does not fit.
fn brace_angle(clear: f64, rise: f64, size: f64) -> Option<f64> {
    let miss = |angle: f64| (clear - size / angle.sin()) * angle.sin() - rise * angle.cos();
    let (mut low, mut high) = ((size / clear).asin(), std::f64::consts::FRAC_PI_2);
    if !(miss(low) < 0.0 && miss(high) > 0.0) {
        return None;
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if miss(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high))
}
