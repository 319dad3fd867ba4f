//! The order of welding, as a user writes it or as a plan has it.
//!
//! A list has weld numbers and ranges (`3 1 2`, `5-8, 4-1`), on one line or several; `#` begins a comment. The JSON of a
//! plan has its steps; a weld in parts has the place of its first part. Another way to write an order is read in
//! [`from_text`].
//!
//! ```
//! use coldsquare_engine::order;
//!
//! assert_eq!(order::from_text("3, 1-2")?, [2, 0, 1]);
//! assert_eq!(order::check(&[2, 0], 3), Err(order::OrderError::Missing(vec![2])));
//! # Ok::<(), order::OrderError>(())
//! ```

use crate::failure::Failure;
use crate::files::{self, Files};
use crate::job::model::Job;
use std::collections::BTreeSet;
use std::path::Path;

/// What is wrong with an order.
#[non_exhaustive]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OrderError {
    /// A word that is not a weld number.
    NotANumber(String),
    /// A weld that the job does not have.
    NoSuchWeld {
        /// The number found.
        weld: usize,
        /// Number of welds of the job.
        welds: usize,
    },
    /// A weld that is named twice.
    Twice(usize),
    /// Welds that are not named.
    Missing(Vec<u16>),
    /// JSON without an order in it.
    NoOrder,
}

impl std::fmt::Display for OrderError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotANumber(found) => write!(
                f,
                "'{found}' is not a weld number; write an order as 3 1 2, or 3,1,2, or 5-8 (up or down), on one line or \
                 several; # begins a comment"
            ),
            Self::NoSuchWeld { weld, welds } => {
                write!(
                    f,
                    "the order names weld {weld}, but the job has welds 1 to {welds}"
                )
            }
            Self::Twice(weld) => {
                write!(f, "the order names weld {weld} twice; name each weld once")
            }
            Self::Missing(welds) => {
                let list: Vec<String> = welds.iter().take(20).map(u16::to_string).collect();
                let more = if welds.len() > 20 { " …" } else { "" };
                write!(
                    f,
                    "the order leaves out weld {}{more}; name every weld",
                    list.join(", ")
                )
            }
            Self::NoOrder => f.write_str(
                "it has no order of welds; give the JSON of a plan, or a list of weld numbers",
            ),
        }
    }
}

impl std::error::Error for OrderError {}

/// What messages call the order in which the job file numbers the welds.
pub const FILE_ORDER: &str = "file order";

/// Largest file of an order, bytes: a plan of ten thousand welds fits, a log given by mistake does not.
const MAX_FILE: u64 = 16_000_000;
/// Longest order; no job has more welds.
const MAX_WELDS: usize = 10_000;

/// Reads an order given on the command line: "file" for file order, a list, or the path of a list or of the JSON of a
/// plan. Gives the indices of the welds, every weld of the job once, and what to call the order.
///
/// # Errors
/// [`Failure`] when the file cannot be read, or the order does not have every weld of the job once.
pub fn given(files: &dyn Files, given: &str, job: &Job) -> Result<(Vec<usize>, String), Failure> {
    if given == "file" {
        return Ok(((0..job.welds.len()).collect(), FILE_ORDER.into()));
    }
    if given == "drawn" {
        return Err(Failure::Usage("order 'drawn' is now called 'file'".into()));
    }
    let is_list = given
        .chars()
        .all(|c| c.is_ascii_digit() || c.is_whitespace() || matches!(c, ',' | '-'));
    let (read, name) = if is_list {
        (list(given), "the order given".to_owned())
    } else {
        let path = Path::new(given);
        (
            from_text(&text_of(files, path)?),
            format!("the order of {}", path.display()),
        )
    };
    let complain = |error: OrderError| Failure::Input(format!("{given}: {error}"));
    let order = read.map_err(complain)?;
    check(&order, job.welds.len()).map_err(complain)?;
    Ok((order, name))
}

fn text_of(files: &dyn Files, path: &Path) -> Result<String, Failure> {
    let bytes = files::beginning(files, path, MAX_FILE)?;
    String::from_utf8(bytes)
        .map_err(|_| Failure::Input(format!("{}: this is not text (UTF-8)", path.display())))
}

/// Reads a list or a plan's JSON as indices of welds.
///
/// # Errors
/// [`OrderError`] with the word that is not a weld number, or for JSON without an order.
pub fn from_text(text: &str) -> Result<Vec<usize>, OrderError> {
    match serde_json::from_str::<serde_json::Value>(text) {
        Ok(value) if value.is_object() || value.is_array() => {
            from_json(&value).ok_or(OrderError::NoOrder)
        }
        _ => list(text),
    }
}

/// An array of numbers, of objects with a `weld`, or of the steps of a plan; alone, or under `order` or `steps`.
fn from_json(value: &serde_json::Value) -> Option<Vec<usize>> {
    let entries = value
        .get("order")
        .or(value.get("steps"))
        .unwrap_or(value)
        .as_array()?;
    let is_plan = value.get("steps").is_some();
    let mut order: Vec<usize> = Vec::new();
    let mut named = BTreeSet::new();
    for entry in entries {
        let what = entry.get("what").unwrap_or(entry);
        let number = what
            .get("weld")
            .unwrap_or(what)
            .as_u64()
            .and_then(|number| usize::try_from(number).ok());
        match number.and_then(|number| number.checked_sub(1)) {
            // Only a plan has parts of a weld, and steps that are not welds.
            Some(weld) if is_plan && !named.insert(weld) => {}
            Some(weld) => order.push(weld),
            None if is_plan => {}
            None => return None,
        }
    }
    (!order.is_empty()).then_some(order)
}

fn list(text: &str) -> Result<Vec<usize>, OrderError> {
    let mut order = Vec::new();
    let words = text
        .lines()
        .map(|line| line.split('#').next().unwrap_or_default())
        .flat_map(|line| line.split(|c: char| c == ',' || c.is_whitespace()))
        .filter(|word| !word.is_empty());
    for word in words {
        let wrong = || OrderError::NotANumber(word.chars().take(40).collect());
        let (first, last) = word.split_once('-').unwrap_or((word, word));
        let index = |number: &str| match number.parse::<usize>() {
            Ok(number) if (1..=MAX_WELDS).contains(&number) => Ok(number - 1),
            _ => Err(wrong()),
        };
        let (first, last) = (index(first)?, index(last)?);
        if first <= last {
            order.extend(first..=last);
        } else {
            order.extend((last..=first).rev());
        }
        if order.len() > MAX_WELDS {
            return Err(wrong());
        }
    }
    Ok(order)
}

/// Checks that an order has each weld of a job with this many welds once.
///
/// # Errors
/// [`OrderError`] with the weld that does not exist or is named twice, or all that are missing.
pub fn check(order: &[usize], welds: usize) -> Result<(), OrderError> {
    let mut named = vec![false; welds];
    for &weld in order {
        match named.get_mut(weld) {
            None => {
                return Err(OrderError::NoSuchWeld {
                    weld: weld + 1,
                    welds,
                });
            }
            Some(true) => return Err(OrderError::Twice(weld + 1)),
            Some(named) => *named = true,
        }
    }
    let missing: Vec<u16> = (1..)
        .zip(&named)
        .filter(|(_, named)| !**named)
        .map(|(number, _)| number)
        .collect();
    if missing.is_empty() {
        Ok(())
    } else {
        Err(OrderError::Missing(missing))
    }
}

/// As [`check`], for weld numbers, which begin at 1.
///
/// # Errors
/// As [`check`].
pub fn check_numbers(order: &[u16], welds: usize) -> Result<(), OrderError> {
    let index = |&number: &u16| {
        let index = usize::from(number).checked_sub(1);
        index.ok_or(OrderError::NoSuchWeld { weld: 0, welds })
    };
    let order: Vec<usize> = order.iter().map(index).collect::<Result<_, _>>()?;
    check(&order, welds)
}

/// Welds that come before one that the job wants done first: the numbers of each weld and of the one it should wait for.
#[must_use]
pub fn too_early(job: &Job, order: &[usize]) -> Vec<(u16, u16)> {
    let mut done = vec![false; job.welds.len()];
    let mut early = Vec::new();
    for &weld in order {
        let weld_of = &job.welds[weld];
        let waits = weld_of
            .after
            .iter()
            .filter(|&&number| done.get(usize::from(number).wrapping_sub(1)) == Some(&false));
        early.extend(waits.map(|&number| (weld_of.number, number)));
        done[weld] = true;
    }
    early
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_have_numbers_ranges_and_remarks() {
        assert_eq!(
            from_text("3, 1\n2 # the corner\n5-7 9-8"),
            Ok(vec![2, 0, 1, 4, 5, 6, 8, 7])
        );
        assert_eq!(
            from_text("3 one"),
            Err(OrderError::NotANumber("one".into()))
        );
        assert_eq!(from_text("0"), Err(OrderError::NotANumber("0".into())));
        assert!(from_text("1-999999999").is_err());
    }

    #[test]
    fn a_plan_says_its_order_with_pieces_where_they_begin() {
        let plan = r#"{"title": "x", "steps": [
            {"number": 1, "what": {"kind": "tack", "joint": 0}},
            {"number": 2, "what": {"kind": "weld", "weld": 2, "part": {"number": 1, "of": 2}}},
            {"number": 3, "what": {"kind": "flip", "up": "back"}},
            {"number": 4, "what": {"kind": "weld", "weld": 1}},
            {"number": 5, "what": {"kind": "weld", "weld": 2}}]}"#;
        assert_eq!(from_text(plan), Ok(vec![1, 0]));
        assert_eq!(from_text("[2, 1]"), Ok(vec![1, 0]));
        assert_eq!(
            from_text(r#"{"order": [{"weld": 2}, {"weld": 1}]}"#),
            Ok(vec![1, 0])
        );
        assert_eq!(from_text(r#"{"colour": "red"}"#), Err(OrderError::NoOrder));
    }

    #[test]
    fn every_weld_comes_once() {
        assert_eq!(check(&[1, 0, 2], 3), Ok(()));
        assert_eq!(check(&[1, 1, 2], 3), Err(OrderError::Twice(2)));
        assert_eq!(
            check(&[3], 3),
            Err(OrderError::NoSuchWeld { weld: 4, welds: 3 })
        );
        assert_eq!(check(&[1], 3), Err(OrderError::Missing(vec![1, 3])));
        assert_eq!(check_numbers(&[2, 1], 2), Ok(()));
        assert_eq!(check_numbers(&[2], 2), Err(OrderError::Missing(vec![1])));
        assert_eq!(check_numbers(&[1, 1], 2), Err(OrderError::Twice(1)));
        assert_eq!(
            check_numbers(&[0, 1], 2),
            Err(OrderError::NoSuchWeld { weld: 0, welds: 2 })
        );
    }
}
