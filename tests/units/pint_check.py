"""Compares a CSV of conversions (from,to,value,result) with the units library pint, to 1e-12.

Usage: pint_check.py FILE. Prints the number of rows that agree; leaves with 1 at the first that does not.
"""

import csv
import math
import re
import sys

import pint

registry = pint.UnitRegistry()
registry.define("circular_mil_exact = pi / 4 * thou ** 2")

NAMES = {
    "m": "meter", "mm": "millimeter", "cm": "centimeter", "um": "micrometer", "in": "inch", "ft": "foot",
    "thou": "thou", "cmil": "circular_mil_exact", "s": "second", "ms": "millisecond", "us": "microsecond",
    "min": "minute", "h": "hour", "rad": "radian", "deg": "degree", "V": "volt", "mV": "millivolt",
    "kV": "kilovolt", "A": "ampere", "mA": "milliampere", "ohm": "ohm", "mohm": "milliohm", "uohm": "microohm",
    "kohm": "kiloohm", "W": "watt", "mW": "milliwatt", "kW": "kilowatt", "J": "joule", "kJ": "kilojoule",
    "MJ": "megajoule", "Wh": "watt_hour", "kWh": "kilowatt_hour", "N": "newton", "mN": "millinewton",
    "kN": "kilonewton", "lbf": "force_pound", "kg": "kilogram", "g": "gram", "mg": "milligram", "lb": "pound",
    "oz": "ounce", "degC": "degree_Celsius", "degF": "degree_Fahrenheit", "K": "kelvin", "mK": "millikelvin",
    "delta_degC": "delta_degree_Celsius", "delta_degF": "delta_degree_Fahrenheit", "%": "percent",
    "Pa": "pascal", "kPa": "kilopascal", "MPa": "megapascal", "GPa": "gigapascal", "psi": "psi",
}


def factor(word):
    """One word of the language as a unit of pint; a length may carry a power."""
    if word == "1":
        return registry.Unit("dimensionless")
    match = re.fullmatch(r"([a-z]+)([23])", word)
    if match:
        return registry.Unit(NAMES[match[1]]) ** int(match[2])
    return registry.Unit(NAMES[word])


def product(text):
    words = re.split(r"[ *]+", text.strip("() "))
    unit = factor(words[0])
    for word in words[1:]:
        unit = unit * factor(word)
    return unit


def unit(text):
    above, bar, below = text.partition("/")
    return product(above) / product(below) if bar else product(above)


def main(path):
    count = 0
    with open(path, newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            expected = registry.Quantity(float(row["value"]), unit(row["from"])).to(unit(row["to"])).magnitude
            result = float(row["result"])
            # A temperature scale has its zero far from 0 K: there the size is that of the temperature.
            size = 1e-12 * 500 if row["to"] in ("degC", "degF") else 0.0
            if not math.isclose(result, expected, rel_tol=1e-12, abs_tol=size):
                sys.exit(f"{row}: pint gives {expected!r}")
            count += 1
    print(f"{count} conversions agree")


main(sys.argv[1])
