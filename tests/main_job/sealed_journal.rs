//! A sealed log in a journal on a card: power cut anywhere, cleared, gone round, full, with a sector that is lost. What
//! nobody changed is never called changed; what is missing is said to be missing.

use super::card_shop::{
    Folder, PAIRS_PER_SECOND, Shop, beads_in, beads_on, has, prepared, seal_of,
};
use coldsquare::link::clear::clear_pulled;
use coldsquare::link::pull::{OverLink, pull};
use coldsquare_engine::log::seal::{Seal, Verdict};
use coldsquare_firmware::sim::{MemoryCard, Random};

fn is_called_changed(seal: &Seal) -> bool {
    matches!(seal.verdict, Verdict::Broken { missing: false, .. })
}

fn pulled(shop: &Shop) -> Vec<u8> {
    let folder = Folder::new();
    let mut source = OverLink::new(shop.client(), "bench");
    pull(&mut source, &folder.out(), &mut |_| true).expect("it answers");
    std::fs::read(folder.out()).expect("it has its name")
}

fn clears(shop: &Shop) -> bool {
    let folder = Folder::new();
    let mut source = OverLink::new(shop.client(), "bench");
    pull(&mut source, &folder.out(), &mut |_| true).is_ok()
        && clear_pulled(&mut source, &folder.out()).is_ok()
}

/// A day in short: beads, a long one that fills the ring, a clearing, beads, and starts in between.
fn day(shop: &mut Shop, random: &mut Random, acknowledged: &mut u32) {
    let powered = |shop: &Shop| !shop.bench.card.borrow().power.is_gone();
    for _ in 0..8 {
        match random.below(6) {
            0 => shop.weld(20 * PAIRS_PER_SECOND),
            1 if powered(shop) => {
                if clears(shop) && powered(shop) {
                    *acknowledged = 0;
                } else {
                    // Whether it was cleared nobody knows; beads of before are in the file, so they are not asked for.
                    *acknowledged = 0;
                    return;
                }
                continue;
            }
            _ => shop.beads(1),
        }
        if !powered(shop) {
            return;
        }
        if shop.says_all_stored() {
            *acknowledged = shop.live().beads;
        }
    }
}

#[test]
fn power_cut_anywhere_leaves_a_sealed_log_that_nobody_calls_changed() {
    let cuts = std::env::var("COLDSQUARE_SEAL_CUTS");
    let cuts = cuts.map_or(150, |cuts| cuts.parse().expect("a number of cuts"));
    let (mut done, mut seed, mut starts, mut whole) = (0, 0, 0, 0);
    while done < cuts {
        let mut random = Random::new(seed);
        let mut card = prepared(150);
        for start in 0..6 {
            let bytes = 1 + u64::from(random.below(60_000));
            card.power.goes_after(bytes);
            let mut shop = Shop::on(card);
            let mut acknowledged = beads_on(shop.card()).len() as u32;
            day(&mut shop, &mut random, &mut acknowledged);
            done += u32::from(shop.bench.card.borrow().power.is_gone());
            card = shop.card();
            card.power.comes_back();
            let told = format!("seed {seed}, start {start}");
            let found = beads_on(card.clone());
            assert!(
                has(&found, acknowledged),
                "{told}: {found:?} of {acknowledged}"
            );
            // As a computer finds it after the next start.
            let shop = Shop::on(card);
            let log = pulled(&shop);
            card = shop.card();
            let Ok(seal) = seal_of(&log) else { continue };
            assert!(!is_called_changed(&seal), "{told}: {}", seal.sentence());
            assert!(
                !matches!(seal.verdict, Verdict::Broken { .. }),
                "{told}: {}",
                seal.sentence()
            );
            assert!(has(&beads_in(&log).0, acknowledged), "{told}");
            whole += u32::from(seal.word() == "sealed");
            starts += 1;
        }
        seed += 1;
    }
    println!("{done} cuts in {seed} lives, {starts} logs, {whole} sealed from end to end");
}

/// Small enough to become full soon.
fn full(kept: u8) -> Shop {
    let shop = Shop::on(prepared(kept));
    for _ in 0..60 {
        shop.beads(1);
        if shop.live().last_alarm == Some(coldsquare_core::record::EventKind::StoreFull) {
            break;
        }
    }
    shop
}

#[test]
fn a_full_store_reads_as_what_it_is() {
    for kept in [30, 60, 100] {
        let shop = full(kept);
        let log = pulled(&shop);
        let seal = seal_of(&log).expect("a log");
        let beads = beads_in(&log).0;
        assert!(
            beads.len() > 1 && has(&beads, beads.len() as u32),
            "{kept}: {beads:?}"
        );
        // It ends with a seal, and the oldest windows may have made room.
        assert_eq!(seal.verdict, Verdict::Sealed, "{kept}: {}", seal.sentence());
        // It stays as it is when the logger is switched on again, and says so.
        let again = Shop::on(shop.card());
        again.beads(2);
        let log = pulled(&again);
        let seal = seal_of(&log).expect("a log");
        assert!(
            !matches!(seal.verdict, Verdict::Broken { .. } | Verdict::NotSealed),
            "{kept}: {}",
            seal.sentence()
        );
        assert_eq!(beads_in(&log).0, beads);
    }
}

/// The plug is pulled at any byte of what a store writes as it becomes full.
#[test]
fn a_store_that_became_full_without_its_seal_is_sealed_in_part() {
    for kept in [30, 60] {
        let mut shop = Shop::on(prepared(kept));
        let mut before = shop.card();
        for _ in 0..60 {
            before = shop.card();
            shop.beads(1);
            if shop.live().last_alarm == Some(coldsquare_core::record::EventKind::StoreFull) {
                break;
            }
            shop = Shop::on(shop.card());
        }
        let mut seen = [0; 3];
        for cut in (0..5000).step_by(173) {
            let mut card = before.clone();
            card.power.goes_after(cut);
            let shop = Shop::on(card);
            shop.beads(1);
            let mut card = shop.card();
            card.power.comes_back();
            let log = pulled(&Shop::on(card));
            let seal = seal_of(&log).expect("a log");
            match seal.word() {
                "sealed" => seen[0] += 1,
                "sealed in part" => seen[1] += 1,
                "not sealed" => seen[2] += 1,
                word => panic!("{kept}, cut {cut}: {word}: {}", seal.sentence()),
            }
        }
        assert!(seen[1] > 3, "{kept}: {seen:?}");
    }
}

/// A ring that has gone round, and one that has not: each of its sectors is lost for good.
#[test]
fn a_sector_that_is_lost_is_told_as_missing_and_not_as_changed() {
    for long_s in [0, 60] {
        let shop = Shop::on(prepared(150));
        shop.beads(2);
        shop.weld(long_s * PAIRS_PER_SECOND + 100);
        shop.beads(2);
        let sound = shop.card();
        let beads = beads_on(sound.clone()).len() as u32;
        let mut missing = 0;
        for sector in 0..sound.sectors.len() as u32 {
            let mut card: MemoryCard = sound.clone();
            card.unreadable = vec![(sector, u32::MAX)];
            let shop = Shop::on(card);
            let folder = Folder::new();
            let mut source = OverLink::new(shop.client(), "bench");
            if pull(&mut source, &folder.out(), &mut |_| true).is_err() {
                continue;
            }
            let log = std::fs::read(folder.out()).expect("it has its name");
            let (found, whole) = beads_in(&log);
            let told = format!("{long_s} s, sector {sector}");
            assert!(has(&found, beads) || !whole, "{told}: {found:?}");
            let seal = seal_of(&log).expect("a log");
            assert!(!is_called_changed(&seal), "{told}: {}", seal.sentence());
            if let Verdict::Broken { at, .. } = seal.verdict {
                println!("{told}: {at}: {}", seal.sentence());
                missing += 1;
            }
        }
        println!("{long_s} s: {missing} told as missing");
    }
}

/// The first records of a log stand in the kept part alone once the ring has gone round; its number is found there.
#[test]
fn a_log_whose_ring_has_gone_round_is_sealed_on_after_a_start() {
    let shop = Shop::on(prepared(150));
    shop.beads(2);
    shop.weld(60 * PAIRS_PER_SECOND);
    let shop = Shop::on(shop.card());
    shop.beads(2);
    let seal = seal_of(&pulled(&shop)).expect("a log");
    assert_eq!(seal.verdict, Verdict::Sealed, "{}", seal.sentence());
    assert!(
        seal.made_room > 0 && seal.lost.is_none(),
        "{}",
        seal.sentence()
    );
}
