//! The parametric frame: a rectangle of four members with rails, bars or a brace inside, drawn from a dozen lines.
//!
//! The lower left outer corner is the origin. Members go round the frame anticlockwise, so that an angle or a channel
//! keeps the same face outwards on all four sides. The middle of every member's thickness lies at z = 0.

use super::drawing::{Drawing, Drawn, End, MOST, Seam, Welding};
use super::model::{EndCut, Point};
use super::reader::{Reader, Span};
use super::solid::{Plane, Prism, Side, print, side_word};
use crate::section::Section;
use serde_spanned::Spanned;

/// How the four outer members meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Corners {
    /// Cut at 45 degrees.
    Mitred,
    /// The rails run through, the stiles stand between them.
    RailsThrough,
    /// The stiles run through, the rails lie between them.
    StilesThrough,
    /// Stiles only, as of a ladder.
    Open,
}

/// Which way bars run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Direction {
    Vertical,
    Horizontal,
}

/// Which side of a section is seen from the front.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Seen {
    Depth,
    Width,
}

/// A section and how it lies in the frame.
#[derive(Clone, Debug)]
pub(super) struct Stock {
    pub section: Section,
    pub seen: Seen,
}

/// How many bars.
#[derive(Clone, Copy, Debug)]
pub(super) enum Count {
    Number(u32),
    LargestGap(f64),
}

/// What a part of the frame is made of and how it is welded.
pub(super) struct Part {
    pub stock: Stock,
    pub welding: Welding,
}

/// `[frame.bars]`.
pub(super) struct Bars {
    pub part: Part,
    pub count: Spanned<Count>,
    pub direction: Direction,
}

/// `[frame.brace]`.
pub(super) struct Brace {
    pub part: Part,
    /// From the lower left to the upper right.
    pub rising: bool,
}

/// `[frame.mid_rails]`.
pub(super) struct MidRails {
    pub part: Part,
    /// Heights of their middles above the lower outer edge, rising.
    pub heights: Vec<Spanned<f64>>,
}

/// `[frame]`.
pub(super) struct Frame {
    pub width: Spanned<f64>,
    pub height: Spanned<f64>,
    pub part: Part,
    pub corners: Corners,
    pub mid_rails: Option<MidRails>,
    pub bars: Option<Bars>,
    pub brace: Option<Brace>,
}

const RIGHT: Point = Point::new(1.0, 0.0, 0.0);
const UP: Point = Point::new(0.0, 1.0, 0.0);
const FRONT: Point = Point::new(0.0, 0.0, 1.0);

/// A section laid along a direction in the plane of the frame: how far its box reaches from its centroid.
struct Laid {
    depth: Point,
    /// To the right of the direction, that is outwards for members that go round the frame.
    outer: f64,
    /// To the left of it.
    inner: f64,
    /// Height of the centroid over the middle of the thickness.
    z: f64,
}

impl Stock {
    fn laid(&self, along: Point) -> Laid {
        let inward = FRONT.cross(along);
        let depth = match self.seen {
            Seen::Depth => inward,
            Seen::Width => FRONT,
        };
        let p = self.section.properties();
        let [y, z] = p.centroid_from_corner_mm;
        // Local y is depth × along: towards the back when the depth lies in the plane, inwards otherwise.
        let (outer, inner, front, back) = match self.seen {
            Seen::Depth => (z, p.depth_mm - z, y, p.width_mm - y),
            Seen::Width => (y, p.width_mm - y, p.depth_mm - z, z),
        };
        Laid {
            depth,
            outer,
            inner,
            z: (back - front) / 2.0,
        }
    }

    fn member(
        &self,
        name: impl Into<String>,
        from: Point,
        to: Point,
        span: &Span,
    ) -> Option<Drawn> {
        let laid = self.laid((to - from).unit()?);
        let lift = FRONT * laid.z;
        let prism = Prism::new(from + lift, to + lift, &self.section, laid.depth)?;
        let rising = prism.along.y.abs() > prism.along.x.abs();
        let mut drawn = Drawn::new(name.into(), self.section.clone(), prism, span.clone());
        // In the frame, distances are those on a tape hooked over the left or the lower outer edge.
        let edge = drawn.prism.from;
        drawn.measured_from = if rising {
            (Point::new(edge.x, 0.0, edge.z), UP)
        } else {
            (Point::new(0.0, edge.y, edge.z), RIGHT)
        };
        Some(drawn)
    }
}

/// A clear field between two rails and two stiles.
struct Panel {
    /// Index of the member below, above, at the left and at the right; `None` where the frame is open.
    below: Option<usize>,
    above: Option<usize>,
    stiles: [usize; 2],
    bottom: f64,
    top: f64,
}

/// Draws the frame. Mistakes are noted with the reader; what can be drawn is drawn.
pub(super) fn draw(frame: &Frame, reader: &Reader<'_>) -> Drawing {
    let mut pen = Pen {
        frame,
        reader,
        drawing: Drawing::default(),
        width: *frame.width.get_ref(),
        height: *frame.height.get_ref(),
        bar: frame.part.stock.laid(RIGHT),
    };
    pen.all();
    pen.drawing
}

struct Pen<'a> {
    frame: &'a Frame,
    reader: &'a Reader<'a>,
    drawing: Drawing,
    width: f64,
    height: f64,
    /// How the outer members lie.
    bar: Laid,
}

impl Pen<'_> {
    fn all(&mut self) -> Option<()> {
        self.check_size()?;
        let [bottom, right, top, left] = self.outer_members()?;
        self.corners([bottom, right, top, left]);
        let panels = self.panels(bottom, top, [left?, right?])?;
        self.braces(&panels);
        self.bars(&panels);
        Some(())
    }

    /// Size of the outer members in the plane of the frame.
    fn face(&self) -> f64 {
        self.bar.outer + self.bar.inner
    }

    fn check_size(&self) -> Option<()> {
        let face = self.face();
        let mut fits = true;
        for (size, word) in [(&self.frame.width, "width"), (&self.frame.height, "height")] {
            if *size.get_ref() <= 2.0 * face {
                fits = false;
                self.reader.wrong(
                    &size.span(),
                    format!("the {word} leaves nothing between two members of {face:.1} mm"),
                    format!(
                        "'{word}' is measured over the outer edges; write more than {:.1} mm",
                        2.0 * face
                    ),
                );
            }
        }
        fits.then_some(())
    }

    fn outer_members(&mut self) -> Option<[Option<usize>; 4]> {
        let o = self.bar.outer;
        let (w, h) = (self.width, self.height);
        let corner = [
            Point::new(o, o, 0.0),
            Point::new(w - o, o, 0.0),
            Point::new(w - o, h - o, 0.0),
            Point::new(o, h - o, 0.0),
        ];
        let mut indices = [None; 4];
        for (k, name) in ["bottom rail", "right stile", "top rail", "left stile"]
            .into_iter()
            .enumerate()
        {
            let is_rail = k % 2 == 0;
            if is_rail && self.frame.corners == Corners::Open {
                continue;
            }
            let mut member = self.frame.part.stock.member(
                name,
                corner[k],
                corner[(k + 1) % 4],
                &self.frame.part.welding.span,
            )?;
            let length = member.prism.length;
            let i = self.bar.inner;
            let (through, between) = ((-o, length + o), (i, length - i));
            (member.prism.reach, member.cuts) = match self.frame.corners {
                Corners::Mitred => (through, (0.0, length)),
                Corners::RailsThrough if is_rail => (through, through),
                Corners::RailsThrough => (between, between),
                Corners::StilesThrough if is_rail => (between, between),
                Corners::StilesThrough | Corners::Open => (through, through),
            };
            if self.frame.corners == Corners::Mitred {
                member.ends = [EndCut::Mitre { degrees: 45.0 }; 2];
            }
            indices[k] = Some(self.drawing.add(member));
        }
        Some(indices)
    }

    fn corners(&mut self, [bottom, right, top, left]: [Option<usize>; 4]) {
        let (Some(bottom), Some(right), Some(top), Some(left)) = (bottom, right, top, left) else {
            return;
        };
        // Each corner: the member that arrives there on the way round, and the one that leaves.
        for (name, arriving, leaving) in [
            ("bottom left corner", left, bottom),
            ("bottom right corner", bottom, right),
            ("top right corner", right, top),
            ("top left corner", top, left),
        ] {
            let at = self.drawing.members[leaving].prism.from;
            let joint = self
                .drawing
                .join(name.to_string(), at, &[arriving, leaving]);
            let arriving_is_rail = arriving == bottom || arriving == top;
            match self.frame.corners {
                Corners::Mitred => self.mitre(joint, arriving, leaving),
                Corners::RailsThrough if arriving_is_rail => self.butt(joint, leaving, arriving),
                Corners::StilesThrough if !arriving_is_rail => self.butt(joint, leaving, arriving),
                _ => self.butt(joint, arriving, leaving),
            }
        }
    }

    fn mitre(&mut self, joint: usize, arriving: usize, leaving: usize) {
        let (a, b) = (
            &self.drawing.members[arriving],
            &self.drawing.members[leaving],
        );
        let inward = FRONT.cross(a.prism.along);
        let plane = Plane {
            point: b.prism.from,
            normal: (a.prism.along + b.prism.along).unit().unwrap_or(RIGHT),
        };
        let turned = FRONT.cross(b.prism.along);
        let Some(mut sides) = print(&a.prism, plane).map(Vec::from) else {
            return;
        };
        let word = |side: &Side| match side.face {
            face if face.dot(inward) > 0.5 => "inside",
            face if face.dot(inward) < -0.5 => "outside",
            face => side_word(face),
        };
        sides.sort_by_key(|side| {
            ["front", "back", "outside", "inside"]
                .iter()
                .position(|w| *w == word(side))
        });
        let members = [arriving, leaving];
        sides.retain(|side| a.has_metal(side.face));
        for side in sides {
            let in_the_plane = side.face.dot(inward);
            let seam = Seam {
                from: side.from,
                to: side.to,
                outward: side.face + FRONT * side.face.z + turned * in_the_plane,
                fillet: in_the_plane > 0.5,
            };
            self.drawing
                .weld(joint, members, word(&side), seam, &self.frame.part.welding);
        }
    }

    /// A square end against the inner face of the member that runs through.
    fn butt(&mut self, joint: usize, ending: usize, carrying: usize) {
        let Some(plane) = self.inner_face(carrying) else {
            return;
        };
        let centre = Point::new(self.width / 2.0, self.height / 2.0, 0.0);
        let inward = centre - self.drawing.joints[joint].at;
        let word = |side: &Side| match side_word(side.face) {
            word @ ("front" | "back") => word,
            _ if side.face.dot(inward) > 0.0 => "inside",
            _ => "outside",
        };
        let members = [ending, carrying];
        let done = self
            .drawing
            .weld_end(joint, members, plane, word, &self.frame.part.welding);
        debug_assert!(done.is_ok(), "members of one section are flush");
    }

    /// The face of an outer member that looks into the frame; noted as a mistake when the section is open there.
    fn inner_face(&self, member: usize) -> Option<Plane> {
        let drawn = &self.drawing.members[member];
        self.face_of(member, FRONT.cross(drawn.prism.along))
    }

    fn face_of(&self, member: usize, direction: Point) -> Option<Plane> {
        let drawn = &self.drawing.members[member];
        if !drawn.has_metal(direction) {
            self.reader.wrong(
                &drawn.span,
                format!("a {} has no face towards the inside of the frame to weld on", drawn.section),
                "use mitred corners and nothing inside, a tube or a bar, or describe it with [[member]] and [[weld]]",
            );
            return None;
        }
        let face = drawn.prism.face_towards(direction);
        Some(Plane {
            point: drawn.prism.from + face.normal * face.offset,
            normal: face.normal,
        })
    }

    fn panels(
        &mut self,
        bottom: Option<usize>,
        top: Option<usize>,
        stiles: [usize; 2],
    ) -> Option<Vec<Panel>> {
        let face = self.face();
        let open = self.frame.corners == Corners::Open;
        let edge = if open { 0.0 } else { face };
        let mut panels = vec![Panel {
            below: bottom,
            above: top,
            stiles,
            bottom: edge,
            top: self.height - edge,
        }];
        let frame = self.frame;
        let Some(mid) = &frame.mid_rails else {
            return Some(panels);
        };
        for (k, height) in mid.heights.iter().enumerate() {
            let laid = mid.part.stock.laid(RIGHT);
            let half = (laid.outer + laid.inner) / 2.0;
            let last = panels.last_mut()?;
            let (low, high) = (height.get_ref() - half, height.get_ref() + half);
            if low <= last.bottom || high >= last.top {
                self.reader.wrong(
                    &height.span(),
                    "this mid rail does not fit between the rail below it and the top rail",
                    format!(
                        "its middle can be between {:.1} and {:.1} mm above the lower outer edge; write heights from low to high",
                        last.bottom + half,
                        last.top - half
                    ),
                );
                return None;
            }
            let name = match mid.heights.len() {
                1 => "mid rail".to_string(),
                _ => format!("mid rail {}", k + 1),
            };
            let y = low + laid.outer;
            let o = self.bar.outer;
            let (from, to) = (Point::new(o, y, 0.0), Point::new(self.width - o, y, 0.0));
            let ends = ["left end", "right end"];
            let rail = self.between(&name, &mid.part, (from, to), stiles, [RIGHT, -RIGHT], ends)?;
            let last = panels.last_mut()?;
            let above = last.above;
            let upper = last.top;
            last.above = Some(rail);
            last.top = low;
            panels.push(Panel {
                below: Some(rail),
                above,
                stiles,
                bottom: high,
                top: upper,
            });
        }
        Some(panels)
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
        let member = part.stock.member(name, from, to, span)?;
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
            let word = |side: &Side| side_word(side.face);
            let done = self
                .drawing
                .weld_end(joint, members, plane, word, &part.welding);
            if let Err(side) = done {
                let carrier = &self.drawing.members[carrying[k]].name;
                self.reader.wrong(
                    span,
                    format!("the {side} of {name} hangs beside the {carrier} it ends on"),
                    "take a section no thicker through the frame than the outer members, or do not weld that side",
                );
                return None;
            }
        }
        Some(member)
    }

    fn bars(&mut self, panels: &[Panel]) -> Option<()> {
        let bars = self.frame.bars.as_ref()?;
        let vertical = bars.direction == Direction::Vertical;
        if !vertical && panels.len() > 1 {
            self.reader.wrong(
                &bars.part.welding.span,
                "horizontal bars and mid rails are asked for at once",
                "give the bars alone, or all of them as heights of mid rails",
            );
            return None;
        }
        if vertical && self.frame.corners == Corners::Open {
            self.reader.wrong(
                &bars.part.welding.span,
                "vertical bars need rails to stand on, and an open frame has none",
                "write direction = \"horizontal\", or close the corners",
            );
            return None;
        }
        let along = if vertical { UP } else { RIGHT };
        let laid = bars.part.stock.laid(along);
        let size = laid.outer + laid.inner;
        let panel = panels.first()?;
        let (start, clear) = if vertical {
            (self.face(), self.width - 2.0 * self.face())
        } else {
            (panel.bottom, panel.top - panel.bottom)
        };
        let count = self.count(bars, size, clear, panels.len())?;
        let gap = (clear - f64::from(count) * size) / (f64::from(count) + 1.0);
        for k in 0..count {
            // The right-hand edge of a rising bar, the lower edge of a level one, is the side its direction leaves
            // outwards.
            let low = start + gap + f64::from(k) * (size + gap);
            let centroid = if vertical {
                low + size - laid.outer
            } else {
                low + laid.outer
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
                ((low, high), [below, above], [UP, -UP], ["bottom", "top"])
            }
            Direction::Horizontal => {
                let [left, right] = panel.stiles;
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
        self.between(name, &bars.part, ends, carrying, faces, words)?;
        Some(())
    }

    fn count(&self, bars: &Bars, size: f64, clear: f64, panels: usize) -> Option<u32> {
        let count = match *bars.count.get_ref() {
            Count::Number(count) => count,
            // The least number of bars that leaves no wider gap.
            Count::LargestGap(gap) => ((clear - gap) / (size + gap))
                .ceil()
                .clamp(0.0, f64::from(u32::MAX)) as u32,
        };
        if f64::from(count) * size >= clear {
            self.reader.wrong(
                &bars.count.span(),
                format!("{count} bars of {size:.1} mm do not fit into {clear:.1} mm"),
                format!(
                    "at most {} leave a gap between them",
                    ((clear / size).ceil() - 1.0).max(0.0)
                ),
            );
            return None;
        }
        if count as usize * panels > MOST / 8 {
            self.reader.wrong(
                &bars.count.span(),
                format!("{count} bars in {panels} panels are too many"),
                format!("a job has at most {MOST} members and {MOST} welds"),
            );
            return None;
        }
        Some(count)
    }

    fn braces(&mut self, panels: &[Panel]) -> Option<()> {
        let brace = self.frame.brace.as_ref()?;
        if self.frame.bars.is_some() {
            self.reader.wrong(
                &brace.part.welding.span,
                "the brace would cross the bars",
                "give a frame either bars or a brace; other arrangements with [[member]]",
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

    /// A brace lies on the rails, its edge in the corner against the stile.
    fn brace(&mut self, brace: &Brace, name: &str, panel: &Panel) -> Option<()> {
        let laid = brace.part.stock.laid(RIGHT);
        let size = laid.outer + laid.inner;
        let (clear, rise) = (self.width - 2.0 * self.face(), panel.top - panel.bottom);
        let open = panel.below.is_none() || panel.above.is_none();
        let lean = lean(clear, rise, size).filter(|_| !open);
        let Some(angle) = lean else {
            self.reader.wrong(
                &brace.part.welding.span,
                format!("{name} does not fit into a panel of {clear:.1} x {rise:.1} mm"),
                "take a smaller section, or leave the brace out; a brace needs a rail below and above it",
            );
            return None;
        };
        let (below, above) = (panel.below?, panel.above?);
        // Where the two edges of the brace cross the lower rail's face; the line of centroids lies between them.
        let sign = if brace.rising { 1.0 } else { -1.0 };
        let along = Point::new(sign * angle.cos(), angle.sin(), 0.0);
        let laid = brace.part.stock.laid(along);
        let corner = if brace.rising {
            self.face()
        } else {
            self.width - self.face()
        };
        // Leaning over to the right its left-hand edge is in the corner, leaning to the left its right-hand one.
        let (near, _) = if brace.rising {
            (laid.inner, laid.outer)
        } else {
            (laid.outer, laid.inner)
        };
        let foot = Point::new(corner + sign * near / angle.sin(), panel.bottom, 0.0);
        let reach = |member: usize, drawing: &Drawing| {
            let height = drawing.members[member].prism.from.y;
            foot + along * ((height - panel.bottom) / angle.sin())
        };
        let ends = (reach(below, &self.drawing), reach(above, &self.drawing));
        let words = ["bottom", "top"];
        self.between(name, &brace.part, ends, [below, above], [UP, -UP], words)?;
        Some(())
    }
}

/// Angle from level of a brace of this size whose edges touch two opposite corners of a clear field:
/// tan θ = rise / (clear − size / sin θ), solved by bisection; `None` when it does not fit.
fn lean(clear: f64, rise: f64, size: f64) -> Option<f64> {
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
