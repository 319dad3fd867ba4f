"""Reads a record's beads with two engines that know nothing of us: rows, columns, sums and nulls."""
import json
import sys

import duckdb
import pyarrow.parquet

path = json.load(sys.stdin)["path"]
table = pyarrow.parquet.read_table(path)
energy = table["energy_j"].to_pylist()
by_arrow = {
    "rows": table.num_rows,
    "columns": table.column_names,
    "energy_j": sum(value for value in energy if value is not None),
    "without_weld": table["weld"].null_count,
    "verdicts": sorted(set(value for value in table["run_verdict"].to_pylist() if value is not None)),
}
engine = duckdb.connect()
source = f"read_parquet('{path}')"
rows, energy, without = engine.execute(f"select count(*), sum(energy_j), count(*) - count(weld) from {source}").fetchone()
# What a shop asks of years of beads: the mean heat of each weld's runs.
hottest = engine.execute(
    f"select weld, avg(run_heat_input_j_per_mm) as heat from {source} where weld is not null group by weld order by heat desc limit 1"
).fetchone()
by_duckdb = {"rows": rows, "energy_j": energy, "without_weld": without, "hottest": list(hottest)}
json.dump({"pyarrow": by_arrow, "duckdb": by_duckdb}, sys.stdout)
