//! USB as a serial line to the computer.

use coldsquare_firmware::link::Link;
use cortex_m::singleton;
use rp235x_hal::usb::UsbBus;
use usb_device::bus::UsbBusAllocator;
use usb_device::device::{
    StringDescriptors, UsbDevice, UsbDeviceBuilder, UsbDeviceState, UsbVidPid,
};
use usbd_serial::{SerialPort, USB_CLASS_CDC};

/// The product number that the open registry reserves for tests. Loggers for sale need a number of their own.
const TEST_ID: UsbVidPid = UsbVidPid(0x1209, 0x0001);

/// The serial line. It never blocks, and works only while it is polled, which happens in every turn of the link.
pub struct Usb {
    device: UsbDevice<'static, UsbBus>,
    port: SerialPort<'static, UsbBus>,
}

impl Usb {
    /// The line, ready for a computer. `serial` distinguishes loggers.
    pub fn new(bus: UsbBusAllocator<UsbBus>, serial: &'static str) -> Option<Self> {
        let bus: &'static _ = singleton!(: UsbBusAllocator<UsbBus> = bus)?;
        let port = SerialPort::new(bus);
        let strings = StringDescriptors::default()
            .manufacturer("Coldsquare")
            .product("Coldsquare logger")
            .serial_number(serial);
        let device = UsbDeviceBuilder::new(bus, TEST_ID)
            .strings(&[strings])
            .ok()?
            // With less, some computers are too fast for a logger that is busy with its card.
            .max_packet_size_0(64)
            .ok()?
            .device_class(USB_CLASS_CDC)
            .build();
        Some(Self { device, port })
    }

    fn poll(&mut self) {
        self.device.poll(&mut [&mut self.port]);
    }
}

impl Link for Usb {
    fn receive(&mut self) -> Option<u8> {
        let mut byte = [0];
        if !matches!(self.port.read(&mut byte), Ok(1)) {
            self.poll();
            if !matches!(self.port.read(&mut byte), Ok(1)) {
                return None;
            }
        }
        let [byte] = byte;
        Some(byte)
    }

    fn send(&mut self, bytes: &[u8]) -> usize {
        self.poll();
        if self.device.state() != UsbDeviceState::Configured {
            // No computer is there to read it.
            return bytes.len();
        }
        self.port.write(bytes).unwrap_or(0)
    }
}
