#!/usr/bin/env python3
"""Long recordings, and how fast they are read beside pyarrow's CSV reader.

    big.py write FILE MEGABYTES       a recording of 10 kHz: three seconds of arc in ten
    big.py compare FILE BINARY...     seconds and peak memory of each build of the command, and of pyarrow
"""
import os
import random
import resource
import subprocess
import sys
import time


def write(path, megabytes):
    chance = random.Random(1)
    arc = [f",{21.5 + chance.gauss(0, 0.5):.2f},{128 + chance.gauss(0, 5):.1f}\n" for _ in range(30_000)]
    idle = [f",{chance.gauss(0, 0.02):.2f},{chance.gauss(0, 0.3):.1f}\n" for _ in range(70_000)]
    tails = idle[:35_000] + arc + idle[35_000:]
    with open(path, "w") as out:
        out.write("time_s,volts,amps\n")
        second = 0
        fractions = [f".{k:04d}" for k in range(10_000)]
        while out.tell() < int(megabytes) * 1_000_000:
            part = tails[second % 10 * 10_000 : second % 10 * 10_000 + 10_000]
            head = str(second)
            out.write("".join([head + fraction + tail for fraction, tail in zip(fractions, part)]))
            second += 1


def measured(command):
    """Seconds and peak megabytes of a command."""
    began = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    assert status == 0, command
    return time.perf_counter() - began, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def compare(path, *binaries):
    for binary in binaries:
        wall, cpu, memory = measured([binary, "beads", path, "--json"])
        print(f"{os.path.basename(binary):<28} {wall:6.2f} s, {cpu:6.2f} s of processor, {memory:7.1f} MB")
    program = "import pyarrow as pa, pyarrow.csv as c, sys; pa.set_cpu_count(1); c.read_csv(sys.argv[1], c.ReadOptions(use_threads=False))"
    wall, cpu, memory = measured([sys.executable, "-c", program, path])
    print(f"{'pyarrow, one thread':<28} {wall:6.2f} s, {cpu:6.2f} s of processor, {memory:7.1f} MB")


if __name__ == "__main__":
    what, *arguments = sys.argv[1:]
    {"write": write, "compare": compare}[what](*arguments)
