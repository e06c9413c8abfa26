"""Runs docs/sql.md over two invented stations and holds it to `calcant study`.

SOURCE DuckDB, a general-purpose SQL engine of other people's (xtask/sql-requirements.txt says which
release). The commands and statements are taken out of the page itself, so that what it shows is what
is tried. Both sides must agree to one part in 10⁹.

Run by `cargo xtask test`; by hand: `python crates/calcant/tests/sql/figures.py` from the root.
"""

import csv
import datetime
import json
import os
import pathlib
import random
import re
import shlex
import subprocess
import sys
import tempfile
import zoneinfo

import duckdb

ROOT = pathlib.Path(__file__).resolve().parents[4]
STATION = """
calcant  = 1
air_path = ["K1", "R1", "MAIN"]
[site]
name      = "{name}"
altitude  = "100 m"
time_zone = "{zone}"
[[machine]]
id             = "K1"
kind           = "oil-injected screw"
drive          = "gear"
control        = "load/unload"
rated          = {{ pressure = "7.5 bar(g)", fad = "5.3 m3/min", power = "33.4 kW" }}
band           = {{ load = "6.8 bar(g)", unload = "7.5 bar(g)" }}
max_pressure   = "8.0 bar(g)"
unloaded_power = "9.2 kW"
[[vessel]]
id           = "R1"
volume       = "1000 L"
max_pressure = "11 bar(g)"
[[header]]
id     = "MAIN"
wanted = "6.2 bar(g)"
"""


def rows(seed, zone, start, seconds, count):
    """Local times, powers in kW, pressures in bar(g): all of it invented."""
    chance = random.Random(seed)
    tz = zoneinfo.ZoneInfo(zone)
    time = start.replace(tzinfo=tz).astimezone(datetime.timezone.utc)
    made, state, left, pressure = [], "loaded", 20, 7.0
    for at in range(count):
        if left == 0:
            state = chance.choice([s for s in ("loaded", "unloaded", "stopped") if s != state])
            left = chance.randint(2, 40)
        left -= 1
        middle = {"loaded": 33.4, "unloaded": 9.2, "stopped": 0.0}[state]
        power = 0.0 if state == "stopped" else round(middle + chance.uniform(-0.9, 0.9), 1)
        pressure = min(7.6, max(6.4, pressure + chance.uniform(-0.05, 0.05)))
        # Cells without a reading, one or several in a row.
        missing = chance.random() < 0.01 or 500 <= at < 510
        if not 2000 <= at < 2100:  # a gap
            made.append((time.astimezone(tz), None if missing else power, round(pressure, 3)))
        time += datetime.timedelta(seconds=seconds)
    # A row that comes twice, and a clock that was set back for a while.
    made[3000:3000] = [made[2999]]
    made[4000:4000] = made[3990:3995]
    return made


def write(folder):
    """The stations and logs of the page."""
    quillbank = rows(3, "Europe/Lisbon", datetime.datetime(2026, 10, 24, 20), 10, 20_000)
    tilling = rows(5, "America/Halifax", datetime.datetime(2026, 7, 30, 7), 20, 15_000)
    for name, zone in [("Quillbank Tileworks", "Europe/Lisbon"),
                       ("Tilling Joinery", "America/Halifax")]:
        file = folder / f"{name.split()[0].lower()}.toml"
        file.write_text(STATION.format(name=name, zone=zone), encoding="utf-8")
    with open(folder / "quillbank.csv", "w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(["time", "K1.power [kW]", "MAIN.pressure [bar(g)]"])
        for time, power, pressure in quillbank:
            out.writerow([time.strftime("%Y-%m-%d %H:%M:%S"), power, pressure])
    (folder / "tilling-columns.toml").write_text(
        '"Clock" = "time"\n"P1" = "K1.power [W]"\n"Net" = "MAIN.pressure [psi(g)]"\n',
        encoding="utf-8")
    with open(folder / "tilling.csv", "w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, delimiter=";")
        out.writerow(["Clock", "Serial", "Net", "P1"])
        for time, power, pressure in tilling:
            out.writerow([time.strftime("%d.%m.%Y %H:%M:%S"), 7,
                          f"{pressure * 14.5037738:.2f}".replace(".", ","),
                          "" if power is None else round(power * 1000)])


def fenced(page, language):
    return re.findall(rf"^```{language}\n(.*?)^```", page, re.MULTILINE | re.DOTALL)


def calcant(folder, arguments):
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    program = target / "debug" / ("calcant.exe" if os.name == "nt" else "calcant")
    done = subprocess.run([program, *arguments], cwd=folder, capture_output=True, text=True,
                          encoding="utf-8", check=False)
    if done.returncode != 0:
        sys.exit(f"calcant {' '.join(arguments)} ended with {done.returncode}:\n{done.stderr}")
    return done.stdout


def plain(states, key):
    """Stopped, unloaded, loaded out of the study's six states."""
    of = {state: states[state][key] for state in states}
    return {"stopped": of["stopped"], "unloaded": of["unloaded"] + of["blowing_down"],
            "loaded": of["loaded"] + of["modulating"] + of["at_speed"]}


class Differences:
    def __init__(self):
        self.found, self.compared = [], 0

    def same(self, what, sql, study):
        self.compared += 1
        if sql is None or abs(float(sql) - study) > 1e-9 * max(1.0, abs(study)):
            self.found.append(f"{what}: SQL {sql}, study {study}")


def compare(sql, study, name, differences):
    """One station: what the views say against the study's JSON."""
    def table(view):
        result = sql.execute(f"select * from {view} where station = ?", [name])
        columns = [column[0] for column in result.description]
        return [dict(zip(columns, row, strict=True)) for row in result.fetchall()]

    (machine,) = study["machines"]
    told = machine["state_told_by"]
    if (told["runs_above_kW"], told["loaded_above_kW"], told["levels_moved"]) != (4.6, 21.3, 0):
        sys.exit(f"{name}: the page's levels are not the study's: {told}")
    channels = {channel["point"]: channel["days"] for channel in study["channels"]}
    means = {str(row["day"]): row for row in table("means")}
    energy = {str(row["day"]): row for row in table("energy")}
    for power, pressure in zip(channels["K1.power"], channels["MAIN.pressure"], strict=True):
        day, here = power["date"], means[power["date"]]
        for key, column in [("count", "readings"), ("mean", "mean"), ("min", "least"),
                            ("max", "most")]:
            differences.same(f"{name} {day} power {key}", here[column], power[key])
        for key in ["mean", "min", "max"]:
            column = {"mean": "mean", "min": "least", "max": "most"}[key] + "_pressure"
            differences.same(f"{name} {day} pressure {key}", here[column], pressure[key])
        differences.same(f"{name} {day} kWh", energy[day]["kwh"], power["unit_hours"])
        differences.same(f"{name} {day} hours", energy[day]["hours"], power["hours"])
    if set(means) != {day["date"] for day in channels["K1.power"]}:
        sys.exit(f"{name}: the days are not the same")
    states = {(str(row["day"]), row["state"]): row for row in table("states")}
    edges = {str(row["day"]): row for row in table("edges")}
    for day in machine["days"]:
        for key in ["hours", "kwh"]:
            for state, value in plain(day["states"], key).items():
                got = states.get((day["date"], state), {"hours": 0, "kwh": 0})[key]
                differences.same(f"{name} {day['date']} {state} {key}", got, value)
        for key in ["loads", "unloads", "starts", "stops"]:
            got = edges.get(day["date"], {}).get(key, 0)
            differences.same(f"{name} {day['date']} {key}", got, day[key])
    differences.same(f"{name} duty", table("duty")[0]["duty"], machine["duty"])


def main():
    page = (ROOT / "docs" / "sql.md").read_text(encoding="utf-8")
    (commands,) = fenced(page, "shell")
    statements = "".join(fenced(page, "sql"))
    subprocess.run([os.environ.get("CARGO", "cargo"), "build", "--quiet", "--package", "calcant"],
                   cwd=ROOT, check=True)
    differences = Differences()
    with tempfile.TemporaryDirectory() as made:
        folder = pathlib.Path(made)
        write(folder)
        for line in commands.splitlines():
            program, *arguments = shlex.split(line)
            assert program == "calcant", line
            calcant(folder, arguments)
        studies = {
            "Quillbank Tileworks": ["study", "quillbank.toml", "quillbank.csv", "--json"],
            "Tilling Joinery": ["study", "tilling.toml", "tilling.csv", "--map",
                                "tilling-columns.toml", "--json"],
        }
        studies = {name: json.loads(calcant(folder, line)) for name, line in studies.items()}
        os.chdir(folder)
        places = {"fleet/**/*.parquet": list(studies), "quillbank.parquet": list(studies)[:1]}
        for place, names in places.items():
            with duckdb.connect() as sql:
                sql.execute(statements.replace("fleet/**/*.parquet", place))
                for name in names:
                    compare(sql, studies[name], name, differences)
        os.chdir(ROOT)
    for line in differences.found[:20]:
        print(line)
    if differences.compared < 200:
        sys.exit(f"only {differences.compared} figures were compared")
    print(f"docs/sql.md: {differences.compared} figures compared, "
          f"{len(differences.found)} differ")
    sys.exit(bool(differences.found))


if __name__ == "__main__":
    main()
