"""A sitting at the Workings: what is found, taken, worked and kept, without a screen."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from demo_support import opened
from site_support import clock_shows
from tankwalk import text
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Dose, Entry, Reading
from tankwalk.pages import workings as printed
from tankwalk.pages import worksheet as page
from tankwalk.pages.lines import TONES, Line, plain
from tankwalk.plan.derived import MAX_AGE_HOURS
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.workings import doses, working_out
from tankwalk.practice.workings.figures import extra, number
from tankwalk.practice.workings.filling import stale
from tankwalk.practice.workings.sheet_view import found_view, sheet_view
from tankwalk.practice.workings.worksheet import Worksheet, found, note_words
from tankwalk.science.calculators import ALL
from tankwalk.science.calculators.declare import Form

SIZES = ((80, 24), (60, 20), (120, 40), (200, 60))
CHEMICAL, RISE = "sodium bicarbonate", "mg/L as CaCO3"


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    room = opened(tmp_path)
    yield room
    room.close()


def measured(
    site: Site, place: str, code: str, value: float, when: str = "", mark: str = ""
) -> None:
    """A reading in the record, just now or at another time."""
    now = site.now()
    if when:
        clock_shows(site, when)
    at = site.now()
    unit = site.plan.item(code).unit
    reading = Reading(value, f"{value:g}", qualifier=mark or None)
    site.record(Entry("reading", "MV", at, at, place, code, unit), reading)
    if when:
        clock_shows(site, now.wall.strftime("%Y-%m-%dT%H:%M"))


def given(site: Site, grams: float, expected: float | None, place: str = "L1") -> None:
    """A dose of bicarbonate in the record."""
    now = site.now()
    dose = Dose(CHEMICAL, grams, "g", 3600.0, expected, None if expected is None else RISE)
    site.record(Entry("dose", "JQ", now, now, place), dose)


def sitting(site: Site, name: str, place: str = "L1", **typed: str) -> Worksheet:
    """Somebody at a calculator with fields typed, one by one."""
    sheet = Worksheet(site)
    sheet.go_to(place)
    sheet.choose(name)
    for key, words in typed.items():
        sheet.field = [i.key for i in sheet.chosen.inputs].index(key.rstrip("_"))  # type: ignore[union-attr]
        sheet.type(words)
    return sheet


def dosing(site: Site, to: str, place: str = "L1") -> Worksheet:
    return sitting(site, "bicarbonate-dose", place, volume="3600", from_="80", to=to)


def kept(site: Site, kind: str) -> list[tuple[object, ...]]:
    """What the record holds of a kind of entry."""
    sql = {
        "dose": "SELECT d.chemical, d.amount, d.unit, d.volume_l, d.expected, d.expected_unit,"
        " e.who, e.round, e.place FROM dose d JOIN entries e ON e.n = d.entry ORDER BY e.n",
        "note": "SELECT text, who, round, place FROM notes ORDER BY n",
        "follow-up": "SELECT text, who, place, due_at FROM follow_ups ORDER BY entry",
    }[kind]
    return site.ledger.db.execute(sql).fetchall()


# ---- the list


def test_letters_find_a_calculator_at_the_start_of_its_name_or_of_a_word_before_anywhere() -> None:
    assert [c.name for c in found("bic")][:2] == ["bicarbonate-dose", "bicarbonate-rise"]
    names = [c.name for c in found("tank")]
    assert names[0] == "tank-volume"
    assert "flush-time" in names
    assert [c.name for c in found("carbonate")] == ["bicarbonate-dose", "bicarbonate-rise"]
    assert [c.name for c in found("BRINE dose")] == ["brine-dose"]
    assert found("") == list(ALL.values())
    assert found("zzz") == []


def test_the_list_keeps_its_order_and_its_place(site: Site) -> None:
    sheet = Worksheet(site)
    order = list(ALL.values())
    for letters in ("a", "s", "in", "dose"):
        sheet.seek(letters)
        for part in (c for c in sheet.listed if f" {letters}" in f" {c.words.lower()}"):
            assert part in order
    sheet.seek("")
    sheet.step(-3)
    assert sheet.at == 0
    sheet.step(1000)
    assert sheet.at == len(order) - 1
    sheet.seek("zzz")
    with pytest.raises(Refusal, match="No calculator has 'zzz'"):
        sheet.choose()
    sheet.choose("convert")
    assert sheet.sought == ""
    assert sheet.listed[sheet.at].name == "convert"


# ---- the fields


def test_what_is_missing_is_said_and_the_answer_follows_the_typing(site: Site) -> None:
    sheet = sitting(site, "bicarbonate-dose", volume="3600")
    assert [i.key for i in sheet.result().missing] == ["from", "to"]
    sheet = dosing(site, "120,9")
    done = sheet.result().working
    assert done is not None
    assert done.value is not None
    assert round(done.value) == 247
    sheet = sitting(site, "bicarbonate-dose", volume="3.6 m3", from_="80", to="120.9")
    again = sheet.result().working
    assert again is not None
    assert again.value == pytest.approx(done.value)


def test_what_is_wrong_names_its_field_and_half_a_number_does_no_harm(site: Site) -> None:
    sheet = dosing(site, "-")
    result = sheet.result()
    assert result.working is None
    assert result.key == "to"
    assert result.fault.startswith("to: ")
    sheet.type("60")
    assert "to" in sheet.result().fault or sheet.result().working is not None


def test_nothing_typed_is_lost_by_going_to_another_calculator_and_back(site: Site) -> None:
    sheet = dosing(site, "110")
    sheet.choose("dilution")
    sheet.type("5")
    sheet.choose("bicarbonate-dose")
    assert sheet.typed == {"volume": "3600", "from": "80", "to": "110"}
    sheet.choose("dilution")
    assert sheet.entry == "5"


def test_the_fields_lead_to_the_answer_and_round_again(site: Site) -> None:
    sheet = dosing(site, "110")
    sheet.field = 0
    for _ in range(4):
        assert sheet.input is not None
        sheet.move(1)
    assert sheet.input is None
    assert sheet.entry == ""
    sheet.type("7")
    assert sheet.typed["to"] == "110"
    sheet.move(1)
    assert sheet.field == 0
    sheet.move(-1)
    assert sheet.input is None


def test_words_are_turned_chosen_by_number_or_typed(site: Site) -> None:
    sheet = sitting(site, "nitrogen-basis")
    sheet.field = 1
    seen = []
    for _ in range(6):
        sheet.turn(1)
        seen.append(sheet.entry)
    assert seen == ["N", "NH3", "NH4", "NO2", "NO3", "N"]
    sheet.turn(-1)
    assert sheet.entry == "NO3"
    sheet.type("2")
    assert sheet.entry == "NH3"
    sheet.type("no2")
    sheet.field = 0
    sheet.type("1")
    sheet.field = 2
    sheet.type("1")
    done = sheet.result().working
    assert done is not None
    assert done.value == pytest.approx(14.007 / 46.006)


def test_a_field_holds_no_more_than_a_value_could_have(site: Site) -> None:
    sheet = dosing(site, "1" * 41)
    assert "to" not in sheet.typed
    assert "at most 40 characters" in sheet.said


# ---- what the record gives


def test_readings_are_taken_with_their_age_from_the_tank_else_from_its_loop(site: Site) -> None:
    measured(site, "L1", "alk", 80, "2026-05-10T06:25")
    sheet = sitting(site, "bicarbonate-dose", "T03", to="110")
    sheet.take()
    assert sheet.typed == {"volume": "220", "from": "80", "to": "110"}
    assert sheet.source_words("from") == "L1, 25 min old"
    assert sheet.source_words("volume") == "by the plan"
    assert sheet.source_words("to") == ""
    assert sheet.said == "Taken: volume, Alkalinity."
    measured(site, "T03", "flow", 3.5)
    sheet = sitting(site, "exchange", "T03")
    sheet.take()
    assert sheet.typed["flow"] == "3.5"
    assert sheet.source_words("flow") == "T03, just now"


def test_a_stale_reading_is_refused_in_words_and_what_is_typed_stays(site: Site) -> None:
    measured(site, "L1", "alk", 80, "2026-05-10T01:50")
    sheet = sitting(site, "bicarbonate-dose", to="110")
    sheet.take()
    assert "Alkalinity is 5 h old: measure it, or type it." in sheet.said
    assert "from" not in sheet.typed
    assert sheet.typed["to"] == "110"
    sheet.field = 1
    sheet.type("77")
    sheet.take()
    assert sheet.typed["from"] == "77"


def test_a_taken_reading_that_grows_old_on_the_page_gives_no_answer_any_more(site: Site) -> None:
    measured(site, "L1", "alk", 80)
    sheet = sitting(site, "bicarbonate-dose", to="110")
    sheet.take()
    assert sheet.result().working is not None
    clock_shows(site, "2026-05-10T08:50")
    assert sheet.result().working is not None
    clock_shows(site, "2026-05-10T08:51")
    assert sheet.result().fault == "Alkalinity is 2 h 01 min old: measure it, or type it."
    assert sheet.result().key == "from"
    assert MAX_AGE_HOURS == 2


def test_after_the_clock_was_set_back_a_reading_still_to_come_is_not_taken(site: Site) -> None:
    measured(site, "L1", "alk", 80)
    clock_shows(site, "2026-05-10T01:50")
    sheet = sitting(site, "bicarbonate-dose", to="110")
    sheet.take()
    assert "Alkalinity is dated 5 h from now: look at the clock, or type it." in sheet.said
    assert "from" not in sheet.typed


def test_a_site_that_takes_older_parts_takes_them_here_as_well(tmp_path: Path) -> None:
    longer = opened(tmp_path, lambda plan: plan.replace("[site]", '[site]\nparts_age = "6 h"', 1))
    with closing(longer) as room:
        measured(room, "L1", "alk", 80, "2026-05-10T03:50")
        sheet = sitting(room, "bicarbonate-dose", to="110")
        sheet.take()
        assert sheet.typed["from"] == "80"


def test_no_reading_and_one_below_what_the_test_can_tell_are_said(site: Site) -> None:
    measured(site, "L1", "no2n", 0.02, mark="<")
    sheet = sitting(site, "chloride-for-nitrite")
    sheet.take()
    assert "below what the test can tell (<0.02): type it." in sheet.said
    assert "nitrite" not in sheet.typed
    sheet = sitting(site, "nitrogen-basis")
    sheet.take()
    assert sheet.said == "Nothing here comes from the record: type it."


def test_what_may_be_left_out_is_not_asked_for_where_the_record_has_none(site: Site) -> None:
    measured(site, "L1", "tan", 0.52)
    sheet = sitting(site, "ammonia", "T03", temperature="16.5")
    measured(site, "T03", "ph", 7.62)
    sheet.take()
    assert sheet.said == "Taken: TAN, pH."
    assert sheet.good
    assert sheet.typed == {"tan": "0.52", "ph": "7.62", "temperature": "16.5"}
    assert sheet.result().working is not None


def test_what_was_taken_at_one_place_does_not_go_along_to_another(site: Site) -> None:
    measured(site, "L1", "alk", 80)
    sheet = sitting(site, "bicarbonate-dose", to="110")
    sheet.take()
    sheet.go()
    assert sheet.place == "T01"
    assert sheet.typed == {"to": "110"}
    assert sheet.source_words("from") == ""
    for _ in range(12):
        sheet.go()
    assert sheet.place == SITE
    sheet.go()
    assert sheet.place == "L1"
    with pytest.raises(Refusal, match="no tank or loop 'T99'"):
        sheet.go_to("T99")


def test_days_and_ages_come_from_the_plan(site: Site) -> None:
    sheet = sitting(site, "dph", "T03")
    sheet.take()
    assert sheet.typed["hatched"] == "2026-04-16"


def test_a_working_asked_for_by_a_reading_stands_at_its_answer(site: Site) -> None:
    sheet = Worksheet(site)
    sheet.go_to("T03")
    sheet.choose("exchange")
    sheet.type("9")
    sheet.fill({"flow": "3.5", "volume": "220"})
    assert sheet.input is None
    assert sheet.result().working is not None
    with pytest.raises(Refusal, match="takes no 'nonsense'"):
        sheet.fill({"nonsense": "1"})


# ---- notes


def test_an_answer_is_noted_with_what_it_was_made_from(site: Site) -> None:
    sheet = dosing(site, "110")
    sheet.arrive("PB", 4)
    sheet.record()
    sheet.answer("1")
    assert sheet.said == "Noted at L1 (PB)."
    [row] = kept(site, "note")[-1:]
    done = sheet.result().working
    assert done is not None
    assert row == (note_words(done), "PB", 4, "L1")
    assert row[0] == (
        "bicarbonate-dose: sodium bicarbonate 181.3 g (volume 3600 L, from 80 mg/L as CaCO3, "
        "to 110 mg/L as CaCO3)"
    )


def test_nobody_keeps_by_silence_and_nothing_without_an_answer(site: Site) -> None:
    sheet = sitting(site, "bicarbonate-dose", volume="3600")
    with pytest.raises(Refusal, match="Still to type: alkalinity now, alkalinity wanted"):
        sheet.record()
    before = len(kept(site, "note"))
    sheet = dosing(site, "110")
    sheet.record()
    sheet.answer("9")
    assert "no choice here" in sheet.said
    sheet.answer("1")
    assert "Who keeps it?" in sheet.question
    sheet.answer("0")
    assert "There is no number 0" in sheet.said
    assert len(kept(site, "note")) == before
    sheet.answer("4")
    assert kept(site, "note")[-1][1:] == ("MV", None, "L1")


# ---- doses


def test_a_usual_dose_is_kept_at_once_with_the_look_that_follows(site: Site) -> None:
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass="250")
    sheet.arrive("MV", None)
    sheet.record()
    assert sheet.options()[1] == (
        "2", "250 g sodium bicarbonate into L1, expected +41 mg/L",
    )  # fmt: skip
    assert sheet.question.startswith("Keep it as what? Last into L1: 250 g,")
    sheet.answer("2")
    assert "Now look at the pH in 15 to 30 min" in sheet.said
    [row] = kept(site, "dose")[-1:]
    assert row[:4] == (CHEMICAL, 250.0, "g", 3600.0)
    assert row[4] == pytest.approx(41.37, abs=0.01)
    assert row[5:] == (RISE, "MV", None, "L1")
    [look] = kept(site, "follow-up")[-1:]
    assert look[:3] == ("look at the pH after 250 g sodium bicarbonate", "MV", "L1")
    assert look[3] == site.now().utc + 1800


def test_one_zero_too_many_keeps_nothing_until_it_is_typed_again(site: Site) -> None:
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass="2500")
    sheet.arrive("MV", None)
    before = kept(site, "dose"), kept(site, "follow-up")
    sheet.record()
    sheet.answer("2")
    assert sheet.question == "expected +414 mg/L, usual +41: type the dose again"
    sheet.answer("")
    assert "Nothing was typed, so nothing is kept" in sheet.said
    sheet.answer("0")
    sheet.answer("abc")
    sheet.answer("2400")
    assert sheet.said == "2400 g is another amount: nothing was kept."
    assert sheet.question == "expected +397 mg/L, usual +41: type the dose again"
    assert (kept(site, "dose"), kept(site, "follow-up")) == before
    sheet.answer("2,4 kg")
    assert kept(site, "dose")[-1][:3] == (CHEMICAL, 2400.0, "g")
    assert len(kept(site, "dose")) == len(before[0]) + 1


def test_the_right_amount_typed_in_its_place_is_judged_anew_and_kept(site: Site) -> None:
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass="2500")
    sheet.arrive("MV", None)
    sheet.record()
    sheet.answer("2")
    sheet.answer("250")
    [row] = kept(site, "dose")[-1:]
    assert row[1] == 250.0
    assert row[4] == pytest.approx(41.37, abs=0.01)


def test_leaving_the_question_keeps_nothing(site: Site) -> None:
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass="2500")
    sheet.arrive("MV", None)
    before = kept(site, "dose")
    sheet.record()
    sheet.answer("2")
    assert sheet.back()
    assert not sheet.back()
    assert kept(site, "dose") == before


@pytest.mark.parametrize(
    ("grams", "asked"), [(749, False), (751, True), (84, False), (83, True), (250, False)]
)
def test_three_times_the_usual_and_a_third_of_it_are_where_it_is_asked(
    site: Site, grams: float, asked: bool
) -> None:
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass=f"{grams:g}")
    done = sheet.result().working
    assert done is not None
    given_now = [g for g in site.reader.doses.newest(CHEMICAL, "L1") if g.amount == 250]
    assert len(given_now) >= 3
    assert bool(doses.doubt(site, doses.planned(done, "L1"))) is asked


def test_without_a_past_dose_the_width_of_the_band_is_the_measure(site: Site) -> None:
    sheet = sitting(site, "bicarbonate-rise", "T03", volume="220", mass="100")
    done = sheet.result().working
    assert done is not None
    dose = doses.planned(done, "T03")
    assert site.reader.doses.newest(CHEMICAL, "T03") == []
    assert doses.doubt(site, dose.of(50)) == ""
    assert doses.doubt(site, dose) == (
        "expected +271 mg/L, the band is 140 wide: type the dose again"
    )
    given(site, 15, 40.6, "T03")
    assert "usual +41: type the dose again" in doses.doubt(site, dose)


def test_the_overdose_of_one_day_does_not_become_the_usual_one(site: Site) -> None:
    given(site, 2500, 413.7)
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass="2500")
    done = sheet.result().working
    assert done is not None
    assert "usual +41" in doses.doubt(site, doses.planned(done, "L1"))


def test_a_dose_goes_into_a_tank_or_loop_and_comes_to_something(site: Site) -> None:
    done = dosing(site, "110").result().working
    assert done is not None
    with pytest.raises(Refusal, match="Choose the tank or loop it goes into"):
        doses.planned(done, SITE)
    nothing = sitting(site, "bicarbonate-rise", volume="3600", mass="0").result().working
    assert nothing is not None
    with pytest.raises(Refusal, match="comes to nothing"):
        doses.planned(nothing, "L1")
    other = sitting(site, "exchange", flow="3.5", volume="220").result().working
    assert other is not None
    with pytest.raises(Refusal, match="is no dose"):
        doses.planned(other, "L1")


def test_a_dose_without_an_expected_change_is_judged_by_its_amount(site: Site) -> None:
    done = sitting(site, "bicarbonate-rise", volume="3600", mass="250").result().working
    assert done is not None
    planned = doses.planned(done, "L1")
    bare = planned._replace(dose=planned.dose._replace(expected=None, expected_unit=None))
    assert doses.doubt(site, bare) == ""
    assert doses.doubt(site, bare.of(2500)) == "2500 g, usual 250 g: type the dose again"


def test_every_dose_that_is_declared_can_be_planned() -> None:
    for one in ALL.values():
        if one.dose is not None:
            planned = doses.planned(working_out.work(one.name, one.typed), "L1")
            assert planned.dose.amount > 0, one.name
            assert planned.dose.unit, one.name
            assert planned.words


# ---- pages


def exact(rows: list[Line], width: int, height: int | None, what: str) -> str:
    if height is not None:
        assert len(rows) == height, what
    for row in rows:
        assert sum(text.width(span.text) for span in row) == width, (what, row)
        assert {span.tone for span in row} <= set(TONES), what
        assert all(span.text.isprintable() for span in row), (what, row)
    return plain(rows)


@pytest.mark.parametrize("name", ALL)
def test_every_calculator_has_an_example_that_works_and_fits_every_page(
    site: Site, name: str
) -> None:
    one = ALL[name]
    done = working_out.work(name, one.typed)
    assert done.value is not None
    assert "nan" not in plain(printed.draw_done(done, 80)).lower().replace("nanometer", "")
    for width in (60, 80):
        for rows in (printed.draw_asked(one, width), printed.draw_done(done, width)):
            assert ".." not in exact(rows, width, None, name)
    sheet = Worksheet(site)
    sheet.choose(name)
    for width, height in SIZES:
        for field in range(len(one.inputs) + 1):
            sheet.field = field
            exact(page.draw(sheet_view(sheet), width, height), width, height, name)
    sheet.fill(one.typed)
    for width, height in (*SIZES, (40, 12), (20, 6), (3, 2)):
        for field in range(len(one.inputs) + 1):
            sheet.field = field
            shown = exact(page.draw(sheet_view(sheet), width, height, 3), width, height, name)
            assert ".." not in shown.split("\n")[-1] or width < 60
            if width >= 60 and sheet.input is not None:
                assert f"{sheet.entry[-5:]}_" in shown
    for width, height in SIZES:
        exact(page.draw_found(found_view(sheet), width, height), width, height, name)


@pytest.mark.parametrize("size", SIZES)
def test_every_question_fits_its_page_with_all_its_keys(site: Site, size: tuple[int, int]) -> None:
    width, height = size
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass="2500")
    for answer in ("", "2", "4"):
        sheet.record() if not answer else sheet.answer(answer)
        shown = " ".join(
            exact(page.draw(sheet_view(sheet), width, height), width, height, answer).split()
        )
        for key, words in sheet.options():
            assert f"{key} {words}" in shown
        assert sheet.question in shown
    sheet.say("a long sentence " * 30, good=False)
    exact(page.draw(sheet_view(sheet), width, height), width, height, "said")


@pytest.mark.parametrize(
    ("value", "decimals", "shown"),
    [(0.0, 2, "0.00"), (-0.001, 0, "-0.0010"), (0.00012, 2, "0.00012"), (1234.5, 1, "1234.5"),
     (1e15, 2, "1e+15"), (None, 2, "no value"), (float("nan"), 1, "no value")],
)  # fmt: skip
def test_a_number_is_never_rounded_away(value: float | None, decimals: int, shown: str) -> None:
    assert number(value, decimals) == shown


def test_lists_in_a_field_show_their_end(site: Site) -> None:
    name = next(c.name for c in ALL.values() if any(i.form is Form.SERIES for i in c.inputs))
    sheet = Worksheet(site)
    sheet.choose(name)
    sheet.field = next(i for i, x in enumerate(ALL[name].inputs) if x.form is Form.SERIES)
    sheet.type("31 28 36 41 55 62 71 88 93")
    assert "88 93_" in plain(page.draw(sheet_view(sheet), 80, 24))


def test_the_sentence_of_a_stale_reading(site: Site) -> None:
    now = site.now()
    before = now._replace(utc=now.utc - 5 * 3600)
    assert stale("pH", before, now) == "pH is 5 h old: measure it, or type it."


def test_what_is_so_or_not_is_told_by_yes_or_no() -> None:
    output = ALL["survival"].output
    assert [extra(value, output) for value in (True, False)] == ["yes", "no"]


def test_a_working_says_what_its_answer_hangs_on_only_where_it_hangs_on_something() -> None:
    done = working_out.work("survival", {"stocked": "1000", "deaths": "500", "days": "10"})
    assert "sensitivity" not in working_out.as_json(done)
    assert working_out.as_json(done._replace(shaky="pH: 0.1"))["sensitivity"] == "pH: 0.1"
