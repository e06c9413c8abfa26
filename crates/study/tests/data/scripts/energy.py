"""Energy of an invented power log by `scipy.integrate`, trapezoids.

Writes ../energy.csv: the log itself, with irregular steps, and beside each row the energy since the
start, kWh. Run once with scipy 1.17.1, numpy 2.4.6: `python energy.py > ../energy.csv`.
"""

import numpy as np
from scipy.integrate import cumulative_trapezoid, trapezoid

random = np.random.default_rng(20260105)
steps = random.choice([1, 2, 3, 5], size=4000)
seconds = np.concatenate([[0], np.cumsum(steps)])
level = np.repeat(random.choice([0.0, 9.2, 21.0, 33.4], size=101), 40)[: len(seconds)]
power = np.round(np.where(level > 0, level + random.normal(0, 0.4, len(seconds)), 0.0), 2)
energy = cumulative_trapezoid(power, seconds, initial=0.0) / 3600.0
assert abs(energy[-1] - trapezoid(power, seconds) / 3600.0) < 1e-9
print("# scipy.integrate.cumulative_trapezoid, scipy 1.17.1; scripts/energy.py")
print("second,power_kW,energy_kWh")
for s, p, e in zip(seconds, power, energy):
    print(f"{s},{p:.2f},{e:.12f}")
