//! Calibration files.

use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_engine::failure::Failure;
use serde::Deserialize;
use std::path::Path;

/// A file to start from.
pub const EXAMPLE: &str = include_str!("calibration.toml");

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    calibrated: String,
    sample_rate: f64,
    sample_rate_uncertainty_percent: f64,
    voltage: WrittenChannel,
    current: WrittenChannel,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenChannel {
    per_count: f64,
    zero_count: f64,
    gain_uncertainty_percent: f64,
    zero_uncertainty: f64,
    lowest_count: i32,
    highest_count: i32,
}

/// Reads a calibration and its date, in seconds since 1970.
///
/// # Errors
/// [`Failure`] with line and column of what is wrong.
pub fn read(path: &Path) -> Result<(Calibration, u64), Failure> {
    let text = std::fs::read_to_string(path).map_err(Failure::file(path, "read"))?;
    from_text(&text).map_err(|why| Failure::Input(format!("{}: {why}", path.display())))
}

/// A calibration as a file for [`read`], with a one-line comment on its origin.
#[must_use]
pub fn text(calibration: &Calibration, date: &str, remark: &str) -> String {
    let channel = |channel: &Channel| {
        format!(
            "per_count = {:e}\nzero_count = {:?}\ngain_uncertainty_percent = {:?}\nzero_uncertainty = {:?}\n\
             lowest_count = {}\nhighest_count = {}\n",
            channel.gain_per_count,
            f64::from(channel.zero_in_256ths) / 256.0,
            200.0 * channel.gain_relative_uncertainty,
            2.0 * channel.zero_uncertainty,
            channel.lowest_count,
            channel.highest_count
        )
    };
    format!(
        "# Calibration of a logger. value = per_count * (count - zero_count)\n\
         # Uncertainties are expanded ones (k = 2), as on a certificate. Volts and amperes.\n\
         # {remark}\n\
         calibrated = \"{date}\"\nsample_rate = {:?}\nsample_rate_uncertainty_percent = {:?}\n\n\
         [voltage]\n{}\n[current]\n{}",
        calibration.sample_rate_hz,
        200.0 * calibration.rate_relative_uncertainty,
        channel(&calibration.voltage),
        channel(&calibration.current)
    )
}

fn from_text(text: &str) -> Result<(Calibration, u64), String> {
    let written: Written = toml::from_str(text).map_err(|error| error.to_string())?;
    let date: jiff::civil::Date = written.calibrated.parse().map_err(|_| {
        format!(
            "calibrated = \"{}\": write a date such as 2026-11-25",
            written.calibrated
        )
    })?;
    let midnight: jiff::Timestamp = format!("{date}T00:00:00Z")
        .parse()
        .map_err(|_| "calibrated: this date is out of range".to_owned())?;
    let at = midnight.as_second();
    let calibration = Calibration {
        voltage: channel(&written.voltage, "voltage")?,
        current: channel(&written.current, "current")?,
        sample_rate_hz: positive(written.sample_rate, "sample_rate")?,
        rate_relative_uncertainty: standard(
            written.sample_rate_uncertainty_percent / 100.0,
            "sample_rate_uncertainty_percent",
        )?,
    };
    Ok((calibration, u64::try_from(at).unwrap_or(0)))
}

fn channel(written: &WrittenChannel, name: &str) -> Result<Channel, String> {
    if !written.per_count.is_normal() {
        return Err(format!("{name}: per_count must be a number other than 0"));
    }
    if written.zero_count.is_nan() || written.zero_count.abs() > 8_388_607.0 {
        return Err(format!(
            "{name}: zero_count is outside the range of a 24-bit converter"
        ));
    }
    if written.lowest_count >= written.highest_count {
        return Err(format!("{name}: lowest_count must be below highest_count"));
    }
    Ok(Channel {
        gain_per_count: written.per_count,
        zero_in_256ths: (written.zero_count * 256.0).round() as i32,
        gain_relative_uncertainty: standard(
            written.gain_uncertainty_percent / 100.0,
            &format!("{name}: gain_uncertainty_percent"),
        )?,
        zero_uncertainty: standard(
            written.zero_uncertainty,
            &format!("{name}: zero_uncertainty"),
        )?,
        lowest_count: written.lowest_count,
        highest_count: written.highest_count,
    })
}

fn positive(value: f64, name: &str) -> Result<f64, String> {
    if value > 0.0 && value <= 1e9 {
        Ok(value)
    } else {
        Err(format!("{name} must be greater than 0"))
    }
}

/// A standard uncertainty from an expanded one (k = 2), as certificates and calibration sheets give it.
fn standard(expanded: f64, name: &str) -> Result<f64, String> {
    if (0.0..1e6).contains(&expanded) {
        Ok(expanded / 2.0)
    } else {
        Err(format!("{name} must be 0 or more"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back() {
        let (mut calibration, at) = from_text(EXAMPLE).expect("sound");
        calibration.current.gain_per_count *= -1.031_234_567_89;
        let written = text(&calibration, "2026-05-28", "Found so.");
        let (back, again) = from_text(&written).expect("sound");
        assert_eq!(again, at);
        assert_eq!(
            back.current.gain_per_count,
            calibration.current.gain_per_count
        );
        assert_eq!(
            back.voltage.zero_in_256ths,
            calibration.voltage.zero_in_256ths
        );
        let uncertainty = |calibration: &Calibration| calibration.current.gain_relative_uncertainty;
        assert!((uncertainty(&back) - uncertainty(&calibration)).abs() < 1e-15);
    }

    #[test]
    fn the_example_is_a_calibration_and_errors_name_their_line() {
        let (calibration, unix_s) = from_text(EXAMPLE).expect("sound");
        assert_eq!(unix_s, 1_779_926_400);
        assert!((calibration.current.gain_relative_uncertainty - 0.005).abs() < 1e-12);
        assert_eq!(calibration.voltage.zero_in_256ths, -832);
        let wrong = EXAMPLE.replace("zero_count", "zero_counts");
        let why = from_text(&wrong).expect_err("unknown key");
        assert!(
            why.contains("line ") && why.contains("zero_counts"),
            "{why}"
        );
        let wrong = EXAMPLE.replace("2026-05-28", "last week");
        assert!(
            from_text(&wrong)
                .expect_err("no date")
                .contains("write a date")
        );
    }

    /// Uncertainties are expanded ones (k = 2), in per cent where the key says so.
    #[test]
    fn each_value_is_read_in_its_unit() {
        let (calibration, _) = from_text(EXAMPLE).expect("sound");
        assert_eq!(calibration.sample_rate_hz, 10_000.0);
        assert!((calibration.rate_relative_uncertainty - 0.000_05).abs() < 1e-15);
        assert!((calibration.voltage.gain_relative_uncertainty - 0.0025).abs() < 1e-15);
        assert!((calibration.voltage.zero_uncertainty - 0.025).abs() < 1e-15);
        assert_eq!(calibration.current.lowest_count, -8_000_000);
    }

    #[test]
    fn what_no_logger_can_have_is_refused_by_its_name() {
        let refused = [
            ("sample_rate = 10000.0", "sample_rate = 0", "sample_rate"),
            (
                "sample_rate = 10000.0",
                "sample_rate = 1.1e9",
                "sample_rate",
            ),
            ("sample_rate = 10000.0", "sample_rate = -5", "sample_rate"),
            (
                "per_count = 0.0000244140625",
                "per_count = 0.0",
                "per_count",
            ),
            ("zero_count = -3.25", "zero_count = nan", "zero_count"),
            ("zero_count = -3.25", "zero_count = 8388608.0", "zero_count"),
            (
                "zero_uncertainty = 0.05",
                "zero_uncertainty = -0.1",
                "zero_uncertainty",
            ),
            (
                "highest_count = 8000000",
                "highest_count = -8000000",
                "lowest_count",
            ),
        ];
        for (from, to, named) in refused {
            let why = from_text(&EXAMPLE.replacen(from, to, 1)).expect_err(to);
            assert!(why.contains(named), "{to}: {why}");
        }
        for (from, to) in [
            ("zero_count = -3.25", "zero_count = -8388607.0"),
            ("sample_rate = 10000.0", "sample_rate = 1e9"),
            ("zero_uncertainty = 0.05", "zero_uncertainty = 0.0"),
        ] {
            assert!(from_text(&EXAMPLE.replacen(from, to, 1)).is_ok(), "{to}");
        }
    }
}
