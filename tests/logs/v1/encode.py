#!/usr/bin/env python3
"""An encoder of log format 1 written from docs/log-format.md alone, with nothing but the standard library.

It made the .hex files beside it, so that the format is frozen by two programs that share no code. It is kept to show
how; the files are not made again.
"""

import pathlib
import struct


def varint(value):
    out = bytearray()
    while True:
        out.append(value & 0x7F | (0x80 if value > 0x7F else 0))
        value >>= 7
        if not value:
            return bytes(out)


def zigzag(value):
    return varint(2 * value if value >= 0 else -2 * value - 1)


def text(words):
    raw = words.encode()
    return varint(len(raw)) + raw


def f64(value):
    return struct.pack("<d", value)


def crc32c(data):
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0x82F63B78 if crc & 1 else 0)
    return crc ^ 0xFFFFFFFF


def cobs(data):
    out, block = bytearray(), bytearray()
    for byte in data:
        if byte:
            block.append(byte)
        if not byte or len(block) == 254:
            out += bytes([len(block) + 1]) + block
            block = bytearray()
            full = byte != 0
        else:
            full = False
    if block or not full:
        out += bytes([len(block) + 1]) + block
    return bytes(out)


def frame(sequence, kind, payload):
    body = struct.pack("<BBI", 1, kind, sequence) + payload
    return b"\0" + cobs(body + struct.pack("<I", crc32c(body))) + b"\0"


def channel(gain, zero, gain_doubt, zero_doubt, lowest, highest):
    return f64(gain) + zigzag(zero) + f64(gain_doubt) + f64(zero_doubt) + zigzag(lowest) + zigzag(highest)


def header(start, device, firmware, title, process, clock, voltage, current, rate, rate_doubt, calibrated, arc):
    return (
        varint(start) + text(device) + text(firmware) + text(title) + varint(process)
        + bytes([clock[0]]) + varint(clock[1]) + channel(*voltage) + channel(*current)
        + f64(rate) + f64(rate_doubt) + varint(calibrated) + zigzag(arc[0]) + b"".join(varint(n) for n in arc[1:])
    )


def bead(number, start, lit, n, sums, restarts, clipped, dropped):
    counts = varint(number) + varint(start) + varint(lit) + varint(n) + b"".join(zigzag(s) for s in sums)
    return counts + varint(restarts) + varint(clipped[0]) + varint(clipped[1]) + varint(dropped)


def window(start, lit, n, sums, extremes, clipped, dropped):
    sums = b"".join(zigzag(s) for s in (*sums, *extremes))
    return varint(start) + bytes([lit]) + varint(n) + sums + varint(clipped[0]) + varint(clipped[1]) + varint(dropped)


def marker(position, kind, weld, note):
    return varint(position) + bytes([kind]) + varint(weld) + text(note)


def event(position, kind, value):
    return varint(position) + bytes([kind]) + zigzag(value)


def sums(pairs):
    return (
        sum(v for v, _ in pairs), sum(i for _, i in pairs),
        sum(v * v for v, _ in pairs), sum(i * i for _, i in pairs), sum(v * i for v, i in pairs),
    )


PAIRS = [(2205, 15002), (2198, 14980), (-3, 20100), (2210, 15011)]
VOLTAGE = (0.01, -128, 0.005, 0.02, -8388607, 8388607)
CURRENT = (-0.02, 256, 0.0125, 0.5, -30000, 30000)
ARC = (1, 1000, 500, 200, 3200, 400, 8000, 800, 8000)

RECORDS = [
    ("header", 1, header(0, "bench logger", "0.1.0", "garden gate", 135, (3, 1_764_082_800_000),
                         VOLTAGE, CURRENT, 8000.0, 0.00005, 1_761_955_200, ARC)),
    ("bare-header", 1, header(12_345_678, "", "", "", 0, (0, 0), VOLTAGE, VOLTAGE, 1000.0, 0.0, 0, ARC)),
    ("window", 3, window(8000, True, 4, sums(PAIRS), (-3, 2210, 14980, 20100), (0, 1), 2)),
    ("dark-window", 3, window(8006, False, 0, (0,) * 5, (0,) * 4, (0, 0), 300)),
    ("bead", 2, bead(1, 8000, 6, 4, sums(PAIRS), 0, (0, 1), 2)),
    ("long-bead", 2, bead(4_000_000_000, 2**40, 2**41, 2**42, (2**60, -(2**61), 2**70, 2**80, -(2**75)),
                          65_535, (7, 4_000_000_000), 4_294_967_295)),
    ("marker", 4, marker(7999, 1, 7, "front first")),
    ("note", 4, marker(9000, 7, 0, "Gasdüse frei")),
    ("event", 5, event(8306, 1, 300)),
    ("clock-set", 5, event(8400, 10, -1500)),
]


def hex_lines(data):
    return "\n".join(data[at:at + 16].hex(" ") for at in range(0, len(data), 16)) + "\n"


if __name__ == "__main__":
    folder = pathlib.Path(__file__).parent
    frames = [(name, frame(sequence, kind, payload)) for sequence, (name, kind, payload) in enumerate(RECORDS)]
    for name, data in frames:
        (folder / f"{name}.hex").write_text(hex_lines(data))
