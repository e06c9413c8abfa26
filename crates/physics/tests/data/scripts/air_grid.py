"""Writes air_grid.csv (humidity ratio and dew point of CoolProp over the whole working range) and
air_extremes.csv (dew points below and above it) beside this folder.

Needs CoolProp 8.0.0, scipy (Python 3.11). Run from this folder.
"""
import csv
import math

from CoolProp.CoolProp import HAPropsSI
from scipy.optimize import brentq

SOURCE = "CoolProp 8.0.0 HAPropsSI (ASHRAE RP-1485 virial equations), computed by scripts/air_grid.py"


def share(t, p, rh=1.0):
    return HAPropsSI("psi_w", "T", t + 273.15, "P", p, "R", rh)



def dew_point(y, p, top):
    return brentq(lambda t: math.log(share(t, p) / y), -110.0, top, xtol=1e-9)


def write(name, note, head, rows):
    with open(f"../{name}", "w", newline="") as f:
        f.write(f"# SOURCE {SOURCE}\n# {note}\n")
        out = csv.writer(f, lineterminator="\n")
        out.writerow(head)
        out.writerows(rows)


if __name__ == "__main__":
    rows = []
    for t in (-30, -20, -10, 0, 10, 20, 30, 40, 50, 60):
        for bar in (1, 2, 4, 8, 11, 14):
            for rh in (0.05, 0.2, 0.5, 0.8, 1.0):
                p = bar * 1e5
                w = HAPropsSI("W", "T", t + 273.15, "P", p, "R", rh)
                d = dew_point(share(t, p, rh), p, t + 0.01)
                rows.append([t, rh, p, "%.12g" % w, "%.8f" % d])
    write("air_grid.csv", "w in kg/kg dry air; dew_point_c over ice below 0.01 degC",
          ["t_c", "rh", "p_pa", "w", "dew_point_c"], rows)

    rows = []
    for bar in (1, 2, 4, 8, 11, 14, 20):
        for t in (-100, -90, -80, -70, -60, -50, -40, 60, 70, 80, 90, 100, 110, 120, 130):
            p = bar * 1e5
            try:
                y = share(t, p)
            except ValueError:
                continue
            if y < 0.9:
                w = HAPropsSI("W", "T", t + 273.15, "P", p, "R", 1)
                rows.append([t, p, "%.12g" % w])
    write("air_extremes.csv", "w in kg/kg dry air, saturated at dew_point_c",
          ["dew_point_c", "p_pa", "w"], rows)
