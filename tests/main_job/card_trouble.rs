//! What was wrong with a logger's card is told to whoever reads its log.

use super::card_shop::{Folder, Shop, prepared};
use coldsquare::link::pull::{OverLink, pull};
use coldsquare_core::trouble::Trouble;
use coldsquare_firmware::sim::MemoryCard;
use coldsquare_tests::command::coldsquare;

/// What `beads` says beside its table, after a card was put right while two more beads were welded.
fn notes(bad: MemoryCard, put_right: impl FnOnce(&mut MemoryCard)) -> String {
    let shop = Shop::on(bad);
    shop.beads(2);
    put_right(&mut shop.bench.card.borrow_mut());
    // It is looked at again every five seconds.
    shop.beads(3);
    assert_eq!(shop.client().trouble().expect("it answers"), None);
    let folder = Folder::new();
    let mut source = OverLink::new(shop.client(), "bench");
    pull(&mut source, &folder.out(), &mut |_| true).expect("it answers");
    let out = folder.out();
    let ran = coldsquare(["beads", out.to_str().expect("plain path")]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    ran.err
}

#[test]
fn a_card_that_came_late_or_was_locked_is_told_with_the_beads_that_are_not_in_the_log() {
    let mut out = prepared(150);
    out.is_out = true;
    let told = notes(out, |card| card.is_out = false);
    assert!(
        told.contains("there was no card in the logger, and nothing was stored; 2 beads before it"),
        "{told}"
    );

    let told = notes(MemoryCard::new(64, 1), |card| *card = prepared(150));
    assert!(
        told.contains("no journal file, and nothing was stored"),
        "{told}"
    );

    let mut locked = prepared(150);
    locked.is_locked = true;
    let told = notes(locked, |card| card.is_locked = false);
    assert!(told.contains("took no writes"), "{told}");
}

#[test]
fn a_logger_without_a_card_says_over_the_link_what_it_is() {
    let mut out = prepared(150);
    out.is_out = true;
    let shop = Shop::on(out);
    let mut client = shop.client();
    assert_eq!(client.trouble().expect("it answers"), Some(Trouble::NoCard));
}
