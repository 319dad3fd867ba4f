//! Duplicated code.
//!
//! Files are compared line by line, each line as its tokens, so spacing and comments do not matter. `use` items are
//! skipped, and so are lines with nothing but punctuation. A duplicate is a pair of places with at least [`MIN_LINES`]
//! identical lines in a row, extended as far as possible, in two files or in one without overlap. At least
//! [`MIN_DISTINCT`] of the lines must differ from each other, which leaves out the rows of a table. Three copies make three
//! pairs. Where pairs overlap in both places, only the longest counts.
//!
//! The comparison runs twice. First with the lines as written, everywhere. Then by shape: every identifier is replaced
//! by one symbol and every literal by another, inside functions only, because lists of fields and variants always look
//! alike. A pair found as written is not counted again by shape.

use crate::source::{Kind, Token};
use crate::workspace::{File, Workspace};
use std::collections::{BTreeMap, BTreeSet};

/// Shortest duplicate, in lines.
pub const MIN_LINES: usize = 8;

/// Fewest distinct lines in a duplicate.
pub const MIN_DISTINCT: usize = 4;

/// A pair of places with the same lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Duplicate {
    /// Number of lines.
    pub lines: usize,
    /// Both locations, as `file:first-last`.
    pub locations: [String; 2],
}

/// All duplicates, longest first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Duplicates {
    /// Pairs with identical lines.
    pub identical: Vec<Duplicate>,
    /// Pairs with lines of the same shape that are not identical.
    pub same_shape: Vec<Duplicate>,
}

/// Finds the duplicates in product code.
pub fn duplicates(workspace: &Workspace) -> Duplicates {
    let files = workspace.files.iter().map(lines).collect::<Vec<_>>();
    let mut taken = Vec::new();
    let mut take = |text: fn(&Line) -> Option<&str>| {
        let runs = take_longest(runs(&files, text), &mut taken);
        runs.iter()
            .map(|run| describe(workspace, &files, run))
            .collect()
    };
    Duplicates {
        identical: take(|line| Some(&line.written)),
        same_shape: take(|line| line.within_function.then_some(&line.shape)),
    }
}

/// A code line.
#[derive(Clone, Debug, Default)]
struct Line {
    number: usize,
    written: String,
    shape: String,
    within_function: bool,
    has_words: bool,
}

/// A run of matching lines: where both copies start, as file and index of the line, and its length.
#[derive(Clone, Copy, Debug)]
struct Run {
    lines: usize,
    first: (usize, usize),
    second: (usize, usize),
}

impl Run {
    fn overlaps(&self, other: &Self) -> bool {
        let meet = |a: (usize, usize), b: (usize, usize)| {
            a.0 == b.0 && a.1 < b.1 + other.lines && b.1 < a.1 + self.lines
        };
        meet(self.first, other.first) && meet(self.second, other.second)
    }
}

/// The lines of a file that take part in the comparison.
fn lines(file: &File) -> Vec<Line> {
    let mut lines = BTreeMap::<usize, Line>::new();
    let tokens = file.source.tokens.iter();
    for token in tokens.filter(|token| !file.outline.is_use(token.offset)) {
        let number = token.lines.0;
        let line = lines.entry(number).or_default();
        line.number = number;
        line.written = format!("{}{} ", line.written, token.text);
        line.shape = format!("{}{} ", line.shape, shape(token));
        line.has_words |= token.kind != Kind::Punctuation;
        line.within_function |= file.outline.is_function(token.offset);
    }
    lines.into_values().filter(|line| line.has_words).collect()
}

fn shape(token: &Token) -> &str {
    match token.kind {
        Kind::Name => "_",
        Kind::Literal => "0",
        Kind::Keyword | Kind::Punctuation => &token.text,
    }
}

/// All maximal runs. A line without text matches nothing.
fn runs(files: &[Vec<Line>], text: fn(&Line) -> Option<&str>) -> Vec<Run> {
    let mut windows = BTreeMap::<Vec<&str>, Vec<(usize, usize)>>::new();
    for (file, lines) in files.iter().enumerate() {
        for (first, window) in lines.windows(MIN_LINES).enumerate() {
            if let Some(key) = window.iter().map(text).collect() {
                windows.entry(key).or_default().push((file, first));
            }
        }
    }
    let text_before = |(file, first): (usize, usize)| text(&files[file][first.checked_sub(1)?]);
    let mut runs = Vec::new();
    for places in windows.values() {
        for (nth, &first) in places.iter().enumerate() {
            for &second in &places[nth + 1..] {
                let before = text_before(first);
                if before.is_none() || before != text_before(second) {
                    runs.extend(run(files, text, first, second));
                }
            }
        }
    }
    runs
}

/// The run that starts at two places, if it is long and varied enough.
fn run(
    files: &[Vec<Line>],
    text: fn(&Line) -> Option<&str>,
    first: (usize, usize),
    second: (usize, usize),
) -> Option<Run> {
    let after = |(file, first): (usize, usize)| files[file][first..].iter().map_while(text);
    let room = if first.0 == second.0 {
        second.1 - first.1
    } else {
        usize::MAX
    };
    let pairs = after(first).zip(after(second)).take(room);
    let same = pairs
        .take_while(|(a, b)| a == b)
        .map(|(a, _)| a)
        .collect::<Vec<_>>();
    let distinct = same.iter().collect::<BTreeSet<_>>().len();
    (same.len() >= MIN_LINES && distinct >= MIN_DISTINCT).then_some(Run {
        lines: same.len(),
        first,
        second,
    })
}

/// Keeps the longest of overlapping runs, and none that overlaps one already taken.
fn take_longest(mut runs: Vec<Run>, taken: &mut Vec<Run>) -> Vec<Run> {
    runs.sort_by_key(|run| (std::cmp::Reverse(run.lines), run.first, run.second));
    let before = taken.len();
    for run in runs {
        if !taken.iter().any(|other| run.overlaps(other)) {
            taken.push(run);
        }
    }
    taken[before..].to_vec()
}

fn describe(workspace: &Workspace, files: &[Vec<Line>], run: &Run) -> Duplicate {
    let location = |(file, first): (usize, usize)| {
        let [first, last] = [first, first + run.lines - 1].map(|index| files[file][index].number);
        format!(
            "{}:{first}-{last}",
            workspace.files[file].source.path.display()
        )
    };
    Duplicate {
        lines: run.lines,
        locations: [location(run.first), location(run.second)],
    }
}
