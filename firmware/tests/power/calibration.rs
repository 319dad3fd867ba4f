//! A calibration that was sent holds after the power was gone, with its date and uncertainties, and what counts as an arc stays
//! the same current.

use coldsquare_core::arc::{ArcConfig, ArcCounts, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::journal::{CELL, Layout, open};
use coldsquare_core::link::{MAX_FRAME, Request, encode};
use coldsquare_core::process::Process;
use coldsquare_core::record::WallClock;
use coldsquare_core::samples::{MAX_COUNT, RawPair};
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::journal::{Journal, Medium};
use coldsquare_firmware::logger::{Logger, Parts, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::{MemoryCard, cable};
use coldsquare_firmware::store::Store;

/// No current flows.
struct Rest;

impl FrontEnd for Rest {
    fn next(&mut self) -> Reading {
        Reading::Pair(RawPair::new(0, 0))
    }
}

struct NoClock;

impl Clock for NoClock {
    fn now(&mut self) -> Option<WallClock> {
        None
    }
}

struct NoPanel;

impl Panel for NoPanel {
    fn input(&mut self) -> Option<Input> {
        None
    }

    fn show(&mut self, _: Shown) {}
}

fn calibration(amps_per_count: f64) -> Calibration {
    let channel = |gain_per_count, gain_relative_uncertainty| Channel {
        gain_per_count,
        zero_in_256ths: 512,
        gain_relative_uncertainty,
        zero_uncertainty: 0.3,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    };
    Calibration {
        voltage: channel(0.01, 0.002),
        current: channel(amps_per_count, 0.011),
        sample_rate_hz: 2000.0,
        rate_relative_uncertainty: 0.0,
    }
}

/// As the owner set it up: a bead goes on after a longer gap than usual.
pub fn setup() -> Setup {
    let usual = ArcSettings::for_process(Process::MagSolid);
    let usual = ArcConfig::new(&usual, &calibration(0.02)).expect("usable");
    let arc = ArcCounts {
        longest_gap: 1234,
        ..usual.counts()
    };
    Setup {
        device: heapless::String::new(),
        board: "bench",
        title: heapless::String::new(),
        process: Some(Process::MagSolid),
        calibration: calibration(0.02),
        calibrated_unix_s: 5,
        arc,
        order: heapless::Vec::new(),
        resume: Resume::default(),
    }
}

/// A logger at rest with this journal is asked for something; then its plug is pulled.
pub fn bench<M: Medium>(medium: &mut M, request: &Request) {
    let journal = Journal::mount(medium).expect("mounted");
    let (logger_end, computer_end) = cable(4000);
    let parts = Parts {
        front_end: Rest,
        store: journal,
        link: logger_end,
        clock: NoClock,
        panel: NoPanel,
        plan: NextWeld::new(),
    };
    let mut logger = Logger::start(parts, setup()).expect("usable");
    let mut frame = [0; MAX_FRAME];
    let length = encode(1, request, &mut frame).expect("fits");
    computer_end.send(&frame[..length]);
    for _ in 0..4000 {
        logger.poll();
    }
}

#[test]
fn a_calibration_that_was_sent_holds_after_the_power_was_gone() {
    let mut card = MemoryCard::new(1000, 1);
    let layout = Layout::divide(3, 1000, 4, 64).expect("large enough");
    card.sectors[0] = layout.to_cell();
    let mut card = Card::at(card, 0, 1000);
    let journal = Journal::mount(&mut card).expect("mounted");
    assert!(journal.last_header().is_none(), "nothing was measured yet");
    drop(journal);
    let request = Request::Calibrate {
        calibration: calibration(-0.04),
        calibrated_unix_s: 1_764_000_000,
    };
    bench(&mut card, &request);
    // The plug was pulled: nothing was finished.
    let journal = Journal::mount(&mut card).expect("mounted");
    let mut again = setup();
    let header = journal.last_header().expect("kept");
    assert!(again.restore(header));
    assert_eq!(again.calibration, calibration(-0.04));
    assert_eq!(again.calibrated_unix_s, 1_764_000_000);
    let (before, after) = (setup().arc, again.arc);
    assert_eq!(after.longest_gap, 1234, "the owner's setting stays");
    // Half as many counts of twice the current.
    assert_eq!(after.striking, before.striking.div_ceil(2));
    assert!(journal.resume().sequence > 2 && journal.resume().starts == 1);
    // A converter at another rate is another logger.
    again.calibration.sample_rate_hz = 4000.0;
    assert!(!again.restore(header));
}

/// The settings stand in four sectors, so that no one of them decides. While nothing is wrong with them nothing is written.
#[test]
fn settings_that_a_sector_lost_stand_in_it_again_after_a_rest() {
    let mut card = MemoryCard::new(1000, 1);
    let layout = Layout::divide(3, 1000, 4, 64).expect("large enough");
    card.sectors[0] = layout.to_cell();
    let mut card = Card::at(card, 0, 1000);
    let request = Request::Calibrate {
        calibration: calibration(-0.04),
        calibrated_unix_s: 1_764_000_000,
    };
    bench(&mut card, &request);
    let places: Vec<usize> = layout
        .settings()
        .concat()
        .iter()
        .map(|&cell| cell as usize)
        .collect();
    // It refuses to be written while the logger starts.
    let rest = |card: &mut Card<MemoryCard>| {
        let before = card.sectors().written.len();
        card.sectors().is_locked = true;
        let mut journal = Journal::mount(&mut *card).expect("mounted");
        journal.medium().sectors().is_locked = false;
        for _ in 0..10 {
            journal.idle();
        }
        drop(journal);
        card.sectors().written.len() - before
    };
    assert_eq!(rest(&mut card), 0, "all four stand");
    for &place in &places {
        card.sectors().sectors[place] = [0xA5; CELL];
        assert_eq!(rest(&mut card), 4);
        let sectors = &card.sectors().sectors;
        assert!(places.iter().all(|&place| open(&sectors[place]).is_ok()));
    }
}
