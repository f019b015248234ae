#!/usr/bin/env python3
"""The same section in SciPy's sparse solver, beside the time of a plain solve: shows their ratio in one run.

Usage: python3 benches/section_scipy.py [ROW ...]     (needs numpy, scipy and a built bench: cargo bench --no-run)

Each row of tests/reference/thermal_cases.csv is heated to its heat_s, moved, and set for 60 s on 24 x 120 cells with a
step of 0.5 s: backward differences of second order, specific heat and radiation taken from the last step, one sparse LU
a step. It is asked for less than the Rust solve, which also finds ready, over and set.
"""

import csv
import glob
import os
import subprocess
import sys
import time

import numpy as np
from scipy.sparse import diags, identity, kron
from scipy.sparse.linalg import splu

HERE = os.path.dirname(os.path.abspath(__file__))
TABLE = os.path.join(HERE, "..", "tests", "reference", "thermal_cases.csv")
SIGMA = 5.670374419e-8
ZERO = 273.15
HEAT_T = np.array([0, 80, 100, 120, 200, 300]) + ZERO
HEAT_C = np.array([1400, 1700, 1800, 2050, 2250, 2450], float)
ROWS, COLUMNS, STEP = 24, 120, 0.5
# Of these solves the shortest counts.
REPEATS = 3


def solve(row):
    """Temperatures (degC) at the line: heated face and other face at the end of the heat, hottest 60 s into the set."""
    value = {name: float(cell) for name, cell in row.items() if name != "id"}
    height = value["thickness_mm"] * 1e-3
    width = max(0.06, 8 * height)
    dy, dx = height / ROWS, width / COLUMNS
    x = (np.arange(COLUMNS) + 0.5) * dx
    half, gap = value["channel_mm"] * 0.5e-3, value["gap_mm"] * 1e-3
    inside = np.clip((half - (x - dx / 2)) / dx, 0, 1)
    direct = np.arctan(half / gap) / np.pi
    left, right = np.minimum(x - dx / 2, half), np.minimum(x + dx / 2, half)
    peak = (np.arctan(right / gap) - np.arctan(left / gap)) / (2 * np.pi * dx)
    flux = value["kappa"] * (
        value["absorptance"] * value["p_rad_w_per_m"]
        * (peak + value["shield_reflectance"] * (1 - direct) / (2 * half) * inside)
        + value["plume_share"] * value["p_conv_w_per_m"] / (2 * half) * inside
    )
    def second(count, pitch):
        main = -2 * np.ones(count)
        main[0] = main[-1] = -1
        return diags([np.ones(count - 1), main, np.ones(count - 1)], [-1, 0, 1]) / pitch**2
    conduct = value["conductivity"] * (
        kron(identity(ROWS), second(COLUMNS, dx)) + kron(second(ROWS, dy), identity(COLUMNS))
    )
    conduct = conduct.tocsc()
    room = value["ambient_c"] + ZERO
    now = np.full((ROWS, COLUMNS), room)
    before = now.copy()
    emitting = value["emissivity"] * SIGMA

    def face(temperature, loss, gained):
        # A face is half a cell away from its cell's middle; the loss falls in series with that half cell.
        slope = loss + 4 * emitting * temperature**3
        net = gained - loss * (temperature - room) - emitting * (temperature**4 - room**4)
        return net / (1 + slope * dy / (2 * value["conductivity"]))

    def march(duration, losses, gains):
        nonlocal now, before
        before = now.copy()
        for index in range(int(round(duration / STEP))):
            guess = now if index == 0 else 2 * now - before
            capacity = value["density"] * np.interp(guess, HEAT_T, HEAT_C)
            source = np.zeros_like(now)
            source[0] += face(guess[0], losses[0], gains[0]) / dy
            source[-1] += face(guess[-1], losses[1], gains[1]) / dy
            if index == 0:
                lead, known = 1.0, now
            else:
                lead, known = 1.5, 2 * now - 0.5 * before
            matrix = diags(lead * capacity.ravel() / STEP) - conduct
            solution = splu(matrix.tocsc()).solve((capacity * known / STEP + source).ravel())
            before, now = now, solution.reshape(now.shape)

    both = value["faces"] > 1.5
    heated = value["h_heated_face"] * (1 - inside)
    other = value["h_other_face"] * ((1 - inside) if both else 1)
    march(value["heat_s"], (heated, other), (flux, flux if both else 0))
    surface = 1.5 * now[0, 0] - 0.5 * now[1, 0]
    back = 1.5 * now[-1, 0] - 0.5 * now[-2, 0]
    march(value["transfer_s"], (value["h_heated_face"], value["h_other_face"]), (0, 0))
    march(60, (value["h_set"], value["h_set"]), (0, 0))
    return surface - ZERO, back - ZERO, now[:, x <= value["zone_mm"] * 0.5e-3].max() - ZERO


def plain_time(identity_of_row):
    """Seconds of one plain solve by the built bench."""
    built = [p for p in glob.glob(os.path.join(HERE, "..", "target", "release", "deps", "section-*")) if "." not in p.split("/")[-1]]
    if not built:
        sys.exit("no bench found: run cargo bench --bench section --no-run first")
    newest = max(built, key=os.path.getmtime)
    return float(subprocess.run([newest, "--plain", identity_of_row], capture_output=True, check=True, text=True).stdout)


def main():
    with open(TABLE, newline="") as file:
        rows = {row["id"]: row for row in csv.DictReader(file)}
    for wanted in sys.argv[1:] or ["P01", "P04", "P06"]:
        row = rows[wanted]
        taken = float("inf")
        for _ in range(REPEATS):
            # Processor time: a solve of this length is never left alone by what else the machine does, while the plain
            # solve, which reports its shortest call, is.
            began = time.process_time()
            surface, back, hottest = solve(row)
            taken = min(taken, time.process_time() - began)
        plain = plain_time(wanted)
        off = max(
            abs(surface - float(row["end_heated_c"])),
            abs(back - float(row["end_other_c"])),
            abs(hottest - float(row["set60_hottest_c"])),
        )
        print(f"{wanted}: sparse {taken * 1e3:.0f} ms (off by {off:.2f} K), plain solve {plain * 1e3:.3f} ms, ratio {taken / plain:.0f}")


if __name__ == "__main__":
    main()
