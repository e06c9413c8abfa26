"""Times `calcant judge` as a whole process: a year of daily rounds, five years of them with more than
40 points and all that goes wrong, a year of many stations, and ten million rows.

Beside the second, general-purpose readers parse the same file in the same run, if they are
installed (polars, duckdb); they only parse it, `calcant` also checks every cell and judges.
Nothing is judged by these timings; they are for people to read.

    python crates/calcant/benches/judge_year.py [--rows N] [--stations N] [--keep FOLDER]
"""

import argparse
import csv
import datetime
import json
import os
import pathlib
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[3]
STATION = ROOT / "examples/quillbank/station.toml"
RUNS = 20

# Thirty columns of a daily round: the time and 29 points. A `+` marks a counter and its daily step.
YEAR = {
    "site.ambient [degC]": (4, 24, 1), "site.humidity [%]": (45, 92, 0),
    "room.temperature [degC]": (10, 30, 1), "K1.state": "loaded",
    "K1.oil_temperature [degC]": (74, 84, 0), "K1.outlet_temperature [degC]": (20, 36, 0),
    "K1.pressure [bar(g)]": (6.9, 7.4, 1), "K1.power [kW]": (32.2, 33.6, 1),
    "K1.hours_run [h]": "+14", "K1.hours_loaded [h]": "+11", "K1.starts": "+2",
    "K1.oil_level": "in band", "K1.separator_drop [bar]": (0.2, 0.3, 2),
    "K1.mat": "clean", "K2.state": "loaded",
    "K2.oil_temperature [degC]": (72, 82, 0), "K2.outlet_temperature [degC]": (20, 36, 0),
    "K2.pressure [bar(g)]": (6.7, 7.2, 1), "K2.power [kW]": (31.8, 33.2, 1),
    "K2.hours_run [h]": "+9", "K2.hours_loaded [h]": "+5", "K2.oil_level": "in band",
    "R1.pressure [bar(g)]": (6.6, 7.2, 1), "R1.drain.test": "strong", "F1.drop [bar]": (0.06, 0.1, 2),
    "D1.dew_point [degC]": (3, 5, 1), "D1.drain.test": "strong",
    "MAIN.pressure [bar(g)]": (6.4, 6.9, 1), "MAIN.flow [m3/min(ANR)]": (5.5, 7.5, 1),
}

# Eight numeric columns, one row a second.
LONG = {
    "site.ambient [degC]": (4, 24, 1), "room.temperature [degC]": (10, 30, 1),
    "K1.oil_temperature [degC]": (74, 84, 1), "K1.pressure [bar(g)]": (6.9, 7.4, 2),
    "K1.power [kW]": (32.2, 33.6, 1), "R1.pressure [bar(g)]": (6.6, 7.2, 2),
    "F1.drop [bar]": (0.06, 0.1, 3), "MAIN.pressure [bar(g)]": (6.4, 6.9, 2),
}

POLARS = """
import sys, time, polars
start = time.perf_counter()
table = polars.read_csv(sys.argv[1], try_parse_dates=True)
print(time.perf_counter() - start, table.height, polars.__version__)
"""
DUCKDB = """
import sys, time, duckdb
duckdb.sql("SET enable_progress_bar = false")
start = time.perf_counter()
table = duckdb.sql(f"CREATE TABLE t AS SELECT * FROM read_csv('{sys.argv[1]}')")
rows = duckdb.sql("SELECT count(*) FROM t").fetchall()[0][0]
print(time.perf_counter() - start, rows, duckdb.__version__)
"""


def build():
    subprocess.run(["cargo", "build", "--quiet", "--release", "-p", "calcant"], cwd=ROOT, check=True)
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return (ROOT / target / "release/calcant").resolve()


def run(command):
    """Runs a command; returns its wall-clock seconds, peak memory in MB (None if it cannot be
    measured), and what it printed."""
    # A child begins with the peak of the process that starts it, so a small one stands between.
    gnu_time = shutil.which("time") if sys.platform == "linux" else None
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err, \
            tempfile.NamedTemporaryFile() as peak:
        measured = [gnu_time, "-f", "%M", "-o", peak.name, *command] if gnu_time else command
        start = time.perf_counter()
        status = subprocess.run(measured, stdout=out, stderr=err).returncode
        seconds = time.perf_counter() - start
        out.seek(0), err.seek(0)
        if status != 0:
            raise SystemExit(f"{command[0]} ended with {status}:\n{err.read(2000).decode()}")
        memory = int(peak.read()) * 1024 / 1e6 if gnu_time else None
        return seconds, memory, out.read().decode()


def megabytes(memory):
    return "peak memory not measured" if memory is None else f"peak memory {memory:.0f} MB"


def value(kind, day, chance):
    if isinstance(kind, tuple):
        low, high, places = kind
        return f"{chance.uniform(low, high):.{places}f}"
    return str(5000 + int(kind) * day) if kind.startswith("+") else kind


def write_year(path):
    chance = random.Random(1)
    start = datetime.date(2025, 7, 1)
    with open(path, "w") as file:
        file.write("time," + ",".join(YEAR) + "\n")
        for day in range(365):
            cells = [value(kind, day, chance) for kind in YEAR.values()]
            date = start + datetime.timedelta(days=day)
            file.write(f"{date} 07:10," + ",".join(cells) + "\n")


# What is mended between two of the five years, so that the next begins as the first did.
MENDED = "; ".join(
    [f"{machine}:{work}" for machine in ("K1", "K2") for work in (
        "clean mat", "clean cooler", "change separator", "change oil", "change oil filter",
        "change intake filter", "tighten belt")]
    + ["F1:change element"])
COUNTERS = [f"{machine}.{what}" for machine in ("K1", "K2")
            for what in ("hours_run [h]", "hours_loaded [h]", "starts")]


def write_five_years(path):
    """The demo's year five times, each 364 days later, its counters going on; a day without a round
    reads as the day before, with counters between. A barometer and two energy meters come beside the
    demo's points. Returns how many rounds and points there are."""
    with open(STATION.with_name("rounds.csv"), newline="") as file:
        year = list(csv.DictReader(file))
    for at, read in enumerate(year):
        # A counter that was not read.
        for name in (name for name in COUNTERS if not read[name]):
            after = next(later[name] for later in year[at + 1:] if later[name])
            read[name] = (float(year[at - 1][name]) + float(after)) / 2
    points = [name for name in year[0] if "." in name]
    energies = [f"{machine}.energy [kWh]" for machine in ("K1", "K2")]
    chance = random.Random(3)
    last = {name: float(year[0][name]) for name in COUNTERS}
    ran = {name: float(year[-1][name]) - first for name, first in last.items()}
    last |= dict.fromkeys(energies, 100_000.0)
    before, written = None, 0
    with open(path, "w", newline="") as file:
        table = csv.DictWriter(file, [*year[0], "site.barometer [bar(a)]", *energies],
                               lineterminator="\n")
        table.writeheader()
        for number in range(5):
            # The last day of a year is the first of the next.
            for read in year[:-1]:
                row = dict(read)
                counts = last | {name: float(read[name]) + number * ran[name] for name in COUNTERS}
                for machine in ("K1", "K2"):
                    run, loaded = (counts[name] - last[name] for name in
                                   (f"{machine}.hours_run [h]", f"{machine}.hours_loaded [h]"))
                    counts[f"{machine}.energy [kWh]"] += 33.0 * loaded + 9.0 * (run - loaded)
                row["time"] = (datetime.datetime.strptime(read["time"], "%Y-%m-%d %H:%M")
                               + datetime.timedelta(days=364 * number))
                row["site.barometer [bar(a)]"] = f"{chance.gauss(1.003, 0.007):.3f}"
                if number > 0 and read is year[0]:
                    row["done"] = MENDED
                days = (row["time"].date() - before["time"].date()).days if before else 1
                for day in range(1, days + 1):
                    new = row if day == days else before | {
                        "time": before["time"] + datetime.timedelta(days=day),
                        "note": "", "done": ""}
                    between = {name: round(last[name] + (count - last[name]) * day / days)
                               for name, count in counts.items()}
                    table.writerow(new | between | {"time": f"{new['time']:%Y-%m-%d %H:%M}"})
                    written += 1
                before, last = row, counts
    return written, len(points) + 1 + len(energies)


def write_long(path, rows):
    chance = random.Random(2)
    # A prime number of different rows, so that none falls always on the same second.
    tails = [
        "," + ",".join(value(kind, 0, chance) for kind in LONG.values()) + "\n" for _ in range(99_991)
    ]
    seconds = [f"{s // 60:02}:{s % 60:02}" for s in range(3600)]
    hour = datetime.datetime(2025, 1, 1, tzinfo=datetime.timezone.utc)
    written = 0
    with open(path, "w", buffering=1 << 20) as file:
        file.write("time," + ",".join(LONG) + "\n")
        while written < rows:
            stamp = hour.strftime("%Y-%m-%dT%H:")
            count = min(3600, rows - written)
            file.write("".join(
                f"{stamp}{seconds[s]}Z{tails[(written + s) % 99_991]}" for s in range(count)
            ))
            written += count
            hour += datetime.timedelta(hours=1)


def year(calcant, folder):
    rounds = folder / "year.csv"
    write_year(rounds)
    command = [calcant, "judge", STATION, rounds]
    timings = [run(command) for _ in range(RUNS + 1)][1:]
    seconds = [t[0] for t in timings]
    print(f"a year of daily rounds, {len(YEAR) + 1} columns, whole process, {RUNS} runs:")
    print(f"  median {statistics.median(seconds) * 1e3:.1f} ms"
          f" ({min(seconds) * 1e3:.1f} to {max(seconds) * 1e3:.1f}),"
          f" {megabytes(timings[0][1])}")


def five_years(calcant, folder):
    rounds = folder / "five-years.csv"
    count, points = write_five_years(rounds)
    command = [calcant, "judge", STATION, rounds, "--json"]
    timings = [run(command) for _ in range(RUNS + 1)][1:]
    seconds = [t[0] for t in timings]
    told = json.loads(timings[0][2])
    assert told["rounds"]["accepted"] == count, told["rounds"]
    causes = sum(bool(finding["causes"]) for finding in told["findings"])
    print(f"five years of daily rounds, {count} of them with {points} points, {RUNS} runs:")
    print(f"  median {statistics.median(seconds) * 1e3:.0f} ms"
          f" ({min(seconds) * 1e3:.0f} to {max(seconds) * 1e3:.0f}), {megabytes(timings[0][1])};"
          f" {len(told['findings'])} findings, {causes} of them with causes")


def many(calcant, stations):
    """The demo's year many times over; what it takes for ten and for all of them."""
    demo = [STATION, STATION.with_name("rounds.csv")]
    print("a year of the demo's rounds, whole process, all cores, as JSON:")
    for count in sorted({10, stations}):
        seconds, memory, said = run([calcant, "judge", *(demo * count), "--json"])
        print(f"  {count} stations {seconds:.1f} s, {megabytes(memory)},"
              f" {len(said) / 1e6:.0f} MB of answers")


def long(calcant, folder, rows):
    rounds = folder / "long.csv"
    free = shutil.disk_usage(folder).free
    while rows * 100 > free:
        rows //= 10
        print(f"the disk is nearly full: {rows} rows instead")
    write_long(rounds, rows)
    size = rounds.stat().st_size
    print(f"{rows} rows of {len(LONG)} numbers and a time, {size / 1e9:.2f} GB, file cached:")
    with open(rounds, "rb", buffering=0) as file:
        while file.read(1 << 22):
            pass
    seconds, memory, said = run([calcant, "judge", STATION, rounds])
    accepted = said.splitlines()[1]
    print(f"  calcant judge   {seconds:6.1f} s, {rows / seconds / 1e6:.2f} million rows a second,"
          f" {megabytes(memory)}; {accepted}")
    for name, code in [("polars", POLARS), ("duckdb", DUCKDB)]:
        try:
            __import__(name)
        except ImportError:
            print(f"  {name} is not installed: no comparison")
            continue
        _, peak, said = run([sys.executable, "-c", code, str(rounds)])
        parsing, height, version = said.splitlines()[-1].split()
        assert int(height) == rows, f"{name} read {height} rows"
        print(f"  {name + ' ' + version:15} {float(parsing):6.1f} s for parsing alone,"
              f" {megabytes(peak)}; calcant judge takes {seconds / float(parsing):.1f} times as long")


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--rows", type=int, default=10_000_000)
    arguments.add_argument("--stations", type=int, default=1_000)
    arguments.add_argument("--keep", type=pathlib.Path, help="write the files there and keep them")
    arguments = arguments.parse_args()
    calcant = build()
    with tempfile.TemporaryDirectory(prefix="calcant-bench-") as temporary:
        folder = arguments.keep or pathlib.Path(temporary)
        year(calcant, folder)
        five_years(calcant, folder)
        many(calcant, arguments.stations)
        long(calcant, folder, arguments.rows)


if __name__ == "__main__":
    main()
