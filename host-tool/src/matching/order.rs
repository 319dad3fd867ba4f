//! The order that was planned.

use super::MatchError;

/// Checks an order against the number of welds: each weld from 1 to `welds` exactly once.
///
/// # Errors
/// [`MatchError`] naming the weld that is not there, is there twice, or is left out.
pub fn planned_order(order: &[u32], welds: usize) -> Result<Vec<u16>, MatchError> {
    let mut seen = vec![false; welds];
    let mut checked = Vec::with_capacity(welds);
    for &weld in order {
        let slot = usize::try_from(weld)
            .ok()
            .and_then(|weld| weld.checked_sub(1))
            .and_then(|index| seen.get_mut(index));
        let (Some(slot), Ok(number)) = (slot, u16::try_from(weld)) else {
            return Err(MatchError::NoSuchWeld { weld, welds });
        };
        if std::mem::replace(slot, true) {
            return Err(MatchError::WeldTwice { weld: number });
        }
        checked.push(number);
    }
    let missing: Vec<u16> = (1..)
        .zip(&seen)
        .filter(|(_, seen)| !**seen)
        .map(|(k, _)| k)
        .collect();
    if missing.is_empty() {
        Ok(checked)
    } else {
        Err(MatchError::OrderIncomplete { missing })
    }
}
