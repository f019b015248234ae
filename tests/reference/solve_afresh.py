"""Solves the sheet model of the reference data afresh with general-purpose libraries, sharing nothing with the compiler.

Space: finite elements of scikit-fem, quadratic quadrilaterals, the mass lumped at their nodes by Simpson's rule.
Time: the stiff integrator of SciPy (backward differences of variable order and step), crossings by its dense output.

Usage: solve_afresh.py rows TABLE ID ...   rows of a table with the columns of thermal_cases.csv
       solve_afresh.py chain FILE          one bend from supply volts to sheet, its data as JSON in SI units

Prints lines `id,figure,value`, times in s and temperatures in degC; a time that is never reached is nan.
"""

import csv
import json
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import bmat, csc_matrix, diags
from skfem import Basis, BilinearForm, ElementQuad2, FacetBasis, LinearForm, MeshQuad

SIGMA = 5.670374419e-8
ZERO = 273.15
# Of the rows of the table; README.md beside this file.
HEAT_T = np.array([0, 80, 100, 120, 200, 300]) + ZERO
HEAT_C = np.array([1400, 1700, 1800, 2050, 2250, 2450], float)


def air(kelvin):
    """Conductivity W/(m K), kinematic viscosity m2/s and Prandtl number of air at 1 atm (Sutherland's laws)."""
    viscosity = 1.716e-5 * (kelvin / 273.15) ** 1.5 * (273.15 + 110.4) / (kelvin + 110.4)
    conductivity = 0.0241 * (kelvin / 273.15) ** 1.5 * (273.15 + 194.0) / (kelvin + 194.0)
    return conductivity, viscosity * 287.05 * kelvin / 101325.0, 0.70


def morgan(diameter, hot, room):
    """What a horizontal cylinder loses by free convection, W/m (V. T. Morgan, 1975)."""
    if hot <= room:
        return 0.0
    film = 0.5 * (hot + room)
    conductivity, viscosity, prandtl = air(film)
    rayleigh = 9.80665 * (hot - room) / film * diameter**3 / viscosity**2 * prandtl
    bands = [(1e-2, 0.675, 0.058), (1e2, 1.02, 0.148), (1e4, 0.850, 0.188), (np.inf, 0.480, 0.250)]
    factor, power = next((factor, power) for top, factor, power in bands if rayleigh < top)
    return np.pi * conductivity * factor * rayleigh**power * (hot - room)


class Wire:
    """One line: constant powers, or a wire on a voltage."""

    def __init__(self, given, room):
        self.given, self.room = given, room
        self.live = "volts" in given

    def emission(self, hot):
        if not self.live:
            return self.given["radiated"], self.given["convected"]
        given = self.given
        radiated = np.pi * given["diameter"] * given["emissivity"] * SIGMA * (hot**4 - self.room**4)
        return radiated, morgan(given["diameter"], hot, self.room)

    def rate(self, hot, on):
        given = self.given
        resistance = given["resistance"] * np.interp(hot, *given["resistance_factor"])
        power = on * given["volts"] ** 2 / resistance / given["length"]
        mass = given["density"] * np.pi / 4 * given["diameter"] ** 2
        return (power - sum(self.emission(hot))) / (mass * np.interp(hot, *given["specific_heat"]))


class Model:
    """One section; see the design's formulas in README.md and src/physics/coupling.rs for the letters."""

    def __init__(self, given):
        self.given = given
        self.height, self.room = given["thickness"], given["ambient"]
        self.half, self.zone = 0.5 * given["channel"], given["zone"]
        self.width = max(0.06, 8 * self.height)
        self.wire = Wire(given["wire"], self.room)
        self.space()

    def space(self):
        given = self.given
        marks = sorted({0.0, self.half, self.zone, 0.006, 2 * self.half, self.width})
        xs = [0.0]
        for left, right in zip(marks, marks[1:]):
            pitch = given.get("pitch", 4e-4) if left < self.half else 1.2e-3 if left < 2 * self.half else 4e-3
            xs.extend(np.linspace(left, right, 1 + max(1, int(np.ceil((right - left) / pitch))))[1:])
        ys = 0.5 * self.height * (1 - np.cos(np.linspace(0, np.pi, 1 + given.get("layers", 8))))
        mesh = MeshQuad.init_tensor(np.array(xs), ys)
        element = ElementQuad2()
        line, weight = np.array([0, 0.5, 1]), np.array([1, 4, 1]) / 6
        simpson = (np.array([[a, b] for a in line for b in line]).T, np.array([a * b for a in weight for b in weight]))
        basis = Basis(mesh, element, intorder=5)
        at_nodes = Basis(mesh, element, quadrature=simpson)

        @BilinearForm
        def conduction(u, v, _):
            return given["conductivity"] * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1])

        @LinearForm
        def volume(v, _):
            return v

        self.conduct = csc_matrix(conduction.assemble(basis))
        self.mass = volume.assemble(at_nodes) * given["density"] * given.get("heat_factor", 1.0)
        self.places = basis.doflocs
        self.size = basis.N
        facets = mesh.p[:, mesh.facets].mean(axis=1)
        self.faces = []
        for index, level in enumerate((0.0, self.height)):
            on_face = np.abs(facets[1] - level) < 1e-9
            under = on_face & (facets[0] < self.half)

            def weights(which, form=volume):
                return form.assemble(FacetBasis(mesh, element, facets=np.flatnonzero(which), intorder=9))

            heated = index == 0 or given["both"]
            face = {"all": weights(on_face), "heated": heated, "loss": given["losses"][index]}
            face["inside"] = weights(under) if heated else np.zeros(self.size)
            if heated:
                face["radiated"], face["convected"] = (weights(under, form) for form in self.fluxes())
            self.faces.append(face)
        x, y = self.places
        self.in_zone = x <= self.zone + 1e-9
        on_line = np.flatnonzero(x < 1e-9)
        self.on_line = on_line[np.argsort(y[on_line])]
        depth = y[self.on_line]
        steps = depth[2::2] - depth[:-2:2]
        mean = np.zeros(len(depth))
        for place, step in enumerate(steps):
            mean[2 * place : 2 * place + 3] += step * weight
        self.mean = mean / self.height

    def fluxes(self):
        """Flux at the face per W/m radiated and per W/m convected."""
        given = self.given
        gap, opening = given["gap"], 2 * self.half
        self.direct = np.arctan(self.half / gap) / np.pi
        reflected = given["reflectance"] * (1 - self.direct) / opening

        @LinearForm
        def radiated(v, w):
            peak = gap / (2 * np.pi * (gap**2 + w.x[0] ** 2))
            return given["kappa"] * given["absorptance"] * (peak + reflected) * v

        @LinearForm
        def convected(v, w):
            peak = gap / (2 * np.pi * (gap**2 + w.x[0] ** 2)) / self.direct
            share = given["plume_peak"]
            return given["kappa"] * given["plume_share"] * ((1 - share) / opening + share * peak) * v

        return radiated, convected

    def capacity(self, sheet):
        table = self.given.get("heat_table", (HEAT_T, HEAT_C))
        value = np.interp(sheet, *table)
        slope = (np.interp(sheet + 0.01, *table) - np.interp(sheet - 0.01, *table)) / 0.02
        return self.mass * value, self.mass * slope

    def march(self, state, duration, phase, events=()):
        """From `state` (sheet, wire, shield) for `duration` s; phase is heat, transfer or arm."""
        given, n = self.given, self.size
        radiating = given["emissivity"] * SIGMA
        on, near = float(phase == "heat"), phase != "arm"
        tail = self.wire.live and phase == "transfer"
        shield = given.get("shield")

        def gained(hot):
            radiated, convected = self.wire.emission(hot) if on or tail else (0.0, 0.0)
            return radiated, convected

        def parts(sheet, hot, opening):
            """Heat into the nodes, its slope by their own temperature and by the opening's; opening's gain."""
            radiated, convected = gained(hot)
            heat = -(self.conduct @ sheet)
            slope, cross = np.zeros(n), np.zeros(n)
            exchanged = 0.0
            for face in self.faces:
                loss, inside = face["loss"], face["inside"]
                if phase == "heat":
                    outside = face["all"] - inside
                    factor = given["sink_factor"]
                    exchange = inside * factor * radiating * (sheet**4 - opening**4)
                    heat -= exchange
                    slope -= 4 * inside * factor * radiating * sheet**3
                    cross += 4 * inside * factor * radiating * opening**3
                    exchanged += 2 * exchange.sum() if face is self.faces[0] else 0.0
                else:
                    outside = face["all"]
                    loss = given["setting"] if phase == "arm" else loss
                heat -= outside * (loss * (sheet - self.room) + radiating * (sheet**4 - self.room**4))
                slope -= outside * (loss + 4 * radiating * sheet**3)
                if face["heated"] and near:
                    heat += radiated * face["radiated"] + convected * face["convected"]
            return heat, slope, cross, exchanged, radiated

        def rates(_, state):
            sheet, hot, opening = state[:n], state[n], state[n + 1]
            heat, _, _, exchanged, radiated = parts(sheet, hot, opening)
            out = np.zeros(n + 2)
            out[:n] = heat / self.capacity(sheet)[0]
            if self.wire.live and near:
                out[n] = self.wire.rate(hot, on)
            if shield and near:
                into = radiated * (1 - self.direct) * (1 - given["reflectance"])
                out[n + 1] = (into + exchanged - shield["loss"] * (opening - self.room)) / shield["capacity"]
            return out

        def jacobian(_, state):
            sheet, hot, opening = state[:n], state[n], state[n + 1]
            heat, slope, cross, _, _ = parts(sheet, hot, opening)
            capacity, steeper = self.capacity(sheet)
            own = diags(1 / capacity) @ (diags(slope) - self.conduct) - diags(heat * steeper / capacity**2)
            step = 0.1
            ahead, behind = (rates(0, np.r_[sheet, hot + side * step, opening]) for side in (1, -1))
            by_wire = (ahead - behind) / (2 * step)
            by_opening = np.zeros(n + 2)
            by_opening[:n] = cross / capacity
            if shield and near:
                by_opening[n + 1] = -(2 * cross.sum() + shield["loss"]) / shield["capacity"]
            edge = csc_matrix(np.c_[by_wire[:n], by_opening[:n]])
            corner = csc_matrix(np.c_[by_wire[n:], by_opening[n:]])
            return csc_matrix(bmat([[own, edge], [None, corner]]))

        return solve_ivp(
            rates, (0, duration), state, "BDF", jac=jacobian, events=list(events), dense_output=True,
            rtol=given.get("rtol", 1e-5), atol=1e-3, first_step=1e-3,
        )

    def start(self):
        shield = self.given.get("shield")
        opening = self.room + (shield["rise"] if shield else 0.0)
        return np.r_[np.full(self.size, self.room), self.room, opening]

    def at(self, state, x, y):
        gap = np.hypot(self.places[0] - x, self.places[1] - y)
        nearest = int(np.argmin(gap))
        if gap[nearest] > 1e-7:
            raise SystemExit(f"no node at {x}, {y}")
        return state[nearest] - ZERO

    def heat(self, horizon):
        """The heat over the horizon, or until a little past the ceiling, and when that is reached."""

        def passes(limit, ends):
            def event(_, state):
                return state[: self.size].max() - limit

            event.terminal, event.direction = ends, 1
            return event

        ceiling = self.given["ceiling"]
        events = [passes(ceiling, False), passes(ceiling + 60, True)]
        heat = self.march(self.start(), horizon, "heat", events)
        return heat, heat.t_events[0][0] if len(heat.t_events[0]) else np.nan

    def short(self, heat, time):
        """How far the bend would be from ready after a heat time, K; not above zero if it is ready."""
        moved = self.march(heat.sol(time), self.given["transfer"], "transfer").y[:, -1]
        coldest = moved[: self.size][self.in_zone].min()
        mean = self.mean @ moved[self.on_line]
        return max(self.given["softened"] - coldest, self.given["forming"] - mean)

    def ready(self, heat):
        low, high = 0.0, heat.t[-1]
        if self.short(heat, high) > 0:
            return np.nan
        while high - low > 0.02:
            middle = 0.5 * (low + high)
            low, high = (low, middle) if self.short(heat, middle) <= 0 else (middle, high)
        return high

    def set(self, state):
        """Time in the arm until the hottest point of the zone is at the release temperature; and the march."""

        def cool(_, state):
            return state[: self.size][self.in_zone].max() - self.given["release"]

        cool.direction = -1
        arm = self.march(state, 1200.0, "arm", [cool])
        return arm.t_events[0][0] if len(arm.t_events[0]) else np.nan, arm


def row_model(value):
    return Model({
        "thickness": value["thickness_mm"] * 1e-3, "both": value["faces"] > 1.5, "kappa": value["kappa"],
        "absorptance": value["absorptance"], "reflectance": value["shield_reflectance"],
        "plume_share": value["plume_share"], "plume_peak": 0.0, "sink_factor": 1.0,
        "gap": value["gap_mm"] * 1e-3, "channel": value["channel_mm"] * 1e-3, "ambient": value["ambient_c"] + ZERO,
        "losses": [value["h_heated_face"], value["h_other_face"]], "emissivity": value["emissivity"],
        "conductivity": value["conductivity"], "density": value["density"], "setting": value["h_set"],
        "transfer": value["transfer_s"], "zone": 0.5e-3 * value["zone_mm"], "softened": value["softened_c"] + ZERO,
        "forming": value["forming_c"] + ZERO, "ceiling": value["ceiling_c"] + ZERO,
        "release": value["release_c"] + ZERO,
        "wire": {"radiated": value["p_rad_w_per_m"], "convected": value["p_conv_w_per_m"]},
    })


def solve_row(row):
    value = {name: float(cell) for name, cell in row.items() if name != "id"}
    model = row_model(value)
    heat, over = model.heat(400.0)
    after, height = value["heat_s"], model.height
    if heat.t[-1] < max(30.0, after):
        raise SystemExit(f"{row['id']} is far past its ceiling before its heat is over")
    end = heat.sol(after)
    moved = model.march(end, value["transfer_s"], "transfer").y[:, -1]
    set_s, arm = model.set(moved)
    given = value["p_rad_w_per_m"], value["p_conv_w_per_m"]
    heated = [face for face in model.faces if face["heated"]]
    both_halves = [2 * (given[0] * face["radiated"].sum() + given[1] * face["convected"].sum()) for face in heated]
    yield "absorbed_w_per_m", sum(both_halves)
    yield "t30_heated_c", model.at(heat.sol(30.0), 0, 0)
    yield "t30_other_c", model.at(heat.sol(30.0), 0, height)
    yield "end_heated_c", model.at(end, 0, 0)
    yield "end_other_c", model.at(end, 0, height)
    yield "end_edge_other_c", model.at(end, model.zone, height)
    yield "end_x6_mid_c", model.at(end, 0.006, 0.5 * height)
    yield "after_transfer_heated_c", model.at(moved, 0, 0)
    yield "after_transfer_other_c", model.at(moved, 0, height)
    yield "after_transfer_mean_c", model.mean @ moved[model.on_line] - ZERO
    yield "set60_hottest_c", arm.sol(60.0)[: model.size][model.in_zone].max() - ZERO
    yield "ready_s", model.ready(heat)
    yield "over_s", over
    yield "set_s", set_s


def main(kind, path, *wanted):
    with open(path, newline="", encoding="utf-8") as file:
        if kind == "rows":
            rows = {row["id"]: row for row in csv.DictReader(file)}
            for name in wanted:
                for figure, value in solve_row(rows[name]):
                    print(f"{name},{figure},{value:.4f}")
        else:
            model = Model(json.load(file))
            heat, over = model.heat(900.0)
            middle = heat.sol(100.0)
            print(f"bend,ready_s,{model.ready(heat):.4f}\nbend,over_s,{over:.4f}")
            print(f"bend,heated_at_100_c,{model.at(middle, 0, 0):.4f}")
            print(f"bend,other_at_100_c,{model.at(middle, 0, model.height):.4f}")
            print(f"bend,wire_at_100_c,{middle[-2] - ZERO:.4f}")
            print(f"bend,shield_at_100_c,{middle[-1] - ZERO:.4f}")


if __name__ == "__main__":
    main(*sys.argv[1:])
