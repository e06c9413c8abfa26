"""Reference values for the crate `series`, from general statistics libraries.

Run beside this file: python reference.py
Needs scipy 1.17.1, statsmodels 0.15.0, numpy.
"""
import csv, pathlib
import numpy as np
from scipy import stats, special, linalg
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

OUT = pathlib.Path(__file__).parent.parent
HEAD = "# SOURCE scipy 1.17.1, statsmodels 0.15.0, computed by scripts/reference.py\n"

def write(name, note, header, rows):
    with open(OUT / name, "w", newline="\n") as f:
        f.write(HEAD + f"# {note}\n")
        w = csv.writer(f, lineterminator="\n"); w.writerow(header)
        for r in rows: w.writerow([repr(float(v)) for v in r])

zs = [-36, -20, -10, -8, -5, -3.5, -3, -2.9, -2.8, -2, -1.5, -1, -0.3, -1e-5, 0, 0.1, 0.6744897501960817, 1, 1.959963984540054, 2.5, 3, 4, 6, 8]
write("normal_cdf.csv", "scipy.stats.norm.cdf", ["z", "p"], [(z, stats.norm.cdf(z)) for z in zs])
ps = [1e-290, 1e-100, 1e-20, 1e-12, 1e-6, 1e-3, 0.02, 0.07, 0.075, 0.1, 0.25, 0.4, 0.5, 0.6, 0.9, 0.925, 0.93, 0.975, 0.999, 1 - 1e-9]
write("normal_quantile.csv", "scipy.special.ndtri", ["p", "z"], [(p, special.ndtri(p)) for p in ps])
rows = []
for nu in [1, 2, 2.5, 3, 9, 16, 34, 47.5, 100, 1e3, 1e5, 1e7]:
    for p in [1e-9, 1e-4, 0.01, 0.1, 0.3, 0.49, 0.55, 0.9, 0.975, 0.995, 0.9999]:
        rows.append((nu, p, stats.t.ppf(p, nu)))
write("student_quantile.csv", "scipy.stats.t.ppf", ["freedom", "p", "t"], rows)
rows = []
for nu in [1, 2.5, 9, 34, 1e3, 1e6]:
    for t in [-50, -6, -2, -0.7, -1e-3, 0.2, 1, 3, 8]:
        rows.append((nu, t, stats.t.cdf(t, nu)))
write("student_cdf.csv", "scipy.stats.t.cdf", ["freedom", "t", "p"], rows)

def exact(ql, qd, th, dt):
    """Van Loan (1978): transition and noise covariance from one matrix exponential."""
    A = np.array([[0, 1], [0, -th]]); Qc = np.diag([ql, qd])
    M = np.block([[-A, Qc], [np.zeros((2, 2)), A.T]]) * dt
    E = linalg.expm(M)
    F = E[2:, 2:].T
    return F, F @ E[:2, 2:]

rows = []
for ql, qd in [(0.0, 1.0), (0.3, 0.02)]:
    for th in [0.0, 1e-6, 0.01, 0.2, 3.0]:
        for dt in [0.001, 0.7, 3.0]:
            F, Q = exact(ql, qd, th, dt)
            # A matrix exponential loses digits of tiny third powers; good to 1e-7 of the largest.
            rows.append((ql, qd, th, dt, F[0, 1], F[1, 1], Q[0, 0], Q[0, 1], Q[1, 1]))
write("motion.csv", "Van Loan's matrix exponential, scipy.linalg.expm",
      ["level_variance", "drift_variance", "drift_return", "days", "gain", "keep", "q00", "q01", "q11"], rows)

def kalman(name, ql, qd, th, seed):
    rng = np.random.default_rng(seed); n = 40
    gaps = rng.choice([0.0, 0.25, 1.0, 1.0, 3.0, 7.0, 30.0], n); gaps[0] = 5.0
    t = np.cumsum(gaps); sig = rng.uniform(0.3, 1.5, n)
    y = 2.0 + 0.03 * t + rng.normal(0, 1, n) * sig
    a0 = np.array([1.0, 0.0]); P0 = np.diag([4.0, 0.01])
    F0, Q0 = exact(ql, qd, th, gaps[0])
    ks = KalmanSmoother(k_endog=1, k_states=2)
    ks.bind(y.reshape(1, -1))
    T = np.zeros((2, 2, n)); Q = np.zeros((2, 2, n))
    for i in range(n):
        F, q = exact(ql, qd, th, gaps[i + 1] if i + 1 < n else 1.0)
        T[:, :, i] = F; Q[:, :, i] = q
    ks["design"] = np.array([[1.0, 0.0]]); ks["obs_cov"] = (sig**2).reshape(1, 1, n)
    ks["transition"] = T; ks["selection"] = np.eye(2); ks["state_cov"] = Q
    ks.initialize_known(F0 @ a0, F0 @ P0 @ F0.T + Q0)
    ks.tolerance = 0
    r = ks.smooth()
    rows = []
    for i in range(n):
        f, fp = r.filtered_state[:, i], r.filtered_state_cov[:, :, i]
        s, sp = r.smoothed_state[:, i], r.smoothed_state_cov[:, :, i]
        rows.append((t[i], y[i], sig[i], f[0], f[1], fp[0, 0], fp[0, 1], fp[1, 1],
                     s[0], s[1], sp[0, 0], sp[0, 1], sp[1, 1], np.sum(r.llf_obs[: i + 1])))
    write(name, f"KalmanSmoother; start day 0, level 1 ± 2, drift 0 ± 0.1; level variance {ql}, drift variance {qd}, return {th}",
          ["day", "value", "sigma", "level", "drift", "p00", "p01", "p11",
           "s_level", "s_drift", "s00", "s01", "s11", "log_likelihood"], rows)

kalman("filter_walk.csv", 0.01, 1e-4, 0.0, 1)
kalman("filter_return.csv", 0.02, 5e-4, 0.05, 2)
