//! The logger on an RP2350 board. One core takes readings, the other does everything else:
//!
//! ```text
//! core 1: converter --SPI, data ready--> queue         core 0: queue -> logger -> card, USB, light <- buttons
//! ```
#![no_std]
#![no_main]

mod card;
mod clock;
mod hardware;
mod key;
mod panel;
mod restart;
mod sampling;
mod usb;

use clock::SetClock;
use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::process::Process;
use coldsquare_firmware::front_end::Reading;
use coldsquare_firmware::logger::{Logger, Parts, Progress, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Shown, TwoButtons};
use coldsquare_firmware::queue::Queued;
use core::fmt::Write;
use core::panic::PanicInfo;
use cortex_m::singleton;
use hardware::Hardware;
use heapless::String;
use heapless::spsc::Queue;
use panel::CasePanel;
use rp235x_hal as hal;
use rp235x_hal::block::ImageDef;
use rp235x_hal::fugit::ExtU32;
use sampling::{Sampling, WAITING};
use usb::Usb;

#[cfg(feature = "defmt")]
use defmt_rtt as _;

/// Tells the boot ROM what this program is.
// SAFETY: the linker script keeps this section for nothing else.
#[unsafe(link_section = ".start_block")]
#[used]
static IMAGE: ImageDef = ImageDef::secure_exe();

/// Nothing here panics on purpose. If it does, the watchdog is no longer fed and restarts the board, and the log then says
/// where it was.
#[panic_handler]
fn panic(info: &PanicInfo<'_>) -> ! {
    restart::remember(info);
    stop()
}

fn stop() -> ! {
    loop {
        cortex_m::asm::nop();
    }
}

#[hal::entry]
fn main() -> ! {
    let _ = run();
    stop()
}

fn run() -> Option<core::convert::Infallible> {
    let restarted = restart::reason();
    let mut hardware = Hardware::take()?;
    let micros = hardware.micros;
    hardware.watchdog.start(restart::WATCHDOG_US.micros());

    let queue = singleton!(: Queue<Reading, WAITING> = Queue::new())?;
    let (readings, taken) = queue.split();
    let (bus, data_ready) = hardware.converter;
    let sampling = Sampling {
        bus,
        data_ready,
        micros,
        readings,
    };
    hardware.second.start(move || sampling.run())?;

    let store = card::slot(hardware.card, micros, hardware.peripherals_hz);
    restart::started();
    hardware.watchdog.feed();
    let serial = singleton!(: String<24> = serial())?;
    let mut setup = setup(serial.clone())?;
    setup.resume = store.resume();
    if let Some(header) = store.last_header() {
        setup.restore(header);
    }
    let parts = Parts {
        front_end: Queued(taken),
        store,
        link: Usb::new(hardware.usb, serial)?,
        clock: SetClock::new(micros),
        panel: CasePanel {
            buttons: hardware.buttons,
            lights: hardware.lights,
            micros,
            shown: Shown::default(),
            presses: TwoButtons::default(),
        },
        plan: singleton!(: NextWeld = NextWeld::new())?,
    };
    let mut logger = match key::secret() {
        Some(secret) => Logger::start_sealed(parts, setup, secret, &key::chance()),
        None => Logger::start(parts, setup),
    }
    .ok()?;
    if let Some(why) = &restarted {
        logger.restarted(why);
    }
    loop {
        // A silent converter still reports losses; only a stopped core gives nothing.
        if logger.poll() == Progress::Took {
            hardware.watchdog.feed();
        }
    }
}

/// Name of this logger and its USB serial number: those of the chip.
fn serial() -> String<24> {
    let mut serial = String::new();
    let chip = hal::rom_data::sys_info_api::chip_info().ok().flatten();
    // 19 characters at most.
    let _ = match chip {
        Some(chip) => write!(serial, "cs-{:08x}{:08x}", chip.wafer_id, chip.device_id),
        None => write!(serial, "cs"),
    };
    serial
}

/// The setup of a logger without a journal. Arc settings are those of MIG and MAG.
fn setup(device: String<24>) -> Option<Setup> {
    let calibration = sampling::calibration();
    let arc = ArcConfig::new(&ArcSettings::for_process(Process::MagSolid), &calibration).ok()?;
    Some(Setup {
        device,
        board: "pico2",
        title: String::new(),
        process: None,
        calibration,
        calibrated_unix_s: 0,
        arc: arc.counts(),
        order: heapless::Vec::new(),
        resume: Resume::default(),
    })
}
