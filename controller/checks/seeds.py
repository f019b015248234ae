"""Writes what the fuzzers begin with: the vectors of the format, each with some time to run."""

import pathlib
import sys

vectors, to = map(pathlib.Path, sys.argv[1:])
for kind in ("program", "loader"):
    (to / kind).mkdir(parents=True, exist_ok=True)
# 100 ms a tick, 200 ticks: the last byte counts from 0.
calm = bytes([100, 0, 0, 199]) * 15
for path in sorted(vectors.glob("*.hex")):
    if path.stem == "machine":
        continue
    image = bytes.fromhex(path.read_text())
    (to / "program" / path.stem).write_bytes(b"\0" + image + calm)
# Loads the sound program, whole, changed, and cut; asks for everything; ticks in between.
for number in range(8):
    (to / "loader" / f"{number}").write_bytes(
        bytes([1, 8, 0, 0, 1, 5, 0, 0, 20, 6, 0, 0, 7, 9, 3, 8, 1, 50 + number, 255, 8, 0, 0, 10, 100 + number, 4])
    )
