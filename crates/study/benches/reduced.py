"""The reduced figures of a log of 30 million rows: Calcant, DuckDB and Polars, by turns,
from the same file as CSV and as Parquet (written by DuckDB, zstd, in its own row groups).

All compute the same: for each local day and column the count, mean, least and greatest value, the
energy by trapezoids, the hours in each state of the machine, its loads and its starts. The figures
are compared before the times are told. The file is written once and kept beside the built program. With `--parquet`, Parquet alone.
Each runs in a process of its own, three times, by turns, so that all meet the same load of the
machine; the best time counts, the least time of all cores together, and the greatest resident
memory. Where a library can do the same in several ways, each way runs; and because steps
from one row to the next are not what they are best at, each also does the means and extremes alone,
which is less than Calcant does.

Not timed by this script: anything that tells the libraries less than they could be told. They are
given the types of the columns and the format of the time; Calcant finds both by itself.
"""

import json
import os
import pathlib
import subprocess
import sys
import time

ROOT = pathlib.Path(__file__).resolve().parents[3]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
ROWS = int(os.environ.get("LOG_ROWS", "30000000"))
LOG = TARGET / f"log-{ROWS}.csv"
PARQUET = TARGET / f"log-{ROWS}.parquet"
# Half-way between the levels of the machine, kW.
RUNS, LOADED = 4.6, 21.3
POINTS = ["power", "pressure", "oil_temperature", "ambient"]
COLUMNS = ["time", "K1.power [kW]", "MAIN.pressure [bar(g)]", "K1.oil_temperature [degC]",
           "site.ambient [degC]"]


def duckdb_csv():
    types = ", ".join(f"'{p}': 'DOUBLE'" for p in POINTS)
    return f"""read_csv('{LOG}', header = true, delim = ',', auto_detect = false,
        timestampformat = '%Y-%m-%d %H:%M:%S', columns = {{'time': 'TIMESTAMP', {types}}})"""


def write_parquet():
    import duckdb

    named = ", ".join(f'{p} as "{name}"' for p, name in zip(POINTS, COLUMNS[1:], strict=True))
    part = PARQUET.with_suffix(".part")
    duckdb.execute(f"copy (select time, {named} from {duckdb_csv()}) to '{part}' "
                   "(format parquet, compression zstd)")
    part.rename(PARQUET)


def duckdb_parquet():
    named = ", ".join(f'"{name}" as {p}' for p, name in zip(POINTS, COLUMNS[1:], strict=True))
    return f"(select time, {named} from read_parquet('{PARQUET}'))"


def duckdb_sql(table):
    """Plain SQL; `lead` over nothing keeps the order of the file and streams."""
    import duckdb

    each = ", ".join(f"avg({p}), min({p}), max({p})" for p in POINTS)
    query = f"""
        with log as (select * from {table}),
        pairs as (
            select *, lead(time) over () as next_time, lead(power) over () as next_power,
                lag(power) over () as last_power from log),
        steps as (
            select *, epoch(next_time) - epoch(time) as seconds from pairs)
        select cast(time as date) as day, count(*), {each},
            sum((power + next_power) / 2 * seconds) / 3600,
            coalesce(sum(seconds) filter (power < {RUNS}), 0) / 3600,
            coalesce(sum(seconds) filter (power >= {RUNS} and power < {LOADED}), 0) / 3600,
            coalesce(sum(seconds) filter (power >= {LOADED}), 0) / 3600,
            count(*) filter (power >= {LOADED} and last_power < {LOADED}),
            count(*) filter (power >= {RUNS} and last_power < {RUNS})
        from steps group by day order by day"""
    with duckdb.connect() as connection:
        connection.execute(f"set threads = {os.cpu_count()}")
        rows = connection.execute(query).fetchall()
    return [[str(row[0])] + [float(x) for x in row[1:]] for row in rows]


def polars_csv():
    import polars as pl

    types = dict(zip(COLUMNS, [pl.Datetime("us")] + [pl.Float64] * 4, strict=True))
    return pl.scan_csv(LOG, schema=types, has_header=True)


def polars_parquet():
    import polars as pl

    return pl.scan_parquet(PARQUET)


def polars_lazy(frame, engine):
    import polars as pl

    frame = frame.rename(dict(zip(COLUMNS[1:], POINTS, strict=True)))
    power = pl.col("power")
    seconds = (pl.col("time").shift(-1) - pl.col("time")).dt.total_microseconds() / 1e6
    frame = frame.with_columns(
        seconds=seconds, next_power=power.shift(-1), last_power=power.shift(1))
    spent = pl.col("seconds")
    runs, loaded, last = power >= RUNS, power >= LOADED, pl.col("last_power")
    each = []
    for p in POINTS:
        column = pl.col(p)
        each += [column.mean().alias(f"{p}0"), column.min().alias(f"{p}1"),
                 column.max().alias(f"{p}2")]
    frame = frame.group_by(pl.col("time").dt.date().alias("day")).agg(
        pl.len().alias("rows"), *each,
        ((power + pl.col("next_power")) / 2 * spent).sum().alias("kwh") / 3600,
        spent.filter(~runs).sum().alias("stopped") / 3600,
        spent.filter(runs & ~loaded).sum().alias("unloaded") / 3600,
        spent.filter(loaded).sum().alias("loaded") / 3600,
        (loaded & (last < LOADED)).sum().alias("loads"),
        (runs & (last < RUNS)).sum().alias("starts"),
    ).sort("day")
    rows = frame.collect(engine=engine).rows()
    return [[str(row[0])] + [float(x) for x in row[1:]] for row in rows]


def duckdb_less(table):
    """Without steps from row to row: how fast its reader is."""
    import duckdb

    each = ", ".join(f"avg({p}), min({p}), max({p})" for p in POINTS)
    query = f"""
        select cast(time as date) as day, count(*), {each} from {table}
        group by day order by day"""
    rows = duckdb.connect().execute(query).fetchall()
    return [[str(row[0])] + [float(x) for x in row[1:]] for row in rows]


def polars_less():
    """Without steps from row to row, and the day cut from the text of the time."""
    import polars as pl

    types = dict(zip(COLUMNS, [pl.String] + [pl.Float64] * 4, strict=True))
    frame = pl.scan_csv(LOG, schema=types, has_header=True)
    frame = frame.rename(dict(zip(COLUMNS[1:], POINTS, strict=True)))
    each = [figure for p in POINTS for figure in (
        pl.col(p).mean().alias(f"{p}0"), pl.col(p).min().alias(f"{p}1"),
        pl.col(p).max().alias(f"{p}2"))]
    frame = frame.group_by(pl.col("time").str.slice(0, 10).alias("day")).agg(pl.len(), *each)
    rows = frame.sort("day").collect(engine="streaming").rows()
    return [[row[0]] + [float(x) for x in row[1:]] for row in rows]


def polars_less_parquet():
    """Without steps from row to row."""
    import polars as pl

    frame = pl.scan_parquet(PARQUET).rename(dict(zip(COLUMNS[1:], POINTS, strict=True)))
    each = [figure for p in POINTS for figure in (
        pl.col(p).mean().alias(f"{p}0"), pl.col(p).min().alias(f"{p}1"),
        pl.col(p).max().alias(f"{p}2"))]
    frame = frame.group_by(pl.col("time").dt.date().alias("day")).agg(pl.len(), *each)
    rows = frame.sort("day").collect(engine="streaming").rows()
    return [[str(row[0])] + [float(x) for x in row[1:]] for row in rows]


WAYS = {
    "DuckDB, SQL": lambda: duckdb_sql(duckdb_csv()),
    "Polars, streaming": lambda: polars_lazy(polars_csv(), "streaming"),
    "Polars, in memory": lambda: polars_lazy(polars_csv(), "in-memory"),
    "DuckDB, means and extremes alone": lambda: duckdb_less(duckdb_csv()),
    "Polars, means and extremes alone": polars_less,
}
PARQUET_WAYS = {
    "DuckDB, Parquet, SQL": lambda: duckdb_sql(duckdb_parquet()),
    "Polars, Parquet, streaming": lambda: polars_lazy(polars_parquet(), "streaming"),
    "Polars, Parquet, in memory": lambda: polars_lazy(polars_parquet(), "in-memory"),
    "DuckDB, Parquet, means and extremes alone": lambda: duckdb_less(duckdb_parquet()),
    "Polars, Parquet, means and extremes alone": polars_less_parquet,
}


def child(command):
    """Runs a command; its output, its seconds, those of all cores, and its greatest resident
    memory, MB."""
    start = time.perf_counter()
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        output = process.stdout.read()
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        sys.exit(f"{command[0]} failed")
    cores = usage.ru_utime + usage.ru_stime
    return output, time.perf_counter() - start, cores, usage.ru_maxrss / 1024


def differences(mine, theirs):
    """Where two tables of figures differ by more than rounding."""
    if len(mine) != len(theirs):
        return [f"{len(mine)} days against {len(theirs)}"]
    found = []
    for a, b in zip(mine, theirs):
        # A way that does less has fewer figures, the first ones.
        for at, (x, y) in enumerate(zip(a, b)):
            same = x == y if isinstance(x, str) else abs(x - y) <= 1e-9 * max(1.0, abs(y))
            if not same:
                found.append(f"{a[0]}, figure {at}: {x} against {y}")
    return found


def main():
    def example(name):
        return str(TARGET / "release" / "examples" / name)

    for package in ["study", "archive"]:
        subprocess.run(["cargo", "build", "--quiet", "--release", "--package", package,
                        "--examples"], cwd=ROOT, check=True)
    if not LOG.exists():
        subprocess.run([example("make_log"), str(ROWS), str(LOG)], check=True)
    if not PARQUET.exists():
        # In a process of its own, as everything else that the libraries do.
        subprocess.run([sys.executable, __file__, "--write-parquet"], check=True)
    commands = {"Calcant": [example("reduced"), str(LOG)],
                "reading bytes and counting line ends": [example("reduced"), "--lines", str(LOG)]}
    failed = "--parquet" not in sys.argv and table(LOG, commands, WAYS)
    failed |= table(PARQUET, {"Calcant": [example("reduced"), str(PARQUET)]}, PARQUET_WAYS)
    print("the figures differ" if failed else "all have the same figures, within 1e-9")
    sys.exit(failed)


def table(log, commands, ways):
    """Times all of one kind of file and prints them; whether the figures differ."""
    size = log.stat().st_size
    print(f"{log.suffix[1:]}: {ROWS} rows, {size / 1e9:.2f} GB, {os.cpu_count()} cores")
    commands = commands | {way: [sys.executable, __file__, way] for way in ways}
    figures, seconds, cores, memory = {}, {}, {}, {}
    for _ in range(3):
        for name, command in commands.items():
            output, took, of_all, peak = child(command)
            answer = json.loads(output)
            # A library's own time is counted from after its import.
            took, of_all = answer.get("seconds", took), answer.get("cores", of_all)
            figures[name] = answer["figures"]
            seconds[name] = min(took, seconds.get(name, took))
            cores[name] = min(of_all, cores.get(name, of_all))
            memory[name] = max(peak, memory.get(name, peak))
    mine = seconds["Calcant"]
    for name, took in seconds.items():
        print(f"{name:42} {took:7.3f} s  {cores[name]:7.3f} s of all cores  {memory[name]:7.0f} MB"
              f"  {took / mine:6.2f} x Calcant's time, {cores[name] / cores['Calcant']:6.2f} x its "
              "cores'")
    failed = False
    for way in ways:
        for line in differences(figures["Calcant"], figures[way])[:5]:
            print(f"Calcant and {way} differ: {line}")
            failed = True
    return failed


if __name__ == "__main__":
    if sys.argv[1:] == ["--write-parquet"]:
        write_parquet()
    elif sys.argv[1:] not in ([], ["--parquet"]):
        # The import is no part of the work.
        __import__("duckdb" if sys.argv[1].startswith("DuckDB") else "polars")
        started, cores = time.perf_counter(), time.process_time()
        result = (WAYS | PARQUET_WAYS)[sys.argv[1]]()
        json.dump({"seconds": time.perf_counter() - started,
                   "cores": time.process_time() - cores, "figures": result}, sys.stdout)
    else:
        main()
