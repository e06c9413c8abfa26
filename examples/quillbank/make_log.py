"""Makes log.csv.gz: four invented days of Quillbank Tileworks, a row every 10 s.

K1 carries the load in its band, K2 stands still. Air in, air out and the pressure of the storage
follow from the mass balance; power grows by some 7 % a bar (the published rule: 1 % for each 2 psi).
Run it with Python 3.11 or later; the same seed gives the same file.
"""

import datetime
import gzip
import io
import math
import random

STORAGE_M3 = 2.4
DELIVERY = 5.25  # m3/min of reference air
LEAKS = 0.95  # m3/min at 7 bar(g)
STEP_S = 10

random.seed(1907)
out = io.StringIO()
out.write("time,K1.power [kW],K2.power [kW],R1.pressure [bar(g)],MAIN.pressure [bar(g)],site.ambient [degC]\n")
now = datetime.datetime(2026, 7, 3)
end = datetime.datetime(2026, 7, 7)
pressure, loaded, unloaded_s, works = 7.1, True, 0, 0.0
while now < end:
    at_work = now.weekday() < 5 and 6 <= now.hour < 22
    works += (random.gauss(2.7 if at_work else 0.0, 0.5 if at_work else 0.0) - works) * 0.03
    leaks = LEAKS * (pressure + 1.013) / 8.013
    demand = max(works, 0.0) + leaks
    if loaded and pressure >= 7.5:
        loaded, unloaded_s = False, 0
    elif not loaded and pressure <= 6.8:
        loaded = True
    pressure += ((DELIVERY if loaded else 0.0) - demand) * STEP_S / 60 / STORAGE_M3
    hour = now.hour + now.minute / 60
    ambient = 18 + 6 * math.sin((hour - 9) * math.pi / 12) + random.gauss(0, 0.05)
    if loaded:
        power = 32.6 * (1 + 0.07 * (pressure - 7.1))
    else:
        power = 9.2 + 9.0 * math.exp(-unloaded_s / 12)
        unloaded_s += STEP_S
    header = pressure - 0.12 * (demand / 4) ** 1.8
    out.write(
        f"{now:%Y-%m-%dT%H:%M:%S},{power + random.gauss(0, 0.1):.1f},0.0,"
        f"{pressure + random.gauss(0, 0.004):.2f},{header + random.gauss(0, 0.004):.2f},{ambient:.1f}\n"
    )
    now += datetime.timedelta(seconds=STEP_S)
with open("log.csv.gz", "wb") as file, gzip.GzipFile("", "wb", 9, file, 0) as packed:
    packed.write(out.getvalue().encode())
