"""Holds verdicts on poses and sweeps against shapely, a general library of plane geometry.

Reads one JSON object a line: the sheet on both sides of a bend, the bench, and what the compiler found. Builds the
sheet afresh as a buffered centre line that is followed from the fixed side through the heated zone, and looks at every
pair of things at many angles. Lengths in mm. Prints counts; fails with the pairs on which the two disagree.
"""

import json
import math
import sys

import numpy
import shapely
from shapely.geometry import LineString, box

GRAZING = 0.2
# Arcs are covered by polygons that stand out by up to 0.02 mm, least gaps are found to within 0.02 mm.
SLACK = 0.05
STEP = math.radians(1.0)


def follow(x, y, heading, form, thickness):
    """The centre line of one stretch and where it ends."""
    points = [(x, y)]
    if form[0] == "flat":
        x, y = x + form[1] * math.cos(heading), y + form[1] * math.sin(heading)
        points.append((x, y))
        return points, x, y, heading
    radius, angle = form[1] + thickness / 2, form[2]
    side = math.copysign(1.0, angle)
    cx, cy = x - side * radius * math.sin(heading), y + side * radius * math.cos(heading)
    count = max(2, math.ceil(abs(angle) / STEP))
    for part in range(1, count + 1):
        now = heading + angle * part / count
        points.append((cx + side * radius * math.sin(now), cy - side * radius * math.cos(now)))
    x, y = points[-1]
    return points, x, y, heading + angle


def strip(points, thickness):
    return LineString(points).buffer(thickness / 2, cap_style="flat", join_style="round", quad_segs=32)


def side(forms, x, y, heading, thickness):
    """A polygon for each stretch; none for one without length."""
    shapes = []
    for form in forms:
        points, x, y, heading = follow(x, y, heading, form, thickness)
        shapes.append(strip(points, thickness) if form[0] == "bent" or form[1] > 0 else None)
    return shapes


def flat_count(forms):
    return next((index for index, form in enumerate(forms) if form[0] == "bent"), len(forms))


def swept(case, angles):
    """The zone, and where its end has come to, at each angle: the neutral line keeps its length, and the centre line
    lies half a thickness less the neutral line's share farther out."""
    h, zone = case["thickness"], case["zone"]
    radius = numpy.maximum(zone / angles - case["neutral"] * h, 0.0) + h / 2
    parts = angles[:, None] * numpy.linspace(0.0, 1.0, 65)
    normal = numpy.stack([-numpy.sin(parts), numpy.cos(parts)], axis=-1)
    centre = numpy.stack([-zone / 2 + 0 * radius, h / 2 + radius], axis=-1)
    middle = centre[:, None] - radius[:, None, None] * normal
    ring = numpy.concatenate([middle - h / 2 * normal, (middle + h / 2 * normal)[:, ::-1]], axis=1)
    return shapely.polygons(ring), middle[:, -1], angles


class Case:
    def __init__(self, case):
        self.case = case
        self.h = case["thickness"]
        bench = case["bench"]
        start = case["zone"] / 2, self.h / 2, 0.0
        mirrored = side(case["fixed"], *start, self.h)
        fixed = {f"fixed {n}": shapely.transform(s, lambda at: at * [-1.0, 1.0]) for n, s in enumerate(mirrored) if s}
        moving = {f"moving {n}": s for n, s in enumerate(side(case["moving"], *start, self.h)) if s}
        arm = box(0, -bench["arm"], bench["arm_depth"], 0)
        base = [box(-bench["back"], -bench["base"], 0, 0)]
        if bench["front"] > 0 and bench["base"] > bench["arm"]:
            base.append(box(0, -bench["base"], bench["front"], -bench["arm"]))
        if bench["front"] > bench["arm_depth"]:
            base.append(box(bench["arm_depth"], -bench["base"], bench["front"], 0))
        inset = -bench["inset"]
        clamp = box(inset - bench["bar_depth"], self.h, inset, self.h + bench["bar_height"])
        self.rest = {**fixed, "base": shapely.union_all(base), "clamp": clamp}
        if bench["above"]:
            half = bench["above"]["opening"] / 2
            self.rest["above"] = box(-half, self.h, half, self.h + 2 * bench["above"]["gap"])
        if bench["fence"]:
            at, height, thickness = bench["fence"]
            self.rest["fence"] = box(-at - thickness, 0, -at, height)
        self.carried = {**moving, "arm": arm}
        self.pairs = list(self.named(flat_count(case["fixed"]), flat_count(case["moving"])))

    def named(self, flat_fixed, flat_moving):
        """What is held against what: first, second, whether it may rest there, when: at rest, swung, or both moving."""
        place = lambda name: int(name.split(" ")[1])
        fixed = [name for name in self.rest if name.startswith("fixed")]
        moving = [name for name in self.carried if name.startswith("moving")]
        bent_fixed = [name for name in fixed if place(name) >= flat_fixed]
        bent_moving = [name for name in moving if place(name) >= flat_moving]
        for name in bent_fixed:
            yield name, "base", place(name) < flat_fixed + 2, "rest"
            yield name, "clamp", False, "rest"
            yield "arm", name, False, "swing"
            if place(name) > flat_fixed:
                yield "zone", name, False, "zone"
        for name in bent_moving:
            yield name, "arm", place(name) < flat_moving + 2, "rest"
            yield name, "base", place(name) < flat_moving + 2, "swing"
            if place(name) > flat_moving:
                yield "zone", name, False, "zone"
        if "above" in self.rest:
            for name in bent_fixed + bent_moving:
                yield name, "above", False, "rest"
        for name in moving:
            yield name, "clamp", False, "swing"
            for other in fixed:
                if name in bent_moving or other in bent_fixed:
                    yield name, other, False, "swing"
        if "fence" in self.rest:
            yield "fence", "clamp", False, "rest"
            for name in [*moving, "arm"]:
                yield name, "fence", False, "swing"
        yield "arm", "clamp", False, "swing"
        yield "zone", "clamp", False, "zone"

    def at(self, angles):
        """Every thing at every angle; what rests once for all."""
        zone, ends, headings = swept(self.case, angles)
        cos, sin = numpy.cos(headings)[:, None], numpy.sin(headings)[:, None]
        things = {"zone": zone}
        for name, shape in self.carried.items():
            ring = shapely.get_coordinates(shape)
            u, v = ring[:, 0] - self.case["zone"] / 2, ring[:, 1] - self.h / 2
            x, y = ends[:, :1] + u * cos - v * sin, ends[:, 1:] + u * sin + v * cos
            things[name] = shapely.polygons(numpy.stack([x, y], axis=-1))
        return things

    def shapes(self, pair, things):
        """The two shapes of a pair, at every angle of `things`."""
        first, second, _, when = pair
        both = {**self.rest, **self.carried} if when == "rest" else {**self.rest, **things}
        one, two = numpy.atleast_1d(both[first]), numpy.atleast_1d(both[second])
        return numpy.broadcast_arrays(one, two)


def near(one, two):
    a, b = shapely.bounds(one), shapely.bounds(two)
    return numpy.flatnonzero(((a[:, :2] <= b[:, 2:] + 1) & (b[:, :2] <= a[:, 2:] + 1)).all(axis=1))


def deeper(one, two, depth):
    """Whether a point of one lies deeper than this in the other."""
    eroded = [shapely.buffer(shape, -depth, join_style="mitre") for shape in (one, two)]
    return shapely.intersects(one, eroded[1]) | shapely.intersects(eroded[0], two)


def check(number, case, samples):
    """What is wrong with the verdicts on one case, and what they are."""
    built = Case(case)
    found = {(touch["first"], touch["second"]): touch for touch in case["touches"]}
    wrong = []
    angles = case["angle"] * numpy.linspace(1e-6, 1.0, samples + 1)
    things = built.at(angles)
    for pair in built.pairs:
        first, second, resting, _ = pair
        touch = found.get((first, second))
        if touch and touch["collides"]:
            continue
        one, two = built.shapes(pair, things)
        close = near(one, two)
        if not len(close):
            continue
        one, two = one[close], two[close]
        gaps = shapely.distance(one, two)
        if not touch and not resting and gaps.min() < GRAZING - SLACK:
            wrong.append(f"{number}: {first} and {second} come as close as {gaps.min()}, nothing is said")
        over = gaps <= 0.0
        if over.any() and deeper(one[over], two[over], GRAZING + SLACK).any():
            wrong.append(f"{number}: {first} is deep in {second}, no collision is said")
    for (first, second), touch in found.items():
        pair = next((pair for pair in built.pairs if pair[:2] == (first, second)), None)
        if not pair:
            wrong.append(f"{number}: {first} and {second} are no pair")
            continue
        one, two = built.shapes(pair, built.at(numpy.array([max(touch["angle"], 1e-6)])))
        if touch["collides"] and not deeper(one, two, GRAZING - SLACK).any():
            wrong.append(f"{number}: {first} is not in {second}: {touch}")
        if not touch["collides"] and shapely.distance(one, two).min() > GRAZING + SLACK:
            wrong.append(f"{number}: {first} is clear of {second}: {touch}")
    return wrong


def both(number, case, samples):
    """Two bends at once, back to back: what moves at the first line against what moves at the second, and each against
    the other's clamp, at any pair of angles."""
    built = [Case(half) for half in case["pair"]]
    things = [one.at(half["angle"] * numpy.linspace(1e-6, 1.0, samples)) for one, half in zip(built, case["pair"])]
    across = lambda shapes: shapely.transform(shapes, lambda at: at * [-1.0, 1.0] - [case["apart"], 0.0])
    grids = []
    for name, moving in things[0].items():
        for other, opposite in things[1].items():
            if name != "zone" and other != "zone":
                pairs = numpy.broadcast_arrays(moving[:, None], across(opposite)[None, :])
                grids.append([grid.ravel() for grid in pairs])
    for here, there in ((0, 1), (1, 0)):
        clamp = across(built[there].rest["clamp"])
        for name, moving in things[here].items():
            if name != "zone":
                grids.append([moving, numpy.broadcast_to(clamp, moving.shape)])
    least, deep = math.inf, False
    for one, two in grids:
        close = near(one, two)
        if len(close):
            gaps = shapely.distance(one[close], two[close])
            over = close[gaps <= 0.0]
            least = min(least, gaps.min())
            deep = deep or (len(over) > 0 and bool(deeper(one[over], two[over], GRAZING + SLACK).any()))
    worst = min((touch["gap"] for touch in case["touches"]), default=math.inf)
    if deep and worst >= -GRAZING:
        return [f"{number}: two sides are deep in each other, no collision is said"]
    if least < GRAZING - SLACK and math.isinf(worst):
        return [f"{number}: two sides come as close as {least}, nothing is said"]
    # Between the angles of the grid a side moves by some millimetres.
    if least > 0.0 and worst < -4.0:
        return [f"{number}: two sides never meet, a collision is said: {case['touches']}"]
    return []


def main(path, samples):
    counts = {"collide": 0, "graze": 0, "clear": 0}
    wrong = []
    with open(path, encoding="utf-8") as lines:
        for number, line in enumerate(lines):
            case = json.loads(line)
            wrong += both(number, case, samples) if "pair" in case else check(number, case, samples)
            collides = any(touch["collides"] for touch in case["touches"])
            counts["collide" if collides else "graze" if case["touches"] else "clear"] += 1
    for line in wrong[:20]:
        print(line)
    print(", ".join(f"{count} {word}" for word, count in counts.items()))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], int(sys.argv[2])))
