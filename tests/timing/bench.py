"""Runs exported Structured Text scan by scan, with the same simulated person as the interpreter has.

Reads a JSON file: texts, damaged texts, the machine of each text, and runs. Prints for each damaged text whether it was
refused, and for each run what every lane did, as JSON. What must never be ends it.
"""

import json
import sys

import scanned


class Person:
    """Presses when the lamp is lit, and swings each arm half a second after its heater goes off."""

    def __init__(self, machine, run):
        self.machine, self.run = machine, run
        self.down_at, self.home_at = [0] * 8, [0] * 8
        self.pressed_until = 0
        self.offs = 0
        self.lamp = next(at for at, output in enumerate(machine["outputs"]) if output["role"] == "lamp")

    def presses(self, now, outputs):
        if outputs[self.lamp] and now > self.pressed_until + 500:
            self.pressed_until = now + 100

    def active(self, now, role, of, outputs):
        machine = self.machine["outputs"]
        closed = all(on for on, output in zip(outputs, machine) if output["role"] == "isolator")
        swung = self.down_at[of] <= now < self.home_at[of]
        heats = outputs[of] or of == self.run.get("welded")
        draws = any(on for on, output in zip(outputs, machine) if output["role"] == "heater")
        return {
            "start": now < self.pressed_until,
            "stop": False,
            "row": False,
            "down": swung,
            "home": not swung,
            "heater current": closed and heats,
            "supply current": closed and draws,
            "guard": True,
        }[role]

    def goes_off(self, now, output):
        if self.offs not in self.run.get("missed", []):
            hold = self.run["holds"][min(self.offs, len(self.run["holds"]) - 1)]
            self.down_at[output], self.home_at[output] = now + 500, now + 500 + hold
        self.offs += 1


class Bench:
    """A program on the bench."""

    def __init__(self, program, machine, run):
        self.machine, self.run = machine, run
        self.units, main = program
        self.program = scanned.instance(self.units, main)
        self.person = Person(machine, run)
        self.now = scanned.Clock.now = 0
        self.outputs = [False] * len(machine["outputs"])
        names = sorted(name for name in vars(self.program) if name.startswith("W_L") and name[3:].isdigit())
        self.lanes = [getattr(self.program, name) for name in names]
        self.heaters = [
            [int(name[6:]) for name in vars(lane) if name.startswith("W_Live")] for lane in self.lanes
        ]
        self.was = {(lane, heater): None for lane, own in enumerate(self.heaters) for heater in own}
        self.good, self.spoilt = [0] * len(self.lanes), [0] * len(self.lanes)
        self.began = []
        self.events = []
        self.lit = {}
        self.most = [0] * len(machine["supplies"])
        if "chosen" in run:
            self.program.W_Chosen = run["chosen"]
        for path, value in run.get("changed", {}).items():
            self.change(path, value)

    def change(self, path, value):
        """Changes a row of an array before power comes: what a faulty program would be."""
        block, array, at = path.split("/")
        getattr(getattr(self.program, block), array)[int(at)] = value

    def scan(self, step, presses=True, overrides=()):
        self.now += step
        scanned.Clock.now = self.now
        program, now = self.program, self.now
        if presses:
            self.person.presses(now, self.outputs)
        for at, given in enumerate(self.machine["inputs"]):
            active = self.person.active(now, given["role"], given["of"], self.outputs)
            active = dict(overrides).get(given["role"], active)
            setattr(program, f"W_In{at}", active != given["closed"])
        program.scan()
        self.outputs = [getattr(program, f"W_Out{at}") for at in range(len(self.outputs))]
        self.look()

    def look(self):
        """What every lane has done in this scan, and what must never be."""
        drawn = [0] * len(self.machine["supplies"])
        for number, lane in enumerate(self.lanes):
            begins = all(self.was[number, heater] is None for heater in self.heaters[number])
            for heater in self.heaters[number]:
                live = getattr(lane, f"W_Live{heater}") and self.program.W_Run
                level = getattr(lane, f"W_Level{heater}") if live else None
                was = self.was[number, heater]
                if live and begins:
                    self.begins(number)
                    begins = False
                if level != was:
                    self.was[number, heater] = level
                    if live:
                        self.note(number, "on", heater, level)
                    else:
                        self.note(number, "off", heater, getattr(self.program, f"W_Guard{heater}").W_Sum)
                        self.person.goes_off(self.now, heater)
                output = self.machine["outputs"][heater]
                drawn[output["supply"]] += output["draw"] if live else 0
                assert live or not self.outputs[heater], "a heater is on that should be off"
                if live:
                    lit, all_scans = self.lit.get((heater, level), (0, 0))
                    self.lit[heater, level] = (lit + self.outputs[heater], all_scans + 1)
            if lane.W_Good > self.good[number]:
                self.note(number, "good", lane.W_Good, 0)
            if lane.W_Spoilt > self.spoilt[number]:
                self.note(number, "scrap", lane.W_Spoilt, 0)
            self.good[number], self.spoilt[number] = lane.W_Good, lane.W_Spoilt
        for supply, (draw, gives) in enumerate(zip(drawn, self.program.W_TheDesk.W_Gives)):
            assert draw <= gives, f"supply {supply} gives {gives}, and {draw} is drawn"
            self.most[supply] = max(self.most[supply], draw)
        for output, on in zip(self.machine["outputs"], self.outputs):
            if output["role"] == "isolator" and not on:
                others = zip(self.machine["outputs"], self.outputs)
                assert not any(
                    lit for other, lit in others if other["role"] == "heater" and other["supply"] == output["supply"]
                ), "a heater is on behind an open isolator"

    def begins(self, number):
        """Nobody is needed in two places at once, for as many people as there are."""
        lane = self.lanes[number]
        press = lane.W_Row
        while lane.W_KindOf[press] != 0:
            press -= 1
        start = self.now + lane.W_FromOf[press]
        end = start + lane.W_LastsOf[press]
        self.began = [own for own in self.began if own[2] > self.now]
        same = [own for own in self.began if own[0] != number and own[1] < end - 20 and start + 20 < own[2]]
        assert len(same) < self.machine["operators"], f"{same} and {start}..{end}"
        self.began.append((number, start, end))
        self.note(number, "begin", lane.W_AmountOf[press], 0)

    def note(self, lane, kind, one, other):
        self.events.append([self.now, lane, kind, one, other])

    def hot(self):
        return any(on for on, output in zip(self.outputs, self.machine["outputs"]) if output["role"] == "heater")

    def isolated(self):
        return not any(on for on, output in zip(self.outputs, self.machine["outputs"]) if output["role"] == "isolator")

    def until(self, met, step, seconds, **how):
        """Scans until something is so."""
        end = self.now + seconds * 1000
        while not met():
            assert self.now < end, f"not within {seconds} s: {self.events[-5:]}, reason {self.program.W_Reason}"
            self.scan(step, **how)

    def stays_off(self, step, seconds, **how):
        end = self.now + seconds * 1000
        while self.now < end:
            self.scan(step, presses=False, **how)
            assert not self.hot() and self.isolated(), f"on again at {self.now}"


def works(bench, run):
    """Until so many good parts are made in each lane."""
    bench.until(lambda: all(good >= run["parts"] for good in bench.good), run["step"], run["within"])


def heats(bench, run):
    """Until so many heats are over in each lane."""

    def over():
        offs = [event[1] for event in bench.events if event[2] == "off"]
        return all(offs.count(lane) >= run["parts"] for lane in range(len(bench.lanes)))

    bench.until(over, run["step"], run["within"])


def danger(bench, run):
    """A contact says what it must not while a heater is on: all is off once it stands still, and nothing comes by itself.

    Stop and guard need not stand still: a scan is enough.
    """
    step, contact = run["step"], run["contact"]
    bench.until(bench.hot, step, 60)
    for _ in range(5000 // step):
        bench.scan(step)
    begun = len([event for event in bench.events if event[2] == "begin"])
    for _ in range(1 + (30 // step if contact[0] == "down" else 0)):
        bench.scan(step, presses=False, overrides=[contact])
    assert not bench.hot() and bench.isolated() and bench.program.W_Faulty, contact
    reason = bench.program.W_Reason
    bench.stays_off(step, 20, overrides=[contact])
    if contact[0] == "stop":
        # As long as stop is held, no press acknowledges.
        for second in range(5):
            for press in (True, False):
                for _ in range(500 // step):
                    bench.scan(step, presses=False, overrides=[contact, ("start", press)])
                    assert bench.program.W_Faulty and not bench.hot()
    bench.stays_off(step, 20)
    # A press acknowledges, another starts the program, and only a third begins a heat, from the first row.
    presses = []
    while not bench.hot():
        before = bench.person.pressed_until
        bench.scan(step)
        if bench.person.pressed_until != before:
            presses.append(bench.now)
        assert len(presses) < 5
    assert len(presses) == 3, presses
    assert len([event for event in bench.events if event[2] == "begin"]) == begun + 1
    bench.reason = reason


def held(bench, run):
    """One scan comes too late."""
    bench.until(bench.hot, run["step"], 60)
    bench.scan(150, presses=False)
    assert not bench.hot() and bench.program.W_Faulty
    bench.reason = bench.program.W_Reason
    bench.stays_off(run["step"], 5)


def trips(bench, run):
    """A guard, or a current that stays, takes everything off at its time, and it stays off."""
    bench.until(lambda: bench.program.W_Faulty, run["step"], run["within"])
    assert not bench.hot() and bench.isolated()
    bench.note(0, "fault", bench.program.W_Reason, 0)
    bench.reason = bench.program.W_Reason
    bench.stays_off(run["step"], 20)


def guards(bench, run):
    """The guard block alone, with a heater that does what no lane does."""
    step, limit = run["step"], run["limit"]

    def new():
        bench.now = scanned.Clock.now = 0
        block = scanned.instance(bench.units, "W_Guard")
        block.W_Limit = limit
        return block

    def lasts(block, seconds, wanted, level):
        """Seconds until it trips, or none."""
        for scan in range(int(seconds * 1000) // step):
            block.W_Passed, block.W_Wanted, block.W_Level = step, wanted, level
            block.scan()
            if block.W_Trip:
                return scan * step / 1000
        return None

    # Rested after five seconds, not before.
    block = new()
    assert lasts(block, 4.9, False, 0) is None and not block.W_Ready
    assert lasts(block, 0.2, False, 0) is None and block.W_Ready
    # Levels, a soak and a short time off do not begin a new heat.
    assert lasts(block, 100, True, 255) is None
    assert lasts(block, 100, True, 0) is None
    assert lasts(block, 2, False, 0) is None
    tripped = lasts(block, 200, True, 100)
    left = limit / 1000 - 200
    assert block.W_Trip == 4 and left <= tripped <= left + 3 * step / 1000, tripped
    # A rest does.
    block = new()
    assert lasts(block, 6, False, 0) is None and lasts(block, 290, True, 255) is None
    assert lasts(block, 6, False, 0) is None and lasts(block, 290, True, 100) is None
    # It began with half of its limit, and has gathered more: no heat begins until that has leaked away.
    block = new()
    assert lasts(block, 6, False, 0) is None and lasts(block, 290, True, 255) is None
    gathered = 290 * (255 - 191) - 6 * 191
    assert lasts(block, gathered / 191 - 1, False, 0) is None and not block.W_Ready
    assert lasts(block, 2, False, 0) is None and block.W_Ready
    # Rests of six seconds let it gather: full power for the whole limit trips.
    block = new()
    tripped = None
    for _ in range(3):
        tripped = lasts(block, 299, True, 255) or tripped
        if block.W_Trip == 0:
            lasts(block, 6, False, 0)
    assert block.W_Trip == 5, block.W_Trip


def desks(bench, run):
    """The desk alone: two lanes on one supply, one person."""
    desk = scanned.instance(bench.units, "W_Desk")
    gives = desk.W_Gives[0]

    def scan(passed, press, *lanes):
        """Go, wait of each lane, and the lamp after both."""
        told = []
        for number, lane in enumerate(lanes):
            desk.W_Lane, desk.W_Passed, desk.W_Press, desk.W_Ready = number, passed, press, 3
            desk.W_Active, desk.W_Arms, desk.W_Supply = True, 1 << number, 0
            desk.W_Begins, desk.W_Scraps, desk.W_Heating = (lane.get(key, False) for key in ("begins", "scraps", "heats"))
            desk.W_Amount, desk.W_From, desk.W_Lasts = (lane.get(key, 0) for key in ("amount", "from", "lasts"))
            desk.scan()
            told.append((desk.W_Go, desk.W_Wait))
        return told, desk.W_Lamp

    quiet, heats = {}, {"heats": True}
    half = {"begins": True, "amount": gives // 2, "from": 1000, "lasts": 500}
    later = dict(half, **{"from": 1500})
    # No press, no heat; the lamp says that one would count. One press is for one lane, the first.
    assert scan(10, False, half, later) == ([(False, False)] * 2, True)
    assert scan(10, True, half, later) == ([(True, False), (False, False)], True)
    # While it is needed at the same time, nobody else may begin; 10 ms later may.
    assert scan(10, True, heats, later) == ([(False, False), (True, False)], True)
    # Both claims are held until their heaters are off.
    small = {"begins": True, "amount": 1, "from": 5000, "lasts": 10}
    scan(0, False, quiet, heats)
    assert desk.W_ClaimOf == [0, gives // 2], desk.W_ClaimOf
    scan(0, False, quiet, quiet)
    assert desk.W_ClaimOf == [0, 0]
    # From the time on at which a person is needed, calls of other lanes wait, and its own does not.
    for _ in range(98):
        scan(10, False, quiet, quiet)
    assert scan(9, False, quiet, quiet)[0] == [(False, False)] * 2, (desk.W_FromOf, desk.W_ToOf)
    assert scan(1, False, quiet, quiet)[0] == [(False, False), (False, True)], (desk.W_FromOf, desk.W_ToOf)
    # A lane that heats has called already.
    assert scan(0, False, quiet, heats)[0] == [(False, False)] * 2
    # Both ends of what it needs count: now until 500, and the other from 510 until 1010.
    over = {"begins": True, "amount": 1, "from": 499, "lasts": 11}
    assert scan(0, False, quiet, over) == ([(False, False), (False, True)], False)
    assert scan(0, False, quiet, dict(over, **{"from": 500})) == ([(False, False), (False, True)], True)
    # A press that ends a spoilt part is none for another lane.
    for _ in range(200):
        scan(10, False, quiet, quiet)
    told, lamp = scan(10, True, {"scraps": True}, small)
    assert told == [(True, False), (False, False)] and lamp
    assert scan(10, True, quiet, small) == ([(False, False), (True, False)], True)
    # More than is left of the supply is not given.
    most = {"begins": True, "amount": gives}
    assert scan(10, True, most, heats) == ([(False, False)] * 2, False)


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        asked = json.load(file)
    names = sorted(asked["texts"])
    programs = dict(zip(names, scanned.translated([asked["texts"][name] for name in names])))
    answers = {"damaged": [], "runs": {}}
    for text in asked["damaged"]:
        faults = [scanned.parsed(piece)[1] for piece in scanned.pieces(text)]
        answers["damaged"].append([fault for fault in faults if fault is not None])
    for name, run in asked["runs"].items():
        bench = Bench(programs[run["text"]], asked["machines"][run["text"]], run)
        kinds = {kind.__name__: kind for kind in (works, heats, danger, held, trips, guards, desks)}
        kinds[run["what"]](bench, run)
        lit = [[heater, level, lit, scans] for (heater, level), (lit, scans) in bench.lit.items()]
        reason = getattr(bench, "reason", 0)
        answers["runs"][name] = {"events": bench.events, "lit": lit, "reason": reason, "most": bench.most}
    json.dump(answers, sys.stdout)


if __name__ == "__main__":
    main()
