"""Makes the tables of belts, compression and heat exchangers that the tests compare with.

Needs ht 1.2.0, CoolProp 8.0.0, PsychroLib 2.5.0. Run inside this folder; prints every table.
"""
import math
import psychrolib as ps
from CoolProp.CoolProp import HAPropsSI, PropsSI
from ht.hx import effectiveness_from_NTU

print("heat_ntu_crossflow")
for cr in (0.0, 0.25, 0.5, 0.6, 0.75, 1.0):
    for n in (0.25, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0):
        if cr == 0:
            row = [1 - math.exp(-n)] * 3
        else:
            row = [
                effectiveness_from_NTU(NTU=n, Cr=cr, subtype=kind)
                for kind in ("crossflow", "crossflow approximate", "counterflow")
            ]
        print(cr, n, *row, sep=",")

print("belt_geometry")
for c, big, small in (
    (600.0, 250.0, 140.0),
    (850.0, 315.0, 200.0),
    (1000.0, 400.0, 224.0),
    (450.0, 180.0, 180.0),
    (500.0, 400.0, 112.0),
):
    a = math.asin((big - small) / (2 * c))
    exact = 2 * c * math.cos(a) + math.pi / 2 * (big + small) + a * (big - small)
    approximate = 2 * c + math.pi / 2 * (big + small) + (big - small) ** 2 / (4 * c)
    span = math.sqrt(c * c - ((big - small) / 2) ** 2)
    b = 4 * approximate - 2 * math.pi * (big + small)
    back = (b + math.sqrt(b * b - 32 * (big - small) ** 2)) / 16
    wrap = 180 - 2 * math.degrees(a)
    print(c, big, small, exact, approximate, span, wrap, 0.016 * span, span / 64, back, sep=",")

print("compression_power")
for p1, gauges in ((100.0, (6, 7, 8, 10, 13)), (101.325, (7, 7.5, 10))):
    for gauge in gauges:
        x, flow = (p1 + 100 * gauge) / p1, p1 / 60
        isothermal, adiabatic = flow * math.log(x), 3.5 * flow * (x ** (1 / 3.5) - 1)
        print(p1, gauge, isothermal, adiabatic, 7 * flow * (x ** (1 / 7) - 1), sep=",")

print("compression_least_efficiency")
for cfm in (50, 100, 200, 500, 1000, 1250):
    y = math.log(0.4719 * cfm)
    fixed = -0.00928 * y * y + 0.13911 * y + 0.27110
    variable = -0.01549 * y * y + 0.21573 * y + 0.00905
    least = [r + (1 - r) * d / 100 for r, d in ((fixed, -15), (variable, -10))]
    wet = [r + 0.02349 - 0.15 * (1 - r) for r in (fixed, variable)]
    print(cfm, *least, *wet, sep=",")

print("heat_aftercooler")
ps.SetUnitSystem(ps.SI)
P0 = 101325.0
for t, rh, gauge, hot, out, flow in (
    (25, 0.6, 7, 80, 35, 600),
    (35, 0.8, 7, 90, 43, 600),
    (20, 0.6, 10, 75, 30, 1200),
):
    p2 = P0 + gauge * 1e5
    w = HAPropsSI("W", "T", t + 273.15, "P", P0, "R", rh)
    m = flow / HAPropsSI("Vda", "T", t + 273.15, "P", P0, "R", rh) / 3600
    w2 = HAPropsSI("W", "T", out + 273.15, "P", p2, "R", 1)
    h1 = HAPropsSI("H", "T", hot + 273.15, "P", p2, "W", w)
    h2 = HAPropsSI("H", "T", out + 273.15, "P", p2, "R", 1)
    liquid = PropsSI("H", "T", out + 273.15, "P", p2, "Water") - PropsSI("H", "T", 273.16, "Q", 0, "Water")
    real = m * (h1 - h2 - (w - w2) * liquid)
    wi = ps.GetHumRatioFromRelHum(t, rh, P0)
    mi = flow / ps.GetMoistAirVolume(t, wi, P0) / 3600
    wi2 = ps.GetSatHumRatio(out, p2)
    fall = ps.GetMoistAirEnthalpy(hot, wi) - ps.GetMoistAirEnthalpy(out, wi2)
    ideal = mi * (fall - (wi - wi2) * 4186 * out)
    print(t, rh, gauge, hot, out, flow, real, ideal, mi * 1006 * (hot - out), sep=",")
