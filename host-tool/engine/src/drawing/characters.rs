//! The frame drawn in characters for the terminal, every weld with its number, and on a weld map with its verdict.
//!
//! The shapes are those of the drawings: square brackets for out of limits, points for marginal, nothing for within
//! limits. Names are drawn sanitised.

use super::figure::{Figures, Mark};
use super::scene::Scene;
use super::view::View;
use super::{WORST_FIRST, marks};
use crate::job::model::Job;
use crate::map::model::WeldMap;
use crate::sanitise;
use crate::verdict::Verdict;
use std::fmt::Write;

/// Narrowest picture, columns.
const MIN_COLUMNS: usize = 40;
/// Widest picture, columns: a wider one is hard to take in.
const MAX_COLUMNS: usize = 140;
const MAX_ROWS: usize = 26;
/// A character is about twice as high as it is wide.
const CHARACTER_HEIGHT: f64 = 2.0;
/// Room for labels around the metal.
const SIDE: usize = 7;
const ABOVE: usize = 2;
/// How far a label may stand from its weld.
const REACH: (isize, isize) = (4, 12);

/// A number with the shape of its verdict.
fn label(number: u16, verdict: Verdict) -> String {
    match verdict {
        Verdict::OutOfLimits => format!("[{number}]"),
        Verdict::Marginal => format!("<{number}>"),
        Verdict::WithinLimits => number.to_string(),
        Verdict::NotMeasured => format!("{number}?"),
        Verdict::NoLimit => format!("{number}-"),
    }
}

/// The views that show every weld, at most `columns` wide, and a line that says what the shapes mean.
#[must_use]
pub fn weld_map_in_characters(job: &Job, map: &WeldMap, columns: usize) -> String {
    let columns = columns.clamp(MIN_COLUMNS, MAX_COLUMNS);
    let (scene, marks) = (Scene::of(job), marks(map));
    let figures = Figures::new(&scene, &marks);
    let mut out = String::new();
    let mut left_out = 0;
    let views = figures.views().into_iter();
    for (caption, view, numbered) in views.filter(|(.., numbered)| !numbered.is_empty()) {
        let mut canvas = Canvas::new(job, &view, columns);
        for member in &job.members {
            canvas.line(view.project(member.from), view.project(member.to));
        }
        // The worst verdicts get their places first.
        let mut numbered = numbered;
        numbered.sort_by_key(|k| urgency(map.welds.get(*k).map(|weld| weld.verdict)));
        for k in numbered {
            let Some((weld, line)) = map.welds.get(k).zip(scene.weld_lines.get(k)) else {
                continue;
            };
            let text = label(weld.number, weld.verdict);
            left_out += usize::from(!canvas.put(view.project(line.middle()), &text));
        }
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{caption}\n{}", canvas.text());
    }
    let _ = writeln!(
        out,
        "[4] out of limits   <4> marginal   4 within limits   4? not measured   4- no limits"
    );
    if left_out > 0 {
        let _ = writeln!(
            out,
            "No room for {left_out} numbers: see the table, or make the terminal wider."
        );
    }
    out
}

/// The frame as it is drawn, at most `columns` wide: every weld with its number, and from the corner the members by name
/// where the frame is deep.
#[must_use]
pub fn frame_in_characters(job: &Job, columns: usize) -> String {
    let columns = columns.clamp(MIN_COLUMNS, MAX_COLUMNS);
    let (scene, marks) = (Scene::of(job), plain_marks(job));
    let mut out = String::new();
    let mut left_out = 0;
    for (caption, view, numbered) in Figures::new(&scene, &marks).views() {
        let view = view.of_standing(job);
        let mut canvas = Canvas::new(job, &view, columns);
        for member in &job.members {
            canvas.line(view.project(member.from), view.project(member.to));
        }
        if numbered.is_empty() {
            for member in &job.members {
                let middle = (member.from + member.to) * 0.5;
                canvas.put(view.project(middle), &sanitise::short(&member.name, 20));
            }
        }
        for k in numbered {
            if let Some((weld, line)) = job.welds.get(k).zip(scene.weld_lines.get(k)) {
                let text = weld.number.to_string();
                left_out += usize::from(!canvas.put(view.project(line.middle()), &text));
            }
        }
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{}\n{}", face(caption), canvas.text());
    }
    if left_out > 0 {
        let _ = writeln!(
            out,
            "No room for {left_out} numbers: see the list of welds, or make the terminal wider."
        );
    }
    out
}

/// What can be drawn of a frame that has errors, at most `columns` wide: the members that are marked by name, with a
/// mark of exclamation in front.
#[must_use]
pub fn sketch_in_characters(job: &Job, columns: usize, marked: &[usize]) -> String {
    let columns = columns.clamp(MIN_COLUMNS, MAX_COLUMNS);
    let (scene, marks) = (Scene::of(job), plain_marks(job));
    let mut out = String::new();
    for (caption, view, _) in Figures::new(&scene, &marks).views() {
        let view = view.of_standing(job);
        let mut canvas = Canvas::new(job, &view, columns);
        for member in &job.members {
            canvas.line(view.project(member.from), view.project(member.to));
        }
        for member in marked.iter().filter_map(|&member| job.members.get(member)) {
            let middle = (member.from + member.to) * 0.5;
            let name = format!("! {}", sanitise::short(&member.name, 20));
            canvas.put(view.project(middle), &name);
        }
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{}\n{}", face(caption), canvas.text());
    }
    out
}

/// What a view shows, as somebody at the bench says it.
pub(crate) fn face(caption: &str) -> String {
    match caption {
        "front" => "Front, towards you as it is drawn".into(),
        "from above" => "Seen from above: the front is at the lower edge".into(),
        "from below, flipped" => {
            "Seen from below, flipped about the middle from front to back".into()
        }
        "back, flipped" => "Back, flipped about the upright middle".into(),
        other => format!("Seen {other}"),
    }
}

/// Every weld by its number alone.
pub(crate) fn plain_marks(job: &Job) -> Vec<Mark> {
    let mark = |weld: &crate::job::model::Weld| Mark {
        label: weld.number.to_string(),
        class: "later",
        title: format!("Weld {}, {}", weld.number, sanitise::plain(&weld.name)),
        arrow: false,
    };
    job.welds.iter().map(mark).collect()
}

fn urgency(verdict: Option<Verdict>) -> usize {
    WORST_FIRST
        .iter()
        .position(|known| Some(*known) == verdict)
        .unwrap_or(usize::MAX)
}

/// A grid of characters with a scale.
struct Canvas {
    rows: Vec<Vec<char>>,
    /// Cells of labels and of the space around them.
    taken: Vec<Vec<bool>>,
    origin: [f64; 2],
    mm_per_column: f64,
    mm_per_row: f64,
}

impl Canvas {
    fn new(job: &Job, view: &View, columns: usize) -> Self {
        let ends = job.members.iter().flat_map(|m| [m.from, m.to]);
        let welds = job.welds.iter().flat_map(|w| [w.from, w.to]);
        let start = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        let (low, high) = ends.chain(welds).fold(start, |(low, high), point| {
            let [x, y] = view.project(point);
            (
                [low[0].min(x), low[1].min(y)],
                [high[0].max(x), high[1].max(y)],
            )
        });
        let size = [0, 1].map(|axis| (high[axis] - low[axis]).max(1.0));
        let size = size.map(|mm| if mm.is_finite() { mm } else { 1.0 });
        let across = (columns - 2 * SIDE - 1) as f64;
        let down = (MAX_ROWS - 2 * ABOVE - 1) as f64;
        let mm_per_column = (size[0] / across).max(size[1] / (down * CHARACTER_HEIGHT));
        let mm_per_row = mm_per_column * CHARACTER_HEIGHT;
        let wide = (size[0] / mm_per_column).round() as usize + 2 * SIDE + 1;
        let high = (size[1] / mm_per_row).round() as usize + 2 * ABOVE + 1;
        Self {
            rows: vec![vec![' '; wide]; high],
            taken: vec![vec![false; wide]; high],
            origin: low.map(|mm| if mm.is_finite() { mm } else { 0.0 }),
            mm_per_column,
            mm_per_row,
        }
    }

    /// Column and row of a point.
    fn cell(&self, [x, y]: [f64; 2]) -> [isize; 2] {
        let column = (x - self.origin[0]) / self.mm_per_column;
        let row = (y - self.origin[1]) / self.mm_per_row;
        [
            column.round() as isize + SIDE as isize,
            row.round() as isize + ABOVE as isize,
        ]
    }

    fn line(&mut self, from: [f64; 2], to: [f64; 2]) {
        let ([x0, y0], [x1, y1]) = (self.cell(from), self.cell(to));
        let steps = (x1 - x0).abs().max((y1 - y0).abs());
        let stroke = match (x0 == x1, y0 == y1) {
            (_, true) => '─',
            (true, _) => '│',
            _ if (x1 > x0) == (y1 > y0) => '\\',
            _ => '/',
        };
        for k in 0..=steps {
            let share = k as f64 / steps.max(1) as f64;
            let at = |a: isize, b: isize| a + ((b - a) as f64 * share).round() as isize;
            let Some(cell) = self.at(at(x0, x1), at(y0, y1)) else {
                continue;
            };
            *cell = match *cell {
                ' ' => stroke,
                other if other == stroke => stroke,
                _ => '┼',
            };
        }
    }

    fn at(&mut self, column: isize, row: isize) -> Option<&mut char> {
        let (column, row) = (usize::try_from(column).ok()?, usize::try_from(row).ok()?);
        self.rows.get_mut(row)?.get_mut(column)
    }

    /// Puts a label at its cheapest free place near a point; false if there is none.
    fn put(&mut self, at: [f64; 2], text: &str) -> bool {
        let [column, row] = self.cell(at);
        let long = text.chars().count() as isize;
        let places = (-REACH.0..=REACH.0)
            .flat_map(|down| (-REACH.1..=REACH.1).map(move |right| (down, right)));
        let best = places
            .filter_map(|(down, right)| {
                let (first, row) = (column + right - long / 2, row + down);
                let covered = self.covered(first, row, long)?;
                let far = 2 * down.abs() + right.abs();
                Some((far + 2 * covered as isize, first, row))
            })
            .min();
        let Some((_, first, row)) = best else {
            return false;
        };
        for (k, c) in text.chars().enumerate() {
            if let Some(cell) = self.at(first + k as isize, row) {
                *cell = c;
            }
        }
        for near in first - 1..=first + long {
            if let (Ok(column), Ok(row)) = (usize::try_from(near), usize::try_from(row))
                && let Some(taken) = self.taken[row].get_mut(column)
            {
                *taken = true;
            }
        }
        true
    }

    /// How many cells of lines a label would cover; `None` if it does not fit or meets another.
    fn covered(&self, first: isize, row: isize, long: isize) -> Option<usize> {
        let first = usize::try_from(first).ok()?;
        let row = usize::try_from(row).ok()?;
        let cells = first..first + long as usize;
        let taken = self.taken.get(row)?.get(cells.clone())?;
        if taken.contains(&true) {
            return None;
        }
        let under = self.rows.get(row)?.get(cells)?;
        Some(under.iter().filter(|c| **c != ' ').count())
    }

    /// The rows without the empty ones above and below.
    fn text(&self) -> String {
        let lines: Vec<String> = self
            .rows
            .iter()
            .map(|row| row.iter().collect::<String>().trim_end().to_string())
            .collect();
        let filled = |line: &String| !line.is_empty();
        let first = lines.iter().position(filled).unwrap_or(0);
        let last = lines.iter().rposition(filled).unwrap_or(0);
        lines[first..=last]
            .iter()
            .map(|line| line.clone() + "\n")
            .collect()
    }
}
