"""A sitting at the Workings: what is found, taken, worked and kept, without a screen."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
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
from tankwalk.practice.workings import dose_doubt, doses, working_out
from tankwalk.practice.workings.dose_doubt import Doubt
from tankwalk.practice.workings.doses import Planned
from tankwalk.practice.workings.figures import extra, number
from tankwalk.practice.workings.filling import stale
from tankwalk.practice.workings.keep_talk import note_words
from tankwalk.practice.workings.sheet_view import found_view, sheet_view
from tankwalk.practice.workings.working_out import found
from tankwalk.practice.workings.worksheet import Worksheet
from tankwalk.science.calculators import ALL
from tankwalk.science.calculators.declare import Form

SIZES = ((80, 24), (60, 20), (120, 40), (200, 60))
CHEMICAL, RISE = "sodium bicarbonate", "mg/L as CaCO3"
PRODUCT = {"product": CHEMICAL}
"""The only bicarbonate of the plan is taken unless somebody names another."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    room = opened(tmp_path)
    yield room
    room.close()


def measured(
    site: Site, place: str, code: str, value: float, when: str = "", mark: str = ""
) -> None:
    """A reading in the record, of just now or of another time of the wall clock."""
    now = at = site.now()
    if when:
        back = now.wall.replace(tzinfo=None) - datetime.fromisoformat(when)
        at = now._replace(utc=now.utc - int(back.total_seconds()))
    unit = site.plan.item(code).unit
    reading = Reading(value, f"{value:g}", qualifier=mark or None)
    site.record(Entry("reading", "MV", at, now, place, code, unit), reading)


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


def asked(sheet: Worksheet) -> str:
    """The question that stands before something is kept; "" where none does."""
    return "" if sheet.talk is None else sheet.talk.question


def headline(sheet: Worksheet) -> str:
    """What is said first of a dose that is asked about; "" where none is."""
    reviewed = None if sheet.talk is None else sheet.talk.reviewed
    return "" if reviewed is None else reviewed.headline


def choices(sheet: Worksheet) -> list[tuple[str, str]]:
    """Keys and what they mean at the question that stands."""
    return [] if sheet.talk is None else sheet.talk.options()


def doubt(site: Site, dose: Planned) -> Doubt | None:
    return dose_doubt.review(site, dose).doubt


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
    assert [c.name for c in found("bic")][:2] == [
        "bicarbonate-dose",
        "bicarbonate-rise",
    ]
    names = [c.name for c in found("tank")]
    assert names[0] == "tank-volume"
    assert "flush-time" in names
    assert [c.name for c in found("carbonate")] == [
        "bicarbonate-dose",
        "bicarbonate-rise",
    ]
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
    assert sheet.typed == {"volume": "3600", "from": "80", "to": "110"} | PRODUCT
    sheet.choose("dilution")
    assert sheet.entry == "5"


def test_the_fields_lead_to_the_answer_and_round_again(site: Site) -> None:
    sheet = dosing(site, "110")
    sheet.field = 0
    for _ in range(5):
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
    assert sheet.typed == {"volume": "220", "from": "80", "to": "110"} | PRODUCT
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
    sheet.field = 2
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
    assert sheet.typed == {"to": "110"} | PRODUCT
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
        "bicarbonate-dose: sodium bicarbonate 181.3 g (product sodium bicarbonate, volume 3600 L, "
        "from 80 mg/L as CaCO3, to 110 mg/L as CaCO3)"
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
    assert "Who keeps it?" in asked(sheet)
    sheet.answer("0")
    assert "There is no number 0" in sheet.said
    assert len(kept(site, "note")) == before
    sheet.answer("4")
    assert kept(site, "note")[-1][1:] == ("MV", None, "L1")


# ---- doses


def keeping(site: Site, name: str, place: str = "L1", **typed: str) -> Worksheet:
    """MV at a calculator whose answer is about to be kept as a dose."""
    sheet = sitting(site, name, place, **typed)
    sheet.arrive("MV", None)
    while sheet.hidden:
        sheet.record()
    sheet.record()
    sheet.answer("2")
    return sheet


def bicarbonate(site: Site, grams: str, place: str = "L1", volume: str = "3600") -> Worksheet:
    return keeping(site, "bicarbonate-rise", place, volume=volume, mass=grams)


def planned(sheet: Worksheet) -> Planned:
    assert sheet.talk is not None
    assert sheet.talk.dose is not None
    return sheet.talk.dose


def test_a_usual_dose_is_kept_at_once_with_the_look_that_follows(site: Site) -> None:
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass="250")
    sheet.arrive("MV", None)
    sheet.record()
    assert choices(sheet)[1] == (
        "2", "250 g sodium bicarbonate into L1, expected +41 mg/L",
    )  # fmt: skip
    assert asked(sheet).startswith("Keep it as what? Last into L1: 250 g,")
    sheet.answer("2")
    assert "Now look at the pH and NH3-N in 15 to 30 min" in sheet.said
    [row] = kept(site, "dose")[-1:]
    assert row[:4] == (CHEMICAL, 250.0, "g", 3600.0)
    assert row[4] == pytest.approx(41.37, abs=0.01)
    assert row[5:] == (RISE, "MV", None, "L1")
    [look] = kept(site, "follow-up")[-1:]
    assert look[:3] == ("look at the pH and NH3-N after 250 g sodium bicarbonate", "MV", "L1")
    assert look[3] == site.now().utc + 1800


def test_one_zero_too_many_wants_a_name_a_reason_and_the_amount_typed_again(site: Site) -> None:
    before = kept(site, "dose"), kept(site, "follow-up"), kept(site, "note")
    sheet = bicarbonate(site, "2500")
    assert headline(sheet) == "Usual here 250 g, +41 mg/L: this is 10 times as much."
    assert asked(sheet) == "Who decided that it may go in all the same? Choose by number."
    for wrong in ("", "0", "9", "250"):
        sheet.answer(wrong)
        assert "There is no number" in sheet.said
    sheet.answer("3")
    for wrong in ("", "4", "ok"):
        sheet.answer(wrong)
        assert asked(sheet).startswith("Why does TS want it?")
    sheet.answer("3")
    assert asked(sheet) == "To keep it, type the dose again; Enter alone keeps nothing."
    sheet.answer("")
    assert "Nothing was typed, so nothing is kept" in sheet.said
    sheet.answer("0")
    sheet.answer("abc")
    assert (kept(site, "dose"), kept(site, "follow-up"), kept(site, "note")) == before
    sheet.answer("2,5 kg")
    assert kept(site, "dose")[-1][:3] == (CHEMICAL, 2500.0, "g")
    assert len(kept(site, "dose")) == len(before[0]) + 1
    [note] = kept(site, "note")[-1:]
    assert note[0] == (
        "2500 g sodium bicarbonate above its ceiling. rise of alkalinity in a day 413.7 mg/L as "
        "CaCO3, above 50 (common practice, no source). Decided by TS: decision of the lead"
    )
    assert note[1:] == ("MV", None, "L1")


def test_another_amount_above_its_ceiling_is_decided_anew(site: Site) -> None:
    sheet = bicarbonate(site, "2500")
    before = kept(site, "dose")
    for key in ("3", "1", "2600"):
        sheet.answer(key)
    assert sheet.said == "2600 g is another amount: nothing was kept."
    assert asked(sheet).startswith("Who decided")
    assert planned(sheet).held[0].value == pytest.approx(430.2, abs=0.1)
    assert kept(site, "dose") == before


def test_the_right_amount_typed_in_its_place_is_judged_anew_and_kept(site: Site) -> None:
    sheet = bicarbonate(site, "2500")
    for key in ("3", "1", "250"):
        sheet.answer(key)
    [row] = kept(site, "dose")[-1:]
    assert row[1] == 250.0
    assert row[4] == pytest.approx(41.37, abs=0.01)
    assert "above its ceiling" not in str(kept(site, "note")[-1:])


def test_leaving_the_question_keeps_nothing(site: Site) -> None:
    before = kept(site, "dose")
    sheet = bicarbonate(site, "2500")
    assert sheet.back()
    assert not sheet.back()
    assert kept(site, "dose") == before


@pytest.mark.parametrize(
    ("grams", "found"),
    [(501, Doubt.MORE), (499, None), (84, None), (83, Doubt.LESS), (250, None)],
)
def test_twice_the_usual_and_a_third_of_it_are_where_it_is_asked(
    site: Site, grams: float, found: Doubt | None
) -> None:
    sheet = sitting(site, "bicarbonate-rise", volume="3600", mass=f"{grams:g}")
    done = sheet.result().working
    assert done is not None
    given_now = [g for g in site.reader.doses.newest(CHEMICAL, "L1") if g.amount == 250]
    assert len(given_now) >= 3
    assert doubt(site, doses.planned(site, done, "L1")) is found


def test_the_right_change_by_ten_times_the_amount_is_a_wrong_volume(site: Site) -> None:
    sheet = bicarbonate(site, "2500", volume="36000")
    assert headline(sheet) == "Usual here 250 g, +41 mg/L: this is 10 times as much."


def test_the_first_dose_of_a_product_at_a_place_is_met_with_its_whole_arithmetic(
    site: Site,
) -> None:
    sheet = bicarbonate(site, "12", "T03", "220")
    assert site.reader.doses.newest(CHEMICAL, "T03") == []
    assert headline(sheet) == "First sodium bicarbonate into T03: read it through."
    assert sheet.talk is not None
    assert sheet.talk.reviewed is not None
    assert sheet.talk.reviewed.lines[1:4] == (
        "volume 220 L, mass 12 g, purity 1 fraction: 12 g",
        "That is 54.55 mg for each of 220 L.",
        "Expected: Alkalinity +32 mg/L.",
    )
    assert "raises pH by up to" in sheet.talk.reviewed.lines[4]
    before = kept(site, "dose")
    sheet.answer("")
    assert kept(site, "dose") == before
    sheet.answer("12")
    assert kept(site, "dose")[-1][1] == 12
    again = bicarbonate(site, "12", "T03", "220")
    assert again.talk is not None  # 32 and 32 mg/L are more than a day's ceiling
    assert asked(again).startswith("Who decided")
    clock_shows(site, "2026-05-12T06:50")
    assert bicarbonate(site, "12", "T03", "220").talk is None


def test_a_ceiling_for_a_day_holds_what_went_in_within_24_hours(site: Site) -> None:
    given(site, 250, 41.4)
    sheet = bicarbonate(site, "100")
    assert planned(sheet).held[0].value == pytest.approx(16.5, abs=0.1)
    assert sheet.talk is not None
    assert sheet.talk.reviewed is not None
    assert sheet.talk.reviewed.above[0].value == pytest.approx(41.4 + 16.5, abs=0.1)


def test_the_overdose_of_one_day_does_not_become_the_usual_one(site: Site) -> None:
    given(site, 2500, 413.7)
    assert headline(bicarbonate(site, "2500")).startswith("Usual here 250 g, +41 mg/L")


def test_a_dose_taken_back_is_nobodys_usual(site: Site) -> None:
    """A first dose ten times too large, taken back: the right one is a first one again."""
    sheet = keeping(site, "bath", "T03", product="2", volume="220", dose="200")
    sheet.answer("126")
    assert "amount" in sheet.said  # 220 x 0.2 g / 0.35 is 125.7 g, and by its gravity 111.3 mL
    sheet.answer(f"{planned(sheet).dose.amount}")
    [wrong] = site.reader.doses.newest("peroxide 35 %", "T03")
    again = sitting(site, "bath", "T03", product="2", volume="220", dose="20")
    again.arrive("MV", None)
    again.record()
    again.record()
    assert choices(again)[2][1].startswith(f"take back {wrong.amount:g} mL peroxide 35 %")
    again.answer("3")
    again.answer("")
    assert site.reader.doses.newest("peroxide 35 %", "T03") == [wrong]
    again.answer("1")
    assert "(MV: never poured). The record holds both." in again.said
    assert site.reader.doses.newest("peroxide 35 %", "T03") == []
    right = keeping(site, "bath", "T03", product="2", volume="220", dose="20")
    assert headline(right) == "First peroxide 35 % into T03: read it through."


def test_two_products_share_no_usual(site: Site) -> None:
    sheet = keeping(site, "bath", "T03", product="1", volume="220", dose="25 uL/L")
    sheet.answer("5.5")
    assert kept(site, "dose")[-1][:3] == ("formalin 37 %", 5.5, "mL")
    assert keeping(site, "bath", "T03", product="1", volume="220", dose="25 uL/L").talk is None
    other = keeping(site, "bath", "T03", product="2", volume="220", dose="25 uL/L")
    assert headline(other) == "First peroxide 35 % into T03: read it through."


def test_the_dose_is_of_what_the_label_of_the_product_doses(site: Site) -> None:
    """250 uL/L of formalin into 220 L are 55 mL, of the active part of peroxide 157 mL."""
    assert planned(
        keeping(site, "bath", "T03", product="1", volume="220", dose="250 uL/L")
    ).dose.amount == pytest.approx(55)
    assert planned(
        keeping(site, "bath", "T03", product="2", volume="220", dose="250 uL/L")
    ).dose.amount == pytest.approx(157.14)


def test_a_product_fills_its_fields_and_another_one_refills_them(site: Site) -> None:
    sheet = sitting(site, "bath", "T03", product="1", volume="220", dose="25")
    assert sheet.typed == {
        "product": "formalin 37 %", "volume": "220", "dose": "25", "active": "0.37",
        "gravity": "1.08", "label_doses": "product",
    }  # fmt: skip
    assert sheet.source_words("active") == "by the plan"
    sheet.field = 0
    sheet.type("2")
    assert (sheet.typed["active"], sheet.typed["label_doses"]) == ("0.35", "active")
    sheet.type("kept in no plan")
    assert not {"active", "gravity", "label_doses"} & set(sheet.typed)
    sheet.field = 3
    sheet.type("0.5")
    sheet.field = 0
    sheet.type("1")
    assert sheet.typed["active"] == "0.5"
    sheet.go()
    assert sheet.typed["gravity"] == "1.08"


def test_a_bath_without_a_name_is_no_dose(site: Site) -> None:
    sheet = keeping(site, "bath", "T03", volume="220", dose="25")
    assert "Name the product in its field first" in sheet.said
    assert len(choices(sheet)) == 2


def test_a_product_may_have_a_lower_ceiling_of_its_own(tmp_path: Path) -> None:
    lower = opened(
        tmp_path,
        lambda plan: plan.replace('label = "peroxide 35 %"', 'label = "peroxide 35 %"\n'
                                  'ceiling = "50 mg/L"'),
    )  # fmt: skip
    with closing(lower) as room:
        assert asked(keeping(room, "bath", "T03", product="2", volume="220", dose="60")).startswith(
            "Who decided"
        )
        assert asked(keeping(room, "bath", "T03", product="2", volume="220", dose="50")).startswith(
            "To keep it, type"
        )
        assert asked(keeping(room, "bath", "T03", product="1", volume="220", dose="60")).startswith(
            "To keep it, type"
        )


def test_a_dose_goes_into_a_tank_or_loop_and_comes_to_something(site: Site) -> None:
    done = dosing(site, "110").result().working
    assert done is not None
    with pytest.raises(Refusal, match="Choose the tank or loop it goes into"):
        doses.planned(site, done, SITE)
    nothing = sitting(site, "bicarbonate-rise", volume="3600", mass="0").result().working
    assert nothing is not None
    with pytest.raises(Refusal, match="comes to nothing"):
        doses.planned(site, nothing, "L1")
    other = sitting(site, "exchange", flow="3.5", volume="220").result().working
    assert other is not None
    with pytest.raises(Refusal, match="is no dose"):
        doses.planned(site, other, "L1")


def test_a_dose_in_another_unit_is_held_against_the_same_usual(site: Site) -> None:
    keeping(site, "salt-dose", "T03", volume="220", from_="0", to="1").answer("0.22")
    assert kept(site, "dose")[-1][:3] == ("salt", pytest.approx(0.22, abs=0.001), "kg")
    sheet = keeping(
        site, "chloride-for-nitrite", "T03", nitrite="3", ratio="40", volume="220"
    )  # 43.5 g, a fifth of the 220 g before
    assert "0.198 times as much" in headline(sheet)


def test_every_dose_that_is_declared_can_be_planned(site: Site) -> None:
    for one in ALL.values():
        if one.dose is not None:
            typed = {"product": "a product", **one.typed}
            dose = doses.planned(site, working_out.work(one.name, typed), "L1")
            assert dose.dose.amount > 0, one.name
            assert dose.dose.unit, one.name
            assert dose.dose.chemical == "a product"
            assert dose.words


def test_a_dangerous_answer_waits_for_a_key_of_its_own(site: Site) -> None:
    sheet = sitting(site, "decapsulation", cysts="100", bleach="84")
    assert sheet.hidden
    shown = plain(page.draw(sheet_view(sheet), 80, 24))
    assert "Read this before the answer" in shown
    assert "595" not in shown
    sheet.record()
    assert sheet.talk is None
    assert not sheet.hidden
    sheet.choose("dilution")
    sheet.choose("decapsulation")
    assert sheet.hidden


def test_a_caution_stays_in_sight_with_the_answer(site: Site) -> None:
    sheet = sitting(site, "salt-dose", "T03", volume="220", from_="0", to="1")
    for width, height in ((80, 24), (120, 40)):
        shown = plain(page.draw(sheet_view(sheet), width, height))
        assert "0.220" in shown or "dry salt" in shown
        assert "Caution: Too much salt" in shown
    bath = sitting(site, "bath", "T03", product="1", volume="220", dose="25")
    assert bath.hidden
    bath.record()
    assert "Formalin and other bath chemicals" in plain(page.draw(sheet_view(bath), 80, 24))


def test_what_is_typed_after_a_reading_was_taken_stands_in_its_place(site: Site) -> None:
    measured(site, "L1", "alk", 80)
    sheet = sitting(site, "bicarbonate-dose", to="110")
    sheet.take()
    sheet.field = 2
    sheet.add("7")
    sheet.add("5")
    assert sheet.typed["from"] == "75"


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
        for key, words in choices(sheet):
            assert f"{key} {words}" in shown
        assert asked(sheet) in shown
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
