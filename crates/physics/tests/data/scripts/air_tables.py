"""Writes the moist-air reference tables beside this folder.

Needs CoolProp 8.0.0, PsychroLib 2.5.0, iapws 1.5.5, scipy (Python 3.11). Run from this folder.
"""
import csv
import math

import psychrolib as ps
from CoolProp.CoolProp import HAPropsSI
from iapws._iapws import _Sublimation_Pressure
from iapws.iapws97 import _PSat_T
from scipy.optimize import brentq

ps.SetUnitSystem(ps.SI)
P0 = 101325.0
EPSILON = 18.015268e-3 / 28.966e-3
SOURCE = "CoolProp 8.0.0, PsychroLib 2.5.0, iapws 1.5.5, computed by scripts/air_tables.py"


def write(name, notes, head, rows):
    with open(f"../{name}", "w", newline="") as f:
        f.write(f"# SOURCE {SOURCE}\n")
        for note in notes:
            f.write(f"# {note}\n")
        out = csv.writer(f, lineterminator="\n")
        out.writerow(head)
        out.writerows(rows)


def p_ws(t):
    """IAPWS: over ice below the triple point."""
    T = t + 273.15
    return 1e6 * (_Sublimation_Pressure(T) if T < 273.16 else _PSat_T(T))


def share(t, p):
    return HAPropsSI("psi_w", "T", t + 273.15, "P", p, "R", 1)


def saturation():
    ts = [-70, -60, -50, -40, -30, -20, -10, -5, 0, 0.01, 3, 5, 7, 10, 15, 20, 25, 30, 35, 40, 45,
          50, 60, 70, 80, 90, 100]
    rows = [[t, ps.GetSatVapPres(t), p_ws(t)] for t in ts]
    write("air_saturation.csv",
          ["hyland_wexler_pa: PsychroLib; iapws_pa: R14-08 below 0.01 degC, IF97 above"],
          ["t_c", "hyland_wexler_pa", "iapws_pa"], rows)


def enhancement():
    rows = []
    for p in (1.01325e5, 8.01325e5, 11.01325e5, 14.01325e5):
        for t in (-40, -20, 3, 10, 20, 40, 60, 80):
            w = HAPropsSI("W", "T", t + 273.15, "P", p, "R", 1)
            e = p_ws(t)
            rows.append([p, t, share(t, p) * p / e, w, EPSILON * e / (p - e)])
    write("air_enhancement.csv",
          ["f and w_real: CoolProp HAPropsSI (psi_w and W at R = 1) over iapws; w_ideal: without f"],
          ["p_pa", "t_c", "f", "w_real", "w_ideal"], rows)


def conversion():
    rows = []
    for gauge in (7, 10, 13):
        p = P0 + gauge * 1e5
        for pdp in (-70, -40, -20, 3, 7, 10, 20, 40):
            e = ps.GetSatVapPres(pdp) * P0 / p
            ideal = brentq(lambda t: ps.GetSatVapPres(t) - e, -99.0, pdp, xtol=1e-12)
            y = share(pdp, p)
            real = brentq(lambda t: math.log(share(t, P0) / y), -99.0, pdp + 0.5, xtol=1e-9)
            rows.append([p, pdp, ideal, real])
    write("air_dew_point_conversion.csv",
          ["dew point at p_pa -> dew point at 101325 Pa; ideal: PsychroLib, real: CoolProp"],
          ["p_pa", "pdp_c", "adp_ideal_c", "adp_real_c"], rows)


def ideal(t, rh, p1, p2, t2):
    w = ps.GetHumRatioFromRelHum(t, rh, p1)
    pw = ps.GetVapPresFromHumRatio(w, p1)
    pdp = brentq(lambda x: ps.GetSatVapPres(x) - pw * p2 / p1, -90, 190, xtol=1e-12)
    out = ps.GetSatHumRatio(t2, p2) if t2 < pdp else w
    return w, ps.GetMoistAirVolume(t, w, p1), out, pdp


def real(t, rh, p1, p2, t2):
    state = ("T", t + 273.15, "P", p1, "R", rh)
    w = HAPropsSI("W", *state)
    y = HAPropsSI("psi_w", *state)
    pdp = brentq(lambda x: math.log(share(x, p2) / y), -60, 160, xtol=1e-9)
    out = HAPropsSI("W", "T", t2 + 273.15, "P", p2, "R", 1) if t2 < pdp else w
    return w, HAPropsSI("Vda", *state), out, pdp


def condensate():
    rows = []
    for t, rh, gauge, t2 in [(20, .6, 7, 30), (25, .6, 7, 35), (30, .7, 7, 40), (35, .8, 7, 43),
                             (35, .8, 10, 43), (25, .6, 7, 3), (10, .8, 7, 20), (40, .5, 13, 50)]:
        p2 = P0 + gauge * 1e5
        row = [t, rh, P0, p2, t2, 600]
        for model in (ideal, real):
            w, v, out, pdp = model(t, rh, P0, p2, t2)
            row += [w, v, out, 600 / v * max(0, w - out), pdp]
        rows.append(row)
    head = ["t_in_c", "rh", "p_in_pa", "p_out_pa", "t_out_c", "fad_m3_h"]
    for model in ("ideal", "real"):
        head += [f"{x}_{model}" for x in ("w_in", "v", "w_out", "condensate_kg_h", "pdp_c")]
    write("air_condensate.csv",
          ["ideal: PsychroLib; real: CoolProp; v in m3 per kg dry air"], head, rows)


def discharge():
    rows = []
    for t, rh, p1, gauge in [(20, .6, P0, 7), (25, .6, P0, 7.5), (30, .8, P0, 7.5),
                             (35, .8, P0, 10), (40, .9, P0, 10), (40, .6, 89875.0, 13),
                             (10, .7, P0, 7), (45, .5, P0, 13)]:
        p2 = p1 + gauge * 1e5
        rows.append([t, rh, p1, p2, ideal(t, rh, p1, p2, 199)[3], real(t, rh, p1, p2, 159)[3]])
    write("air_discharge.csv",
          ["dew point of the intake moisture at discharge pressure: the lowest safe temperature"],
          ["t_c", "rh", "p_in_pa", "p_out_pa", "t_min_ideal_c", "t_min_real_c"], rows)


if __name__ == "__main__":
    saturation()
    enhancement()
    conversion()
    condensate()
    discharge()
