//! The engine as WebAssembly: a job as text in, the predicted movement as JSON out.
//!
//! Text crosses the border as bytes in the module's memory. The host calls [`reserve`], writes the text there, and calls
//! [`predict`], which takes the bytes over and returns where the answer is: its address in the upper 32 bits, its
//! length in the lower. [`release`] frees an answer.

use coldsquare_engine::job;
use coldsquare_engine::movement::model::MovementModel;
use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};

/// Memory for a text of this many bytes.
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

/// Predicts how the frame of a job moves, welded in file order with planned heat.
///
/// # Safety
/// `start` and `length` are those of [`reserve`]; the memory is this module's again after the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn predict(start: *mut u8, length: usize) -> u64 {
    // SAFETY: the caller hands back what `reserve` gave.
    let text = unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(start, length)) };
    let answer = predicted(&String::from_utf8_lossy(&text)).into_bytes();
    let answer = Box::leak(answer.into_boxed_slice());
    (answer.as_ptr() as u64) << 32 | answer.len() as u64
}

/// One line a measure: its name and its predicted change in mm with clamps off; or the error.
fn predicted(text: &str) -> String {
    let job = match job::from_text("job.toml", text) {
        Ok(job) => job,
        Err(errors) => return errors.to_string(),
    };
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let prediction = MovementModel::new(&job)
        .and_then(|engine| predict_for(&job, &engine, &order, &planned_net_heat(&job)));
    match prediction {
        Ok(prediction) => {
            let measures = prediction.measures.iter();
            let lines = measures.map(|one| format!("{}\t{:?}\n", one.name, one.released_mm.value));
            lines.collect()
        }
        Err(error) => error.to_string(),
    }
}
