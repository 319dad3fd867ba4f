//! What somebody who builds a board reads when a journal cannot be used.

use coldsquare_core::journal::LayoutError;
use coldsquare_firmware::journal::MountError;
use coldsquare_firmware::journal::flash::Unfit;

#[test]
fn why_there_is_no_journal_is_told_in_words() {
    let said = [
        MountError::Fault,
        MountError::Layout(LayoutError::NotPrepared),
        MountError::Segment,
    ]
    .map(|why| why.to_string());
    assert_eq!(
        said,
        [
            "the journal's medium cannot be read or erased",
            "no journal to write to: its first cell is not a journal layout: it was not prepared, or its beginning is damaged",
            "the journal was prepared for another kind of medium; prepare this one again",
        ]
    );
    assert_eq!(
        [Unfit::Place, Unfit::Sizes].map(|why| why.to_string()),
        [
            "a journal begins and ends where a block of the flash does, inside it",
            "this flash has words or blocks that do not suit: words of 4 to 256 bytes, blocks of whole cells of 512",
        ]
    );
}
