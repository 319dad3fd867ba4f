//! The logger, from sample pairs to records, over small hardware traits.
#![cfg_attr(not(feature = "sim"), no_std)]
#![forbid(unsafe_code)]
