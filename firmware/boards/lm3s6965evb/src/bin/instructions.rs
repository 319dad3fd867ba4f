//! Counts the instructions of a sample pair on a Cortex-M3.
#![no_std]
#![no_main]

use coldsquare_emulated::exit;
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_lm3s6965evb::ticks::Ticks;
use coldsquare_lm3s6965evb::uart::Uart;
use coldsquare_measure::measure;
use core::fmt::Write;
use cortex_m::singleton;
use cortex_m_rt::entry;

coldsquare_emulated::ends_on_panic!();

#[entry]
fn main() -> ! {
    let plan = singleton!(: NextWeld = NextWeld::new());
    let Some((plan, peripherals)) = plan.zip(cortex_m::Peripherals::take()) else {
        exit(false)
    };
    let ticks = Ticks::start(peripherals.SYST);
    let printed = match measure(plan, |work| ticks.instructions(work)) {
        Some(figures) => write!(Uart::new(2), "{figures}"),
        None => exit(false),
    };
    exit(printed.is_ok())
}
