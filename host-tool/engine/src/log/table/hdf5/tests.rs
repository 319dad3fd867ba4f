//! Which arrays of an HDF5 file are read, which way round, and with which unit.

use super::*;
use hdf5_pure::{AttrValue, FileBuilder};

/// The arrays of a file with one dataset `u` of this shape, with the numbers from 1 and these attributes.
fn of(shape: &[u64], attributes: &[(&str, AttrValue)]) -> Vec<Array> {
    let count = shape.iter().product::<u64>();
    let values: Vec<f64> = (1..=count).map(|k| k as f64).collect();
    let mut file = FileBuilder::new();
    let dataset = file.create_dataset("u");
    dataset.with_f64_data(&values).with_shape(shape);
    for (name, value) in attributes {
        dataset.set_attr(name, value.clone());
    }
    read(file.finish().expect("a file")).expect("arrays")
}

fn only(mut arrays: Vec<Array>) -> Array {
    assert_eq!(arrays.len(), 1);
    arrays.remove(0)
}

#[test]
fn a_list_is_a_column_a_number_is_one_and_a_cube_is_left_out() {
    let list = only(of(&[3], &[]));
    assert_eq!((list.shape, list.values), ((3, 1), vec![1.0, 2.0, 3.0]));
    let number = only(of(&[], &[]));
    assert_eq!((number.shape, number.values), ((1, 1), vec![1.0]));
    assert!(of(&[2, 2, 2], &[]).is_empty());
}

#[test]
fn a_table_is_read_row_by_row_and_that_of_matlab_column_by_column() {
    let numbers = || [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    let table = only(of(&[2, 3], &[]));
    assert_eq!((table.shape, table.values), ((2, 3), numbers().to_vec()));
    let matlab = ("MATLAB_class", AttrValue::AsciiString("double".into()));
    let table = only(of(&[3, 2], &[matlab]));
    // Its columns are 1 and 2, 3 and 4, 5 and 6.
    assert_eq!(table.shape, (2, 3));
    assert_eq!(table.values, [1.0, 3.0, 5.0, 2.0, 4.0, 6.0]);
}

/// A text has a fixed width or none, and is in ASCII or UTF-8; programs write all four.
#[test]
fn the_unit_of_a_column_is_told_in_its_name_however_its_text_is_stored() {
    let text = || "kA".to_owned();
    let padded = |width| AttrValue::string_sized(text(), width).expect("room");
    for value in [
        AttrValue::String(text()),
        AttrValue::AsciiString(text()),
        AttrValue::VarLenString(text()),
        AttrValue::VarLenAsciiString(text()),
        padded(8),
    ] {
        for key in ["unit", "units"] {
            let array = only(of(&[3], &[(key, value.clone())]));
            assert_eq!(array.name, "u [kA]", "{value:?}");
        }
    }
    assert_eq!(only(of(&[3], &[("unit", AttrValue::I64(3))])).name, "u");
}

#[test]
fn a_group_is_named_before_what_is_in_it_and_the_ninth_in_one_another_is_not_opened() {
    let names = |depth: usize| -> Vec<String> {
        let mut file = FileBuilder::new();
        let mut inner = file.create_group(&format!("g{depth}"));
        inner.create_dataset("u").with_f64_data(&[1.0]);
        let mut group = inner.finish();
        for level in (1..depth).rev() {
            let mut outer = file.create_group(&format!("g{level}"));
            outer.add_group(group);
            group = outer.finish();
        }
        file.add_group(group);
        let arrays = read(file.finish().expect("a file")).expect("arrays");
        arrays.into_iter().map(|array| array.name).collect()
    };
    assert_eq!(names(2), ["g1 g2 u"]);
    assert_eq!(names(MAX_DEPTH).len(), 1);
    assert!(names(MAX_DEPTH + 1).is_empty());
}
