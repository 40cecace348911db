"""Reading a plan: a good one becomes a Plan, a bad one names every mistake with its line."""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tomllib
from datetime import date, time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.plan import kinds, responses
from tankwalk.plan.file import load
from tankwalk.plan.lines import read_tables
from tankwalk.plan.load import Fault, PlanFaults, read_plan
from tankwalk.plan.model import Item, Level, Plan
from tankwalk.plan.start import start_text
from tankwalk.text import clean

TODAY = date(2026, 4, 16)
START = start_text(TODAY, "America/Chicago")

SMALL = """\
[site]
name = "Room 2"
zone = "America/Chicago"
elevation = "850 ft"
emergency = "MV 555-0100"

[[person]]
initials = "JQ"

[[loop]]
code = "L1"

[[lot]]
code = "S26"
species = "Sauger"
hatched = 2026-04-16

[[tank]]
code = "T01"
loop = "L1"
volume = "58 gal"
lot = "S26"

[[item]]
code = "temp"
label = "Temperature"
unit = "C"
plausible = [-1, "95 degF"]

[[checklist]]
code = "am"
label = "Morning"
at = "06:50"
tank = ["temp"]
"""


def refusal_of(path: Path) -> str:
    with pytest.raises(Refusal) as refused:
        load(path)
    return str(refused.value)


def faults_of(text: str) -> tuple[Fault, ...]:
    with pytest.raises(PlanFaults) as refused:
        read_plan(text)
    return refused.value.faults


def swap(old: str, new: str, text: str = SMALL) -> str:
    assert text.count(old) == 1, old
    return text.replace(old, new)


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_the_starter_plan_passes_its_own_check() -> None:
    plan = read_plan(START)
    assert [tank.code for tank in plan.tanks] == ["T01", "T02", "T03", "T04"]
    assert plan.lots[0].hatched == TODAY
    assert plan.checklist("am").at == time(7, 0)
    assert plan.digest == hashlib.sha256(START.encode()).hexdigest()
    assert plan.rehearsal is None
    assert [profile.species for profile in plan.profiles] == ["sauger"]
    assert all(rule.owner and rule.source and rule.dated for rule in plan.bands)
    assert plan.tank("T03").volume_l == pytest.approx(220.89, abs=0.01)


def test_the_starter_plan_is_plain_ascii_and_uses_each_item() -> None:
    assert START.isascii()
    plan = read_plan(START)
    asked = {plan.checklist("am").glance, plan.checklist("pm").glance}
    for checklist in plan.checklists:
        asked.update(checklist.site + checklist.loop + checklist.tank)
    assert asked == {item.code for item in plan.items if not item.derived}
    assert all(responses.every(item) for item in plan.items)


def test_a_time_zone_nobody_knows_is_refused_before_a_plan_is_written() -> None:
    with pytest.raises(Refusal):
        start_text(TODAY, 'Mars"\nname = "x')


def test_units_are_turned_into_those_the_plan_keeps() -> None:
    plan = read_plan(SMALL)
    assert plan.elevation_m == pytest.approx(259.08)
    assert plan.tank("T01").volume_l == pytest.approx(219.55, abs=0.01)
    assert plan.item("temp").unit == "degC"
    assert plan.item("temp").plausible == pytest.approx((-1, 35))
    assert plan.lots[0].species == "sauger"


def test_limits_in_fahrenheit_are_turned_and_distances_turned_as_distances() -> None:
    band = '\n[[band]]\nitem = "temp"\ntarget = "64 degF"\nwatch_within = "2 degF"\n'
    rule = read_plan(SMALL + band + 'watch_change = "1.8 F"\n').bands[0]
    assert rule.target == pytest.approx(17.7778, abs=1e-4)
    assert rule.watch_within == pytest.approx(1.1111, abs=1e-4)
    assert rule.limits.watch_change == pytest.approx(1.0)
    assert rule.line == line_of(SMALL + band, "[[band]]")


def test_five_mistakes_are_five_faults_each_on_its_line() -> None:
    text = swap('volume = "58 gal"', 'volume = "58 gal/min"')  # a flow
    text = swap('label = "Temperature"', "label = Temperature", text)  # no quotes
    text = swap('tank = ["temp"]', 'tank = ["tmp"]', text)  # no such item
    text = swap("hatched = 2026-04-16", 'hatched = "16 April"', text)  # no date
    text = swap('emergency = "MV 555-0100"\n', "", text)  # missing
    found = faults_of(text)
    wanted = [
        line_of(text, "[site]"),
        line_of(text, "hatched"),
        line_of(text, "volume"),
        line_of(text, "label = Temp"),
        line_of(text, "tank = ["),
    ]
    assert [fault.line for fault in found] == wanted
    assert "emergency is missing" in found[0].what
    assert found[2].where == "[[tank]] T01"
    assert 'Mend: write volume = "220 L".' in str(found[2])
    assert found[3].mend == 'write label = "Temperature"'
    assert found[4].mend == 'write "temp"'


def test_the_faults_are_told_as_one_message_with_their_count() -> None:
    text = swap("[[loop]]", "[[loop]")
    faults = faults_of(text)
    first, *rest = str(PlanFaults(faults)).splitlines()
    assert first.startswith("The plan has 1 fault,")
    assert rest == [str(faults[0])]
    assert rest[0].startswith(f"line {line_of(text, '[[loop]')}, ")


ONE_MISTAKE = [
    ('zone = "America/Chicago"', 'zone = "America/Chicgo"', "not a time zone"),
    ('elevation = "850 ft"', "elevation = 26000", "not between"),
    ('elevation = "850 ft"', "elevation = nan", "not a number a plan can hold"),
    ('elevation = "850 ft"', "elevation = inf", "not a number a plan can hold"),
    ('elevation = "850 ft"', f"elevation = {'9' * 400}", "not a number a plan can hold"),
    ('elevation = "850 ft"', f"elevation = {'9' * 5000}", "cannot be read"),
    ('elevation = "850 ft"', "elevation = true", "where a number is wanted"),
    ('elevation = "850 ft"', 'rehearsal = "2026-05-10T06:50"\nelevation = 1', "offset"),
    ('name = "Room 2"', "name = 2", "where a text in quotes is wanted"),
    ('name = "Room 2"', 'name = " "', "is empty"),
    ('name = "Room 2"', "name = Room 2", "cannot be read"),
    ('name = "Room 2"', 'name = "Room 2"\nname = "Room 3"', "given twice"),
    ('name = "Room 2"', 'naem = "Room 2"', "not a key"),
    ('initials = "JQ"', 'initials = "J"', "2 to 4 letters"),
    ('initials = "JQ"', 'initials = "JQ"\n[[person]]\ninitials = "jq"', "already the person"),
    ('code = "T01"', 'code = "T 01"', "not 1 to 12"),
    ('code = "T01"', "code = 1", "where a text in quotes is wanted"),
    ('loop = "L1"', 'loop = "L7"', "which the plan has not"),
    ('lot = "S26"', 'lot = "S27"', "which the plan has not"),
    ('lot = "S26"', 'treatment = "E10"', "which the plan has not"),
    ('lot = "S26"', 'quarantine = "no"', "where true or false is wanted"),
    ('lot = "S26"', 'shape = "cone"', "as well as volume"),
    ('volume = "58 gal"', "volume = 0", "not that of a tank"),
    ('volume = "58 gal"', 'volume = "9 buckets"', "was not understood as a unit"),
    ('volume = "58 gal"', "volum = 220", "not a key"),
    ('volume = "58 gal"', "", "volume is missing"),
    ('volume = "58 gal"', 'shape = "cilinder"', "not one of"),
    ('volume = "58 gal"', 'shape = "cone"\ndiameter = 1', "height is missing"),
    ('volume = "58 gal"', 'shape = "cone"\ndiameter = 60\nheight = "1 m"', "a bare number is in m"),
    ('volume = "58 gal"', 'shape="cone"\ndiameter=1\nheight=1\nwidth=1', "not a length of a cone"),
    ('volume = "58 gal"', 'shape="cylinder"\ndiameter=1\nheight=1\ndepth=2', "more than"),
    ('species = "Sauger"', 'species = "saugre"', "no bands are known"),
    ('species = "Sauger"', 'species = "carp"', "no bands are known"),
    ("hatched = 2026-04-16", "hatched = 2026-04-31", "cannot be read"),
    ('unit = "C"', 'unit = "Kelvins"', "is not known"),
    ("plausible = [-1,", "plausible = [40,", "runs from 40 down to 35"),
    ('unit = "C"', 'unit = "C"\ndecimals = 9', "whole number from 0 to 4"),
    ('unit = "C"', 'unit = "C"\nchoices = ["a", "b"]', "means nothing for a number"),
    ('unit = "C"', 'unit = "C"\ninstrument = "oxygen meter"', "which the plan has not"),
    ('unit = "C"', 'unit = "C"\ndph = [9, 3]', "does not run from a first to a last"),
    ('unit = "C"', 'unit = "C"\ndph = [0.5, 3]', "whole days"),
    ('unit = "C"', 'unit = "C"\nevery = "7 L"', "time"),
    ('unit = "C"', 'unit = "C"\nkind = "numbre"', "not one of"),
    ('at = "06:50"', 'at = "24:10"', "not a time of day"),
    ('at = "06:50"', "at = 06:50", "cannot be read"),
    ('tank = ["temp"]', "tank = []", "is an empty list"),
    ('tank = ["temp"]', 'tank = ["temp", "temp"]', "twice"),
    ('tank = ["temp"]', 'tank = "temp"', "where a list is wanted"),
    ('tank = ["temp"]', "tank = [1]", "where a text in quotes is wanted"),
    ('tank = ["temp"]', 'loop = ["temp"]', "which is asked of each tank"),
    ('tank = ["temp"]', 'tank = ["temp"]\nglance = "temp"', "which is no choice"),
    ('tank = ["temp"]', 'tank = ["temp"]\nweekdays = ["Someday"]', "weekdays names"),
    ('tank = ["temp"]', 'tank = ["temp"', "not closed"),
    ('tank = ["temp"]', 'tank = ["temp"]\n[notes]\ncanned = ["""oh', "not closed"),
    ('tank = ["temp"]', 'tank = ["temp"]\n[notes]\n[notes]', "given twice"),
    ('tank = ["temp"]', 'tank = ["temp"]\n[aquarium]', "not a table of a plan"),
    ("[[person]]", "[person]", "one bracket where two are"),
    ("[site]", "[[site]]", "two brackets where one is"),
    ("[site]", "[site", "cannot be read"),
    ("[[checklist]]", "[[cheklist]]", "not a table of a plan"),
    ("[[tank]]", "# \x1b[31m\n[[tank]]", "a control character"),
    ("[[tank]]", "volume = 1\n[[tank]]", "is not a key of"),
]


@pytest.mark.parametrize(("old", "new", "says"), ONE_MISTAKE)
def test_one_mistake_is_one_fault_on_its_line(old: str, new: str, says: str) -> None:
    text = swap(old, new)
    found = faults_of(text)
    assert len(found) == 1, "\n".join(map(str, found))
    fault = found[0]
    assert says in fault.what
    assert fault.mend
    first = line_of(text, new) if new else line_of(text, "[[tank]]")
    last = first + new.count("\n")
    # A missing key has the line of its header; that is tested elsewhere.
    assert first <= fault.line <= last or "missing" in fault.what


def test_another_amount_is_never_proposed_for_a_unit_that_nobody_knows() -> None:
    """1200 buckets are not 1200 L: the mend shows how such a text is written."""
    [fault] = faults_of(swap('volume = "58 gal"', 'volume = "1200 buckets"'))
    assert fault.mend == 'write it with such a unit, as in volume = "220 L"'


def band(text: str) -> str:
    return SMALL + '\n[[band]]\nitem = "temp"\n' + text


BAD_BANDS = [
    ("", "sets no limit"),
    ("watch_below = 18\nwatch_above = 15\n", "is not below"),
    ("watch_below = 15\nwatch_above = 15\n", "is not below"),
    ("watch_below = 15\nact_below = 16\n", "is not below"),
    ("target = 16\nwatch_within = 2\nact_within = 1\n", "is not below"),
    ("target = 16\nwatch_within = 0\n", "not above 0"),
    ("target = 19\nwatch_above = 18\n", "outside its own limits"),
    ("watch_within = 1\n", "without a target"),
    ("target = 16\nwatch_within = 1\nwatch_within_percent = 5\n", "are both given"),
    ("target = 16\nwatch_within = 1\nwatch_below = 5\n", "are both given"),
    ("target = 64\nwatch_within = 1\n", "is not plausible"),
    ("watch_above = 64\n", "is not plausible"),
    ("watch_above = 18\ntank = 'T09'\n", "which the plan has not"),
    ("watch_above = 18\ntreatment = 'E10'\n", "which the plan has not"),
    ("watch_above = 18\nspecies = 'walleye'\n", "which the plan has not"),
    ("watch_above = 18\ntank = 'T01'\nloop = 'L1'\n", "holds for one of them"),
    ("watch_above = 18\nchange_way = 'fall'\n", "without a change"),
    ("watch_change = 2\nact_change = 1\n", "is less than"),
    ("watch_above = '18 mg/L'\n", "temperature"),
    ("watch_above = '18 degF degF'\n", "watch_above"),
    ("ramp = 16\n", "where a list of dated targets"),
    ("ramp = [{on = 2026-04-20, target = 16}]\n", "2 dated targets"),
    (
        "ramp = [\n {on = 2026-04-20, target = 16},\n {on = 2026-04-20, target = 17},\n]\n",
        "the ramp goes from",
    ),
    ("ramp = [{on = 'soon', target = 16}, {on = 2026-04-20, target = 17}]\n", "not a date"),
    ("ramp = [{when = 2026-04-20, target = 16}]\n", "not a date and a target"),
    ("target = 1\nramp = [{on=2026-04-20, target=16}, {on=2026-04-21, target=16}]\n", "both given"),
    ("watch_above = 18\ndated = 'May'\n", "is not a date"),
]


@pytest.mark.parametrize(("text", "says"), BAD_BANDS)
def test_a_band_that_makes_no_sense_is_one_fault(text: str, says: str) -> None:
    found = faults_of(band(text))
    assert len(found) == 1, "\n".join(map(str, found))
    assert says in found[0].what
    assert found[0].mend
    assert found[0].line >= line_of(band(text), 'item = "temp"') - 1


def test_two_bands_of_one_scope_and_age_name_each_other() -> None:
    text = band("watch_above = 18\ndph = [0, 10]\n\n[[band]]\nitem = 'temp'\n")
    first = line_of(text, "[[band]]")
    found = faults_of(text + "watch_above = 19\ndph = [10, 20]\n")
    assert len(found) == 1
    assert f"line {first}" in found[0].what
    assert found[0].line == text.count("\n") + 2
    for apart in ("dph = [11, 20]", "tank = 'T01'\ndph = [10, 20]", "species = 'sauger'", ""):
        assert len(read_plan(text + f"watch_above = 19\n{apart}\n").bands) == 2


def test_an_item_of_a_loop_has_no_band_by_tank() -> None:
    text = swap('unit = "C"', 'unit = "C"\nlevel = "loop"').replace('tank = ["temp"]', "")
    text = text.replace('at = "06:50"', 'at = "06:50"\nloop = ["temp"]')
    tanked = text + '\n[[band]]\nitem = "temp"\nwatch_above = 18\ntank = "T01"\n'
    assert "asked of the loop" in faults_of(tanked)[0].what


CHOICE = 'code = "screen"\nlabel = "Screen"\nkind = "choice"\n'


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ("", "choices is missing"),
        ("choices = ['clean']\n", "a choice has 2 to 9"),
        ("choices = ['clean', 'fouled']\nact_on = ['dirty']\n", "none of the choices"),
        ("choices = ['clean', 'fouled']\nact_on = ['clean']\n", "first choice is all right"),
        ("choices = ['a', 'b']\nwatch_on = ['b']\nact_on = ['b']\n", "in watch_on and in act_on"),
        ("choices = ['a', 'b']\nunit = 'cm'\n", "means nothing for a choice"),
    ],
)
def test_a_choice_needs_its_words(keys: str, says: str) -> None:
    found = faults_of(f"{SMALL}\n[[item]]\n{CHOICE}{keys}")
    assert [says in fault.what for fault in found] == [True]


def test_a_choice_has_words_and_no_band() -> None:
    text = f"{SMALL}\n[[item]]\n{CHOICE}choices = ['clean', 'fouled']\nact_on = ['fouled']\n"
    item = read_plan(text).item("screen")
    assert item == Item(
        "screen",
        "Screen",
        kinds.CHOICE,
        Level.TANK,
        decimals=0,
        choices=("clean", "fouled"),
        act_on=("fouled",),
    )
    text += "[[band]]\nitem = 'screen'\nwatch_above = 1\n"
    assert "has no band" in faults_of(text)[0].what


def test_a_species_without_seeds_needs_a_band_of_its_own() -> None:
    text = swap('species = "Sauger"', 'species = "saugeye"')
    assert [fault.line for fault in faults_of(text)] == [line_of(text, "saugeye")]
    own = "\n[[band]]\nitem = 'temp'\nspecies = 'Saugeye'\nwatch_above = 20\n"
    plan = read_plan(text + own)
    assert plan.profiles == ()
    assert plan.bands[0].species == "saugeye"


def test_seeds_that_cannot_fit_the_unit_of_an_item_are_a_fault() -> None:
    text = swap('unit = "C"\nplausible = [-1, "95 degF"]', 'unit = "bar"')
    found = faults_of(text)
    assert [fault.line for fault in found] == [line_of(text, 'unit = "bar"')]
    assert found[0].mend == 'write unit = "degC"'


def test_a_plan_kept_in_fahrenheit_has_its_seeds_in_fahrenheit() -> None:
    plan = read_plan(swap('unit = "C"', 'unit = "degF"').replace("[-1,", "[30,"))
    rule = next(rule for rule in plan.profiles[0].bands if rule.item == "temp")
    assert rule.limits.watch_below == pytest.approx(53.6)


def test_tables_may_be_written_the_other_ways_toml_has() -> None:
    text = SMALL.replace('[[loop]]\ncode = "L1"\n', "")
    assert read_plan('loop = [{code = "L1", volume = 900}]\n' + text).loops[0].volume_l == 900
    ramp = band("watch_within = 1\n\n[[band.ramp]]\non = 2026-04-20\ntarget = 16\n\n")
    rule = read_plan(ramp + "[[band.ramp]]\non = 2026-04-30\ntarget = 18\n").bands[0]
    assert rule.ramp is not None
    assert rule.ramp.at(date(2026, 4, 25)) == 17
    assert read_plan(SMALL.replace("\n", "\r\n")).tanks == read_plan(SMALL).tanks


def test_faults_of_inline_tables_carry_the_line_of_their_statement() -> None:
    text = SMALL.replace('[[loop]]\ncode = "L1"\n', "")
    found = faults_of('\n\nloop = [{code = "L1"}, {code = "L 2"}]\n' + text)
    assert [fault.line for fault in found] == [3]


def test_a_broken_statement_does_not_hide_the_rest_of_the_file() -> None:
    text = START.replace('zone = "America/Chicago"', "zone = America", 1)
    text = text.replace('choices = ["ok", "odd", "bad"]', 'choices = ["ok", "odd", "bad"', 1)
    text = text.replace("plausible = [-1, 35]", "plausible = [-1, 35", 1)
    text = text.replace('label = "pH"', 'label = "pH', 1)
    text = text.replace("watch_within = 1.0\nact_within = 3.0", "watch_within = 1,0", 1)
    text = text.replace('canned = [\n    "siphoned late"', 'canned = [\n    "siphoned late', 1)
    lines = [fault.line for fault in faults_of(text)]
    parts = ["zone = A", "choices = [", "plausible = [", 'label = "pH', "watch_within = 1,0"]
    assert lines == [line_of(text, part) for part in [*parts, "canned"]]


def test_a_code_that_cannot_be_read_does_not_make_every_reference_wrong() -> None:
    text = START.replace('code = "L1"', 'code = "L1', 1)
    assert [fault.line for fault in faults_of(text)] == [line_of(text, 'code = "L1\n')]


def test_a_missing_header_is_one_fault_and_not_one_for_each_key_below_it() -> None:
    header = START.index("[[item]]", START.index('code = "do"'))
    text = START[:header] + START[header + len("[[item]]\n") :]
    found = faults_of(text)
    assert [fault.line for fault in found] == [line_of(text, 'code = "ph"')]
    assert "write [[item]] above it" in found[0].mend


def test_the_rest_of_a_broken_list_is_no_fault_of_its_own() -> None:
    text = swap("canned = [\n", "canned = \n", START)
    assert [fault.line for fault in faults_of(text)] == [line_of(text, "canned")]
    two = swap('name = "Room 2"', "name = Room 2").replace('"America/Chicago"', "America")
    assert [fault.line for fault in faults_of(two)] == [2, 3]


def test_an_empty_plan_lists_the_tables_it_needs() -> None:
    missing = {fault.what for fault in faults_of("")}
    needed = ("[site]", "[[person]]", "[[loop]]", "[[tank]]", "[[item]]", "[[checklist]]")
    assert missing == {f"{table} is missing" for table in needed}


def test_nothing_of_a_text_can_drive_the_terminal() -> None:
    plan = read_plan(swap('label = "Temperature"', 'label = "Temp\\u001b[31m\\u202e red"'))
    assert plan.item("temp").label == "Temp[31m red"


def test_statements_are_cut_as_toml_cuts_them() -> None:
    tricky = (
        '[notes]\ncanned = [ # ] "\n  "a # b", \'c" [d\',\n\n  """e\n[site]\nx = 1""",\n'
        '  \'\'\'f\\\'\'\',\n  "\\"", """g\\"""""", # end\n]\n\n'
    )
    for text in (tricky, START, SMALL, SMALL.replace("\n", "\r\n"), tricky + SMALL):
        data: dict[str, object] = {}
        tables, slips = read_tables(text)
        assert slips == []
        for table in tables:
            if table.listed:
                entries = data.setdefault(table.name, [])
                assert isinstance(entries, list)
                entries.append(table.values)
            else:
                data[table.name] = table.values
        assert data == tomllib.loads(text)


def test_a_file_is_read_with_or_without_its_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.encode())
    assert load(path) == read_plan(SMALL)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (SMALL.encode().replace(b"Room 2", b"Ro\xf6m"), "not UTF-8 text at line 2"),
        (b"#" * 300_001, "larger than 300 kB"),
        (None, "There is no plan.toml"),
    ],
)
def test_a_file_that_cannot_be_read_is_one_sentence(
    tmp_path: Path, content: bytes | None, says: str
) -> None:
    path = tmp_path / "plan.toml"
    if content is not None:
        path.write_bytes(content)
    sentence = refusal_of(path)
    assert says in sentence
    assert "\n" not in sentence
    assert sentence.endswith(".")


def test_a_folder_is_no_plan(tmp_path: Path) -> None:
    assert "is no ordinary file; nothing was read." in refusal_of(tmp_path)
    assert "could not be read" in refusal_of(tmp_path / "a\0b")


def test_reading_a_plan_brings_no_screen_and_no_unit_library() -> None:
    code = (
        "import sys, tankwalk.plan.load, tankwalk.plan.start, tankwalk.plan.bands;"
        "sys.exit(any(m in sys.modules for m in ('pint', 'textual', 'rich', 'sqlite3')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def outcome(text: str) -> Plan | None:
    """A plan, or None when it was refused with at least one fault on a line that exists."""
    try:
        return read_plan(text)
    except PlanFaults as refused:
        faults = refused.faults
    assert faults
    last = text.count("\n") + 1
    assert all(1 <= fault.line <= last for fault in faults)
    assert all(clean(str(fault)) == str(fault) for fault in faults)
    return None


LINES = START.splitlines()
BITS = st.sampled_from(
    [*'[]{}=,."#\n\\', "'''", '"""', "[[", "]]", "nan", "1e999", "-0", "true", "1979-05-27",
     "\x00", "\ufeff", "\u202e", "\r", "[site]", "[[tank]]", "[[band.ramp]]", "site.name = 1",
     "a.b = 2", "tank = []", "code = []", "9" * 30, "{}", "[[[[", '"T01"', "x" * 300]
)  # fmt: skip


@given(st.text(max_size=200))
def test_any_text_is_a_plan_or_is_refused(text: str) -> None:
    assert outcome(text) is None


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_plan_hurt_anywhere_is_a_plan_or_is_refused(data: st.DataObject) -> None:
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        other = data.draw(st.integers(0, len(lines) - 1))
        cut = data.draw(st.integers(0, len(lines[at])))
        bit = data.draw(st.one_of(BITS, st.text(max_size=5)))
        lines[at] = data.draw(
            st.sampled_from(
                ["", lines[at][:cut], lines[at][:cut] + bit + lines[at][cut:], lines[other], bit]
            )
        )
    text = "\n".join(lines)
    plan = outcome(text)
    if plan is not None:
        tomllib.loads(text)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_value_at_any_key_is_a_plan_or_is_refused(data: st.DataObject) -> None:
    keyed = [n for n, line in enumerate(LINES) if "=" in line and line[:1].isalpha()]
    at = data.draw(st.sampled_from(keyed))
    key = LINES[at].split("=")[0]
    value = data.draw(
        st.sampled_from(
            ["1", "-1", "0.5", "nan", "true", '""', '"x"', '"5 C"', "[]", "[1]", "[1, 2]", "[[]]",
             "{}", "[{}]", '{a = 1}', '["a", "b"]', "2026-04-16", "06:50:00", "1e308", "[nan, 1]",
             "2026-04-16T06:50:00Z", "[true, 2]", '["x", {}]', "[{on = 1, target = 2}]", "9" * 40,
             '"T01"', '["temp"]', '"L1"', "0x_", '"\\u0000"', '"\\ud800"', f'"{"x" * 11000}"']
        )
    )  # fmt: skip
    outcome("\n".join([*LINES[:at], f"{key} = {value}", *LINES[at + 1 :]]))


@given(st.binary(max_size=60))
def test_any_bytes_are_refused_in_words(
    tmp_path_factory: pytest.TempPathFactory, raw: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "bytes.toml"
    path.write_bytes(raw)
    with pytest.raises(Refusal):
        load(path)


TRIAL = """
[trial]
code = "CS-3"
unit = "{unit}"
primary = "census"
"""


def test_a_trial_counts_tanks() -> None:
    plan = read_plan(SMALL + TRIAL.format(unit="tank"))
    assert plan.trial is not None
    assert (plan.trial.code, plan.trial.alpha) == ("CS-3", 0.05)


def test_a_trial_that_counts_fish_is_refused_with_the_reason() -> None:
    with pytest.raises(PlanFaults) as found:
        read_plan(SMALL + TRIAL.format(unit="fish"))
    told = str(found.value)
    assert "Treatments are given to tanks, not to fish" in told
    assert "Hurlbert 1984" in told
