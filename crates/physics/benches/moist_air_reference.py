"""Prints how many full moist-air states a second two reference libraries compute: humidity ratio,
dew point, density and enthalpy from temperature, relative humidity and pressure. The states are
those of moist_air.rs beside this file.

Needs PsychroLib 2.5.0 and CoolProp 8.0.0 (Python 3.11).
"""
import time

import psychrolib as ps
from CoolProp.CoolProp import HAPropsSI

ps.SetUnitSystem(ps.SI)


def given(i):
    return -20.0 + 0.7 * (i % 101), 0.1 + 0.05 * (i % 18), 1e5 * (1 + i % 14)


def psychrolib_state(i):
    t, rh, p = given(i)
    w = ps.GetHumRatioFromRelHum(t, rh, p)
    dew_point = ps.GetTDewPointFromHumRatio(t, w, p)
    return w, dew_point, ps.GetMoistAirDensity(t, w, p), ps.GetMoistAirEnthalpy(t, w)


def coolprop_state(i):
    t, rh, p = given(i)
    args = ("T", t + 273.15, "P", p, "R", rh)
    w = HAPropsSI("W", *args)
    density = (1.0 + w) / HAPropsSI("Vda", *args)
    return w, HAPropsSI("D", *args), density, HAPropsSI("H", *args)


def rate(name, state, count):
    start = time.perf_counter()
    refused = 0
    for i in range(count):
        try:
            state(i)
        except ValueError:
            refused += 1
    seconds = time.perf_counter() - start
    print(f"{name}: {count / seconds:.0f} states/s ({refused} of {count} without an answer)")


if __name__ == "__main__":
    rate("PsychroLib (ideal gas)", psychrolib_state, 10_000)
    rate("CoolProp (real gas)", coolprop_state, 2_000)
