//! The order of welding as a person writes it, and whether it is one.

use super::error::MovementError;
use crate::job::model::Job;

/// An order that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrderError {
    /// What was found.
    pub found: String,
}

impl std::fmt::Display for OrderError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "'{}' is no weld number; write an order as 3 1 2 or 3,1,2 or 5-8 (rising or falling), one line or many; \
             what follows a # is not read",
            self.found
        )
    }
}

impl std::error::Error for OrderError {}

/// Longest order that is read; no job has more welds.
const MOST: usize = 10_000;

/// Reads numbers and ranges (`5-8`, `8-5`) as indices of welds, with commas or blanks between; `#` begins a remark.
///
/// # Errors
/// [`OrderError`] with the first word that is no number, or that makes the order longer than any job.
pub fn parse(text: &str) -> Result<Vec<usize>, OrderError> {
    let mut order = Vec::new();
    let words = text
        .lines()
        .map(|line| line.split('#').next().unwrap_or_default())
        .flat_map(|line| line.split(|c: char| c == ',' || c.is_whitespace()))
        .filter(|word| !word.is_empty());
    for word in words {
        let wrong = || OrderError { found: word.into() };
        let (first, last) = word.split_once('-').unwrap_or((word, word));
        let index = |number: &str| match number.parse::<usize>() {
            Ok(number) if (1..=MOST).contains(&number) => Ok(number - 1),
            _ => Err(wrong()),
        };
        let (first, last) = (index(first)?, index(last)?);
        if first <= last {
            order.extend(first..=last);
        } else {
            order.extend((last..=first).rev());
        }
        if order.len() > MOST {
            return Err(wrong());
        }
    }
    Ok(order)
}

/// Checks that an order has every weld of the job once.
///
/// # Errors
/// [`MovementError`] with the first weld that is unknown, there twice or missing.
pub fn check_order(job: &Job, order: &[usize]) -> Result<(), MovementError> {
    let mut there = vec![false; job.welds.len()];
    for &weld in order {
        match there.get_mut(weld) {
            None => {
                return Err(MovementError::NoSuchWeld {
                    weld: weld + 1,
                    welds: job.welds.len(),
                });
            }
            Some(true) => return Err(MovementError::TwiceInOrder(job.welds[weld].number)),
            Some(there) => *there = true,
        }
    }
    match there.iter().position(|there| !there) {
        Some(weld) => Err(MovementError::NotInOrder(job.welds[weld].number)),
        None => Ok(()),
    }
}

/// Welds that the order lays before one that the job wants done first: numbers of (weld, what it should wait for).
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
