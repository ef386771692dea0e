"""Whatever text comes in, a sheet that compiles comes out, or one clear refusal.

Mutations start from an invented sheet with every section, and do what slips of a thumb do:
delete, double, swap and replace words, signs and lines.
"""

from __future__ import annotations

import re

from hypothesis import example, given, settings
from hypothesis import strategies as st

from backprobe.circuit.compiled import compile_sheet
from backprobe.errors import BackprobeError
from backprobe.sheet.kinds import registry
from backprobe.sheet.reader import parse_sheet

SHEET = """sheet: Vine tipper, gate circuit
system: 24 V
controls: {key: [off, on], gate: [shut, open], arm: [released, pressed]}
runs:
  power: [battery+, fuse F3 10 A, key switch, splice S5, C1-1, controller.battery]
  ground: [controller.ground, C1-2, wire 0.8 m 2.5 mm2 BK, ring G4, frame, strap, battery-]
  feed: [controller.feed, C2-1, gate sensor.supply]
  signal: [gate sensor.output, C2-3, controller.gate input]
  return: [gate sensor.ground, C2-2, controller.sensor ground]
  arm: [S5, arm switch, diode V1, controller.arm input]
  valve: [controller.valve output, C3-1, coil Y2 33 ohm, C3-2, frame]
  horn: [splice S5, relay contact K1, lamp H2 21 W, frame]
  coil: [S5, resistor R2 10 ohm, relay coil K1 300 ohm, frame]
connectors:
  C2: {part: gate sensor, minutes: 4, caution: sharp edge}
parts:
  gate sensor:
    kind: ratiometric sensor
    output: {gate shut: 64 %, gate open: 21 %}
    supply: {value: 9.0 V, range: 4.5..14 V, origin: published, title: part leaflet}
  arm switch: {closed: {arm: pressed}, open ohms: 10 kohm, minutes: 3}
  controller:
    feed: {volts: 9.0 V +-2 %, limit: 60 mA}
    gate input: {pull-down: 47 kohm, bands: {0..0.6 V: code low, 0.7..3.1 V: open, 4.9..6.6 V: shut}}
    arm input: {pull-up: 10 kohm, bands: {0..4 V: off, 8..24 V: on}}
    valve output: {side: high}
functions:
  tipper:
    {releases when: gate input is shut and not (arm input is off), drives: valve output, guard: gate is shut}
lamps:
  gate lamp: {lit: gate input is open}
cautions: [block the bed]
notes: [first series]
"""
TOKEN = re.compile(r"[A-Za-z]+|\d+(?:\.\d+)?|\s+|.", re.DOTALL)
TOKENS = TOKEN.findall(SHEET)

KINDS = sorted(registry().by_word)
WORDS = """
{ } [ ] , - . .. +- % : &a *a !!int # ~ ' " ( )
0 -1 1e3 1e400 nan OL 99999999999999999999 0.000000000001 V ohm mA Mohm null yes no
frame battery+ battery- battery controller S5 C2-3 C2-9 K1 K1.87a K1.30 R2
is not and or shut open gate key feed output input ground
"""
SLIPS = ["", " ", "\n", "\t", ": ", "é", "\u2126", "\u00a0", "x" * 200, *WORDS.split(), *KINDS]


def read(text: str) -> None:
    """Read and compile; only a refusal of our own may come out, and it must be usable."""
    try:
        sheet = parse_sheet(text, file="fuzz.yaml")
    except BackprobeError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.message
            assert problem.remedy
            assert problem.file == "fuzz.yaml"
            assert len(problem.value) <= 80
        return
    circuit = compile_sheet(sheet)
    assert circuit.size >= 1
    for mode in circuit.modes:
        assert set(mode.changes) <= set(circuit.parameter_of)


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """The sheet with one to four slips in it."""
    tokens = list(TOKENS)
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(tokens) - 2))
        what = draw(st.sampled_from(("delete", "double", "swap", "replace", "insert", "move")))
        if what == "delete":
            del tokens[at]
        elif what == "double":
            tokens.insert(at, tokens[at])
        elif what == "swap":
            other = draw(st.integers(0, len(tokens) - 1))
            tokens[at], tokens[other] = tokens[other], tokens[at]
        elif what == "replace":
            tokens[at] = draw(st.sampled_from(SLIPS) | st.sampled_from(TOKENS))
        elif what == "insert":
            tokens.insert(at, draw(st.sampled_from(SLIPS)))
        else:
            tokens.insert(draw(st.integers(0, len(tokens) - 1)), tokens.pop(at))
    return "".join(tokens)


@st.composite
def mutated_lines(draw: st.DrawFn) -> str:
    """The sheet with lines deleted, doubled or moved."""
    lines = SHEET.splitlines()
    for _ in range(draw(st.integers(1, 4))):
        line = lines.pop(draw(st.integers(0, len(lines) - 1)))
        for _ in range(draw(st.integers(0, 2))):
            lines.insert(draw(st.integers(0, len(lines))), line)
    return "\n".join(lines)


ITEM = st.lists(
    st.sampled_from([s for s in SLIPS if "\n" not in s and "\t" not in s]), min_size=1, max_size=4
)


@st.composite
def made_up_runs(draw: st.DrawFn) -> str:
    """A sheet whose runs are words of the trade in any order."""
    runs = draw(st.lists(st.lists(ITEM, min_size=2, max_size=6), min_size=1, max_size=4))
    quoted = [["'{}'".format(" ".join(item).replace("'", "''")) for item in run] for run in runs]
    lines = [f"  r{i}: [{', '.join(run)}]" for i, run in enumerate(quoted)]
    return "sheet: s\nsystem: 12 V\nruns:\n" + "\n".join(lines) + "\n"


def test_the_sheet_that_is_mutated_is_sound() -> None:
    sheet = parse_sheet(SHEET)
    assert len(sheet.runs) >= 9
    assert compile_sheet(sheet).size > 30


@given(st.text(max_size=300))
@settings(max_examples=100)
def test_any_text(text: str) -> None:
    read(text)


@given(mutated())
@settings(max_examples=200)
def test_a_sheet_with_slips(text: str) -> None:
    read(text)


@given(mutated_lines())
@settings(max_examples=80)
def test_a_sheet_with_lines_gone_or_doubled(text: str) -> None:
    read(text)


@given(made_up_runs())
@settings(max_examples=200)
@example("sheet: s\nruns: {r: [battery+, battery+]}")
@example("sheet: s\nruns: {r: [frame, frame, frame]}")
def test_runs_of_any_words(text: str) -> None:
    read(text)
