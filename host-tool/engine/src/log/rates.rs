//! Rates of recording that matter to more than one part of the reader.

/// With fewer rows a second than this, short circuits and pulses are missed. Instruments for controlled waveforms sample "on
/// the order of 10,000 times per second" (T. Melfi, Welding Journal, June 2010); the line at a tenth of that is ours.
pub(super) const SLOW_HZ: f64 = 1000.0;

/// See [`Recording::waveform_uncertainty`].
pub(super) const WAVEFORM_UNCERTAINTY: f64 = 0.3;
