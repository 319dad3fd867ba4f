//! USB as a serial line to the computer.

use coldsquare_firmware::link::Link;
use cortex_m::singleton;
use rp235x_hal::usb::UsbBus;
use usb_device::bus::UsbBusAllocator;
use usb_device::device::{
    StringDescriptors, UsbDevice, UsbDeviceBuilder, UsbDeviceState, UsbVidPid,
};
use usbd_serial::{SerialPort, USB_CLASS_CDC};

/// The number that the open registry of product numbers keeps for trials. Whoever sells loggers needs one of their own.
const TRIAL: UsbVidPid = UsbVidPid(0x1209, 0x0001);

/// The line. Neither way waits; it works only when it is asked, so it is asked at every turn of the link.
pub struct Usb {
    device: UsbDevice<'static, UsbBus>,
    port: SerialPort<'static, UsbBus>,
}

impl Usb {
    /// The line, offered to the computer. `serial` tells loggers apart.
    pub fn new(bus: UsbBusAllocator<UsbBus>, serial: &'static str) -> Option<Self> {
        let bus: &'static _ = singleton!(: UsbBusAllocator<UsbBus> = bus)?;
        let port = SerialPort::new(bus);
        let words = StringDescriptors::default()
            .manufacturer("Coldsquare")
            .product("Coldsquare logger")
            .serial_number(serial);
        let device = UsbDeviceBuilder::new(bus, TRIAL)
            .strings(&[words])
            .ok()?
            // With less, some computers are faster than a logger that is busy with its card.
            .max_packet_size_0(64)
            .ok()?
            .device_class(USB_CLASS_CDC)
            .build();
        Some(Self { device, port })
    }

    fn turn(&mut self) {
        self.device.poll(&mut [&mut self.port]);
    }
}

impl Link for Usb {
    fn receive(&mut self) -> Option<u8> {
        let mut byte = [0];
        if !matches!(self.port.read(&mut byte), Ok(1)) {
            self.turn();
            if !matches!(self.port.read(&mut byte), Ok(1)) {
                return None;
            }
        }
        let [byte] = byte;
        Some(byte)
    }

    fn send(&mut self, bytes: &[u8]) -> usize {
        self.turn();
        if self.device.state() != UsbDeviceState::Configured {
            // Nobody is there to whom an answer could still matter.
            return bytes.len();
        }
        self.port.write(bytes).unwrap_or(0)
    }
}
