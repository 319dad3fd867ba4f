//! A welding process that was told holds after the power was gone.

use super::calibration::{bench, setup};
use coldsquare_core::journal::Layout;
use coldsquare_core::link::Request;
use coldsquare_core::process::Process;
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::Card;
use coldsquare_firmware::sim::MemoryCard;

#[test]
fn a_process_that_was_told_holds_after_the_power_was_gone() {
    let mut card = MemoryCard::new(1000, 1);
    let layout = Layout::divide(3, 1000, 4, 64).expect("large enough");
    card.sectors[0] = layout.to_cell();
    let mut card = Card::at(card, 0, 1000);
    bench(&mut card, &Request::Process(Some(Process::Tig)));
    // The plug was pulled: nothing was finished.
    let journal = Journal::mount(&mut card).expect("mounted");
    let mut again = setup();
    assert_eq!(again.process, Some(Process::MagSolid));
    assert!(again.restore(journal.last_header().expect("kept")));
    assert_eq!(again.process, Some(Process::Tig));
    // 5 A in counts of 20 mA; a calibration alone would have left 20 A.
    assert_eq!((setup().arc.striking, again.arc.striking), (1000, 250));
}
