//! A zero of the clamp that drifts while the recording goes on: found beside each bead, from the time without an arc.

use super::describe::AMPS_PER_COUNT;
use super::instrument::{LEAST_ZERO_A, is_dark};
use crate::log::instrument::Drift;
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::meter::{Stretch, measure};
use coldsquare_core::record::Header;
use coldsquare_core::uncertainty::rectangular;

/// Samples without an arc from which a zero is known, and the time that they take at least, s: whole periods of the mains.
const MIN_SAMPLES: u64 = 30;
const MIN_TIME_S: f64 = 0.3;
/// Windows that are looked at on each side: those of a minute or so.
const MAX_WINDOWS: usize = 600;
/// A zero this many standard uncertainties away is none.
const CLEAR: f64 = 4.0;

/// The zero of the current beside each bead where it is clearly not nought, with its uncertainty.
pub(super) fn drifts(windows: &[Window], beads: &[Bead], header: &Header) -> Vec<Drift> {
    let mut found = Vec::new();
    for bead in beads {
        let until = bead.start + bead.span();
        let first = windows.partition_point(|window| window.start < bead.start);
        let after = windows.partition_point(|window| window.start < until);
        let before = quiet(windows[..first].iter().rev(), header);
        let later = quiet(windows[after..].iter(), header);
        let (zero_a, standard_a) = match (before, later) {
            (Some(a), Some(b)) => (
                (a.mean + b.mean) / 2.0,
                // It may have changed at any moment in between.
                rectangular((a.mean - b.mean) / 2.0)
                    .abs()
                    .hypot(a.standard.hypot(b.standard) / 2.0),
            ),
            (Some(one), None) | (None, Some(one)) => (
                one.mean,
                one.standard.hypot(rectangular(one.mean / 4.0).abs()),
            ),
            (None, None) => continue,
        };
        let noise = before.iter().chain(&later).map(|one| one.standard);
        let is_clear = zero_a.abs() > CLEAR * noise.fold(0.0, f64::max);
        if zero_a.abs() >= LEAST_ZERO_A && is_clear {
            found.push(Drift {
                bead: bead.start,
                zero_a,
                standard_a,
            });
        }
    }
    found
}

/// The header with the zeros that hold for each bead: one header a change.
pub(super) fn headers(first: Header, drifts: &[Drift], beads: &[Bead]) -> Vec<Header> {
    let rate = first.calibration.sample_rate_hz;
    let mut headers = vec![first.clone()];
    let mut now: Option<Drift> = None;
    for bead in beads {
        let wanted = drifts
            .iter()
            .find(|drift| drift.bead == bead.start)
            .copied();
        let same = |a: Drift, b: Drift| (a.zero_a, a.standard_a) == (b.zero_a, b.standard_a);
        if wanted.is_none() && now.is_none() || wanted.zip(now).is_some_and(|(a, b)| same(a, b)) {
            continue;
        }
        now = wanted;
        let mut header = Header {
            start: bead.start,
            ..first.clone()
        };
        if let Some(clock) = &mut header.clock {
            clock.unix_ms += (1000.0 * bead.start as f64 / rate) as u64;
        }
        if let Some(drift) = wanted {
            let current = &mut header.calibration.current;
            current.zero_in_256ths += (256.0 * drift.zero_a / AMPS_PER_COUNT).round() as i32;
            current.zero_uncertainty = current.zero_uncertainty.hypot(drift.standard_a);
        }
        headers.push(header);
    }
    headers
}

/// The mean current without an arc, and its standard uncertainty, A.
#[derive(Clone, Copy)]
struct Quiet {
    mean: f64,
    standard: f64,
}

fn quiet<'a>(windows: impl Iterator<Item = &'a Window>, header: &Header) -> Option<Quiet> {
    let rate = header.calibration.sample_rate_hz;
    let enough = MIN_SAMPLES.max((MIN_TIME_S * rate) as u64);
    let mut whole = Stretch::default();
    for window in windows
        .take(MAX_WINDOWS)
        .take_while(|window| !window.arc_on)
    {
        let dark = measure(&Stretch::from(window), &header.calibration)
            .is_ok_and(|measured| is_dark(measured.mean_voltage.0));
        if dark {
            whole.sums.add_window(&window.sums);
        }
        // The nearest say most: the zero may have changed before.
        if whole.sums.n >= enough {
            break;
        }
    }
    let measured = measure(&whole, &header.calibration).ok()?;
    let (mean, rms) = (measured.mean_current.0, measured.rms_current.0);
    // Neighbouring samples are not independent: no more than a hundred are counted.
    let scatter = (rms * rms - mean * mean).max(0.0).sqrt();
    (whole.sums.n >= MIN_SAMPLES).then(|| Quiet {
        mean,
        standard: scatter / (whole.sums.n as f64).min(100.0).sqrt(),
    })
}
