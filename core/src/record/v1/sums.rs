//! Beads and windows.

use crate::bead::{Bead, Window};
use crate::samples::{Sums, WindowSums};
use serde::{Deserialize, Serialize};

#[derive(Serialize, Deserialize)]
pub(super) struct BeadV1 {
    number: u32,
    start: u64,
    arc_samples: u64,
    n: u64,
    v: i128,
    i: i128,
    vv: i128,
    ii: i128,
    vi: i128,
    restarts: u16,
    clipped_voltage: u32,
    clipped_current: u32,
    dropped: u32,
}

#[derive(Serialize, Deserialize)]
pub(super) struct WindowV1 {
    start: u64,
    arc_on: bool,
    n: u16,
    v: i64,
    i: i64,
    vv: i64,
    ii: i64,
    vi: i64,
    v_min: i32,
    v_max: i32,
    i_min: i32,
    i_max: i32,
    clipped_voltage: u16,
    clipped_current: u16,
    dropped: u32,
}

impl From<&Bead> for BeadV1 {
    fn from(bead: &Bead) -> Self {
        let Sums {
            n,
            v,
            i,
            vv,
            ii,
            vi,
        } = bead.sums;
        Self {
            number: bead.number,
            start: bead.start,
            arc_samples: bead.arc_samples,
            n,
            v,
            i,
            vv,
            ii,
            vi,
            restarts: bead.restarts,
            clipped_voltage: bead.clipped_voltage,
            clipped_current: bead.clipped_current,
            dropped: bead.dropped,
        }
    }
}

impl From<BeadV1> for Bead {
    fn from(wire: BeadV1) -> Self {
        Self {
            number: wire.number,
            start: wire.start,
            arc_samples: wire.arc_samples,
            sums: Sums {
                n: wire.n,
                v: wire.v,
                i: wire.i,
                vv: wire.vv,
                ii: wire.ii,
                vi: wire.vi,
            },
            restarts: wire.restarts,
            clipped_voltage: wire.clipped_voltage,
            clipped_current: wire.clipped_current,
            dropped: wire.dropped,
        }
    }
}

impl From<&Window> for WindowV1 {
    fn from(window: &Window) -> Self {
        let WindowSums {
            n,
            v,
            i,
            vv,
            ii,
            vi,
            v_min,
            v_max,
            i_min,
            i_max,
        } = window.sums;
        // A window without measured samples has no least and greatest count; the wire has 0.
        let bound = |count: i32| if n == 0 { 0 } else { count };
        Self {
            start: window.start,
            arc_on: window.arc_on,
            n,
            v,
            i,
            vv,
            ii,
            vi,
            v_min: bound(v_min),
            v_max: bound(v_max),
            i_min: bound(i_min),
            i_max: bound(i_max),
            clipped_voltage: window.clipped_voltage,
            clipped_current: window.clipped_current,
            dropped: window.dropped,
        }
    }
}

impl From<WindowV1> for Window {
    fn from(wire: WindowV1) -> Self {
        let bounds = if wire.n == 0 {
            WindowSums::EMPTY
        } else {
            WindowSums {
                v_min: wire.v_min,
                v_max: wire.v_max,
                i_min: wire.i_min,
                i_max: wire.i_max,
                ..WindowSums::EMPTY
            }
        };
        Self {
            start: wire.start,
            arc_on: wire.arc_on,
            sums: WindowSums {
                n: wire.n,
                v: wire.v,
                i: wire.i,
                vv: wire.vv,
                ii: wire.ii,
                vi: wire.vi,
                ..bounds
            },
            clipped_voltage: wire.clipped_voltage,
            clipped_current: wire.clipped_current,
            dropped: wire.dropped,
        }
    }
}
