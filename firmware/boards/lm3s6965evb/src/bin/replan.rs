//! Counts the instructions of replanning on the logger with 64 welds: a slice, the longest slice, and all of it.
#![no_std]
#![no_main]

use coldsquare_core::link::{PlanHeader, PlannedWeld, checksum_of_plan};
use coldsquare_core::sequence::Side;
use coldsquare_core::units::{Celsius, Joules, Millimetres};
use coldsquare_emulated::{exit, stack};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_lm3s6965evb::ticks::Ticks;
use coldsquare_lm3s6965evb::uart::Uart;
use core::fmt::Write;
use cortex_m_rt::entry;

coldsquare_emulated::ends_on_panic!();

const WELDS: u8 = 64;

/// Welds all over a frame, front and back, some that must follow others, all with an interpass limit.
fn weld(index: u8) -> PlannedWeld {
    let mixed = |k: i32| ((i32::from(index) * 7919 + k * 104_729) % 2001 - 1000) * 1000;
    PlannedWeld {
        index,
        number: u16::from(index) + 1,
        joint: index / 8,
        side: if index < 32 { Side::Front } else { Side::Back },
        before: if index % 4 == 3 { 1 << (index - 1) } else { 0 },
        at_mm: [mixed(1) / 1000, mixed(2) / 1000, 0],
        moment: core::array::from_fn(|k| mixed(k as i32)),
        energy: Joules(10_000.0),
        efficiency: 0.8,
        length: Millimetres(40.0),
        interpass: Some(Celsius(150.0)),
        wall: Millimetres(2.0),
        girth: Millimetres(160.0),
        walls: 3,
    }
}

fn plan(plan: &mut NextWeld) -> bool {
    let header = PlanHeader {
        title: heapless::String::new(),
        welds: WELDS,
        max_flips: 3,
        before: [0; 7],
        start: Celsius(20.0),
    };
    if plan.begin(&header).is_err() {
        return false;
    }
    let mut checksum = 0;
    for index in 0..WELDS {
        let weld = weld(index);
        if plan.add(&weld).is_err() {
            return false;
        }
        checksum = checksum_of_plan(checksum, &weld);
    }
    plan.end(checksum).is_ok()
}

#[entry]
fn main() -> ! {
    stack::paint();
    let Some(peripherals) = cortex_m::Peripherals::take() else {
        exit(false)
    };
    let ticks = Ticks::start(peripherals.SYST);
    let mut next = NextWeld::new();
    if !plan(&mut next) {
        exit(false);
    }
    next.complete(0.0, 0.0);
    // Twice the heat starts a replan of all welds left, then the calculation of the cooling time.
    let begin = ticks.instructions(|| next.complete(20_000.0, 10.0));
    let (mut whole, mut longest, mut slices) = (0, 0, 0);
    loop {
        let mut more = false;
        let took = ticks.instructions(|| more = next.slice(12.0));
        whole += took;
        longest = longest.max(took);
        slices += 1;
        if !more {
            break;
        }
    }
    let printed = writeln!(
        Uart::new(2),
        "replan_begin {begin}\nreplan_slices {slices}\nreplan_longest_slice {longest}\nreplan_whole {whole}\n\
         plan_bytes {}\nreplan_stack_bytes {}",
        size_of::<NextWeld>(),
        stack::deepest()
    );
    exit(printed.is_ok())
}
