//! Helpers shared by the tests.

pub mod command;
pub mod hex;

/// Panics unless both numbers are finite and agree within `absolute + relative · |expected|`, on either side.
#[track_caller]
pub fn assert_close(actual: f64, expected: f64, absolute: f64, relative: f64) {
    let tolerance = absolute + relative * expected.abs();
    assert!(
        actual.is_finite() && expected.is_finite() && tolerance.is_finite(),
        "not a number: {actual} against {expected} ± {tolerance}"
    );
    assert!(
        (actual - expected).abs() <= tolerance,
        "{actual} is not {expected} ± {tolerance}"
    );
}

/// Panics unless the number, rounded, is the one that was printed: within half a unit of the last printed digit.
///
/// Takes the published figure as text, so that `"11.10"` asks for more than `"11.1"`.
#[track_caller]
pub fn assert_printed(actual: f64, printed: &str) {
    let expected: f64 = printed.parse().expect("a published figure is a number");
    let decimals = printed.split_once('.').map_or(0, |(_, tail)| tail.len());
    let half_unit = 0.5 * 10f64.powi(-i32::try_from(decimals).expect("few digits"));
    assert_close(actual, expected, half_unit, 4.0 * f64::EPSILON);
}

/// The environment variable that lets golden files be written: set it to 1, look at the difference, commit it.
pub const BLESS: &str = "COLDSQUARE_BLESS";

/// Whether golden files are to be written in this run instead of compared.
#[must_use]
pub fn blessing() -> bool {
    std::env::var_os(BLESS).is_some_and(|value| value == "1")
}

/// Panics unless a page of the repository holds this text between `<!-- begin: NAME -->` and `<!-- end: NAME -->`.
/// With [`BLESS`] set to 1 it writes the text there instead. Missing page or marks are a failure either way.
#[track_caller]
pub fn assert_blessed_section(page: &str, name: &str, text: &str) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("..")
        .join(page);
    let whole = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{page}: {error}"));
    let (begin, end) = (
        format!("<!-- begin: {name} -->\n"),
        format!("<!-- end: {name} -->\n"),
    );
    let (head, rest) = whole
        .split_once(&begin)
        .unwrap_or_else(|| panic!("{page} has no mark {begin}"));
    let (found, tail) = rest
        .split_once(&end)
        .unwrap_or_else(|| panic!("{page} has no mark {end}"));
    if blessing() {
        let blessed = format!("{head}{begin}{text}{end}{tail}");
        std::fs::write(&path, blessed).unwrap_or_else(|error| panic!("{page}: {error}"));
    } else {
        assert_eq!(
            found, text,
            "{page}, {name}: not what the code gives; look, and bless with {BLESS}=1"
        );
    }
}

/// Panics unless `tests/golden/NAME` holds this text. With [`BLESS`] set to 1 it writes the text there instead. A
/// missing file is a failure.
#[track_caller]
pub fn assert_golden(name: &str, text: &str) {
    let path = golden(name);
    if blessing() {
        std::fs::write(&path, text).unwrap_or_else(|error| panic!("{name}: {error}"));
        return;
    }
    let golden = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{name}: {error}"));
    let first = golden
        .lines()
        .zip(text.lines())
        .find(|(golden, text)| golden != text);
    assert!(
        golden == text,
        "{name}: not what the code gives; look, and bless with {BLESS}=1\nfirst difference: {first:#?}"
    );
}

/// The path of a file under `tests/golden/`.
#[must_use]
pub fn golden(name: &str) -> std::path::PathBuf {
    std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("golden")
        .join(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refuses(check: impl FnOnce() + std::panic::UnwindSafe) -> bool {
        std::panic::catch_unwind(check).is_err()
    }

    #[test]
    fn closeness_binds_both_sides_and_refuses_what_is_no_number() {
        assert_close(1.001, 1.0, 0.0, 0.001_1);
        assert!(refuses(|| assert_close(0.99, 1.0, 0.0, 0.001)));
        assert!(refuses(|| assert_close(1.01, 1.0, 0.0, 0.001)));
        assert!(refuses(|| assert_close(f64::NAN, 1.0, 1.0, 1.0)));
        assert!(refuses(|| assert_close(1.0, f64::NAN, 1.0, 1.0)));
        assert!(refuses(|| assert_close(
            f64::INFINITY,
            f64::INFINITY,
            1.0,
            1.0
        )));
        assert!(refuses(|| assert_close(1.0, 2.0, f64::INFINITY, 0.0)));
    }

    #[test]
    fn a_printed_figure_binds_to_its_last_digit() {
        assert_printed(11.108, "11.1");
        assert!(refuses(|| assert_printed(11.108, "11.10")));
        assert!(refuses(|| assert_printed(10.9, "11.1")));
        assert_printed(2160.4, "2160");
    }
}
