"""What the test corpus does not reach of interpreter and verifier: each such branch must stand in a list with its reason.

    uncovered.py LLVM-COV-JSON LIST

Prints the coverage of branches and of MC/DC conditions, and fails if less than 95 % of the branches are reached, or if
one that is not reached is not explained.
"""

import json
import pathlib
import sys

FILES = ("image.c", "verify.c", "run.c", "lanes.c")
LEAST = 0.95


def explained(path):
    """Lines of the list: file | source line, without blanks around it | outcome; a `#` gives the reason of what follows."""
    keys = set()
    for line in path.read_text().splitlines():
        if line.strip() and not line.startswith("#"):
            name, text, outcome = (part.strip() for part in line.split(" | "))
            keys.add((name, text, outcome))
    return keys


def main(export, listed):
    missed = set()
    branches = reached = conditions = shown = 0
    for file in json.loads(pathlib.Path(export).read_text())["data"][0]["files"]:
        path = pathlib.Path(file["filename"])
        if path.name not in FILES:
            continue
        source = path.read_text().splitlines()
        for line, column, _, end, true, false, *_ in file["branches"]:
            text = source[line - 1].strip()
            condition = source[line - 1][column - 1 : end - 1]
            for outcome, count in (("true", true), ("false", false)):
                branches += 1
                reached += count > 0
                if count == 0:
                    missed.add((path.name, text, f"{condition} is {outcome}"))
        mcdc = file["summary"]["mcdc"]
        conditions += mcdc["count"]
        shown += mcdc["covered"]
    print(f"branches: {reached} of {branches} ({reached / branches:.1%}); MC/DC conditions: {shown} of {conditions}")
    known = explained(pathlib.Path(listed))
    for name, text, outcome in sorted(missed - known):
        print(f"not reached, not explained: {name} | {text} | {outcome}")
    return 0 if reached >= LEAST * branches and missed <= known else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
