//! Which of the arrays of a file are its table, and what is said of a file without one.

use super::*;

fn array(name: &str, shape: (usize, usize)) -> Array {
    Array {
        name: name.into(),
        shape,
        values: (1..=shape.0 * shape.1).map(|k| k as f64).collect(),
    }
}

/// Rows and columns of the table.
fn size(arrays: Vec<Array>) -> Result<(usize, usize), String> {
    let table = of_arrays(arrays)?;
    Ok((table.columns[0].len(), table.columns.len()))
}

#[test]
fn a_long_row_is_a_column_lying_down_and_a_short_one_is_no_list() {
    assert_eq!(size(vec![array("u", (1, 65))]), Ok((65, 1)));
    for short in [(1, 64), (1, 3), (1, 1)] {
        let why = size(vec![array("u", short)]).expect_err("no list");
        assert_eq!(why, "it holds no list of numbers");
    }
}

#[test]
fn an_image_is_no_recording() {
    assert_eq!(size(vec![array("u", (100, 64))]), Ok((100, 64)));
    assert!(size(vec![array("u", (100, 65))]).is_err());
}

#[test]
fn an_array_whose_numbers_do_not_fill_its_shape_is_left_out() {
    let mut torn = array("u", (100, 2));
    torn.values.pop();
    assert!(size(vec![torn]).is_err());
}

/// Three channels of ten rows have more numbers than a list of twenty.
#[test]
fn the_table_has_the_length_that_most_numbers_have() {
    let channels = ["t", "u", "i"].map(|name| array(name, (10, 1)));
    let arrays = channels.into_iter().chain([array("notes", (20, 1))]);
    assert_eq!(size(arrays.collect()), Ok((10, 3)));
    assert_eq!(
        size(vec![array("u", (10, 1)), array("notes", (20, 1))]),
        Ok((20, 1))
    );
}

#[test]
fn the_rate_is_a_single_number_that_is_called_so() {
    let number = |name: &str, value| Array {
        name: name.into(),
        shape: (1, 1),
        values: vec![value],
    };
    let rate = |first: Array| {
        let arrays = vec![first, number("Sample_Rate", 2000.0), array("u", (10, 1))];
        of_arrays(arrays).expect("a table").rate_hz
    };
    assert_eq!(rate(number("gain", 7.0)), Some(2000.0));
    assert_eq!(rate(array("fs", (10, 1))), Some(2000.0));
    assert_eq!(rate(number("fs", 500.0)), Some(500.0));
}

/// A header of 44 bytes and no samples.
#[test]
fn a_file_without_numbers_is_called_by_its_kind() {
    let mut wave = Vec::new();
    wave.extend(b"RIFF\x24\0\0\0WAVEfmt \x10\0\0\0\x01\0\x02\0");
    wave.extend(b"\x40\x1f\0\0\0\x7d\0\0\x04\0\x10\0data\0\0\0\0");
    assert_eq!(kind(&wave), Some(Kind::Wav));
    let why = Kind::Wav.read(wave, None).expect_err("no samples");
    assert_eq!(why, "it is a WAV file without columns of numbers");
}

/// Films and bitmaps for other programs are in files of the same family.
#[test]
fn a_file_of_the_family_of_wav_files_that_holds_something_else_is_none() {
    assert_eq!(kind(b"RIFF\x24\0\0\0AVI LIST"), None);
    assert_eq!(kind(b"ABCD\x24\0\0\0WAVEfmt "), None);
}
