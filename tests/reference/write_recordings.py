"""Writes one recording in the files of other programs, with their own libraries; answers its true energies."""
import json
import sys
import wave
from pathlib import Path

import h5py
import numpy as np
import pyarrow as pa
import pyarrow.parquet
import scipy.io

folder = Path(json.load(sys.stdin)["folder"])
rate = 2000.0
t = np.arange(int(20 * rate)) / rate
chance = np.random.default_rng(1)
arcs = [(2.0, 6.0), (9.0, 10.2), (12.0, 17.5)]
burns = np.zeros(t.size, bool)
for a, b in arcs:
    burns |= (t >= a - 1e-9) & (t < b - 1e-9)
short = burns & (np.arange(t.size) % 25 < 4)
u = np.where(burns, 21.5, 0.0) + np.where(short, -17.5, 0.0) + chance.normal(0, 0.3, t.size) * burns
i = np.where(burns, 128.0, 0.0) + np.where(short, 62.0, 0.0) + chance.normal(0, 4.0, t.size) * burns
u, i = np.round(u, 2), np.round(i, 1)
energies = [float((u * i)[(t >= a - 1e-9) & (t < b - 1e-9)].sum() / rate) for a, b in arcs]

scipy.io.savemat(folder / "level5.mat", {"time": t[:, None], "voltage": u[:, None], "current": i[:, None], "operator": "nobody"})
scipy.io.savemat(folder / "level5-packed.mat", {"t": t, "U": u, "I": i.astype(np.float32)}, do_compression=True)
scipy.io.savemat(folder / "matrix.mat", {"run": np.column_stack([t, u, i])})
np.savez(folder / "arrays.npz", t=t, u=u, i=i)
np.savez_compressed(folder / "packed.npz", time_ms=t * 1000, current=i.astype(np.float32), voltage=u)
np.savez(folder / "rate.npz", fs=rate, voltage=u, current=i)
np.save(folder / "one.npy", np.column_stack([t, u, i]))
np.save(folder / "by-column.npy", np.asfortranarray(np.column_stack([t, u, i])))
table = pa.table({"Time [s]": t, "Set voltage [V]": np.where(burns, 20.0, 0.0), "Voltage [V]": u, "Current [A]": i.astype(np.float32)})
pa.parquet.write_table(table, folder / "plain.parquet", compression="none")
pa.parquet.write_table(table, folder / "snappy.parquet")
stamps = pa.array((1_764_082_800_000_000 + t * 1e6).round().astype("int64"), pa.timestamp("us"))
pa.parquet.write_table(pa.table({"timestamp": stamps, "current": i, "voltage": u}), folder / "stamps.parquet")
with h5py.File(folder / "groups.h5", "w") as file:
    group = file.create_group("weld")
    for name, values, unit in [("time", t, "s"), ("voltage", u, "V"), ("current", i / 1000, "kA")]:
        group.create_dataset(name, data=values, compression="gzip", chunks=(4096,)).attrs["unit"] = unit
with h5py.File(folder / "runs.h5", "w") as file:
    for run, share in [("run1", 0.9), ("run2", 1.0), ("run20", 1.1)]:
        group = file.create_group(f"shift/{run}")
        for name, values in [("time", t), ("voltage", u * share), ("current", i * share)]:
            group.create_dataset(name, data=values)
np.savez(folder / "runs.npz", **{f"{run}_{name}": values * (share if name != "t" else 1.0) for run, share in [("run1", 0.9), ("run2", 1.0)]
                                 for name, values in [("t", t), ("u", u), ("i", i)]})
with h5py.File(folder / "v73.mat", "w", userblock_size=512) as file:
    for name, values in [("time", t), ("voltage", u), ("current", i)]:
        file.create_dataset(name, data=values[None, :]).attrs["MATLAB_class"] = np.bytes_("double")
with open(folder / "v73.mat", "r+b") as file:
    file.write(b"MATLAB 7.3 MAT-file, Platform: test".ljust(124) + b"\x00\x02IM")
with wave.open(str(folder / "channels.wav"), "wb") as file:
    file.setnchannels(2)
    file.setsampwidth(2)
    file.setframerate(int(rate))
    file.writeframes(np.column_stack([u / 100, i / 500] * np.array(32768)).round().astype("<i2").tobytes())
json.dump({"energies": energies}, sys.stdout)
