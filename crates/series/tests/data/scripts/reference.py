"""Reference values for the crate `series`, from a general statistics library.

Run beside this file: python reference.py
Needs scipy 1.17.1.
"""
import csv, pathlib
from scipy import stats, special

OUT = pathlib.Path(__file__).parent.parent
HEAD = "# SOURCE scipy 1.17.1, computed by scripts/reference.py\n"

def write(name, note, header, rows):
    with open(OUT / name, "w", newline="\n") as f:
        f.write(HEAD + f"# {note}\n")
        w = csv.writer(f, lineterminator="\n"); w.writerow(header)
        for r in rows: w.writerow([repr(float(v)) for v in r])

zs = [-36, -20, -10, -8, -5, -3.5, -3, -2.9, -2.8, -2, -1.5, -1, -0.3, -1e-5, 0, 0.1, 0.6744897501960817, 1, 1.959963984540054, 2.5, 3, 4, 6, 8]
write("normal_cdf.csv", "scipy.stats.norm.cdf", ["z", "p"], [(z, stats.norm.cdf(z)) for z in zs])
ps = [1e-290, 1e-100, 1e-20, 1e-12, 1e-6, 1e-3, 0.02, 0.07, 0.075, 0.1, 0.25, 0.4, 0.5, 0.6, 0.9, 0.925, 0.93, 0.975, 0.999, 1 - 1e-9]
write("normal_quantile.csv", "scipy.special.ndtri", ["p", "z"], [(p, special.ndtri(p)) for p in ps])
