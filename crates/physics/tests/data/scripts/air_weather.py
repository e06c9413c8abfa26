"""Writes air_weather_hourly.csv and air_weather_monthly.csv beside this folder: the condensate of
1 m3/min of free air at 7 bar(g), cooled to 8 K above the outdoors, hour by hour over a typical year.

Needs pvlib 0.16.1 (for the weather file it carries), PsychroLib 2.5.0, numpy (Python 3.11).
Run from this folder.
"""
import csv
import os

import numpy as np
import psychrolib as ps
import pvlib
from pvlib.iotools import read_tmy3

ps.SetUnitSystem(ps.SI)
FOLDER = os.path.join(os.path.dirname(pvlib.__file__), "data")
FILE = "723170TYA.CSV"
NOTICE = """# SOURCE weather: typical meteorological year, TMY3 723170, made by the US National Renewable
# Energy Laboratory, as carried by pvlib 0.16.1 (BSD-3-Clause). Credit for the data belongs to that
# laboratory, which gives it without warranty.
# SOURCE condensate: PsychroLib 2.5.0, computed by scripts/air_weather.py
"""


def load():
    df, _ = read_tmy3(os.path.join(FOLDER, FILE), map_variables=True)
    rh, p = df["relative_humidity"] / 100.0, df["pressure"] * 100.0
    return df.index.month.values, df["temp_air"].astype(float).values, rh.values, p.values


def condensate_kg_h(t, rh, p):
    w = ps.GetHumRatioFromRelHum(t, rh, p)
    dry = 60.0 / ps.GetMoistAirVolume(t, w, p)
    return dry * max(0.0, w - ps.GetSatHumRatio(t + 8.0, p + 7e5))


def write(name, head, rows):
    with open(f"../{name}", "w", newline="") as f:
        f.write(NOTICE)
        out = csv.writer(f, lineterminator="\n")
        out.writerow(head)
        out.writerows(rows)


if __name__ == "__main__":
    month, t, rh, p = load()
    kg = np.array([condensate_kg_h(float(a), float(b), float(c)) for a, b, c in zip(t, rh, p)])
    write("air_weather_hourly.csv", ["hour", "month", "t_c", "rh", "p_pa", "condensate_kg_h"],
          [[i, month[i], "%g" % t[i], "%g" % rh[i], "%g" % p[i], "%.8g" % kg[i]]
           for i in range(len(t))])
    write("air_weather_monthly.csv", ["month", "hours", "condensate_kg"],
          [[m, int((month == m).sum()), float(kg[month == m].sum())] for m in range(1, 13)]
          + [["year", len(t), float(kg.sum())]])
