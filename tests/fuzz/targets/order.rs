//! An order comes as a list or as the JSON of a plan: any text is an order or is refused, and what is checked names each
//! weld once.
#![no_main]

use coldsquare_engine::order::{check, from_text};

libfuzzer_sys::fuzz_target!(|text: &str| {
    match from_text(text) {
        Ok(order) => {
            for welds in [1, 7, order.len()] {
                match check(&order, welds) {
                    Ok(()) => {
                        let mut sorted = order.clone();
                        sorted.sort_unstable();
                        assert!(sorted.iter().copied().eq(0..welds));
                    }
                    Err(error) => assert!(!error.to_string().is_empty()),
                }
            }
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
