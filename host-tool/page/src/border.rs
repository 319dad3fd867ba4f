//! The border between script and engine: memory handed over, one call.

use crate::{answer, memory};

/// Memory for so many bytes.
#[unsafe(no_mangle)]
pub extern "C" fn reserve(length: usize) -> *mut u8 {
    Box::leak(vec![0; length].into_boxed_slice()).as_mut_ptr()
}

/// Frees an answer.
///
/// # Safety
/// `start` and `length` are those of [`reserve`] or of an answer, and were not released before.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn release(start: *mut u8, length: usize) {
    // SAFETY: the caller hands back a whole boxed slice of this module.
    drop(unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(start, length)) });
}

/// Answers a request: JSON in, JSON out. The answer's address is in the upper 32 bits, its length in the lower.
///
/// # Safety
/// `start` and `length` are those of [`reserve`]; the memory is this module's again after the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn call(start: *mut u8, length: usize) -> u64 {
    // SAFETY: the caller hands back what `reserve` gave.
    let request = unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(start, length)) };
    given_out(answer::to(&request).into_bytes())
}

/// Keeps a file that the user opened, under its name, until another of that name is opened.
///
/// # Safety
/// Both pairs are those of [`reserve`]; the memory is this module's again after the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn put(name: *mut u8, name_length: usize, start: *mut u8, length: usize) {
    // SAFETY: the caller hands back what `reserve` gave.
    let [name, bytes] = [(name, name_length), (start, length)].map(|(start, length)| unsafe {
        Box::from_raw(std::ptr::slice_from_raw_parts_mut(start, length))
    });
    memory::put(&String::from_utf8_lossy(&name), bytes.into_vec());
}

/// The bytes of a kept file, as [`call`] gives an answer; empty if there is none.
///
/// # Safety
/// As [`call`].
#[unsafe(no_mangle)]
pub unsafe extern "C" fn get(start: *mut u8, length: usize) -> u64 {
    // SAFETY: the caller hands back what `reserve` gave.
    let name = unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(start, length)) };
    given_out(memory::get(&String::from_utf8_lossy(&name)).unwrap_or_default())
}

fn given_out(bytes: Vec<u8>) -> u64 {
    let bytes = Box::leak(bytes.into_boxed_slice());
    ((bytes.as_ptr() as u64) << 32) | bytes.len() as u64
}
