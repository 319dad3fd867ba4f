//! Two buttons and a light.

use crate::hardware::{Button, Lights, Micros};
use coldsquare_firmware::panel::{Input, Panel, Shown, TwoButtons};
use embedded_hal::digital::{InputPin, OutputPin};
use rp235x_hal::gpio::bank0::{Gpio14, Gpio15};

/// Buttons to ground, and lights that are on when their pin is high.
pub struct CasePanel {
    /// Next, and mark.
    pub buttons: (Button<Gpio14>, Button<Gpio15>),
    /// On the board and on the case.
    pub lights: Lights,
    /// The time.
    pub micros: Micros,
    /// What to show.
    pub shown: Shown,
    /// The state of the buttons.
    pub presses: TwoButtons,
}

impl CasePanel {
    fn light(&mut self, now_ms: u32) {
        let on = self.shown.light(now_ms);
        let (board, case) = &mut self.lights;
        // Setting a pin of this chip cannot fail.
        let _ = board.set_state(on.into());
        let _ = case.set_state(on.into());
    }
}

impl Panel for CasePanel {
    fn input(&mut self) -> Option<Input> {
        let now_ms = self.micros.ms() as u32;
        self.light(now_ms);
        let (next, mark) = &mut self.buttons;
        let contacts = [
            next.is_low().unwrap_or(false),
            mark.is_low().unwrap_or(false),
        ];
        self.presses.take(contacts, now_ms)
    }

    fn can_confirm(&self) -> bool {
        true
    }

    fn show(&mut self, shown: Shown) {
        self.shown = shown;
    }
}
