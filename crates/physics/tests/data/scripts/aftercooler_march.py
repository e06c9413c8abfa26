"""Makes the table of aftercoolers solved by a general solver of differential equations.

The same film model as the crate's, written apart: at each place the wall's balance by bracketing, bulk air
that cannot hold its vapour put at saturation, integrated by an implicit method of adaptive order. Saturation is
the real gas of the library. Needs SciPy 1.17.1, CoolProp 8.0.0. Run inside this folder; prints the table.
"""
import functools
import random

import numpy
from CoolProp.CoolProp import HAPropsSI
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

DRY, VAPOUR, WATER, LATENT = 1006.0, 1860.0, 4186.0, 2.501e6


@functools.cache
def saturation(p):
    """W_s over temperature in K at one pressure, by a spline through the library's values of ln W_s."""
    grid = numpy.arange(235.0, 373.0, 1.0)
    logs = [numpy.log(HAPropsSI("W", "T", t, "P", p, "R", 1.0)) for t in grid]
    spline = CubicSpline(grid, logs)
    return lambda t: float(numpy.exp(spline(t)))


def leaving(t_in, w_in, p, t_c, n, share):
    """Temperature (degC) and vapour (kg/kg) that leave."""
    held = saturation(p)
    hot, cold = n / share, n / (1 - share)
    fog = lambda h, w: (h - w * LATENT) / (DRY + w * VAPOUR + (w_in - w) * WATER)
    w_s = lambda t: held(t + 273.15)

    def bulk(h, w):
        t = fog(h, w)
        if w <= w_s(t):
            return t, w
        w = brentq(lambda x: x - w_s(fog(h, x)), 0.0, w, xtol=1e-14)
        return fog(h, w), w

    def slopes(_, state):
        t, w = bulk(*state)
        c_p = DRY + w * VAPOUR + (w_in - w) * WATER

        def excess(wall):
            wet = max(0.0, w - w_s(wall))
            latent = LATENT - 2326.0 * wall
            return hot * (c_p * (t - wall) + latent * wet) - cold * c_p * (wall - t_c)

        wall = brentq(excess, t_c - 1.0, t + 1.0, xtol=1e-11)
        # What falls out in the bulk is taken from the state by the projection above.
        return [-cold * c_p * (wall - t_c), -hot * max(0.0, w - w_s(wall))]

    # The projection must act on the state too: short stretches, each settled at its end.
    h, w = DRY * t_in + w_in * (LATENT + VAPOUR * t_in), w_in
    _, w = bulk(h, w)
    ends = numpy.linspace(0.0, 1.0, 401)
    for a, b in zip(ends, ends[1:]):
        found = solve_ivp(slopes, (a, b), [h, w], method="RK45", rtol=1e-8, atol=[1e-4, 1e-11])
        h = found.y[0, -1]
        _, w = bulk(h, found.y[1, -1])
    return fog(h, w), w


chance = random.Random(20)
print("t_in_c,w_in,p_pa,t_cool_c,units,share,t_out_c,w_out")
for case in range(24):
    p = (5.0e5, 8.0e5, 1.1e6, 1.4e6)[case % 4]
    t_c = round(chance.uniform(-5.0, 45.0), 1)
    rh = round(chance.uniform(0.2, 1.0), 2)
    t_in = round(chance.uniform(62.0, 105.0), 1)
    n = round(chance.uniform(0.8, 4.5), 2)
    share = round(chance.uniform(0.3, 0.7), 2)
    w_in = round(rh * HAPropsSI("W", "T", t_c + 273.15, "P", 101325.0, "R", 1.0), 6)
    t_out, w_out = leaving(t_in, w_in, p, t_c, n, share)
    print(t_in, w_in, p, t_c, n, share, f"{t_out:.4f}", f"{w_out:.7f}", sep=",")
