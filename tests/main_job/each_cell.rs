//! Every sector of a card, file system and journal, refuses to be read once, twice or for good, or has a flipped bit, while
//! its logger starts, while its log is downloaded, while it is cleared, and while its ring goes round. The log is sealed, and
//! everything is done as a user does it: logger, link, download, clearing, reader.
//!
//! No bead that was acknowledged is lost, nothing is called whole that lacks one, and no log is called changed that nobody
//! changed. A share runs each time; `COLDSQUARE_SWEEP=all` runs everything, `COLDSQUARE_SWEEP_BITS=8` with so many bits of
//! each sector, one at a time.

use super::card_shop::{
    Folder, PAIRS_PER_SECOND, Shop, beads_in, beads_on, has, prepared, seal_of,
};
use coldsquare::link::clear::clear_pulled;
use coldsquare::link::pull::{OverLink, pull};
use coldsquare_core::link::{Consent, Request};
use coldsquare_engine::log::seal::Verdict;
use coldsquare_firmware::sim::MemoryCard;

/// The share of a journal that is kept, of 256.
const KEPT: u8 = 150;
/// Of so many cases one runs each time.
const SHARE: usize = 3;

/// Two starts; cleared after three beads, five since.
fn cleared() -> (MemoryCard, u32) {
    let shop = Shop::on(prepared(KEPT));
    shop.beads(3);
    let mut client = shop.client();
    let end = client.identify().expect("it answers").log.1;
    let consent = Consent::Named("bench".try_into().expect("short"));
    client
        .tell(&Request::Clear { end, consent })
        .expect("it rests");
    shop.beads(3);
    let shop = Shop::on(shop.card());
    shop.beads(2);
    (shop.card(), 5)
}

/// Two starts, with an arc so long that its windows fill the ring.
fn gone_round() -> (MemoryCard, u32) {
    let shop = Shop::on(prepared(KEPT));
    shop.beads(2);
    shop.weld(60 * PAIRS_PER_SECOND);
    let shop = Shop::on(shop.card());
    shop.beads(2);
    (shop.card(), 5)
}

/// What happens to a sector.
#[derive(Clone, Copy, Debug)]
enum Fault {
    /// It refuses to be read this many times.
    Refuses(u32),
    /// This bit of it flips.
    Flips(u32),
}

fn harm(card: &mut MemoryCard, sector: u32, fault: Fault) {
    match fault {
        Fault::Refuses(times) => card.unreadable = vec![(sector, times)],
        Fault::Flips(bit) => card.flip(sector, bit),
    }
}

fn faults(sector: u32) -> Vec<Fault> {
    let bits = std::env::var("COLDSQUARE_SWEEP_BITS");
    let bits = bits.map_or(1, |bits| bits.parse().expect("a number of bits"));
    let flips = (0..bits).map(|n| Fault::Flips((sector * 37 + n * 509) % 4096));
    let refuses = [1, 2, u32::MAX].map(Fault::Refuses);
    refuses.into_iter().chain(flips).collect()
}

/// What came of all cases.
#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    cases: u32,
    /// Beads that were acknowledged and are gone, although the card answers again.
    beads_lost: u32,
    /// Downloads that lack an acknowledged bead, and were called whole, or sealed, or let the logger be cleared.
    called_whole: u32,
    /// Downloads that were called changed.
    called_changed: u32,
    /// The same where it was said that records are missing, by name.
    told_missing: u32,
    /// Starts that had to wait, downloads that failed and said so, and logs that were cleared.
    waited: u32,
    failed: u32,
    cleared: u32,
}

impl Tally {
    /// Judges a download by what was acknowledged.
    fn judge(&mut self, log: &[u8], acknowledged: u32, told: &str) {
        let (beads, whole) = beads_in(log);
        let lacks = !has(&beads, acknowledged);
        let seal = seal_of(log);
        let sealed = seal.as_ref().is_ok_and(|seal| seal.word() == "sealed");
        if lacks && (whole || sealed) {
            println!("{told}: called whole with {beads:?} of {acknowledged}");
            self.called_whole += 1;
        }
        if let Ok(seal) = seal
            && let Verdict::Broken { missing, .. } = seal.verdict
        {
            if missing {
                println!("{told}: {}", seal.sentence());
                self.told_missing += 1;
            } else {
                println!("{told}: {}", seal.sentence());
                self.called_changed += 1;
            }
        }
    }

    /// Downloads; gives the bytes if it was called complete.
    fn pulls(&mut self, shop: &Shop, acknowledged: u32, told: &str) -> Option<(Folder, Vec<u8>)> {
        let folder = Folder::new();
        let mut source = OverLink::new(shop.client(), "bench");
        if let Err(why) = pull(&mut source, &folder.out(), &mut |_| true) {
            println!("{told}: {why}");
            self.failed += 1;
            return None;
        }
        let log = std::fs::read(folder.out()).expect("it has its name");
        self.judge(&log, acknowledged, told);
        Some((folder, log))
    }

    /// The plug is pulled, and the card answers again.
    fn ends(&mut self, shop: &Shop, acknowledged: u32, told: &str) {
        let found = beads_on(shop.card());
        for bead in (1..=acknowledged).filter(|bead| !found.contains(bead)) {
            println!("{told}: bead {bead} of {acknowledged} is gone: {found:?}");
            self.beads_lost += 1;
        }
    }

    fn start(&mut self, sound: &MemoryCard, beads: u32, (sector, fault): (u32, Fault), told: &str) {
        let mut card = sound.clone();
        harm(&mut card, sector, fault);
        let shop = Shop::on(card);
        self.waited += u32::from(shop.client().trouble().expect("it answers").is_some());
        shop.beads(2);
        let all = beads + 2 * u32::from(shop.says_all_stored());
        self.pulls(&shop, all, told);
        self.ends(&shop, all, told);
    }

    fn pull(&mut self, sound: &MemoryCard, beads: u32, (sector, fault): (u32, Fault), told: &str) {
        let shop = Shop::on(sound.clone());
        harm(&mut shop.bench.card.borrow_mut(), sector, fault);
        self.pulls(&shop, beads, told);
        self.ends(&shop, beads, told);
    }

    fn clear(&mut self, sound: &MemoryCard, beads: u32, (sector, fault): (u32, Fault), told: &str) {
        let shop = Shop::on(sound.clone());
        let Some((folder, _)) = self.pulls(&shop, beads, told) else {
            return;
        };
        harm(&mut shop.bench.card.borrow_mut(), sector, fault);
        let mut source = OverLink::new(shop.client(), "bench");
        let done = clear_pulled(&mut source, &folder.out()).is_ok();
        let kept = std::fs::read(folder.out()).expect("it is there");
        let mut all = beads;
        if done {
            self.cleared += 1;
            self.judge(&kept, beads, told);
            if !has(&beads_in(&kept).0, beads) {
                println!("{told}: cleared with {:?}", beads_in(&kept).0);
                self.called_whole += 1;
            }
            all = 0;
        }
        shop.beads(2);
        all += 2 * u32::from(shop.says_all_stored());
        self.pulls(&shop, all, told);
        self.ends(&shop, all, told);
    }

    fn round(&mut self, sound: &MemoryCard, beads: u32, (sector, fault): (u32, Fault), told: &str) {
        let shop = Shop::on(sound.clone());
        harm(&mut shop.bench.card.borrow_mut(), sector, fault);
        shop.weld(45 * PAIRS_PER_SECOND);
        let all = beads + u32::from(shop.says_all_stored());
        self.pulls(&shop, all, told);
        self.ends(&shop, all, told);
    }
}

type Moment = fn(&mut Tally, &MemoryCard, u32, (u32, Fault), &str);

fn sweep(name: &str, moment: Moment) -> Tally {
    let all = std::env::var("COLDSQUARE_SWEEP").is_ok_and(|wanted| wanted == "all");
    let mut tally = Tally::default();
    let mut number = 0;
    for (log, (sound, beads)) in [("cleared", cleared()), ("gone round", gone_round())] {
        assert!(has(&beads_on(sound.clone()), beads), "{log}");
        for sector in 0..sound.sectors.len() as u32 {
            for fault in faults(sector) {
                number += 1;
                if all || number % SHARE == 0 {
                    tally.cases += 1;
                    let told = format!("{name}, {log}, sector {sector}, {fault:?}");
                    moment(&mut tally, &sound, beads, (sector, fault), &told);
                }
            }
        }
    }
    println!("{name}: {tally:?}");
    assert_eq!(
        (tally.beads_lost, tally.called_whole, tally.called_changed),
        (0, 0, 0),
        "{tally:?}"
    );
    tally
}

#[test]
fn a_start_beside_any_bad_sector_keeps_every_bead() {
    let tally = sweep("start", Tally::start);
    // Only the file system, and the first cell, are needed to start.
    assert!(tally.waited * 40 < tally.cases, "{tally:?}");
}

#[test]
fn a_download_beside_any_bad_sector_is_all_of_the_log_or_said_not_to_be() {
    let tally = sweep("pull", Tally::pull);
    // A sector that is lost for good costs a download some patience, and no more.
    assert_eq!(tally.failed, 0, "{tally:?}");
}

#[test]
fn a_clearing_beside_any_bad_sector_lets_go_of_nothing_that_is_not_in_the_file() {
    let tally = sweep("clear", Tally::clear);
    assert!(tally.cleared * 5 > tally.cases * 4, "{tally:?}");
    assert_eq!(tally.failed, 0, "{tally:?}");
}

#[test]
fn a_ring_that_goes_round_any_bad_sector_keeps_every_bead() {
    let tally = sweep("round", Tally::round);
    assert_eq!(tally.failed, 0, "{tally:?}");
}
