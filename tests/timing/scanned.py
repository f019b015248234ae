"""Structured Text as functions of Python: what an independent parser reads, translated statement by statement.

Only what the exported programs use is known: anything else ends the test. Types are checked on the way, and every number
must fit its type; a TIME must fit 32 bits with a sign, since some controllers have no more.
"""

import dataclasses
import functools
import re
from concurrent.futures import ProcessPoolExecutor

from blark.parse import parse_source_code

LARGEST = {"USINT": 2**8 - 1, "UINT": 2**16 - 1, "UDINT": 2**32 - 1, "BYTE": 2**8 - 1, "TIME": 2**31 - 1}
WIDTH = {"literal": 0, "USINT": 1, "UINT": 2, "UDINT": 3}


class Clock:
    """The time of the scan, ms."""

    now = 0


class Ton:
    """On-delay timer. What a change of PT while it runs does, the standard leaves open: so there is none."""

    inputs = {"IN": "BOOL", "PT": "TIME"}
    outputs = {"Q": "BOOL", "ET": "TIME"}

    def __init__(self):
        self.IN = self.Q = self.running = False
        self.PT = self.ET = self.start = self.limit = 0

    def scan(self):
        if not self.IN:
            self.running = self.Q = False
            self.ET = 0
            return
        if not self.running:
            self.running, self.start, self.limit = True, Clock.now, self.PT
        assert self.PT == self.limit, "PT changes while a timer runs"
        passed = Clock.now - self.start
        self.Q = passed >= self.PT
        self.ET = self.PT if self.Q else passed


class Tp:
    """Pulse."""

    inputs, outputs = Ton.inputs, Ton.outputs

    def __init__(self):
        self.IN = self.Q = self.was = self.running = False
        self.PT = self.ET = self.start = 0

    def scan(self):
        if self.IN and not self.was and not self.running:
            self.running, self.start = True, Clock.now
        if self.running:
            self.ET = min(Clock.now - self.start, self.PT)
            self.Q = self.ET < self.PT
            self.running = self.Q or self.IN
        self.was = self.IN


STANDARD = {"TON": Ton, "TP": Tp}


def fits(value, largest):
    if 0 <= value <= largest:
        return value
    raise ValueError(f"{value} is not from 0 to {largest}")


def duration(node):
    assert not node.negative
    parts = [("days", 86_400_000), ("hours", 3_600_000), ("minutes", 60_000), ("seconds", 1000), ("milliseconds", 1)]
    return sum(int(getattr(node, name) or 0) * factor for name, factor in parts)


class Unit:
    """One function block or program while it is translated."""

    def __init__(self, node, units):
        self.name = str(node.name)
        self.units = units
        self.inputs, self.outputs, self.types, self.initial = {}, {}, {}, {}
        self.lines = ["def scan(s):"]
        for block in node.declarations:
            kind = type(block).__name__
            known = {"InputDeclarations": self.inputs, "OutputDeclarations": self.outputs, "VariableDeclarations": {}}
            for item in block.items:
                self.declare(item, known[kind])
        self.statements(node.body, 1)
        scope = {"fits": fits}
        exec("\n".join(self.lines), scope)  # noqa: S102: this is the translated text
        self.made = type(self.name, (), {"scan": scope["scan"]})

    def declare(self, item, into):
        for declared in item.variables:
            name = str(declared.variable.name)
            same = [other for other in self.types if other.lower() == name.lower()]
            assert not same and name.startswith("W_"), f"{self.name}: {name}"
            if type(item).__name__ == "ArrayVariableInitDeclaration":
                (subrange,) = item.init.spec.subranges
                start, last = int(subrange.start.value), int(subrange.stop.value)
                of = str(item.init.spec.type.type_name)
                assert start == 0 and of in LARGEST
                values = list(self.values(item.init.value, of)) if item.init.value else [0] * (last + 1)
                assert len(values) == last + 1, f"{self.name}: {name} has {len(values)} values"
                self.types[name], self.initial[name] = ("array", of), values
                continue
            kind = str(item.init.spec.type)
            assert item.init.value is None
            self.types[name] = into[name] = kind
            if kind in STANDARD or kind in self.units:
                self.initial[name] = kind
            else:
                assert kind == "BOOL" or kind in LARGEST, kind
                self.initial[name] = False if kind == "BOOL" else 0

    def values(self, node, of):
        for element in node.elements:
            assert element.count is None
            if type(element.element).__name__ == "ArrayInitialization":
                yield from self.values(element.element, of)
                continue
            code, kind = self.expression(element.element)
            assert self.assignable(of, kind), f"{self.name}: {kind} in an array of {of}"
            yield fits(int(code), LARGEST[of])

    @staticmethod
    def assignable(to, kind):
        if to in WIDTH:
            return kind in WIDTH and WIDTH[kind] <= WIDTH[to]
        return to == kind or (to == "BYTE" and kind == "bits")

    def assign(self, target, to, node, depth):
        code, kind = self.expression(node)
        assert self.assignable(to, kind), f"{self.name}: {kind} to {target}, which is {to}"
        # What cannot leave its type is not looked at.
        plain = kind == to and not isinstance(node, str) and type(node).__name__ != "BinaryOperation"
        if to in LARGEST and not plain and not code.isdigit():
            code = f"fits({code}, {LARGEST[to]})"
        self.lines.append(f"{'  ' * depth}{target} = {code}")

    def statements(self, body, depth):
        indent = "  " * depth
        before = len(self.lines)
        for node in body.statements if body else []:
            getattr(self, type(node).__name__)(node, depth, indent)
        if len(self.lines) == before:
            self.lines.append(f"{indent}pass")

    def AssignmentStatement(self, node, depth, indent):
        (variable,) = node.variables
        target, to = self.expression(variable)
        assert target.split(".")[1].split("[")[0] not in self.inputs, f"{self.name} writes its input {target}"
        self.assign(target, to, node.expression, depth)

    def FunctionCallStatement(self, node, depth, indent):
        target, kind = self.expression(node.name)
        block = STANDARD.get(kind) or self.units[kind]
        for parameter in node.parameters:
            name = str(parameter.name.name)
            assert name in block.inputs, f"{self.name}: {kind} has no input {name}"
            self.assign(f"{target}.{name}", block.inputs[name], parameter.value, depth)
        given = {str(parameter.name.name) for parameter in node.parameters}
        assert given == set(block.inputs), f"{self.name}: {target} is called with {given}"
        self.lines.append(f"{indent}{target}.scan()")

    def condition(self, node):
        code, kind = self.expression(node)
        assert kind == "BOOL", f"{self.name}: {code} is {kind}"
        return code

    def IfStatement(self, node, depth, indent):
        self.lines.append(f"{indent}if {self.condition(node.if_expression)}:")
        self.statements(node.statements, depth + 1)
        for other in node.else_ifs:
            self.lines.append(f"{indent}elif {self.condition(other.if_expression)}:")
            self.statements(other.statements, depth + 1)
        if node.else_clause:
            self.lines.append(f"{indent}else:")
            self.statements(node.else_clause.statements, depth + 1)

    def CaseStatement(self, node, depth, indent):
        code, kind = self.expression(node.expression)
        assert kind in WIDTH
        self.lines.append(f"{indent}case = {code}")
        word = "if"
        for case in node.cases:
            matches = ", ".join(str(int(match.value)) for match in case.matches)
            self.lines.append(f"{indent}{word} case in ({matches},):")
            self.statements(case.statements, depth + 1)
            word = "elif"
        assert node.else_clause is None

    def ForStatement(self, node, depth, indent):
        target, kind = self.expression(node.control)
        (first, one), (last, two) = self.expression(node.from_), self.expression(node.to)
        assert node.step is None and all(self.assignable(kind, other) for other in (one, two))
        self.lines.append(f"{indent}for {target} in range({first}, {last} + 1):")
        self.statements(node.statements, depth + 1)

    def expression(self, node):
        """Its code, and its type."""
        return getattr(self, "of_" + type(node).__name__)(node)

    def of_SimpleVariable(self, node):
        name = str(node.name)
        assert name in self.types, f"{self.name} has no {name}"
        return f"s.{name}", self.types[name]

    def of_MultiElementVariable(self, node):
        code, kind = self.of_SimpleVariable(node.name)
        for element in node.elements:
            if type(element).__name__ == "FieldSelector":
                field = str(element.field.name)
                block = STANDARD.get(kind) or self.units[kind]
                # Only outputs may be read from outside.
                assert field in block.outputs, f"{self.name}: {kind} has no output {field}"
                code, kind = f"{code}.{field}", block.outputs[field]
                continue
            (subscript,) = element.subscripts
            index, of = self.expression(subscript)
            assert of in WIDTH and kind[0] == "array"
            # No index is negative, and Python refuses one that is too large.
            code, kind = f"{code}[{index}]", kind[1]
        return code, kind

    def of_Boolean(self, node):
        return ("True" if str(node.value).upper() == "TRUE" else "False"), "BOOL"

    def of_Integer(self, node):
        assert node.type_name is None
        return str(int(node.value)), "literal"

    def of_HexInteger(self, node):
        return str(int(node.value, 16)), "bits"

    def of_BitString(self, node):
        return str(int(node.value)), str(node.type_name)

    def of_HexBitString(self, node):
        return str(int(node.value, 16)), str(node.type_name)

    def of_Duration(self, node):
        return str(duration(node)), "TIME"

    def of_ParenthesizedExpression(self, node):
        code, kind = self.expression(node.expr)
        return f"({code})", kind

    def of_UnaryOperation(self, node):
        assert str(node.op) == "NOT"
        return f"(not {self.condition(node.expr)})", "BOOL"

    def of_FunctionCall(self, node):
        assert str(node.name.name) == "SEL"
        (when, chooses), (first, one), (second, two) = (self.expression(given.value) for given in node.parameters)
        assert chooses == "BOOL" and one == two
        return f"({second} if {when} else {first})", one

    def of_BinaryOperation(self, node):
        (left, one), (right, two) = self.expression(node.left), self.expression(node.right)
        operator = str(node.op).upper()
        both = one if WIDTH.get(one, 0) >= WIDTH.get(two, 0) else two
        numbers = one in WIDTH and two in WIDTH
        if operator in ("AND", "OR"):
            assert one == two and one in ("BOOL", "BYTE"), f"{one} {operator} {two}"
            sign = operator.lower() if one == "BOOL" else {"AND": "&", "OR": "|"}[operator]
            return f"({left} {sign} {right})", one
        if operator in ("=", "<>", "<", ">", "<=", ">="):
            assert one == two or numbers, f"{one} {operator} {two}"
            return f"({left} {({'=': '==', '<>': '!='}).get(operator, operator)} {right})", "BOOL"
        if operator in ("+", "-"):
            assert numbers or one == two == "TIME", f"{one} {operator} {two}"
            return f"({left} {operator} {right})", both
        assert operator in ("*", "/") and two in WIDTH and (numbers or one == "TIME"), f"{one} {operator} {two}"
        if one == "TIME":
            # The product must fit too, wherever it stands.
            sign, both = operator.replace("/", "//"), "TIME"
            return f"fits({left} {sign} {right}, {LARGEST['TIME']})", both
        return f"({left} {operator.replace('/', '//')} {right})", both


@functools.lru_cache(maxsize=None)
def parsed(source):
    """The one declaration of a text, or what is wrong with it."""
    read = parse_source_code(source)
    if read.exception is not None:
        return None, type(read.exception).__name__
    (item,) = read.transform().items
    return item, None


def pieces(text):
    """Each function block and the program: a parser of everything that could stand there takes long for the whole."""
    return [piece for piece in re.split(r"(?<=END_FUNCTION_BLOCK\n)", text) if piece.strip()]


def translated(texts):
    """The class of the program of each text."""
    sources = list(dict.fromkeys(piece for text in texts for piece in pieces(text)))
    with ProcessPoolExecutor() as pool:
        known = dict(zip(sources, pool.map(parsed, sources)))
    programs = []
    for text in texts:
        units = {}
        for piece in pieces(text):
            item, fault = known[piece]
            assert fault is None, fault
            units[str(item.name)] = Unit(item, units)
        programs.append((units, "W_Main"))
    return programs


def instance(units, name):
    """A block with everything in it, as it is when power comes."""
    unit = units[name]
    made = unit.made()
    for variable, value in unit.initial.items():
        if isinstance(value, list):
            value = list(value)
        elif isinstance(value, str):
            value = STANDARD[value]() if value in STANDARD else instance(units, value)
        setattr(made, variable, value)
    return made
