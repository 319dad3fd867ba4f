//! Passages that stand in the product twice.
//!
//! A file is taken as its code lines, each the tokens on it. Lines of a `use` and lines of punctuation alone are
//! dropped. A repeat is a pair of places where at least [`FEWEST_LINES`] lines in a row are the same, taken as long as it
//! goes, in two files or in one without overlap. Of its lines at least [`FEWEST_DIFFERENT`] must differ from each
//! other: rows of a table are no passage. Three places of one passage are three pairs. Pairs that lie over each other at
//! both places count once, as the longest of them.
//!
//! It is counted twice: with all lines as they are; and by shape within functions, every name being one sign and every
//! literal another. A pair that lies over a pair of identical lines at both places is not counted again by its shape.
//! Outside functions, shapes are not compared: lists of fields and variants look alike by nature.

use crate::house::{File, House};
use crate::source::{Kind, Token};
use std::collections::{BTreeMap, BTreeSet};

/// Lines that a repeat has at least.
pub const FEWEST_LINES: usize = 8;

/// Different lines that a repeat has at least.
pub const FEWEST_DIFFERENT: usize = 4;

/// Two places with the same lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Repeat {
    /// Lines of code that are the same.
    pub lines: usize,
    /// The two places, as `file:first-last`.
    pub places: [String; 2],
}

/// What stands twice, the longest first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Repeats {
    /// Pairs of identical lines.
    pub identical: Vec<Repeat>,
    /// Pairs of the same shape that are not among them.
    pub same_shape: Vec<Repeat>,
}

/// Finds all repeats of the product.
pub fn repeats(house: &House) -> Repeats {
    let files = house.files.iter().map(lines).collect::<Vec<_>>();
    let mut taken = Vec::new();
    let mut take = |text: fn(&Line) -> Option<&str>| {
        let runs = take_longest(runs(&files, text), &mut taken);
        runs.iter().map(|run| tell(house, &files, run)).collect()
    };
    Repeats {
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

/// The same lines at two places: file and index of the first line, and how many.
#[derive(Clone, Copy, Debug)]
struct Run {
    lines: usize,
    first: (usize, usize),
    second: (usize, usize),
}

impl Run {
    fn lies_over(&self, other: &Self) -> bool {
        let meet = |a: (usize, usize), b: (usize, usize)| {
            a.0 == b.0 && a.1 < b.1 + other.lines && b.1 < a.1 + self.lines
        };
        meet(self.first, other.first) && meet(self.second, other.second)
    }
}

/// The lines of a file that are compared.
fn lines(file: &File) -> Vec<Line> {
    let mut lines = BTreeMap::<usize, Line>::new();
    let tokens = file.source.tokens.iter();
    for token in tokens.filter(|token| !file.outline.is_use(token.at)) {
        let number = token.lines.0;
        let line = lines.entry(number).or_default();
        line.number = number;
        line.written = format!("{}{} ", line.written, token.text);
        line.shape = format!("{}{} ", line.shape, shape(token));
        line.has_words |= token.kind != Kind::Punctuation;
        line.within_function |= file.outline.is_function(token.at);
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

/// All runs, each as long as it goes; lines without a text are like no other.
fn runs(files: &[Vec<Line>], text: fn(&Line) -> Option<&str>) -> Vec<Run> {
    let mut windows = BTreeMap::<Vec<&str>, Vec<(usize, usize)>>::new();
    for (file, lines) in files.iter().enumerate() {
        for (first, window) in lines.windows(FEWEST_LINES).enumerate() {
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

/// The run that begins at two places, if it is one.
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
    let different = same.iter().collect::<BTreeSet<_>>().len();
    (same.len() >= FEWEST_LINES && different >= FEWEST_DIFFERENT).then_some(Run {
        lines: same.len(),
        first,
        second,
    })
}

/// Those that lie over no longer one, nor over one taken before.
fn take_longest(mut runs: Vec<Run>, taken: &mut Vec<Run>) -> Vec<Run> {
    runs.sort_by_key(|run| (std::cmp::Reverse(run.lines), run.first, run.second));
    let before = taken.len();
    for run in runs {
        if !taken.iter().any(|other| run.lies_over(other)) {
            taken.push(run);
        }
    }
    taken[before..].to_vec()
}

fn tell(house: &House, files: &[Vec<Line>], run: &Run) -> Repeat {
    let place = |(file, first): (usize, usize)| {
        let [first, last] = [first, first + run.lines - 1].map(|index| files[file][index].number);
        format!("{}:{first}-{last}", house.files[file].source.path.display())
    };
    Repeat {
        lines: run.lines,
        places: [place(run.first), place(run.second)],
    }
}
