#!/usr/bin/env python3
"""Recordings of one true signal, written in every way that instruments write, and whether they were read right.

    matrix.py write FOLDER            writes the recordings and FOLDER/cases.json
    matrix.py run BINARY FOLDER       has a build of the command read them; writes FOLDER/results.json
    matrix.py judge FOLDER            counts: read right, refused for the right reason, told, wrong without a word

Only Python's own modules write them, so nothing of ours is in the files. The signal has three beads with short circuits,
open circuit before each, and noise on both channels.
"""
import csv
import io
import json
import math
import random
import re
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path

ARCS = [(2.0, 6.0), (9.0, 10.2), (12.0, 17.5)]
END = 19.0
FINE_HZ = 2000


def signal(rate, seed=1, zero=0.0):
    """Rows of (time, volts, amps, set volts, set amps) at a rate, sampled from a fine signal."""
    chance = random.Random(seed)
    rows = []
    short_until = -1.0
    next_short = 0.0
    for k in range(int(END * FINE_HZ)):
        t = k / FINE_HZ
        arc = next((a for a in ARCS if a[0] <= t < a[1]), None)
        ready = any(a[0] - 0.4 <= t < a[0] for a in ARCS)
        if arc:
            if t >= next_short:
                short_until = t + 0.002
                next_short = t + chance.uniform(0.009, 0.016)
            if t < short_until:
                v, a = 4.0 + chance.gauss(0, 0.6), 190.0 + chance.gauss(0, 8)
            else:
                v, a = 21.5 + chance.gauss(0, 0.5), 128.0 + chance.gauss(0, 5)
        else:
            v, a = (62.0 + chance.gauss(0, 0.2), chance.gauss(0, 0.3)) if ready else (chance.gauss(0, 0.02), chance.gauss(0, 0.3))
        set_v, set_a = (20.0, 140.0) if any(b[0] - 0.5 <= t < b[1] + 0.1 for b in ARCS) else (0.0, 0.0)
        rows.append((t, v, a + zero, set_v, set_a))
    step = FINE_HZ / rate
    if step < 1:
        return [rows[min(len(rows) - 1, int(k * step))][1:] for k in range(int(END * rate))]
    return [rows[int(k * step)][1:] for k in range(int(END * rate))]


def truth(rows, rate, zero=0.0):
    """Energy of each bead as an independent sum over the rows, J."""
    energy = [0.0] * len(ARCS)
    for k, row in enumerate(rows):
        t = k / rate
        for n, (a, b) in enumerate(ARCS):
            if a - 1e-9 <= t < b - 1e-9:
                energy[n] += row[0] * (row[1] - zero) / rate
    return energy


CASES = []
FOLDER = None


def case(name, text, rate, rows, expect="right", pattern="", options=(), zero=0.0, beads=None, encoding="utf-8"):
    """One recording. `expect`: what must come of it besides being read right: refused or told, with the pattern."""
    path = FOLDER / (f"{len(CASES):03}-" + re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-") + ".csv")
    data = text if isinstance(text, bytes) else text.encode(encoding)
    path.write_bytes(data)
    CASES.append({
        "name": name, "file": path.name, "expect": expect, "pattern": pattern, "options": list(options),
        "energies": truth(rows, rate, zero), "rate": rate, "beads": beads,
    })


def number(value, decimals, comma=False):
    text = f"{value:.{decimals}f}"
    return text.replace(".", ",") if comma else text


def table(rows, rate, columns, headings=None, separator=",", comma=False, before="", end="\n", time=None, quote=False, units=None):
    """The rows as text; `columns` names what stands where: t, v, a, set_v, set_a, feed, gas, n, blank, or a function."""
    out = io.StringIO()
    out.write(before)
    writer = csv.writer(out, delimiter=separator, lineterminator=end, quoting=csv.QUOTE_ALL if quote else csv.QUOTE_MINIMAL)
    if headings:
        writer.writerow(headings)
    if units:
        writer.writerow(units)
    for k, row in enumerate(rows):
        t = k / rate
        write = {
            "t": lambda: time(t) if time else number(t, 4, comma),
            "v": lambda: number(row[0], 2, comma), "a": lambda: number(row[1], 1, comma),
            "set_v": lambda: number(row[2], 1, comma), "set_a": lambda: number(row[3], 0, comma),
            "feed": lambda: number(5.5 if row[2] else 0.0, 1, comma),
            "gas": lambda: number(12.0 + 0.1 * math.sin(t), 1, comma),
            "n": lambda: str(k + 1), "blank": lambda: "",
            "kw": lambda: number(row[0] * row[1] / 1000, 3, comma),
        }
        writer.writerow([column(k, t, row) if callable(column) else write[column]() for column in columns])
    return out.getvalue()


LANGUAGES = {
    "English": ("Time", "Voltage", "Current"), "German": ("Zeit", "Spannung", "Strom"),
    "French": ("Temps", "Tension", "Courant"), "Spanish": ("Tiempo", "Tensión", "Corriente"),
    "Italian": ("Tempo", "Tensione", "Corrente"), "Portuguese": ("Tempo", "Tensão", "Corrente"),
    "Dutch": ("Tijd", "Spanning", "Stroom"), "Swedish": ("Tid", "Spänning", "Ström"),
    "Danish": ("Tid", "Spænding", "Strøm"), "Finnish": ("Aika", "Jännite", "Virta"),
    "Polish": ("Czas", "Napięcie", "Prąd"), "Czech": ("Čas", "Napětí", "Proud"),
    "Hungarian": ("Idő", "Feszültség", "Áram"), "Turkish": ("Zaman", "Gerilim", "Akım"),
    "Russian": ("Время", "Напряжение", "Ток"), "Chinese": ("时间", "电压", "电流"),
    "Japanese": ("時間", "電圧", "電流"), "Korean": ("시간", "전압", "전류"),
}
STYLES = ["{} [{}]", "{} ({})", "{}_{}", "{} {}", "{}/{}", "{} / {}", "{} in {}", "{}, {}", "{}[{}]"]


def headings_of_every_kind(rate, rows):
    for language, names in LANGUAGES.items():
        units = [f"{n} [{u}]" for n, u in zip(names, "sVA")]
        case(f"headings {language}", table(rows, rate, "tva", units, separator=";", comma=True), rate, rows)
        order = [names[2], names[0], names[1]]
        case(f"headings {language} no units, amps first", table(rows, rate, ["a", "t", "v"], order), rate, rows)
    for style in STYLES[:9]:
        heads = [style.format(n, u) for n, u in zip(("Time", "Voltage", "Current"), "sVA")]
        case(f"unit style {style}", table(rows, rate, "tva", heads), rate, rows)
    for heads in [
        ("t", "U", "I"), ("T", "V", "A"), ("time", "volts", "amps"), ("Zeit", "U Brenner [V]", "I Brenner [A]"),
        ("s", "V", "A"), ("[s]", "[V]", "[A]"), ("Elapsed", "ArcVoltage", "ArcCurrent"),
        ("CH0 Time", "CH1 Voltage", "CH2 Current"), ("timestamp", "Schweissspannung", "Schweissstrom"),
        ("Time", "U_ist", "I_ist"), ("Time (s)", "Welding voltage (V)", "Welding current (A)"),
        ("TIME", "ARC VOLTS", "ARC AMPS"), ("time_s", "u_arc", "i_arc"),
    ]:
        case("headings " + " ".join(heads), table(rows, rate, "tva", heads), rate, rows)
    for heads, columns in [
        (("Time [s]", "U [0.1 V]", "I [A]"), ["t", lambda k, t, r: f"{r[0] * 10:.0f}", "a"]),
        (("Time [s]", "U [V]", "I [0.1 A]"), ["t", "v", lambda k, t, r: f"{r[1] * 10:.0f}"]),
        (("Time [s]", "U [V]", "I [KA]"), ["t", "v", lambda k, t, r: f"{r[1] / 1000:.4f}"]),
        (("Time [s]", "U [mV]", "I [kA]"), ["t", lambda k, t, r: f"{r[0] * 1000:.0f}", lambda k, t, r: f"{r[1] / 1000:.4f}"]),
        (("Time (min)", "U (V)", "I (A)"), [lambda k, t, r: f"{t / 60:.7f}", "v", "a"]),
        (("Time (h)", "U (V)", "I (A)"), [lambda k, t, r: f"{t / 3600:.9f}", "v", "a"]),
        (("Time (ms)", "U (V)", "I (A)"), [lambda k, t, r: f"{t * 1000:.1f}", "v", "a"]),
        (("Time (us)", "U (V)", "I (A)"), [lambda k, t, r: f"{t * 1e6:.0f}", "v", "a"]),
    ]:
        case("units " + " ".join(heads), table(rows, rate, columns, heads), rate, rows)
    case("current in volts", table(rows, rate, ["t", "v", lambda k, t, r: f"{r[1] / 100:.4f}"], ("Time (s)", "Voltage (V)", "Current (V)")),
         rate, rows, "refused", "current in volts|amps")
    case("row of units", table(rows, rate, "tva", ("Time", "Voltage", "Current"), units=("s", "V", "A")), rate, rows)
    case("row of units in brackets", table(rows, rate, "tav", ("Zeit", "Strom", "Spannung"), units=("[s]", "[A]", "[V]"), separator=";", comma=True), rate, rows)
    case("row of units ms kA", table(rows, rate, [lambda k, t, r: f"{t * 1000:.1f}", lambda k, t, r: f"{r[1] / 1000:.4f}", "v"],
         ("Zeit", "Strom", "Spannung"), units=("ms", "kA", "V"), separator="\t"), rate, rows)


def orders_and_extra_columns(rate, rows):
    names = {"t": "Time [s]", "v": "Voltage [V]", "a": "Current [A]", "set_v": "Voltage set [V]", "set_a": "Current set [A]",
             "feed": "Wire feed [m/min]", "gas": "Gas flow [l/min]", "n": "No", "kw": "Power [kW]"}
    import itertools
    for order in itertools.permutations("tva"):
        case("order " + "".join(order), table(rows, rate, order, [names[c] for c in order]), rate, rows)
        three = table(rows, rate, order)
        case("no headings " + "".join(order), three, rate, rows, "told", "columns are assumed|by what they hold|swapped|which columns")
    for order in [
        ("n", "t", "v", "a"), ("t", "set_v", "set_a", "v", "a"), ("t", "v", "a", "set_v", "set_a"), ("t", "set_v", "v", "set_a", "a", "feed", "gas"),
        ("t", "feed", "v", "gas", "a"), ("n", "t", "set_a", "set_v", "feed", "v", "a", "kw"), ("t", "kw", "a", "v"),
    ]:
        case("extra columns " + " ".join(order), table(rows, rate, order, [names[c] for c in order]), rate, rows)
        case("no headings " + " ".join(order), table(rows, rate, order), rate, rows, "refused", "columns")
        german = {"set_v": "Spannung Soll", "set_a": "Strom Soll", "v": "Spannung Ist", "a": "Strom Ist", "t": "Zeit", "n": "Nr",
                  "feed": "Drahtvorschub", "gas": "Gas", "kw": "Leistung"}
        case("extra columns German " + " ".join(order), table(rows, rate, order, [german[c] for c in order], separator=";", comma=True), rate, rows)
    odd = ("alpha", "beta", "gamma", "delta", "epsilon")
    case("meaningless headings", table(rows, rate, ["t", "set_v", "set_a", "v", "a"], odd), rate, rows, "refused", "columns")
    case("doubled headings, commands first", table(rows, rate, ["t", "set_v", "set_a", "v", "a"], ("Time", "Voltage", "Current", "Voltage", "Current")),
         rate, rows, "refused", "columns")
    case("doubled headings with groups", table(rows, rate, ["t", "set_v", "set_a", "v", "a"], ("Time", "Voltage", "Current", "Voltage", "Current"),
         before=",Set,,Actual,\n"), rate, rows, "refused", "columns")
    case("two machines", table(rows, rate, ["t", "v", "a", lambda k, t, r: f"{r[0] + 1 + 0.3 * math.sin(k):.2f}", lambda k, t, r: f"{r[1] * 1.2 + math.cos(k):.1f}"],
         ("Time", "U1 [V]", "I1 [A]", "U2 [V]", "I2 [A]")), rate, rows, "refused", "columns")
    case("swapped headings", table(rows, rate, ["t", "a", "v"], ("Time", "Voltage", "Current")), rate, rows, "refused", "swapped")
    case("tenths of volts, no unit", table(rows, rate, ["t", lambda k, t, r: f"{r[0] * 10:.0f}", "a"], ("Time", "Voltage", "Current")), rate, rows, "told", "volts|tenths")
    case("kA, no unit", table(rows, rate, ["t", "v", lambda k, t, r: f"{r[1] / 1000:.4f}"], ("Time", "Voltage", "Current")), rate, rows, "told", "amps|no arc")
    case("tenths of amps, no unit", table(rows, rate, ["t", "v", lambda k, t, r: f"{r[1] * 10:.0f}"], ("Time", "Voltage", "Current")), rate, rows, "told", "amps")
    case("power only beside time", table(rows, rate, ["t", "kw", "feed"], ("Time", "Power [kW]", "Wire feed")), rate, rows, "refused", "volts|amps|columns")


def separators_and_ends(rate, rows):
    heads = ("Time [s]", "Voltage [V]", "Current [A]")
    for name, separator, comma in [("semicolon", ";", False), ("semicolon", ";", True), ("tab", "\t", False), ("tab", "\t", True), ("comma", ",", False)]:
        for quote in (False, True):
            case(f"{name} comma {comma} quoted {quote}", table(rows, rate, "tva", heads, separator, comma, quote=quote), rate, rows)
    case("comma and decimal comma, quoted", table(rows, rate, "tva", heads, ",", True, quote=True), rate, rows)
    spaced = "\n".join(f"  {k / rate:.4f}   {r[0]:.2f}  {r[1]:.1f}" for k, r in enumerate(rows))
    case("spaces", "t U I\n" + spaced + "\n", rate, rows)
    unquoted = "\n".join(",".join([number(k / rate, 4, True), number(r[0], 2, True), number(r[1], 1, True)]) for k, r in enumerate(rows))
    case("decimal commas between commas", "Time,Voltage,Current\n" + unquoted + "\n", rate, rows, "refused", "decimal comma")
    case("decimal commas between commas, no headings", unquoted + "\n", rate, rows, "refused", "decimal comma|columns")
    plain = table(rows, rate, "tva", heads)
    case("CRLF", plain.replace("\n", "\r\n"), rate, rows)
    case("CR alone", plain.replace("\n", "\r"), rate, rows)
    case("byte-order mark", "\ufeff" + plain, rate, rows)
    case("sep line", "sep=;\n" + table(rows, rate, "tva", heads, ";", True), rate, rows)
    case("preamble", "Instrument 7\nShop: north bay\nDate: 2025-11-25\n\n" + plain, rate, rows)
    case("comments", "# made by a bench recorder\n" + plain, rate, rows)
    case("trailing separators", table(rows, rate, ["t", "v", "a", "blank"], heads), rate, rows)
    case("trailing separators in headings too", table(rows, rate, ["t", "v", "a", "blank"], heads + ("",)), rate, rows)
    case("UTF-16", plain, rate, rows, encoding="utf-16")
    case("UTF-16, high byte first", "\ufeff" + plain, rate, rows, encoding="utf-16-be")
    case("UTF-16 without a mark", plain, rate, rows, encoding="utf-16-le")
    case("UTF-16 without a mark, high byte first", plain.replace("\n", "\r\n"), rate, rows, encoding="utf-16-be")
    case("zeros at the end", plain.encode() + bytes(4096), rate, rows)
    case("last line cut off", plain[:-3], rate, rows)
    case("exponents", table(rows, rate, [lambda k, t, r: f"{t:.6e}", lambda k, t, r: f"{r[0]:.4e}", lambda k, t, r: f"{r[1]:.4e}"], heads), rate, rows)
    case("empty lines", plain.replace("\n", "\n\n"), rate, rows)
    case("latin-1 heading", table(rows, rate, "tva", ("Zeit", "Spannung", "Stromstärke [A]"), ";", True).encode("latin-1"), rate, rows)


def rates():
    for rate in (5, 10, 25, 40, 100, 500, 1000, 2000, 4000, 10000):
        rows = signal(rate)
        decimals = 5 if rate > 1000 else 3
        heads = ("Time [s]", "Voltage [V]", "Current [A]")
        case(f"rate {rate}", table(rows, rate, "tva", heads, time=lambda t: f"{t:.{decimals}f}"), rate, rows)
        case(f"rate {rate} in ms without unit", table(rows, rate, "tva", ("Time", "Voltage", "Current"), time=lambda t: f"{t * 1000:.{max(0, decimals - 3)}f}"),
             rate, rows, "told", "time is assumed")
    rows = signal(1000)
    case("no time, rate given", table(rows, 1000, "va", ("U", "I")), 1000, rows, options=["--rate", "1000"])
    case("no time, no rate", table(rows, 1000, "va", ("U", "I")), 1000, rows, "refused", "rate|time")
    case("ms said of seconds", table(rows, 1000, "tva", ("Time", "U", "I")), 1000, rows, "told", "time-unit|time in ms", options=["--time-unit", "ms"])
    case("s said of ms", table(rows, 1000, "tva", ("Time", "U", "I"), time=lambda t: f"{t * 1000:.0f}"), 1000, rows, "told", "time-unit|rows per second",
         options=["--time-unit", "s"])
    case("heading ms over seconds", table(rows, 1000, "tva", ("Time [ms]", "U [V]", "I [A]")), 1000, rows, "told", "time-unit|rows per second")


def clocks():
    rate = 200
    rows = signal(rate)
    start = datetime(2025, 11, 25, 14, 59, 55)
    evening = datetime(2025, 11, 25, 23, 59, 50)

    def stamp(form, begin=start, cut=3):
        def write(t):
            now = begin + timedelta(seconds=t)
            text = now.strftime(form)
            return text[: len(text) - 6 + cut] if form.endswith("%f") else text
        return write

    formats = {
        "ISO T": stamp("%Y-%m-%dT%H:%M:%S.%f"), "ISO space": stamp("%Y-%m-%d %H:%M:%S.%f"),
        "ISO across midnight": stamp("%Y-%m-%d %H:%M:%S.%f", evening), "ISO Z": lambda t: stamp("%Y-%m-%dT%H:%M:%S.%f")(t) + "Z",
        "ISO zone": lambda t: stamp("%Y-%m-%dT%H:%M:%S.%f")(t) + "+02:00",
        "dd.mm.yyyy": stamp("%d.%m.%Y %H:%M:%S.%f"), "dd.mm.yyyy midnight": stamp("%d.%m.%Y %H:%M:%S.%f", evening), "dd.mm.yy": stamp("%d.%m.%y %H:%M:%S.%f"),
        "mm/dd/yyyy": stamp("%m/%d/%Y %H:%M:%S.%f"), "dd/mm/yyyy": stamp("%d/%m/%Y %H:%M:%S.%f"),
        "yyyy/mm/dd": stamp("%Y/%m/%d %H:%M:%S.%f"), "dd-mm-yyyy": stamp("%d-%m-%Y %H:%M:%S.%f"),
        "mm/dd/yyyy AM PM": lambda t: stamp("%m/%d/%Y %I:%M:%S.%f")(t) + " PM",
        "AM PM": lambda t: stamp("%I:%M:%S.%f")(t) + " PM", "am pm tight": lambda t: stamp("%I:%M:%S.%f")(t) + "pm",
        "of day": stamp("%H:%M:%S.%f"), "of day across midnight": stamp("%H:%M:%S.%f", evening),
        "of day colon thousandths": lambda t: stamp("%H:%M:%S:%f")(t),
        "of day comma": lambda t: stamp("%H:%M:%S,%f")(t), "mm:ss.0": lambda t: f"{int((t + 95) // 60):02d}:{(t + 95) % 60:06.3f}",
        "mm:ss.0 over the hour": lambda t: f"{int((t + 3590) // 60) % 60:02d}:{(t + 3590) % 60:06.3f}",
        "m:ss,0": lambda t: f"{int((t + 5) // 60)}:{(t + 5) % 60:06.3f}".replace(".", ","), "over 24 h": lambda t: f"31:02:{t:06.3f}",
        "seconds since 1970": lambda t: f"{1764082800 + t:.3f}", "ms since 1970": lambda t: f"{(1764082800 + t) * 1000:.0f}",
    }
    for name, write in formats.items():
        case("clock " + name, table(rows, rate, "tva", ("Time", "U [V]", "I [A]"), separator=";", time=write), rate, rows)
    slow = signal(1)
    slow = signal(2)
    case("clock whole mm:ss at two a second", table(slow, 2, "tva", ("Time", "U [V]", "I [A]"), separator=";", time=lambda t: f"{int(t // 60):02d}:{int(t % 60):02d}"),
         2, slow, "told", "rows per second")
    case("date and time in two columns", table(rows, rate, [lambda k, t, r: "25.11.2025", "t", "v", "a"], ("Datum", "Uhrzeit", "Spannung", "Strom"), separator=";",
         time=stamp("%H:%M:%S.%f")), rate, rows)
    case("unclear date", table(rows, rate, "tva", ("Time", "U [V]", "I [A]"), separator=";", time=stamp("%d/%m/%Y %H:%M:%S.%f", datetime(2025, 3, 4, 8, 0, 0))), rate, rows)


def missing_and_bad(rate, rows):
    heads = ("Time", "U [V]", "I [A]")
    for token in ["", "NaN", "NA", "N/A", "#N/A", "null", "-", "--", "OL", "inf", "-inf", "-9999", "-9999.0", "9.9e37", "9.91E+37", "1.#QNAN", "#VALUE!", "OVLD"]:
        def volts(k, t, r, token=token):
            return token if 100 <= k % 3000 < 104 else f"{r[0]:.2f}"
        case(f"missing {token or 'nothing'}", table(rows, rate, ["t", volts, "a"], heads), rate, rows, "told", "lacks? volts|rows are missing|missing")
    text = table(rows, rate, "tva", heads).splitlines(keepends=True)
    text[5000] = "power failure in bay 3\n"
    text[9000] = "12.5,abc,100\n"
    case("bad rows", "".join(text), rate, rows, "refused", r":5001:.*9001|:5001:")
    case("bad rows left out", "".join(text), rate, rows, "told", "cannot be read", options=["--skip-bad-rows"])
    text = table(rows, rate, "tva", heads).splitlines(keepends=True)
    text[7000] = text[7000][:9] + "\n"
    case("a cut row", "".join(text), rate, rows, "told", "lacks? volts")
    case("headings again in the middle", "".join(text[:8000] + [text[0]] + text[8000:]), rate, rows, "refused", ":8001:")


def faults(rate, rows):
    heads = ("Time", "U [V]", "I [A]")
    frozen = list(rows)
    at = int(13.0 * rate)
    for k in range(at, at + int(3.5 * rate)):
        frozen[k] = frozen[at]
    case("frozen inside a bead", table(frozen, rate, "tva", heads), rate, rows, "told", "stood still", beads=[0, 1])
    at = int(5.9 * rate)
    frozen = list(rows)
    for k in range(at, int(11.5 * rate)):
        frozen[k] = frozen[at]
    case("frozen over a pause", table(frozen, rate, "tva", heads), rate, rows, "told", "stood still", beads=[])
    for channel, what in ((0, "volts"), (1, "amps")):
        at = int(13.0 * rate)
        alone = [list(r) for r in rows]
        for k in range(at, at + int(3.5 * rate)):
            alone[k][channel] = alone[at][channel]
        case(f"{what} alone frozen inside a bead", table(alone, rate, "tva", heads), rate, rows, "told", f"{what} stood still", beads=[0, 1])
    for zero in (0.6, 1.5, 3.0, -1.5):
        off = [(r[0] + zero, *r[1:]) for r in rows]
        case(f"volts off by {zero}", table(off, rate, "tva", heads), rate, rows, "told", "the voltage reads")
    for late in (3.0, 6.0, -4.0):
        def drift(k):
            return late * max(0.0, k / rate - 7.0) / (END - 7.0)
        off = [(r[0], r[1] + drift(k), *r[2:]) for k, r in enumerate(rows)]
        case(f"zero drifts late by {late} A", table(off, rate, "tva", heads), rate, rows, "told", "the zero of the clamp drifts")
        off = [(r[0], r[1] + (late if k >= 11 * rate else 0.0), *r[2:]) for k, r in enumerate(rows)]
        case(f"zero jumps late by {late} A", table(off, rate, "tva", heads), rate, rows, "told", "the zero of the clamp drifts")
    for zero in (3.0, 5.0, 7.5, 8.5, 12.0, -6.0):
        off = signal(rate, zero=zero)
        case(f"zero off by {zero} A", table(off, rate, "tva", heads), rate, off, zero=zero)
    clipped = [(r[0], min(r[1], 150.0), r[2], r[3]) for r in rows]
    case("amps clipped at 150", table(clipped, rate, "tva", heads), rate, rows, "told", "current limit|clip")
    text = table(rows, rate, "tva", heads).splitlines(keepends=True)
    hole = text[: int(4.0 * rate)] + text[int(5.0 * rate):]
    case("a hole of a second in a bead", "".join(hole), rate, rows, "told", "rows are missing|lost", beads=[1, 2])
    hole = text[: int(7.0 * rate)] + text[int(8.0 * rate):]
    case("a hole of a second in a pause", "".join(hole), rate, rows)
    hole = text[: int(4.0 * rate)] + text[int(4.05 * rate):]
    case("a hole of 50 ms in a bead", "".join(hole), rate, rows, "told", "rows are missing")
    forward = table(rows, rate, "tva", heads, time=lambda t: f"{t + (3600 if t >= 7.5 else 0):.4f}")
    case("clock set forward in a pause", forward, rate, rows, "told", "missing|goes back")
    back = table(rows, rate, "tva", heads, time=lambda t: f"{t + 3600 - (3600 if t >= 7.5 else 0):.4f}")
    case("clock set back in a pause", back, rate, rows, "told", "goes back")
    back = table(rows, rate, "tva", heads, time=lambda t: f"{t + 3600 - (3600 if t >= 4.0 else 0):.4f}")
    case("clock set back in a bead", back, rate, rows, "told", "goes back", beads=[1, 2])
    reversed_ = [(r[0], -r[1], r[2], r[3]) for r in rows]
    case("clamp reversed", table(reversed_, rate, "tva", heads), rate, rows, "told", "revers")
    both = [(-r[0], -r[1], r[2], r[3]) for r in rows]
    case("electrode negative", table(both, rate, "tva", heads), rate, rows)
    jitter = random.Random(3)
    case("jitter", table(rows, rate, "tva", heads, time=lambda t: f"{t + jitter.uniform(0, 0.3) / rate:.5f}"), rate, rows)
    doubled = []
    for k, line in enumerate(text):
        doubled.append(line)
        if k % 100 == 50:
            doubled.append(line)
    case("doubled rows", "".join(doubled), rate, rows, "told", "same time|replaced")
    idle = [(random.gauss(0, 0.02), random.gauss(0, 0.3), 0.0, 0.0) for _ in rows]
    case("no arc at all", table(idle, rate, "tva", heads), rate, rows, "told", "no arc", beads=[])


def write(folder):
    global FOLDER
    FOLDER = Path(folder)
    FOLDER.mkdir(parents=True, exist_ok=True)
    rate = 2000
    rows = signal(rate)
    headings_of_every_kind(200, signal(200))
    orders_and_extra_columns(rate, rows)
    separators_and_ends(200, signal(200))
    rates()
    clocks()
    missing_and_bad(1000, signal(1000))
    faults(rate, rows)
    (FOLDER / "cases.json").write_text(json.dumps(CASES, indent=1))
    print(len(CASES), "recordings")


def run(binary, folder):
    results = {}
    for one in json.loads((Path(folder) / "cases.json").read_text()):
        command = [binary, "beads", str(Path(folder) / one["file"]), "--json", "--process", "135"] + one["options"]
        done = subprocess.run(command, capture_output=True, text=True)
        results[one["name"]] = {"code": done.returncode, "out": done.stdout, "err": done.stderr}
    (Path(folder) / "results.json").write_text(json.dumps(results))


def judge_one(one, result):
    """right, refused, told, or a fault: wrong reason, wrong silently."""
    words = result["err"]
    if result["code"] != 0:
        right_reason = one["expect"] == "refused" and re.search(one["pattern"], words)
        return "refused" if right_reason else f"REFUSED FOR A WRONG REASON: {words.strip()[:300]}"
    listing = json.loads(result["out"])
    beads = listing["beads"]
    words += json.dumps(beads)
    energies = one["energies"]
    wanted = energies if one["beads"] is None else [energies[k] for k in one["beads"]]
    edge = 160 * 21 * 2 / one["rate"]
    whole = [bead for bead in beads if "lost" not in bead["flags"]]
    right = len(whole) == len(wanted) and all(
        abs(bead["energy_j"] - energy) <= max(0.012 * energy, 1.0) + edge for bead, energy in zip(whole, wanted)
    )
    told = bool(one["pattern"] and re.search(one["pattern"], words))
    if one["expect"] == "told" and (one["beads"] is not None or not right):
        if right and told:
            return "right"
        return "told" if told else f"WRONG WITHOUT A WORD: {[(b['start_s'], b['energy_j'], b['flags']) for b in beads]} {energies}"
    if right:
        return "right"
    covered = len(whole) == len(wanted) and all(
        abs(bead["energy_j"] - energy) <= bead["energy_uncertainty_j"] + edge for bead, energy in zip(whole, wanted)
    )
    if covered:
        return "right"
    return f"WRONG WITHOUT A WORD: {[(b['start_s'], b['energy_j'], b['flags']) for b in beads]} {energies}"


def judge(folder):
    results = json.loads((Path(folder) / "results.json").read_text())
    counts = {}
    faults = []
    for one in json.loads((Path(folder) / "cases.json").read_text()):
        verdict = judge_one(one, results[one["name"]])
        kind = verdict.split(":")[0]
        counts[kind] = counts.get(kind, 0) + 1
        if verdict not in ("right", "refused", "told"):
            faults.append(f"{one['name']}: {verdict}")
    print(f"{sum(counts.values())} recordings: " + ", ".join(f"{count} {kind}" for kind, count in sorted(counts.items())))
    for fault in faults:
        print("  " + fault)
    return 1 if faults else 0


if __name__ == "__main__":
    what, *arguments = sys.argv[1:]
    sys.exit({"write": write, "run": run, "judge": judge}[what](*arguments) or 0)
